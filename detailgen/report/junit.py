"""A check as JUnit XML for build servers: a suite a detail, a case a rule.

Only a required rule that fails is a failure, so that a server's verdict is the exit code's. What is advised and fails,
does not apply or cannot be told is skipped, with its sentence; no clock is read, so no case has a time.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from xml.sax.saxutils import escape, quoteattr

from detailgen.conditions.meeting import Meeting
from detailgen.report.checked import Check, Judged
from detailgen.rules import Finding


def junit(check: Check) -> bytes:
    """The document."""
    roof = [_suite("the roof as a whole", [_case("roof", f) for f in check.roof])] if check.roof else []
    suites = [*roof, *(_detail(d) for d in check.details)]
    suites += [_suite("meetings of edges", [_met(m) for m in check.meetings])] if check.meetings else []
    failures = sum(s.count("<failure ") for s in suites)
    tests = sum(s.count("<testcase ") for s in suites)
    head = f'<testsuites name={_value(check.file)} tests="{tests}" failures="{failures}" errors="0">'
    return "\n".join(['<?xml version="1.0" encoding="UTF-8"?>', head, *suites, "</testsuites>", ""]).encode()


def _detail(d: Judged) -> str:
    return _suite(f"{d.section.id} {d.section.title}", [_case(d.section.id, f) for f in d.findings])


def _suite(name: str, cases: list[str]) -> str:
    failed, skipped = (sum(f"<{w} " in c for c in cases) for w in ("failure", "skipped"))
    numbers = f'tests="{len(cases)}" failures="{failed}" errors="0" skipped="{skipped}"'
    return "\n".join([f"<testsuite name={_value(name)} {numbers}>", *cases, "</testsuite>"])


def _case(id: str, f: Finding) -> str:
    return _written(id, f"{f.rule.pack}.{f.rule.id}", list(_inside(f)), f.sentence)


def _inside(f: Finding) -> Iterator[str]:
    """What stands in the case of a finding."""
    why = escape(_plain(f"{f.rule.reason} Source: {f.rule.source} ({f.rule.how})."))
    if f.decides:
        yield f"<failure message={_value(f.sentence)} type={_value(f.rule.severity)}>{why}</failure>"
    elif f.verdict == "fails":
        yield f"<skipped message={_value(f'{f.rule.severity}, fails: {f.sentence}')} />"
    elif f.verdict != "holds":
        yield f"<skipped message={_value(f'{f.verdict}: {f.sentence}')} />"


def _met(m: Meeting) -> str:
    inside = [] if m.detail else [f"<skipped message={_value(f'advised, fails: {m.sentence}')} />"]
    return _written("meetings", "-".join(m.of), inside, m.sentence)


def _written(group: str, name: str, inside: list[str], said: str) -> str:
    body = "".join(inside) or f"<system-out>{escape(_plain(said))}</system-out>"
    return f"<testcase classname={_value(group)} name={_value(name)}>{body}</testcase>"


def _value(text: str) -> str:
    return quoteattr(_plain(text))


def _plain(text: str) -> str:
    """Without the characters that XML 1.0 does not allow (W3C, fifth edition, 2008, production 2)."""
    return re.sub("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]", "\ufffd", text)
