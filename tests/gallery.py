"""Hangs the gallery anew: ``python -m tests.gallery`` runs the commands of its page and lists the pictures again;
the table of conditions and roofs too."""

from __future__ import annotations

import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import detailgen as dg
from detailgen.conditions import CONDITIONS
from detailgen.folder import MEMORY
from tests import matrix

TOP = Path(__file__).resolve().parents[1]
PAGE = TOP / "gallery" / "README.md"
THUMBNAILS = "Conditions"  # heading of the chapter that has no command
ROW = 4  # thumbnails in a row


def main() -> None:
    """Every chapter of the page: its heading and command stay, its pictures are drawn and listed again."""
    head, *chapters = PAGE.read_text(encoding="utf-8").split("\n## ")
    chapters = [c for c in chapters if not c.startswith(f"{THUMBNAILS}\n")]
    out = [head.rstrip(), thumbnails()]
    for chapter in chapters:
        text = chapter.split("\n### ")[0].rstrip()
        command = next(line for line in text.splitlines() if line.startswith("detailgen "))
        spec = Path(shlex.split(command)[2])
        folder = TOP / "gallery" / spec.stem
        for old in folder.glob("*.png"):
            old.unlink()
        run = subprocess.run([sys.executable, "-m", *shlex.split(command)], cwd=TOP, check=False)
        assert run.returncode in (0, 1), command  # 1: a demonstration of a failing rule
        shutil.rmtree(folder / MEMORY)
        project = dg.load(TOP / spec)
        titles = [(d.id, d.params.title) for d in project.details.values()]
        titles += [(s.id, s.title) for s in project.shared]
        entries = [f"### {id} {title}\n\n![{id}, {title}]({spec.stem}/{id}.png)" for id, title in titles]
        out.append("\n\n".join([f"## {text}", *entries]))
    PAGE.write_text("\n\n".join(out) + "\n", encoding="utf-8")
    matrix.main()


def shown_by() -> dict[str, tuple[str, str]]:
    """Every condition of ``list conditions`` with the detail that shows it: name of its file and its id."""
    found: dict[str, tuple[str, str]] = {}
    for spec in ("ferry-hall", "ferry-hall-imperial", "baggage-shed"):
        for d in dg.load(TOP / "specs" / f"{spec}.toml").details.values():
            found.setdefault(d.params.kind, (spec, d.id))
    return {kind: found[kind] for kind in CONDITIONS}


def thumbnails() -> str:
    """One small picture of each condition, in the order of ``detailgen list conditions``."""
    cells = [
        f'<td align="center"><a href="{spec}/{id}.png"><img src="{spec}/{id}.png" width="220" '
        f'alt="{CONDITIONS[kind].title}"></a><br><code>{kind}</code></td>'
        for kind, (spec, id) in shown_by().items()
    ]
    rows = [f"<tr>{''.join(cells[k : k + ROW])}</tr>" for k in range(0, len(cells), ROW)]
    words = "Every place where a roof stops that `detailgen list conditions` names, each by one of the details below."
    return "\n".join([f"## {THUMBNAILS}", "", words, "", "<table>", *rows, "</table>"])


if __name__ == "__main__":
    main()
