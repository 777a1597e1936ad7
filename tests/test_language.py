"""Every word on a sheet comes from one table, so that another language is one file."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest
from test_reading import placed_lines

import detailgen
from detailgen.catalogue import load
from detailgen.errors import InputError
from detailgen.sheet.flat import flatten
from detailgen.sheet.review import texts_of

TOP = Path(__file__).resolve().parents[1]
CONDITIONS = sorted((TOP / "detailgen" / "conditions").rglob("*.py"))
SAID = "ø"  # every word of the invented language begins with it
NAMES = {"detailgen", "psf", "PSF"}  # the program's own name, a unit


def spoken(text):
    """The text in the invented language; what stands in braces stays."""
    return re.sub(r"{\w+}|[A-Za-z]+", lambda m: m[0] if m[0][0] == "{" else SAID + m[0], text)


def language():
    """An office file that says everything in the invented language."""
    rows = load()
    out = []
    for key, word in rows.words.items():
        out.append(
            f"[words]\n{key} = {{ text = {quoted(spoken(word.text))} }}"
            if not out
            else f"{key} = {{ text = {quoted(spoken(word.text))} }}"
        )
    for table in ("materials", "items", "cautions"):
        for key, row in getattr(rows, table).items():
            out.append(f"[{table}.{quoted(key)}]")
            out += [
                f"{f} = {quoted(spoken(getattr(row, f)).upper() if f == 'na' else spoken(getattr(row, f)))}"
                for f in ("na", "eu", "name")
                if hasattr(row, f)
            ]
    return re.sub(r"{[A-Z_0-9]+}", lambda m: m[0].lower(), "\n".join(out))


def quoted(text):
    """A text as TOML writes it."""
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def hall(tmp_path, name):
    """A demonstration file in which the user's own words are in that language too, and details have no titles."""
    (tmp_path / "language.toml").write_text(language(), encoding="utf-8")
    text = (TOP / "specs" / name).read_text(encoding="utf-8")
    text = re.sub(r'^title = ".*"\n', "", text, flags=re.M)
    text = re.sub(
        r'^(name|zero|status|flows_to|overflow_flows_to) = "(.*)"$',
        lambda m: f'{m[1]} = "{spoken(m[2])}"',
        text,
        flags=re.M,
    )
    text = text.replace("[office]\n", '[office]\nmaterials = ["language.toml"]\n')
    text = text.replace("[sheet]\n", "[sheet]\nkey = true\n")
    (tmp_path / name).write_text(text, encoding="utf-8")
    return detailgen.load(tmp_path / name)


def one_of_each(project):
    """The first detail of each kind, and of each side, end or way in which its words may differ."""
    seen, out = set(), []
    for d in project.details.values():
        p = d.params
        key = (p.kind, *(getattr(p, n, None) for n in ("side", "at", "drains", "cut", "use", "purpose", "independent")))
        if key not in seen:
            seen.add(key)
            out.append(d)
    return out


@pytest.mark.parametrize("name", ["ferry-hall.toml", "ferry-hall-imperial.toml"])
def test_a_sheet_in_another_language_has_no_english_word_left(tmp_path, name):
    project = hall(tmp_path, name)
    left = {}
    for detail in one_of_each(project):
        section = detail.section()
        said = [t.text for t in texts_of(detail.sheet())]
        said += [s.name for s in section.spaces] + [v.label for v in section.levels] + list(section.remarks)
        for text in said:
            for word in re.findall(r"\b[^\W\d_]{3,}\b", text):
                if not word.lower().startswith(SAID) and word not in NAMES and word != detail.id:
                    left.setdefault(word, (detail.id, text))
    assert not left


def test_the_table_of_findings_in_another_language_has_no_english_word_left(tmp_path):
    """But for the titles of standards and the keys of rules, which are names."""
    project = hall(tmp_path, "ferry-hall.toml").on_paper(marks="all")
    verdicts = set()
    for id in ("P1", "P6", "C1"):
        detail = project[id]
        names = {w for f in detail.findings() for w in words_in(f"{f.rule.id} {f.rule.source}".replace(OWN, ""))}
        verdicts |= {f.verdict for f in detail.findings()}
        said = [w for t in texts_of(detail.sheet()) for w in words_in(t.text)]
        assert any(w.lower() == SAID + "findings" for w in said)
        assert not {w for w in said if not w.lower().startswith(SAID)} - names - NAMES - {id}
    assert {"holds", "fails", "cannot tell"} <= verdicts


OWN = "common practice, no source"  # is no title


def words_in(text):
    """What a dictionary could hold."""
    return re.findall(r"\b[^\W\d_]{3,}\b", text)


