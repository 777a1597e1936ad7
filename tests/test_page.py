"""The page of a check in a real browser: Debian's chromium, driven by the general-purpose library playwright."""

from __future__ import annotations

import math
import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from reviewed import TABLES, written

from detailgen import cli
from detailgen.project import Project, load

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
playwright = pytest.importorskip("playwright.sync_api", reason="the package playwright is not installed")
pytestmark = [
    pytest.mark.skipif(CHROMIUM is None, reason="there is no chromium on PATH; on Debian: apt-get install chromium"),
]
LEAST_CONTRAST = 4.5  # W3C, Web Content Accessibility Guidelines 2.1 (2018), 1.4.3
TITLE = "Low parapet <b onclick=alert(1)>\"over' & the quay"


@pytest.fixture(scope="module")
def hall(tmp_path_factory: pytest.TempPathFactory) -> Project:
    folder = tmp_path_factory.mktemp("page")
    written(folder, title=TITLE, tables=TABLES)
    assert cli.run(["check", str(folder / "hall.toml"), "--html", str(folder / "page.html")]) == 1
    return load(folder / "hall.toml")


@pytest.fixture(scope="module")
def address(hall: Project) -> str:
    return (Path(hall.source.name).parent / "page.html").as_uri()


@pytest.fixture(scope="module")
def browser() -> Iterator:
    with playwright.sync_playwright() as p:
        try:
            browser = p.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        except playwright.Error as error:
            pytest.skip(f"{CHROMIUM} does not start: {error}")
        yield browser
        browser.close()


@pytest.fixture
def page(browser, address: str) -> Iterator:
    """The page, watched: a message on the console, an error or a request for anything else is a fault."""
    with opened(browser, address) as page:
        yield page


class opened:  # noqa: N801 - reads as a verb
    def __init__(self, browser, address: str, **how: object) -> None:
        how.setdefault("viewport", {"width": 1280, "height": 900})
        self.context = browser.new_context(**how)
        self.address, self.said, self.asked = address, [], []

    def __enter__(self):
        page = self.context.new_page()
        page.on("console", lambda m: self.said.append(m.text))
        page.on("pageerror", lambda e: self.said.append(str(e)))
        page.on("request", lambda r: self.asked.append(r.url.split("#")[0]))
        page.goto(self.address)
        return page

    def __exit__(self, *_: object) -> None:
        self.context.close()
        assert self.said == [], "the console is silent"
        assert set(self.asked) == {self.address}, "nothing is fetched"


# ------------------------------------------------------------------------------------------ reading
def test_what_a_user_wrote_is_shown_as_he_wrote_it(page) -> None:
    assert page.locator("#h-P1").inner_text() == f"P1 {TITLE}"


def test_everything_has_a_role_and_a_name(page) -> None:
    assert page.get_by_role("heading", level=1, name="Check of Ferry hall").count() == 1
    assert page.get_by_role("navigation", name="Details").count() == 1 and page.get_by_role("main").count() == 1
    for id in ("P1", "P2"):
        assert page.get_by_role("table", name=f"Findings of {id}").count() == 1
        assert page.get_by_role("table", name=f"The reviewer's list, {id}").count() == 1
        assert page.get_by_role("region", name=f"Drawing of {id}, can be scrolled").count() == 1
        assert page.get_by_role("region", name=f"{id} ").count() >= 1
    heads = page.get_by_role("table", name="Findings of P1").get_by_role("columnheader").all_inner_texts()
    assert heads == ["mark", "rule", "measured", "limit", "margin", "verdict", "source"]
    link = page.get_by_role("link", name="Mark 1, flashing height: ")
    assert link.first.count() == 1 and "fails" in link.first.get_attribute("aria-label")
    box = page.get_by_role("checkbox", name="fails (")
    assert box.is_checked() and not page.get_by_role("checkbox", name="does not apply").is_checked()
    assert page.get_by_role("group", name="Show findings that").count() == 1
    for study in ("Water", "Weight", "Warmth"):
        assert page.get_by_role("img", name=f"Figure: {study} of planted").count() == 1


