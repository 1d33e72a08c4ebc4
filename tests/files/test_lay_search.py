"""The search in its own process: it answers, and however it fails, a lay comes out and nothing hangs."""

from __future__ import annotations

import sys
import time

import numpy as np
import pytest

from coutil import lay_search
from coutil.cut.lay import LayCloth, LayPart, SearchFailed, SearchShape, SearchTask, find_lay_faults, plan_lay
from coutil.lay_search import NOT_INSTALLED, ProcessSearch, search_for

CLOTH = LayCloth(400.0, selvedge=0.0, gap=3.0)
TRIANGLES = (LayPart("t", "T", "outer", np.array([(0.0, 0), (300, 0), (0, 190)]), 4),)


def worker(script: str, **more) -> ProcessSearch:
    """A search whose process runs this script."""
    return ProcessSearch(1, command=(sys.executable, "-c", script), **more)


def lay(search: ProcessSearch):
    return plan_lay("s", TRIANGLES, CLOTH, search=search, placings=0)


def test_the_search_finds_a_lay_no_longer_than_ours() -> None:
    ticks: list[float] = []
    plan = lay(ProcessSearch(1, workers=1, tick=ticks.append))
    assert plan.remarks == ()
    assert plan.length <= plan_lay("s", TRIANGLES, CLOTH, placings=0).length
    assert find_lay_faults(TRIANGLES, plan.placements, CLOTH) == ()
    assert ticks == sorted(ticks)
    assert ticks


@pytest.mark.parametrize(
    ("script", "words"),
    [
        ("raise SystemExit(1)", "broke off"),
        ("import os; os.abort()", "broke off"),
        (f"raise SystemExit({NOT_INSTALLED})", "not installed"),
        ("", "found nothing"),
        ("print('hello')", "nonsense"),
        ("print('{\"spots\": [[0, 1]]}')", "nonsense"),
        ("print('{\"spots\": [[7, 0, 0, 0]]}')", "not asked for"),
        ("print('{\"spots\": [[0, 0, 0, 45]]}')", "against its grain"),
        ("print('{\"spots\": [[0, NaN, 0, 0], [0, 0, 0, 0], [0, 0, 0, 0], [0, 0, 0, 0]]}')", ""),
    ],
    ids=["ends", "aborts", "not installed", "silent", "talks", "short", "unknown part", "turned", "not a number"],
)
def test_a_failing_process_leaves_our_own_lay(script: str, words: str) -> None:
    plan = lay(worker(script))
    assert plan.method == "part by part"
    assert words in " ".join(plan.remarks)
    assert find_lay_faults(TRIANGLES, plan.placements, CLOTH) == ()


def test_a_process_that_never_ends_is_ended(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(lay_search, "GRACE_S", -0.5)
    begun = time.monotonic()
    plan = lay(worker("import time; time.sleep(60)"))
    assert "took too long" in plan.remarks[0]
    assert time.monotonic() - begun < 20


def test_a_program_that_is_not_there_is_said_so() -> None:
    search = ProcessSearch(1, command=("no-such-program-here",))
    with pytest.raises(SearchFailed, match="could not be started"):
        search(SearchTask(10.0, ()), lambda _: None)


def test_stopping_keeps_what_was_found() -> None:
    """The process offers one good layout, then works on for a minute; the maker stops as soon as it is there."""
    script = (
        "import time; print('{\"spots\": [[0, 0, 0, 0], [0, 310, 0, 0], [0, 620, 0, 0], [0, 930, 0, 0]]}', flush=True)"
        "; time.sleep(60)"
    )
    seen: list[int] = []
    begun = time.monotonic()
    search = worker(script, cancelled=lambda: bool(seen))
    search(SearchTask(400.0, (SearchShape(TRIANGLES[0].outline, 4, (0, 180)),)), lambda spots: seen.append(len(spots)))
    assert seen == [4]
    assert time.monotonic() - begun < 20


def test_stopping_before_anything_was_found_is_no_failure() -> None:
    plan = lay(worker("import time; time.sleep(60)", cancelled=lambda: True))
    assert plan.remarks == ()


def test_no_time_is_no_search() -> None:
    assert search_for(0) is None
    assert isinstance(search_for(5), ProcessSearch)
