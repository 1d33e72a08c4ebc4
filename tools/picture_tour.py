"""Pictures of the workroom: every page by light and dark, wide and on a tablet; and the few that the tour shows.

    python tools/picture_tour.py --all out/pages     every page, to be looked at
    python tools/picture_tour.py --docs docs/tour    the pictures of docs/tour.md, small

The clients are invented.  It needs Chromium, playwright and Pillow.
"""

from __future__ import annotations

import argparse
import io
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import uvicorn
from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

from coutil import job
from coutil.alter import Override, State, Wishes
from coutil.check import Verdict
from coutil.measure import Chart, Reading
from coutil.record import (
    Amount,
    Fitting,
    OrderRecord,
    OrderState,
    Records,
    add_base,
    add_chart,
    add_client,
    add_fitting,
    add_order,
    add_photo,
    add_revision,
    open_records,
)
from coutil.shipped import demo_clients, shipped_base
from coutil.workroom import AppState, build_app, templates

CHROMIUM = "/usr/bin/chromium"
BASE = "80-18"
SCREENS: Mapping[str, tuple[int, int]] = {"desktop": (1440, 900), "tablet": (820, 1180)}
SCHEMES = ("light", "dark")
QUALITY = 78
LARGEST_TOUR = 1_500_000  # Bytes of all pictures of the tour together.

Doing = Callable[[Page], None]


@dataclass(frozen=True)
class View:
    """One page to picture: its name, its address, and what is done on it before."""

    name: str
    path: str
    act: Doing | None = None


