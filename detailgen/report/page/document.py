"""The page: heading, overview, filter, one section a detail, the studies, the cautions."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from importlib import resources

from detailgen._version import __version__
from detailgen.catalogue import Catalogue
from detailgen.catalogue.rulebook import measure_words
from detailgen.physics.model import Study
from detailgen.report import text
from detailgen.report.checked import VERDICTS, Check, Judged, counts, ordered, states, summary
from detailgen.report.page.drawing import drawing, link
from detailgen.report.page.html import Html, cell, framed, joined, table, tag, tr
from detailgen.report.page.studies import study
from detailgen.rules import Finding
from detailgen.sheet.model import Note, Sheet
from detailgen.units import Units

HEADINGS = ("mark", "rule", "measured", "limit", "margin", "verdict", "source")
SIGNS = {"fails": "✕", "cannot tell": "?", "holds": "✓", "not applicable": "–"}
WORDS = {"not applicable": "does not apply"}
CLASSES = {v: v.split()[0] for v in VERDICTS}  # fails, cannot, holds, not


@dataclass(frozen=True)
class Leaf:
    """One detail on the page.

    Attributes:
        judged: what was found.
        sheet: composed with the marks of all its findings.
    """

    judged: Judged
    sheet: Sheet

    @property
    def notes(self) -> list[str]:
        """What the drawing says in words."""
        return [" ".join(line.text for line in i.lines) for i in self.sheet.items if isinstance(i, Note) and i.lines]


def page(
    check: Check,
    leaves: Sequence[Leaf],
    figures: Sequence[tuple[Study, Sheet | None]],
    cautions: Sequence[str],
    catalogue: Catalogue,
    style: str = "line",
) -> bytes:
    """The page as UTF-8.

    Args:
        check: what was found.
        leaves: its details.
        figures: its studies, each with its figure if it has one.
        cautions: what stands on every sheet, and what these details add.
        catalogue: names of layers, tints.
        style: of the drawings.
    """
    name = f"Check of {check.project or check.file}"
    body = [
        tag("a", "To the findings", href="#findings", class_="skip"),
        tag("header", tag("h1", name), *_head(check)),
        tag("nav", _overview(check), aria_label="Details") if len(leaves) > 1 else "",
        _filter(check),
        tag("main", _roof(check) if check.roof else "",
*(_leaf(leaf, check, catalogue, style) for leaf in leaves),
            _meetings(check),
            *(study(s, sheet, check.units, catalogue, style) for s, sheet in figures), id="findings", tabindex="-1"),
        tag("footer", tag("h2", "Cautions"), tag("ul", *(tag("li", c) for c in cautions)), id="cautions"),
    ]  # fmt: skip
    css, js = _file("page.css"), _file("page.js")
    policy = (
        f"default-src 'none'; style-src {_hash(css)}; script-src {_hash(js)}; "
        "base-uri 'none'; form-action 'none'"
    )  # what a user wrote can be no style and no script, even if it came through
    head = [
        tag("meta", charset="utf-8"),
        tag("meta", http_equiv="Content-Security-Policy", content=policy),
        tag("meta", name="viewport", content="width=device-width, initial-scale=1"),
        tag("meta", name="color-scheme", content="light dark"),
        tag("title", name),
        tag("style", Html(css)),
    ]
    script = tag("script", Html(js))
    whole = tag("html", tag("head", *head), "\n", tag("body", joined(body, "\n"), script), lang="en")
    return f"<!doctype html>\n{whole}\n".encode()


def _meetings(check: Check) -> Html | str:
    """Where edges meet, and what shows it."""
    if not check.meetings:
        return ""
    rows = (tag("li", m.sentence) for m in check.meetings)
    head = tag("h2", "Meetings of edges", id="h-meetings")
    return tag("section", head, tag("ul", *rows), id="meetings", aria_labelledby="h-meetings")


def _file(name: str) -> str:
    return resources.files("detailgen.report.page").joinpath(name).read_text(encoding="utf-8")


def _hash(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


# ------------------------------------------------------------------------------------------ above the details
def _head(check: Check) -> list[Html]:
    rules = ", ".join(check.packs)
    said = "Every required rule holds." if not check.failed else f"{check.failed} required rules fail."
    if check.failed == 1:
        said = "One required rule fails."
    return [
        tag("p", f"{said} {len(check.details)} details: {summary(check.findings)}.", class_="said"),
        tag("p", f"File {check.file}; rules: {rules}; detailgen {__version__}, {check.digest[:10]}.", class_="small"),
        *(tag("p", f"Rule changed: {c}", class_="small") for c in check.changes),
    ]


def _overview(check: Check) -> Html:
    rows = []
    for d in check.details:
        n = counts(d.findings)
        name = tag("a", d.section.id, href=f"#d-{d.section.id}")
        numbers = (n["fails"], n["required"], n["cannot tell"], n["holds"])
        rows.append((name, d.section.title, *(str(v) for v in numbers)))
    heads = ("detail", "title", "fails", "of these required", "cannot tell", "holds")
    return table("All details", heads, rows, class_="overview")


def _filter(check: Check) -> Html:
    """Check boxes that a style sheet reads: no script is needed."""
    n = counts(check.findings)
    boxes = [
        tag("label",
            tag("input", type="checkbox", id=f"show-{CLASSES[v]}", checked=v != "not applicable", autocomplete="off"),
            f" {WORDS.get(v, v)} ({n[v]})")
        for v in VERDICTS
    ]  # fmt: skip
    full = tag("label", tag("input", type="checkbox", id="full", autocomplete="off"), " drawings at the size of paper")
    return tag(
        "form",
        tag("fieldset", tag("legend", "Show findings that"), *boxes),
        tag("fieldset", tag("legend", "Show"), full),
        tag("output", "", id="shown", aria_live="polite"),
        class_="filter",
        aria_label="What is shown",
        autocomplete="off",
    )


# ------------------------------------------------------------------------------------------ a detail
def _leaf(leaf: Leaf, check: Check, catalogue: Catalogue, style: str) -> Html:
    d = leaf.judged
    id, title = d.section.id, d.section.title
    marks = {i: m.number for m in leaf.sheet.marks for i in m.findings}
    rows = [_row(id, i, f, marks, check) for i, f in ordered(d.findings, every=True)]
    warnings = [tag("p", f"Warning: {s}", class_="small") for _, s in d.section.warnings]
    svg = drawing(leaf.sheet, catalogue, style, f"Drawing of {id}, {title}", _links(leaf, check))
    held = tag("div", svg, class_="sheet", tabindex="0", role="region", aria_label=f"Drawing of {id}, can be scrolled")
    words = tag("details", tag("summary", "The drawing in words"), tag("ul", *(tag("li", n) for n in leaf.notes)))
    head = tag("h2", f"{id} ", tag("span", title), id=f"h-{id}")
    said = tag("p", f"{summary(d.findings)}.", class_="said")
    found = framed(f"Findings of {id}", HEADINGS, rows, class_="findings")
    return tag("section", head, said, tag("figure", held), words, found, *warnings, *_asked(d, check.units),
               id=f"d-{id}", aria_labelledby=f"h-{id}")  # fmt: skip


def _links(leaf: Leaf, check: Check) -> list[Html]:
    d, out = leaf.judged, []
    for m in leaf.sheet.marks:
        some = [d.findings[i] for i in m.findings]
        name = measure_words()[some[0].rule.measure].name
        said = f"Mark {m.number}, {name}: {_brief(some, check)}. To the finding."
        rows = [_id("f", d, i) for i in m.findings]
        verdicts = dict.fromkeys(CLASSES[f.verdict] for f in some)
        out.append(link(m, leaf.sheet, _id("m", d, m.number), rows, said, verdicts))
    return out


def _brief(some: Sequence[Finding], check: Check) -> str:
    _, measured, _, _, _, _ = text.row(some[0], check.units)
    return "; ".join([measured, *(f"{f.verdict}, {f.rule.id}" for f in some)])


def _id(kind: str, d: Judged, number: int) -> str:
    return f"{kind}-{d.section.id}-{number}"


def _row(id: str, i: int, f: Finding, marks: dict[int, int], check: Check) -> Html:
    rule, measured, limit, margin, verdict, source = text.row(f, check.units)
    number = marks.get(i)
    mark = f"m-{id}-{number}"
    to = tag("a", str(number), href=f"#{mark}", aria_label=f"Mark {number}, show {rule} on the drawing")
    name = measure_words()[f.rule.measure].name
    said = [tag("span", f"needed: {f.needed}" if f.needed else f.rule.reason, class_="why")]
    if f.verdict == "fails":
        said = [tag("span", f"{f.sentence} {f.rule.reason}", class_="why")]
    sign = tag("span", SIGNS[f.verdict], aria_hidden="true", class_="sign")
    edition = [tag("span", f"edition: {f.rule.edition}", class_="why")] if f.rule.edition else []
    cells = [
        cell(to if number else "–", HEADINGS[0]),
        cell(joined([tag("strong", name), " ", tag("code", rule), *said]), HEADINGS[1], first=True),
        *(cell(c, h) for c, h in zip((measured, limit, margin), HEADINGS[2:5], strict=True)),
        cell(joined([sign, f" {WORDS.get(verdict, verdict)}"]), HEADINGS[5]),
        cell(joined([source, *edition]), HEADINGS[6]),
    ]
    tied: dict[str, str | bool] = {"data_mark": mark} if number else {}
    return tr(cells, id=f"f-{id}-{i}", class_=CLASSES[f.verdict], **tied)


def _asked(d: Judged, units: Units) -> Iterator[Html]:
    """The reviewer's list, and what packs that are not in force ask for."""
    if d.answers:
        rows = [text.answer(a, units) for a in d.answers]
        caption = f"The reviewer's list, {d.section.id}: {states(d.answers)}"
        yield table(caption, text.LOOKED, rows, class_="asked", named=2)
    if d.others:
        other = [text.other(o, units) for o in d.others]
        yield table(f"Where sources disagree, {d.section.id}", text.DISPUTED, other, class_="asked")


def _roof(check: Check) -> Html:
    """The rules of the roof as a whole, which have no place on a drawing."""
    rows = [_row("roof", i, f, {}, check) for i, f in ordered(check.roof, every=True)]
    found = framed("Findings of the roof", HEADINGS, rows, class_="findings")
    return tag("section", tag("h2", "The roof as a whole", id="h-roof"), found, aria_labelledby="h-roof")
