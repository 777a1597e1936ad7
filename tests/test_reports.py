"""What check writes: Markdown, JUnit XML and one page, whole or not at all, safe from what a user wrote."""

from __future__ import annotations

import base64
import hashlib
import json
import os
import re
import subprocess
import sys
import xml.etree.ElementTree as ET
from html.parser import HTMLParser
from pathlib import Path

import pytest
from reviewed import TABLES, written

from detailgen import cli

ROOT = Path(__file__).parent.parent
HOSTILE = "<img src=x onerror=alert(1)>\"'&amp;|`*[a](javascript:b)</script>"


def detailgen(folder: Path, *arguments: str, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "detailgen", *arguments],
        cwd=folder,
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT), **environment},
        timeout=300,
    )


@pytest.fixture(scope="module")
def reports(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, subprocess.CompletedProcess[str]]:
    """All reports of a roof whose first title is hostile, from one real process."""
    folder = tmp_path_factory.mktemp("reports")
    written(folder, title=HOSTILE, tables=TABLES)
    files = ("--html", "r/page.html", "--markdown", "r/page.md", "--junit", "r/page.xml")
    return folder, detailgen(folder, "check", "hall.toml", *files, PYTHONHASHSEED="1")


# ------------------------------------------------------------------------------------------ the command
def test_check_prints_its_tables_and_writes_every_report(reports) -> None:
    folder, done = reports
    assert done.returncode == 1, done.stderr
    assert "eu-flashing-height" in done.stdout and "reviewer's list: " in done.stdout
    assert re.search(r"^2 details: \d+ hold, \d+ fail \(\d+ required\)", done.stdout, re.MULTILINE)
    assert re.search(r"rule changed: eu-margin: loosened from 300 mm .*to 200 mm by Office of the quay", done.stdout)
    files = {p.name for p in (folder / "r").iterdir() if not p.name.startswith(".")}
    assert files == {"page.html", "page.md", "page.xml"}
    assert "wrote r/page.html" in done.stderr.replace("\\", "/")


def test_the_same_file_gives_the_same_bytes_on_another_hash_seed(reports) -> None:
    folder, _ = reports
    files = ("--html", "s/page.html", "--markdown", "s/page.md", "--junit", "s/page.xml")
    detailgen(folder, "check", "hall.toml", *files, PYTHONHASHSEED="2")
    for name in ("page.html", "page.md", "page.xml"):
        assert (folder / "r" / name).read_bytes() == (folder / "s" / name).read_bytes(), name


def test_the_reviewers_list_is_printed_on_request(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    written(tmp_path)
    cli.run(["check", str(tmp_path / "hall.toml"), "--detail", "P1", "--list"])
    lines = capsys.readouterr().out.splitlines()
    [row] = [line for line in lines if "Flashing height from the finished surface" in line]
    assert "measured" in row and "flashing height 141" in row
    assert any("cannot tell" in line and "not declared" in line for line in lines)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--rules", "europaean"], "did you mean 'european'"),
        (["--html", "folder"], "is a folder; give the path of a file"),
        (["--html", "hall.toml/page.html"], "cannot be written"),
        (["--html", "a.html", "--junit", "a.html"], "is asked for twice"),
        (["--markdown", "office.toml"], "was not written by this program"),
        (["--detail", "P3", "--html", "a.html"], "there is no detail of that id; the file has P1, P2"),
    ],
)
def test_bad_input_is_one_message_and_no_report(tmp_path: Path, arguments, said: str, monkeypatch, capsys) -> None:
    written(tmp_path)
    (tmp_path / "folder").mkdir()
    monkeypatch.chdir(tmp_path)
    before = sorted(p.name for p in tmp_path.rglob("*"))
    assert cli.run(["check", "hall.toml", *arguments]) == 2
    err = capsys.readouterr().err
    assert "error: " in err and "Traceback" not in err
    assert said in err
    assert sorted(p.name for p in tmp_path.rglob("*")) == before


def test_a_report_that_was_edited_by_hand_is_kept_until_force(tmp_path: Path, capsys) -> None:
    path, report = written(tmp_path), tmp_path / "r.md"
    command = ["check", str(path), "--detail", "P1", "--markdown", str(report)]
    assert cli.run(command) == 1
    report.write_text("remarks of the meeting", encoding="utf-8")
    assert cli.run(command) == 2 and "changed by hand" in capsys.readouterr().err
    assert report.read_text(encoding="utf-8") == "remarks of the meeting"
    assert cli.run([*command, "--force"]) == 1 and report.read_text(encoding="utf-8").startswith("# Check of")


def test_several_packs_are_judged_side_by_side(tmp_path: Path, capsys) -> None:
    path = written(tmp_path)
    cli.run(["check", str(path), "--detail", "P1", "--json", "--rules", f"european,{tmp_path / 'office.toml'}"])
    document = json.loads(capsys.readouterr().out)
    verdicts = {f["pack"]: f["limit"] for f in document["details"][0]["findings"] if f["rule"] == "eu-flashing-height"}
    assert verdicts == {"european": 150.0, "office": 300.0}
    assert document["rules"][1] == "Office of the quay"
    assert {a["status"] for a in document["details"][0]["reviewer"]} == {
        "measured", "declared", "not shown", "cannot tell"
    }  # fmt: skip