def main() -> int:
    """Takes the pictures that were asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--all", type=Path, metavar="DIR", help="every page, by light and dark, wide and on a tablet")
    parser.add_argument("--docs", type=Path, metavar="DIR", help="the pictures of the tour")
    parser.add_argument("--only", default="", help="only pages whose name holds this")
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as driver:
        records = open_records(Path(folder) / "coutil.db")
        views = [view for view in (*fill(records), *EMPTY) if chosen.only in view.name]
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        with served(records) as site:
            if chosen.all:
                picture_all(browser, site, views, chosen.all)
            if chosen.docs:
                picture_tour(browser, site, views, chosen.docs)
        browser.close()
        records.close()
    return 0


def picture_all(browser: Browser, site: str, views: list[View], folder: Path) -> None:
    """Every page on every screen, whole, from top to bottom."""
    folder.mkdir(parents=True, exist_ok=True)
    for screen, (width, height) in SCREENS.items():
        for scheme in SCHEMES:
            context = browser.new_context(viewport={"width": width, "height": height}, color_scheme=scheme)
            for view in views:
                page = shown(context.new_page(), site, view)
                page.screenshot(path=folder / f"{view.name}-{screen}-{scheme}.png", full_page=True)
                page.close()
            context.close()


def picture_tour(browser: Browser, site: str, views: list[View], folder: Path) -> None:
    """The few pictures of the tour, as one sees them without scrolling."""
    folder.mkdir(parents=True, exist_ok=True)
    total = 0
    for name, (width, height), scheme in TOUR:
        view = next((view for view in views if view.name == name), None)
        if view is None:
            continue
        context = browser.new_context(viewport={"width": width, "height": height}, color_scheme=scheme)
        page = shown(context.new_page(), site, view)
        picture = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
        path = folder / f"{name}.webp"
        picture.save(path, "WEBP", quality=QUALITY, method=6)
        total += path.stat().st_size
        context.close()
    if total > LARGEST_TOUR:
        sys.exit(f"The pictures of the tour have {total / 1e6:.1f} MB, more than {LARGEST_TOUR / 1e6:g} MB.")


def shown(page: Page, site: str, view: View) -> Page:
    """The page as it is to be pictured."""
    page.goto(site + view.path)
    page.wait_for_load_state("networkidle")
    if view.act is not None:
        view.act(page)
    return page


# --- what is done on a page before its picture ---------------------------------------------------------------


def altering(page: Page) -> None:
    """The alteration page, ready, with a row chosen."""
    page.wait_for_selector("#alteration:not([data-busy])")
    page.locator('tr.goes[data-row="curves_waist_back"]').click()


def edge_chosen(page: Page) -> None:
    """An edge chosen on the drawing."""
    altering(page)
    page.locator("#drawing").focus()
    for _ in range(40):
        page.keyboard.press("ArrowRight")
        if page.evaluate("document.activeElement.dataset.edge") == "side_back/side_seam":
            break


def taping(page: Page) -> None:
    """The tape laid along a seam."""
    altering(page)
    page.keyboard.press("Escape")
    page.locator("#tape").click()
    edge = page.locator('.edge[data-edge="side_back/side_seam"] .run')
    for part in (0.25, 0.75):
        at = edge.evaluate(
            """(path, part) => {
              const { x, y } = path.getPointAtLength(part * path.getTotalLength()).matrixTransform(path.getScreenCTM());
              return [x, y];
            }""",
            part,
        )
        page.mouse.click(*at)
    page.locator('#tape-card [data-reading="mate"]').wait_for()


def stepping(page: Page) -> None:
    """The fourth step of the alteration."""
    altering(page)
    page.keyboard.press("Escape")
    page.locator("#steps").click()
    page.wait_for_function("() => document.querySelector('#lesson-count').textContent.startsWith('Step 0')")
    for _ in range(4):
        page.locator("#lesson-on").click()


def comparing(page: Page) -> None:
    """The revisions beside the drawing, one laid over the page."""
    altering(page)
    if not page.get_by_role("tab", name="Revisions").is_visible():
        page.locator("#fold-checks").click()
    page.get_by_role("tab", name="Revisions").click()
    page.locator("#compare").click()
    page.locator("#comparison").wait_for()


def cut_line(page: Page) -> None:
    """With the cut line."""
    altering(page)
    page.locator("#cut").click()
    page.wait_for_function("() => document.querySelector('.piece .cut').getAttribute('d')")


def ruler(page: Page) -> None:
    """The ruler being set."""
    altering(page)
    page.locator("#ruler-open").click()


def keys(page: Page) -> None:
    """The list of keys."""
    altering(page)
    page.locator("#keys-open").click()


def saving(page: Page) -> None:
    """The question for a note."""
    altering(page)
    page.locator("#save-open").click()


EMPTY = (View("not-there", "/nowhere"), View("client-new", "/clients/new"), View("pair", "/pair"))
TOUR: tuple[tuple[str, tuple[int, int], str], ...] = (
    ("today", (1280, 800), "light"),
    ("chart", (1280, 900), "light"),
    ("alteration", (1440, 900), "light"),
    ("alteration-edge", (1440, 900), "dark"),
    ("alteration-tape", (1440, 900), "light"),
    ("alteration-steps", (1440, 900), "light"),
    ("fitting", (820, 1100), "light"),
    ("revisions-compared", (1280, 900), "light"),
    ("papers", (1280, 900), "light"),
    ("guide", (1280, 900), "light"),
)


# --- the records ---------------------------------------------------------------------------------------------


def fill(records: Records) -> tuple[View, ...]:
    """A house at work: invented clients with charts, orders, revisions and a fitting; the pages that show them."""
    first = _contralto(records)
    _others(records)
    own = add_base(records, shipped_base("75-18"), "", b"", ".json")
    return (
        View("today", "/"),
        View("clients", "/clients"),
        View("clients-nobody", "/clients?q=nobody"),
        View("client", "/clients/1"),
        View("charts", "/clients/1/charts"),
        View("charts-compared", "/clients/1/charts/compare?a=1&b=2"),
        View("chart", "/charts/2"),
        View("chart-empty", "/charts/3"),
        View("orders", "/orders"),
        View("order-new", "/orders/new?client=1"),
        View("order", f"/orders/{first}"),
        View("alteration", f"/orders/{first}/alteration", altering),
        View("alteration-edge", f"/orders/{first}/alteration", edge_chosen),
        View("alteration-tape", f"/orders/{first}/alteration", taping),
        View("alteration-steps", f"/orders/{first}/alteration", stepping),
        View("alteration-compare", f"/orders/{first}/alteration", comparing),
        View("alteration-cut", f"/orders/{first}/alteration", cut_line),
        View("alteration-ruler", f"/orders/{first}/alteration", ruler),
        View("alteration-keys", f"/orders/{first}/alteration", keys),
        View("alteration-save", f"/orders/{first}/alteration", saving),
        View("revisions", f"/orders/{first}/revisions"),
        View("revisions-compared", f"/orders/{first}/revisions/compare?a=1&b=2"),
        View("fittings", f"/orders/{first}/fittings"),
        View("fitting", "/fittings/1"),
        View("papers", f"/orders/{first}/papers"),
        View("papers-none", "/orders/2/papers"),
        View("bases", "/bases"),
        View("base", f"/bases/{BASE}"),
        View("base-own", f"/bases/{own.key}"),
        View("base-marks", f"/bases/{own.key}/marks"),
        View("guide", "/guide"),
        View("privacy", "/privacy"),
        View("erase", "/clients/1/erase"),
    )


def _contralto(records: Records) -> int:
    client = add_client(records, "Contralto", "stage door, box 5", "Breathes low; wants to sit through the second act.")
    readings = dict(demo_clients()["contralto"].readings)
    before = {**readings, "waist_girth": Reading(691.0), "bust_girth": Reading(readings["bust_girth"].value + 8)}
    add_chart(records, client.id, "2025-09-12", "in her own corset", readings=before)
    chart = add_chart(records, client.id, "2026-10-01", "in a thin shift", readings=readings)
    add_chart(records, client.id, "2026-11-20")
    by_hand = Override("side_front", State.OVERRULED, "sat well on the last toile", -5.0)
    wishes = Wishes(reduction=60.0, overrides=(by_hand,))
    order = OrderRecord(
        0, 1, client.id, "Travelling dress, act two", BASE, chart.id, wishes, {"closure": "busk"}, "stage, dancing",
        "2027-01-15", "480", OrderState.ASKED,
    )  # fmt: skip
    kept = add_order(records, order)
    _revision(records, kept, chart.chart("Contralto"), Wishes(reduction=60.0), "first toile")
    _revision(records, kept, chart.chart("Contralto"), wishes, "side seam as it sat on the toile")
    amounts = (Amount("side", "left", "waist", -6.0), Amount("back_seam", "both", "", 3.0))
    words = "Gapes at the left upper edge; breathes well. Worn for half an hour, seated and standing."
    fitting = add_fitting(records, Fitting(0, 1, kept.id, "2026-11-14", 1, words, amounts))
    add_photo(records, fitting.id, _photo(), "a toile on the stand, drawn")
    return kept.id


def _revision(records: Records, order: OrderRecord, chart: Chart, wishes: Wishes, note: str) -> None:
    done = job.run(job.Order(shipped_base(order.base), chart, wishes, "cm"))
    failed = sum(finding.verdict is Verdict.FAIL for finding in done.findings)
    add_revision(
        records, order.id, base=order.base, wishes=wishes, chart=chart, result_text=job.result_text(done),
        failed_checks=failed, note=note, author="Workroom",
    )  # fmt: skip


def _others(records: Records) -> None:
    for i, name in enumerate(("Coloratura", "Mezzo", "Innkeeper", "Understudy", "Chorus alto")):
        client = add_client(records, name, "stage door")
        readings = dict(demo_clients()[name.lower().replace(" ", "_")].readings)
        chart = add_chart(records, client.id, str(date(2026, 9, 3 + i)), readings=readings)
        add_order(records, OrderRecord(0, 1, client.id, "Understructure", "", chart.id, due=f"2027-0{i + 1}-10"))


def _photo() -> bytes:
    """A plain picture in the place of a photo: no person is shown."""
    picture = Image.new("RGB", (480, 360), (206, 196, 182))
    picture.paste((120, 96, 84), (190, 70, 290, 300))
    target = io.BytesIO()
    picture.save(target, "PNG")
    return target.getvalue()


@contextmanager
def served(records: Records) -> Iterator[str]:
    """The workroom on a free port of this machine; its address."""
    state = AppState(records, templates())
    server = uvicorn.Server(uvicorn.Config(build_app(state), port=0, log_level="warning", lifespan="off"))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    try:
        yield f"http://127.0.0.1:{server.servers[0].sockets[0].getsockname()[1]}"
    finally:
        server.should_exit = True
        thread.join(10)


if __name__ == "__main__":
    sys.exit(main())