@pytest.mark.parametrize("how", [{"color_scheme": "dark"}, {"viewport": {"width": 500, "height": 800}}])
def test_a_checker_of_accessibility_finds_no_fault(browser, address: str, how: dict[str, object]) -> None:
    """The rules of WCAG 2.1 A and AA and of good practice, as a general-purpose library holds them."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe-playwright-python is missing")
    with opened(browser, address, bypass_csp=True, **how) as page:  # the page itself allows no foreign script
        found = axe.Axe().run(page).response
        assert len(found["passes"]) > 30
        assert [(v["id"], v["nodes"][0]["html"][:90]) for v in found["violations"]] == []


def test_the_page_reads_links_and_filters_without_a_script(browser, address: str) -> None:
    with opened(browser, address, java_script_enabled=False) as page:
        row = page.locator(".findings").first.get_by_role("row", name="eu-flashing-height")
        assert row.is_visible()
        page.get_by_role("link", name="Mark 1, show eu-flashing-height on the drawing").first.click()
        assert page.url.endswith("#m-P1-1")
        assert painted(page, "#m-P1-1 .hexagon") and not painted(page, "#m-P1-2 .hexagon")
        page.get_by_role("checkbox", name="fails (").uncheck()
        assert not row.is_visible()


# ------------------------------------------------------------------------------------------ the keyboard
def test_the_tab_key_walks_from_the_skip_link_through_drawing_to_findings(page) -> None:
    order = []
    for _ in range(90):
        page.keyboard.press("Tab")
        order.append(
            page.evaluate(
                "(e => e.id || e.className.baseVal || e.className || e.tagName.toLowerCase() + "
                "(e.getAttribute('href') || ''))(document.activeElement)"
            )
        )
        if order[-1] == "a#m-P1-1":
            break
    assert order[0] == "skip"
    wanted = ["a#d-P1", "a#d-P2", "show-fails", "show-cannot", "show-holds", "show-not", "full", "sheet", "m-P1-1"]
    places = [order.index(w) for w in wanted]
    assert places == sorted(places), order
    assert order.index("m-P1-1") < order.index("summary") < order.index("a#m-P1-1")


def test_the_skip_link_goes_to_the_findings(page) -> None:
    page.keyboard.press("Tab")
    assert page.get_by_role("link", name="To the findings").bounding_box()["x"] >= 0, "seen when it has the focus"
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "findings"


# ------------------------------------------------------------------------------------------ findings and places
def painted(page, selector: str) -> bool:
    return page.locator(selector).evaluate("e => getComputedStyle(e).stroke") != "none"


@pytest.mark.parametrize("id", ["P1", "P2"])
def test_each_finding_lights_up_its_own_place_on_the_drawing(page, hall: Project, id: str) -> None:
    detail = hall[id]
    found = detail.findings()
    sheet = detail.composed(found, marks="all", listed=False)
    for mark in sheet.marks:
        f = found[mark.findings[0]]
        page.locator(f"#f-{id}-{mark.findings[0]} a").focus()
        assert painted(page, f"#m-{id}-{mark.number} .halo"), f.rule.id
        lit = page.locator(".mark.on, .mark:target, .mark:focus").evaluate_all("s => s.map(e => e.id)")
        assert lit == [f"m-{id}-{mark.number}"]
        ends = page.locator(f"#m-{id}-{mark.number} .halo").evaluate(
            "e => [0, e.getTotalLength()].map(s => { const p = e.getPointAtLength(s); return [p.x, p.y] })"
        )
        for point, end in zip((f.a, f.b), ends, strict=True):
            x, y = sheet.to_paper(point)
            assert math.dist(end, (x, sheet.size[1] - y)) < 0.02, "the two points of the measure, in paper mm"


def test_a_click_on_a_mark_goes_to_its_finding_and_back(page) -> None:
    page.locator("#m-P1-1 .hexagon").click()
    row = page.locator("tr:target")
    assert "eu-flashing-height" in row.inner_text() and row.evaluate("e => e.getBoundingClientRect().top") >= -1
    row.locator("a").click()
    assert page.url.endswith("#m-P1-1") and painted(page, "#m-P1-1 .hexagon")
    box = page.locator("#m-P1-1 .hexagon").bounding_box()
    assert 0 <= box["y"] <= 900, "it is in sight"


def test_the_filter_shows_what_is_asked_for_and_says_how_much(page) -> None:
    rows = {v: page.locator(f".findings tr.{v}") for v in ("fails", "holds", "not")}

    def seen(v: str) -> int:
        return sum(rows[v].nth(i).is_visible() for i in range(rows[v].count()))

    assert seen("fails") == rows["fails"].count() > 0 and seen("holds") > 0 and seen("not") == 0
    page.get_by_role("checkbox", name="holds (").uncheck()
    assert seen("holds") == 0 and seen("fails") == rows["fails"].count()
    assert page.locator(".mark.holds:not(.fails, .cannot)").first.is_hidden()
    assert page.locator(".mark.fails").first.is_visible()
    every = page.locator(".findings tbody tr")
    shown = sum(every.nth(i).is_visible() for i in range(every.count()))
    assert page.get_by_role("status").inner_text() == f"{shown} of {every.count()} findings are shown."
    page.get_by_role("checkbox", name="does not apply").check()
    assert seen("not") == rows["not"].count() > 0


# ------------------------------------------------------------------------------------------ sizes, colours, paper
@pytest.mark.parametrize("width", [640, 320])  # 1280 at 200 % and at 400 % (W3C, WCAG 2.1, 1.4.4 and 1.4.10)
def test_enlarged_text_needs_no_scrolling_sideways(browser, address: str, width: int) -> None:
    with opened(browser, address, viewport={"width": width, "height": 800}) as page:
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        wide = page.evaluate(
            """() => [...document.querySelectorAll('body *:not(svg *)')].filter(e => e.getClientRects().length &&
               [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim()) && !e.closest('.skip, thead') &&
               e.getBoundingClientRect().right > innerWidth + 1).map(e => e.outerHTML.slice(0, 80))"""
        )
        assert wide == []
        row = page.locator(".findings tr.fails").first
        assert "limit" in row.locator("td").nth(2).evaluate("e => getComputedStyle(e, '::before').content")


CONTRAST = """() => {
  const rgb = s => s.match(/[\\d.]+/g).map(Number);
  const linear = v => (v /= 255) <= 0.03928 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
  const light = c => 0.2126 * linear(c[0]) + 0.7152 * linear(c[1]) + 0.0722 * linear(c[2]);
  const ground = e => { for (; e; e = e.parentElement) { const c = rgb(getComputedStyle(e).backgroundColor);
    if (c.length < 4 || c[3] > 0) return c; } return [255, 255, 255]; };
  const out = [];
  for (const e of document.querySelectorAll('body *')) {
    if (!e.getClientRects().length || ![...e.childNodes].some(n => n.nodeType === 3 && n.data.trim())) continue;
    if (e.closest('script, style, title')) continue;
    const style = getComputedStyle(e), ink = rgb(e.closest('svg') ? style.fill : style.color);
    const [a, b] = [light(ink), light(ground(e))].sort((p, q) => q - p);
    out.push([(a + 0.05) / (b + 0.05), e.tagName + '.' + e.className + ': ' + e.textContent.slice(0, 40)]);
  }
  return out;
}"""


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_text_stands_out_from_its_ground(browser, address: str, scheme: str) -> None:
    # relative luminance and contrast ratio: W3C, WCAG 2.1, definitions
    with opened(browser, address, color_scheme=scheme) as page:
        page.locator("#f-P1-0 a, tr.fails a").first.click()
        found = page.evaluate(CONTRAST)
        assert len(found) > 200
        assert min(found)[0] >= LEAST_CONTRAST, min(found)
        dark = page.evaluate("getComputedStyle(document.body).backgroundColor") != "rgb(255, 255, 255)"
        assert dark == (scheme == "dark")
        sheets = page.locator(".sheet").evaluate_all("s => s.map(e => getComputedStyle(e).backgroundColor)")
        assert set(sheets) == {"rgb(255, 255, 255)"}, "drawings are black on white paper at night, too"


def test_the_page_prints_with_every_finding_and_without_its_controls(page) -> None:
    page.emulate_media(media="print", color_scheme="dark")
    assert page.locator(".filter").is_hidden() and page.locator(".skip").is_hidden()
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)", (
        "no ink for a ground"
    )
    assert page.locator(".findings tr.fails").first.is_visible() and page.locator("#cautions").is_visible()
    assert page.locator("main > section").nth(1).evaluate("e => getComputedStyle(e).breakBefore") == "page"
    assert min(page.evaluate(CONTRAST))[0] >= LEAST_CONTRAST
    pages = len(re.findall(rb"/Type\s*/Page\b(?!s)", page.pdf(format="A4")))
    assert 8 <= pages <= 26, "two drawings with their tables and three studies, in columns and not one under the other"