def strings(node):
    """Texts in a piece of code that are not the key of a word that is said."""
    if isinstance(node, ast.Call) and getattr(node.func, "attr", getattr(node.func, "id", "")) in ("say", "distance"):
        return
    if isinstance(node, ast.Constant) and isinstance(node.value, str) and node.value:
        yield node
    for child in ast.iter_child_nodes(node):
        yield from strings(child)


def shown_words(tree):
    """Expressions whose text goes to the sheet as it is."""
    for call in (n for n in ast.walk(tree) if isinstance(n, ast.Call)):
        name = getattr(call.func, "id", getattr(call.func, "attr", ""))
        given = {k.arg: k.value for k in call.keywords}
        if name == "Level" and len(call.args) > 2:
            yield call.args[2]
        elif name == "Mark":
            yield from [*call.args[4:5], *([given["text"]] if "text" in given else [])]
        elif name in ("Section", "replace"):
            yield from (given[k] for k in ("title", "remarks", "warnings") if k in given)


@pytest.mark.parametrize("path", CONDITIONS, ids=lambda p: str(p.relative_to(CONDITIONS[0].parent)))
def test_no_condition_carries_words_for_the_sheet(path):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    found = [n.value for e in shown_words(tree) for n in strings(e)]
    if path.name in ("shown.py", "wording.py"):
        docs = {
            id(n.body[0].value)
            for n in ast.walk(tree)
            if isinstance(getattr(n, "body", None), list) and n.body and isinstance(n.body[0], ast.Expr)
        }
        found += [n.value for n in strings(tree) if id(n) not in docs and " " in n.value.strip()]
    assert not found


OFFICE = """
[materials.cork]
name = "expanded cork"
form = "board"
role = "insulation"
layer = "insulation"
hatch = "mineral-board"
density = 120
conductivity = 0.042
vapour_resistance = 10
metric = [150]
inch = [6]
trade = "roofing"
tags = ["xps"]
na = "EXPANDED CORK, {thick}"
eu = "Expanded cork, {t}"
source = "office standard"

[items.coping]
eu = "Coping, {t}, fall {slope}, leg {leg}, finish {colour}"
"""


def test_a_size_that_no_part_has_is_said_and_does_not_vanish_from_the_offices_note(tmp_path):
    text = (TOP / "specs" / "ferry-hall.toml").read_text(encoding="utf-8")
    (tmp_path / "office.toml").write_text(OFFICE, encoding="utf-8")
    text = text.replace("[office]\n", '[office]\nmaterials = ["office.toml"]\n')
    (tmp_path / "hall.toml").write_text(text, encoding="utf-8")
    project = detailgen.load(tmp_path / "hall.toml")
    with pytest.raises(InputError) as caught:
        project["P1"].section()
    [problem] = caught.value.problems
    assert problem.file.endswith("office.toml") and problem.key == "items.coping.eu"
    assert "{colour}" in problem.message and "{leg}" in problem.message and "{slope}" in problem.message
    right = OFFICE.replace(", finish {colour}", "")  # the leg is a size of the part that the usual note does not quote
    (tmp_path / "right.toml").write_text(right, encoding="utf-8")
    (tmp_path / "hall.toml").write_text(text.replace("office.toml", "right.toml"), encoding="utf-8")
    texts = " ".join(t.text for t in texts_of(detailgen.load(tmp_path / "hall.toml")["P1"].sheet()))
    assert re.search(r"Coping, \d\S*, fall [\d.]+ %, leg \d+", texts)


def test_the_lines_of_a_long_title_stand_in_the_order_in_which_they_are_read(tmp_path):
    long = "Parapet of the ferry hall on steel studs with a sheet over the top and a face strip under the stone"
    text = (TOP / "specs" / "ferry-hall.toml").read_text(encoding="utf-8")
    (tmp_path / "hall.toml").write_text(text.replace("Parapet, steel studs, sheet over the top, face strip", long))
    detail = detailgen.load(tmp_path / "hall.toml")["P1"]
    read = " ".join(words for _, _, words in placed_lines(detail.render("pdf")))
    assert read.count(long) == 2  # under the drawing and in the title block


def test_what_a_sheet_says_about_thin_sheets_is_true_of_its_medium():
    sheet = detailgen.load(TOP / "specs" / "ferry-hall.toml")["P1"].sheet()
    said = {medium: " ".join(t.text for t in flatten(sheet, medium).texts) for medium in ("picture", "dxf")}
    assert "drawn thicker than they are" in said["picture"] and "true thickness" not in said["picture"]
    assert "true thickness" in said["dxf"] and "thicker" not in said["dxf"]
