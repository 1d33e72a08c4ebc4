"""Every page for whoever sees little, hears the page, or has no mouse; and no page asks anybody else for anything.

The rules are those of WCAG 2.2 (levels A and AA) and WAI-ARIA 1.2, as far as a program can tell; scan.js names the
success criterion of each finding.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
from alteration_samples import Workroom, open_workroom, served
from playwright.sync_api import Browser, Page, ViewportSize

from coutil.record import Amount, Fitting, add_base, add_chart, add_client, add_fitting, add_photo, list_revisions
from coutil.shipped import shipped_base
from helpers.photos import png

WIDE: ViewportSize = {"width": 1440, "height": 900}
SMALLER = ((1024, 768), (820, 1180), (640, 450))
SCAN = Path(__file__).with_name("scan.js").read_text()
# Names of formats, not places that anybody is asked for.
NAMESPACES = (
    "http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink", "http://www.w3.org/1999/xhtml",
    "http://www.w3.org/XML/1998/namespace",
)  # fmt: skip
ADDRESS = re.compile(r"(?:https?|wss?|ftp):/{1,2}[^\s\"'<>)\\]+|[\"'(]//[a-z0-9.-]+\.[a-z]{2,}", re.IGNORECASE)
# WCAG 2.4.7: what has the focus can be told from what has not, by an outline, a border or its ground.
FOCUS = """() => {
  const at = document.activeElement;
  const style = getComputedStyle(at);
  const outline = style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2;
  const order = [...document.querySelectorAll("*")].indexOf(at);
  return at === document.body ? null : { outline, order, name: at.outerHTML.slice(0, 90) };
}"""
CUT = """() => {
  const wide = document.documentElement.scrollWidth - document.documentElement.clientWidth;
  const found = wide > 0 ? [`the page is ${wide} dots too wide`] : [];
  const isScrolled = (e) => e.closest(".scroll, .wide, #chart-table, .drawing, pre") !== null;
  for (const e of document.querySelectorAll("button, select, input, th, td, h1, h2, h3, label, a, p")) {
    if (!e.checkVisibility() || e.closest(".unseen, .skip, .told, svg, option") || isScrolled(e)) continue;
    const style = getComputedStyle(e);
    const isBox = ["BUTTON", "TH", "TD", "LABEL"].includes(e.tagName) && style.display !== "inline";
    if (isBox && e.scrollWidth > e.clientWidth + 1) {
      found.push(`cut: ${e.outerHTML.slice(0, 120)}`);
    }
    const box = e.getBoundingClientRect();
    const isBeyond = box.width && box.right > innerWidth + 1 && style.position !== "absolute";
    if (isBeyond) found.push(`beyond the edge: ${e.outerHTML.slice(0, 120)}`);
  }
  return found;
}"""


@pytest.fixture(scope="module")
def workroom(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Workroom]:
    """A house at work: everything that has a page is there once."""
    opened = open_workroom(tmp_path_factory.mktemp("access"))
    order = opened.order()
    add_chart(opened.records, order.client_id, "2026-11-01", readings={})
    add_client(opened.records, "Tenor", "stage door")
    opened.order("Mezzo")
    fitting = add_fitting(
        opened.records, Fitting(0, 1, order.id, "2026-11-14", None, "Gapes.", (Amount("side", "left", "waist", -6.0),))
    )
    add_photo(opened.records, fitting.id, png(b"x" * 60), "a toile")
    drawing = (Path(__file__).parents[2] / "docs" / "waist-cincher.svg").read_bytes()
    add_base(opened.records, shipped_base("75-18"), "", drawing, ".svg")
    yield opened
    opened.records.close()


@pytest.fixture(scope="module")
def site(workroom: Workroom) -> Iterator[str]:
    with served(workroom.app) as url:
        for note in ("first", "second"):
            form = {"note": note}
            assert httpx.post(f"{url}/orders/1/revisions", data=form, headers={"origin": url}, timeout=60).is_redirect
        form = {"layer.outer": "yes", "width": "140", "seconds": "0"}
        assert httpx.post(f"{url}/revisions/1/lay", data=form, headers={"origin": url}, timeout=60).is_redirect
        httpx.get(f"{url}/lays/1/progress", timeout=60)
        yield url


PAGES = (
    "/", "/clients", "/clients?q=nobody", "/clients/new", "/clients/1", "/clients/1/charts",
    "/clients/1/charts/compare?a=1&b=2", "/charts/1", "/charts/2", "/orders", "/orders/new?client=1", "/orders/1",
    "/orders/1/alteration", "/orders/1/revisions", "/orders/1/revisions/compare?a=1&b=2", "/orders/1/fittings",
    "/fittings/1", "/orders/1/papers", "/orders/2/papers", "/plans/1", "/bases", "/bases/80-18", "/bases/own-1",
    "/bases/own-1/marks", "/guide", "/privacy", "/clients/1/erase", "/pair", "/nowhere",
)  # fmt: skip


def shown(page: Page, site: str, path: str) -> None:
    page.goto(site + path)
    if path.endswith("/alteration"):
        page.wait_for_selector("#alteration:not([data-busy])")
        page.locator('tr.goes[data-row="side_back"]').click()
        for fold in page.locator("#alteration details:not([open]) > summary").all():
            if fold.is_visible():
                fold.click()


def test_no_page_makes_anybody_stumble_and_nothing_is_cut(browser: Browser, site: str) -> None:
    """Each page is looked at once: wide by light and by dark, then on two tablets and at twice the size.

    A window of 1280 by 900 at 200 per cent shows what one of 640 by 450 shows (WCAG 1.4.4).
    """
    context = browser.new_context(viewport=WIDE)
    page, found = context.new_page(), {}
    for path in PAGES:
        page.set_viewport_size(WIDE)
        shown(page, site, path)
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
            found[f"{path}, {scheme}"] = page.evaluate(SCAN)
        for width, height in SMALLER:
            page.set_viewport_size({"width": width, "height": height})
            found[f"{path}, {width} dots wide"] = page.evaluate(CUT)
    context.close()
    assert [f"{where}: {line}" for where, lines in found.items() for line in lines] == []


def test_the_dialogs_of_the_alteration_page_make_nobody_stumble(browser: Browser, site: str) -> None:
    context = browser.new_context(viewport=WIDE)
    page = context.new_page()
    shown(page, site, "/orders/1/alteration")
    found = {}
    for name in ("save-open", "ruler-open", "keys-open"):
        page.locator(f"#{name}").click()
        found[name] = page.evaluate(SCAN)
        page.keyboard.press("Escape")
    page.get_by_role("tab", name="Revisions").click()
    page.locator("#compare").click()
    page.locator("#comparison").wait_for()
    found["comparison"] = page.evaluate(SCAN)
    context.close()
    assert {name: told for name, told in found.items() if told} == {}


@pytest.mark.parametrize("path", ["/charts/1", "/fittings/1", "/orders/1/alteration"])
def test_the_focus_is_seen_and_goes_down_the_page(browser: Browser, site: str, path: str) -> None:
    context = browser.new_context(viewport=WIDE)
    page = context.new_page()
    page.goto(site + path)
    if path.endswith("/alteration"):
        page.wait_for_selector("#alteration:not([data-busy])")
    last, faint = -1, []
    for _ in range(40):
        page.keyboard.press("Tab")
        at = page.evaluate(FOCUS)
        if at is None or at["order"] <= last:
            break
        last = at["order"]
        if not at["outline"]:
            faint.append(at["name"])
    context.close()
    assert last > 0
    assert faint == []


def test_no_paper_and_no_answer_names_an_address_elsewhere(site: str, workroom: Workroom) -> None:
    """Drawings, papers and answers to scripts, with their headers; pages and static files are held elsewhere."""
    revision = list_revisions(workroom.records, 1)[0].id
    papers = ["workroom.html", "overview.svg", "pieces.svg", "chart.csv"]
    papers += ["guide.html", "result.json"] if os.environ.get("COUTIL_LONG_TESTS") else []
    drawings = [f"/revisions/{revision}/{name}" for name in papers] + ["/plans/1/plan.svg"]
    answers = ["/api/orders/1/alteration", "/orders/1/revisions/overlay.svg?a=1&b=2", "/lays/1/progress"]
    found = {}
    for path in (*drawings, *answers):
        answer = httpx.get(site + path, timeout=60)
        assert answer.status_code == 200, path
        text = "\n".join((*map(": ".join, answer.headers.items()), answer.text))
        if told := [named for named in ADDRESS.findall(text) if not named.startswith((site, *NAMESPACES))]:
            found[path] = told
    assert found == {}


def test_the_scan_finds_what_is_wrong(browser: Browser, site: str) -> None:
    """Each fault put into a page by hand is told: a scan that finds nothing would prove nothing."""
    context = browser.new_context()
    page = context.new_page()
    page.goto(f"{site}/clients")
    assert page.evaluate(SCAN) == []
    faults = {
        "4.1.2": "<button></button>",
        "1.1.1": "<img src='/static/thread.svg'>",
        "1.3.1": "<h4>deep</h4><table><tr><td>1</td></tr></table>",
        "4.1.1": "<p id='content'>twice</p>",
        "2.4.3": "<a href='/' tabindex='3'>first</a>",
        "1.4.3": "<p class='faint'>hardly to be read</p>",
        "2.5.8": "<div><button class='tiny'>x</button></div>",
        "1.4.11": "<div><label>pale <input class='pale'></label></div>",
    }
    for rule, markup in faults.items():
        page.goto(f"{site}/clients")
        page.evaluate(
            """(markup) => {
              const place = document.querySelector("main");
              place.append(new DOMParser().parseFromString(markup, "text/html").body);
              const looks = {
                faint: { color: "#c9c0ae" },
                tiny: { padding: 0, minHeight: 0, height: "9px", width: "9px" },
                pale: { border: "0", background: "transparent" },
              };
              for (const [name, look] of Object.entries(looks)) {
                for (const e of document.querySelectorAll(`.${name}`)) Object.assign(e.style, look);
              }
            }""",
            markup,
        )
        assert any(line.startswith(rule) for line in page.evaluate(SCAN)), rule
    context.close()
