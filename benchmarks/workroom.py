"""What the workroom takes: its start, an edit from key to pixels, and its memory over a thousand edits.

Run it with `python benchmarks/workroom.py`; it needs Chromium and playwright.  The clock on the wall is what a maker
waits for, so the load of the machine is printed beside every figure: a free machine is below 1.
"""

from __future__ import annotations

import argparse
import os
import platform
import re
import signal
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, sync_playwright

import coutil
from coutil.alter import Wishes
from coutil.record import OrderRecord, add_chart, add_client, add_order, open_records
from coutil.shipped import demo_clients

CHROMIUM = "/usr/bin/chromium"
PACKAGE = Path(coutil.__file__).parent
WARM_EDITS = 10
CLIENTS = (("contralto", "80-18"), ("chorus_alto", "75-22"), ("tenor", "80-18"))
MEASURED = """() => performance.getEntriesByName("key to pixels").map(({ duration, detail }) => ({
  whole: duration,
  engine: detail.engine,
  asked: detail.answered - detail.asked,
  written: detail.written - detail.answered,
}))"""
COUNT = "performance.getEntriesByName('key to pixels').length"
FORGET = "performance.clearMeasures('key to pixels')"


def main() -> int:
    """Prints the figures of each part that was asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--edits", type=int, default=60, help="edits timed of each client")
    parser.add_argument("--long", type=int, default=1000, help="edits over which memory is watched; 0 leaves that out")
    parser.add_argument("--starts", type=int, default=5, help="starts of the program timed; 0 leaves them out")
    chosen = parser.parse_args()
    print(f"{platform.machine()}, {os.cpu_count()} cores")
    if chosen.starts:
        print_starts(chosen.starts)
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as driver:
        orders = fill(Path(folder))
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        with served(Path(folder)) as (process, address):
            page = browser.new_page(viewport={"width": 1440, "height": 900})
            if chosen.edits:
                print_edits(page, address, orders, chosen.edits)
            if chosen.long:
                print_memory(page, process.pid, f"{address}/orders/{orders[0]}/alteration", chosen.long)
        browser.close()
    return 0


def fill(folder: Path) -> list[int]:
    """The records of a few invented clients, each with an order; the numbers of the orders."""
    records = open_records(folder / "coutil.db")
    orders = []
    for name, base in CLIENTS:
        client = add_client(records, name)
        chart = add_chart(records, client.id, "2026-10-01", readings=dict(demo_clients()[name].readings))
        order = OrderRecord(0, 1, client.id, "Stage corset", base, chart.id, Wishes(reduction=60.0))
        orders.append(add_order(records, order).id)
    records.close()
    return orders


# --- starting ---------------------------------------------------------------------------------------------


@contextmanager
def served(folder: Path, environment: dict[str, str] | None = None) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """`coutil serve` as a process of its own, and its address."""
    command = [sys.executable, "-m", "coutil", "serve", "--data", str(folder), "--port", "0", "--no-browser"]
    own = {**os.environ, "PYTHONPATH": str(PACKAGE.parent), "PYTHONUNBUFFERED": "1", **(environment or {})}
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, env=own) as process:
        try:
            assert process.stdout is not None
            found = re.search(r"http://127\.0\.0\.1:\d+", process.stdout.readline())
            assert found, "coutil serve did not start"
            yield process, found[0]
        finally:
            process.send_signal(signal.SIGINT)
            process.wait(20)


def seconds_to_first_page(environment: dict[str, str] | None = None) -> float:
    """From the command to the whole of the first page, on records that are made first."""
    with tempfile.TemporaryDirectory() as folder:
        begun = time.perf_counter()
        with served(Path(folder), environment) as (_, address):
            while True:
                try:
                    urllib.request.urlopen(address, timeout=30).read()
                except OSError:
                    time.sleep(0.005)
                else:
                    return time.perf_counter() - begun


def print_starts(times: int) -> None:
    """Warm; with every file read from the disk; and the very first start, before anything was compiled."""
    seconds_to_first_page()
    warm = [seconds_to_first_page() for _ in range(times)]
    cold = [_cold() for _ in range(times)]
    print(f"start to first page, load {os.getloadavg()[0]:.1f}: warm {told(warm, 's')}, cold {told(cold, 's')}", end="")
    with tempfile.TemporaryDirectory() as empty:
        print(f", nothing compiled yet {seconds_to_first_page({'PYTHONPYCACHEPREFIX': empty}):.2f} s")


def _cold() -> float:
    """The start after the system was told to forget the files of Python, its packages and ours."""
    for root in {Path(sys.prefix) / "lib", Path(os.__file__).parent, PACKAGE}:
        for path in root.rglob("*.*"):
            if path.is_file():
                _forget(path)
    return seconds_to_first_page()


def _forget(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    os.posix_fadvise(handle, 0, 0, os.POSIX_FADV_DONTNEED)
    os.close(handle)


# --- edits ------------------------------------------------------------------------------------------------


def print_edits(page: Page, address: str, orders: Sequence[int], edits: int) -> None:
    """Each client's edits: the whole from key to pixels, and where it goes."""
    tail, parts = ("half", "9 of 10", "worst"), ("engine", "asked", "written")
    print(f"{'from key to pixels, ms':<36}" + "".join(f"{word:>9}" for word in (*tail, *parts)))
    for (name, base), order in zip(CLIENTS, orders, strict=True):
        open_page(page, f"{address}/orders/{order}/alteration")
        own = demo_clients()[name].readings["waist_girth"].value
        type_waists(page, WARM_EDITS, own + 30)
        page.evaluate(FORGET)
        type_waists(page, edits, own)
        print_line(f"{name} on {base}, load {os.getloadavg()[0]:.1f}", page.evaluate(MEASURED))


