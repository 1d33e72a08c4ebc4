"""Measurement keys: a stem of `MEASUREMENTS`, alone or with `_left` or `_right`."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches
from typing import Literal

from coutil.errors import BadChart
from coutil.measure._definitions import MEASUREMENTS, Measurement

Side = Literal["left", "right"]
SIDES: tuple[Side, Side] = ("left", "right")


def split_key(key: str) -> tuple[str, Side | None]:
    """The stem and the side (None: the whole body); BadChart for an unknown key, naming the nearest."""
    if key in MEASUREMENTS:
        return key, None
    for side in SIDES:
        stem = key.removesuffix(f"_{side}")
        if stem != key and stem in MEASUREMENTS:
            return stem, side
    raise BadChart(f"There is no measurement called {_quoted(key)}{nearest_words(key, MEASUREMENTS) or '.'}")


def measurement(key: str) -> Measurement:
    """The definition behind a key, whichever side it names; raises BadChart for an unknown key."""
    return MEASUREMENTS[split_key(key)[0]]


def title(key: str) -> str:
    """The measurement's name as it is printed, with its side; raises BadChart for an unknown key."""
    stem, side = split_key(key)
    return f"{MEASUREMENTS[stem].title}, {side}" if side else MEASUREMENTS[stem].title


def nearest_words(word: str, known: Iterable[str]) -> str:
    """Words that offer the nearest known name, or nothing where none is near."""
    near = get_close_matches(word[:60].lower().replace(" ", "_"), list(known), n=1, cutoff=0.6)
    return f"; did you mean {near[0]}?" if near else ""


def _quoted(word: str) -> str:
    shown = word if len(word) <= 40 else f"{word[:40]}..."
    return repr(shown)
