"""What a drawing file says of its section beside the entities, so that it can be measured again from the file alone."""

from __future__ import annotations

import json

from detailgen.section.model import Section


def record(section: Section) -> str:
    """Kind, facts, frame, seeds, level of the water and fasteners of a section, as one line of JSON [mm].

    Polygons are not in it: they are the entities.
    """
    return json.dumps(
        {
            "id": section.id,
            "kind": section.kind,
            "title": section.title,
            "facts": {k: section.facts[k] for k in sorted(section.facts)},
            "frame": [round(v, 4) for v in section.frame],
            "cuts": [[[round(v, 4) for v in p] for p in (c.a, c.b)] for c in section.cuts],
            "wet": [round(v, 4) for v in section.wet],
            "dry": [round(v, 4) for v in section.dry],
            "flood": section.flood,
            "fasteners": [
                {
                    "id": f.id,
                    "kind": f.kind,
                    "head": [round(v, 4) for v in f.head],
                    "tip": [round(v, 4) for v in f.tip],
                    "fixes": f.fixes,
                    "into": f.into,
                    "spacing": f.spacing,
                }
                for f in section.fasteners
            ],
        },
        separators=(",", ":"),
    )
