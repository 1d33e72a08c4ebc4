"""A chart: named body measurements, each with how it came and when."""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from statistics import median
from types import MappingProxyType
from typing import Any, Literal, cast, get_args

from coutil.errors import BadChart
from coutil.measure._definitions import MEASUREMENTS
from coutil.measure._keys import SIDES, split_key

How = Literal["measured", "repeated", "estimated"]
HOWS: tuple[str, ...] = get_args(How)
STORED_DECIMALS = 3  # A thousandth of a millimetre, so that what is written is exactly what is read back.
LONGEST_TEXT = 200  # Characters of a name or note that still fit the head of a printed sheet.


@dataclass(frozen=True, slots=True)
class Reading:
    """One measurement as taken, in mm, held to 0.001 mm.

    `repeats` are the single readings behind a repeated one, of which `value` is the median.  `taken` is an
    ISO date where it differs from the chart's.  Raises BadChart for a value that is no number.
    """

    value: float
    how: How = "measured"
    taken: str | None = None
    repeats: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        if self.how not in HOWS:
            raise BadChart(f"A reading is measured, repeated or estimated, not {str(self.how)[:40]!r}.")
        object.__setattr__(self, "value", _stored(self.value))
        object.__setattr__(self, "repeats", tuple(_stored(r) for r in self.repeats))
        object.__setattr__(self, "taken", iso_date(self.taken) if self.taken is not None else None)

    @classmethod
    def of_repeats(cls, values: Iterable[float], taken: str | None = None) -> Reading:
        """The median of several readings in mm; raises BadChart where there are none."""
        readings = tuple(_stored(v) for v in values)
        if not readings:
            raise BadChart("A repeated measurement needs at least one reading.")
        return cls(median(readings), "repeated", taken, readings)

    @property
    def spread(self) -> float:
        """Largest less smallest of the repeats, mm; 0 for a single reading."""
        return max(self.repeats) - min(self.repeats) if self.repeats else 0.0


@dataclass(frozen=True, slots=True)
class Chart:
    """A set of body measurements in mm.

    `worn` says what was worn while measuring; `taken` is an ISO date or empty; `invented` marks bodies that
    are nobody's.  Raises BadChart for an unknown key.
    """

    name: str
    readings: Mapping[str, Reading]
    worn: str = ""
    taken: str = ""
    invented: bool = False

    def __post_init__(self) -> None:
        for key in self.readings:
            split_key(key)
        object.__setattr__(self, "readings", MappingProxyType(dict(self.readings)))
        object.__setattr__(self, "name", _one_line(self.name, "name"))
        object.__setattr__(self, "worn", _one_line(self.worn, "worn"))
        object.__setattr__(self, "taken", iso_date(self.taken) if self.taken else "")

    def __reduce__(self) -> tuple[Any, ...]:
        # The read-only view cannot be copied or sent to another process; a plain dict can.
        return Chart, (self.name, dict(self.readings), self.worn, self.taken, self.invented)

    def __hash__(self) -> int:
        return hash((self.name, frozenset(self.readings.items()), self.worn, self.taken, self.invented))

    def __getitem__(self, key: str) -> float:
        """The measurement in mm, from its two sides where only those were taken; BadChart where missing."""
        found = self.get(key)
        if found is None:
            owner = f" of {self.name}" if self.name else ""
            raise BadChart(f"The chart{owner} has no {key}: measure it and add it.")
        return found

    def __iter__(self) -> Iterator[str]:
        """The keys as stored, in the order of the chart."""
        return iter(self.readings)

    def __contains__(self, key: object) -> bool:
        return isinstance(key, str) and self.get(key) is not None

    def get(self, key: str, default: float | None = None) -> float | None:
        """The measurement in mm, or `default` where it was not taken; raises BadChart for an unknown key.

        Two sides of an arc add up; of a length or height the mean counts, or the one side that was taken.
        """
        stem, side = split_key(key)
        if key in self.readings:
            return self.readings[key].value
        if side is not None:
            return default
        return _from_sides(stem, self._side_values(stem), default)

    def sides(self, key: str) -> tuple[float, float] | None:
        """Left and right in mm, where both were taken; `key` is the stem."""
        values = self._side_values(key)
        return (values[0], values[1]) if len(values) == len(SIDES) else None

    def estimated(self, key: str) -> bool:
        """Whether that measurement, or one of its two sides, is an estimate; False where missing."""
        if key in self.readings:
            return self.readings[key].how == "estimated"
        return any(self.readings[k].how == "estimated" for k in _side_keys(key) if k in self.readings)

    def keys(self) -> tuple[str, ...]:
        """The keys as stored, in the order of the chart."""
        return tuple(self.readings)

    def stems(self) -> tuple[str, ...]:
        """The measurements that can be asked for without naming a side, in the order of the definitions."""
        return tuple(key for key in MEASUREMENTS if key in self)

    def with_value(self, key: str, mm: float, how: How = "measured") -> Chart:
        """The chart with that measurement set.  The whole drops its sides; two sides drop the whole."""
        return self.with_reading(key, Reading(mm, how))

    def with_reading(self, key: str, reading: Reading) -> Chart:
        """As `with_value`, with a whole reading."""
        stem, side = split_key(key)
        readings = {**self.readings, key: reading}
        if side is None:
            readings = {k: r for k, r in readings.items() if k not in _side_keys(stem)}
        elif all(k in readings for k in _side_keys(stem)):
            readings.pop(stem, None)
        return replace(self, readings=readings)

    def without(self, keys: Iterable[str]) -> Chart:
        """The chart with those measurements left out, their sides too."""
        dropped = {k for key in keys for k in (key, *_side_keys(key))}
        return replace(self, readings={k: r for k, r in self.readings.items() if k not in dropped})

    def _side_values(self, stem: str) -> list[float]:
        return [self.readings[k].value for k in _side_keys(stem) if k in self.readings]