# ------------------------------------------------------------------------------------------ Markdown
def test_markdown_tables_are_whole_whatever_a_title_says(reports) -> None:
    text = (reports[0] / "r" / "page.md").read_text(encoding="utf-8")
    tables = re.findall(r"(?:^\|.*\n)+", text, re.MULTILINE)
    assert len(tables) > 5
    for table in tables:
        cells = {len(re.findall(r"(?<!\\)\|", line)) for line in table.splitlines()}
        assert len(cells) == 1, table
    assert "\\<img" in text and not re.search(r"(?<!\\)<img", text), "no markup of the user's"
    assert "\\[a\\](javascript" in text, "no link of the user's"
    for study in ("## Water of planted", "## Weight of planted", "## Warmth of planted"):
        assert study in text


# ------------------------------------------------------------------------------------------ JUnit
# Elements and attributes of JUnit XML as build servers read them: the schema junit-10.xsd of the xUnit plugin of a
# widespread build server, from memory. Element → required attributes, further attributes, children.
SCHEMA = {
    "testsuites": (set(), {"name", "time", "tests", "failures", "disabled", "errors"}, {"testsuite"}),
    "testsuite": (
        {"name", "tests"},
        {"failures", "errors", "time", "disabled", "skipped", "timestamp", "hostname", "id", "package"},
        {"properties", "testcase", "system-out", "system-err"},
    ),
    "testcase": (
        {"name"},
        {"assertions", "time", "classname", "status"},
        {"skipped", "error", "failure", "system-out", "system-err"},
    ),
    "failure": (set(), {"type", "message"}, set()),
    "skipped": (set(), {"message"}, set()),
    "system-out": (set(), set(), set()),
}


def test_junit_xml_has_the_form_that_build_servers_read_and_its_counts_are_true(reports) -> None:
    root = ET.fromstring((reports[0] / "r" / "page.xml").read_bytes())
    assert root.tag == "testsuites"
    for e in root.iter():
        required, more, children = SCHEMA[e.tag]
        assert required <= set(e.attrib) <= required | more, e.tag
        assert {c.tag for c in e} <= children, e.tag
    cases = list(root.iter("testcase"))
    assert int(root.get("tests")) == len(cases)
    assert int(root.get("failures")) == len(list(root.iter("failure")))
    for suite in root:
        assert int(suite.get("tests")) == len(list(suite.iter("testcase")))
        assert int(suite.get("skipped")) == len(list(suite.iter("skipped")))
    assert len({(c.get("classname"), c.get("name")) for c in cases}) == len(cases), "every case once"


def test_only_required_rules_that_fail_are_failures_for_a_build_server(reports, capsys) -> None:
    folder, _ = reports
    cli.run(["check", str(folder / "hall.toml"), "--json"])
    details = json.loads(capsys.readouterr().out)["details"]
    root = ET.fromstring((folder / "r" / "page.xml").read_bytes())
    failed = {(c.get("classname"), c.get("name")) for c in root.iter("testcase") if c.find("failure") is not None}
    assert failed == {
        (d["id"], f"{f['pack']}.{f['rule']}")
        for d in details
        for f in d["findings"]
        if f["verdict"] == "fails" and f["severity"] == "required"
    }
    assert ("P1", "office.eu-flashing-height") in failed
    [advised] = [
        c for c in root.iter("testcase") if c.get("name") == "office.eu-lap-field" and c.get("classname") == "P1"
    ]
    assert advised.find("skipped").get("message").startswith("advised, fails: ")
    assert any(s.get("name") == f"P1 {HOSTILE}" for s in root), "the title came through as text"


# ------------------------------------------------------------------------------------------ the page as text
class Elements(HTMLParser):
    def __init__(self, text: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))


def test_the_page_takes_nothing_from_a_user_as_markup(reports) -> None:
    text = (reports[0] / "r" / "page.html").read_text(encoding="utf-8")
    found = Elements(text).found
    assert "img" not in {t for t, _ in found}
    assert not [a for _, attrs in found for a in attrs if a.startswith("on") or a == "style"]
    assert text.count("<script") == 1 and text.count("&lt;img src=x onerror=alert(1)&gt;") >= 2
    assert not [v for _, attrs in found for v in attrs.values() if v and v.startswith("javascript")]


def test_the_page_allows_its_own_style_and_script_and_nothing_else(reports) -> None:
    # W3C, Content Security Policy Level 3, 2.3.1 hash-source (from memory)
    text = (reports[0] / "r" / "page.html").read_text(encoding="utf-8")
    policy = next(a["content"] for t, a in Elements(text).found if a.get("http-equiv") == "Content-Security-Policy")
    assert policy.startswith("default-src 'none'; ")
    for tag in ("style", "script"):
        [body] = re.findall(rf"<{tag}>(.*?)</{tag}>", text, re.DOTALL)
        digest = base64.b64encode(hashlib.sha256(body.encode()).digest()).decode()
        assert f"{tag}-src 'sha256-{digest}'" in policy
    assert "http://" not in text.replace('xmlns="http://www.w3.org/2000/svg"', "") and "https://" not in text


def test_every_link_of_the_page_leads_to_something_and_no_id_is_used_twice(reports) -> None:
    found = Elements((reports[0] / "r" / "page.html").read_text(encoding="utf-8")).found
    ids = [a["id"] for _, a in found if "id" in a]
    assert len(ids) == len(set(ids))
    links = [a["href"] for t, a in found if t == "a"]
    assert links and all(h.startswith("#") and h[1:] in ids for h in links)