def print_line(name: str, measured: Sequence[dict[str, float]]) -> None:
    """One line of the table: medians, and the tail of the whole."""
    whole = sorted(one["whole"] for one in measured)
    parts = (statistics.median(one[part] for one in measured) for part in ("engine", "asked", "written"))
    tail = (statistics.median(whole), whole[int(0.9 * len(whole))], whole[-1])
    print(f"{name:<36}" + "".join(f"{ms:>9.0f}" for ms in (*tail, *parts)))


def open_page(page: Page, address: str) -> None:
    """The alteration page, ready."""
    page.goto(address)
    page.wait_for_selector("#alteration:not([data-busy])")


def type_waists(page: Page, edits: int, first: float, keep: bool = False) -> None:
    """Types one waist after the other, each once the one before is drawn; `keep` makes a step of each."""
    waist = page.locator('[data-path="chart.waist_girth"]')
    waist.focus()
    for edit in range(edits):
        before = page.evaluate(COUNT)
        waist.fill(f"{(first + edit % 29) / 10:.1f}")
        page.wait_for_function("before => performance.getEntriesByName('key to pixels').length > before", arg=before)
        if keep:
            waist.press("Enter")


# --- memory -----------------------------------------------------------------------------------------------


def print_memory(page: Page, server: int, address: str, edits: int) -> None:
    """The server's and the page's memory before and in the course of that many edits, each kept as a step."""
    open_page(page, address)
    counter = page.context.new_cdp_session(page)
    type_waists(page, 100, 700, keep=True)
    print(f"memory, MB, load {os.getloadavg()[0]:.1f}{'server':>12}{'page':>8}")
    for done in range(0, edits + 1, max(edits // 5, 1)):
        if done:
            page.evaluate(FORGET)
            type_waists(page, edits // 5, 700, keep=True)
        print(f"{'after ' + str(done) + ' edits':<21}{resident(server):>12.1f}{heap(counter):>8.2f}", flush=True)


def resident(process: int) -> float:
    """The memory a process has of the machine, MB."""
    found = re.search(r"VmRSS:\s+(\d+) kB", Path(f"/proc/{process}/status").read_text())
    assert found
    return int(found[1]) / 1024


def heap(counter: Any) -> float:
    """What the page's script holds once everything that can be is thrown away, MB."""
    counter.send("HeapProfiler.collectGarbage")
    return float(counter.send("Runtime.getHeapUsage")["usedSize"]) / 1024**2


def told(seconds: Sequence[float], unit: str) -> str:
    """`1.20 s (1.10 to 1.40)`."""
    return f"{statistics.median(seconds):.2f} {unit} ({min(seconds):.2f} to {max(seconds):.2f})"


if __name__ == "__main__":
    sys.exit(main())