def _side_keys(stem: str) -> tuple[str, str]:
    return f"{stem}_left", f"{stem}_right"


def _from_sides(stem: str, values: list[float], default: float | None) -> float | None:
    both = len(values) == len(SIDES)
    if MEASUREMENTS[stem].across:
        return round(sum(values), STORED_DECIMALS) if both else default
    return round(sum(values) / len(values), STORED_DECIMALS) if values else default


def _stored(value: object) -> float:
    """The value held to 0.001 mm; raises BadChart for anything but a finite number."""
    try:
        if isinstance(value, bool | str):
            raise TypeError
        number = float(cast(float, value))
    except (TypeError, ValueError, OverflowError):
        raise BadChart(f"A measurement is a number of millimetres, not {str(value)[:40]!r}.") from None
    if not math.isfinite(number):
        raise BadChart(f"A measurement is a finite number of millimetres, not {number}.")
    return round(number, STORED_DECIMALS) + 0.0


def _one_line(text: object, field: str) -> str:
    """The text on one line with single spaces; raises BadChart for what cannot be printed."""
    if not isinstance(text, str):
        raise BadChart(f"The chart's {field} is to be text, not {type(text).__name__}.")
    line = " ".join(text.split())
    if any(unicodedata.category(c) in ("Cc", "Cs") for c in line):
        raise BadChart(f"The chart's {field} holds a character that cannot be printed.")
    if len(line) > LONGEST_TEXT:
        raise BadChart(f"The chart's {field} is longer than {LONGEST_TEXT} characters: shorten it.")
    return line


def iso_date(text: object) -> str:
    """The date as YYYY-MM-DD; raises BadChart for anything else."""
    shown = str(text).strip()
    try:
        return shown if date.fromisoformat(shown).isoformat() == shown else _bad_date(shown)
    except ValueError:
        return _bad_date(shown)


def _bad_date(shown: str) -> str:
    raise BadChart(f"A date is written as year-month-day, like 2026-10-01, not {shown[:40]!r}.")
