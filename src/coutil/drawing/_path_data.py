"""SVG path data, read strictly: every command of the recommendation, nothing else, and never too much."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from coutil.drawing._arcs import Span, endpoint_arc, line_span, quadratic_span
from coutil.drawing._svg_units import number_of
from coutil.drawing._values import MOST_NODES
from coutil.errors import BadInput

_GAP = re.compile(r"[\s,]*")
_NUMBER = re.compile(r"[+-]?(?:\d++\.?\d*+|\.\d++)(?:[eE][+-]?\d++)?+")
_COUNTS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}
_FLAGS = (3, 4)  # Places of the two one-digit flags among an arc's numbers.


@dataclass(slots=True)
class SubPath:
    """One run of the pen, and whether it was closed."""

    spans: list[Span] = field(default_factory=list)
    flat: list[bool] = field(default_factory=list)
    closed: bool = False


def parse_path(text: str, where: str, tolerance: float) -> list[SubPath]:
    """The runs of a path's data; arcs within `tolerance` in its own units.

    Raises BadInput, naming `where` and the character, for anything that is no path data, and for too many nodes.
    """
    pen = _Pen(where, tolerance)
    scanner = _Scanner(text, where)
    while (command := scanner.command(pen.last)) is not None:
        if not pen.last and command not in "Mm":
            raise BadInput(f"The data of {where} begins with {command}, and it should begin with M: draw it anew.")
        pen.take(command, scanner.numbers(command.upper()))
    return [path for path in pen.paths if path.spans]


class _Scanner:
    """Walks along the text, one command and its numbers at a time."""

    def __init__(self, text: str, where: str) -> None:
        self.text, self.where, self.at = text, where, 0

    def command(self, last: str) -> str | None:
        """The next command letter; where a number follows instead, the last command goes on."""
        self._skip()
        if self.at >= len(self.text):
            return None
        letter = self.text[self.at]
        if letter.upper() in _COUNTS:
            self.at += 1
            return letter
        if not last or last in "Zz":
            raise self._fault()
        return {"M": "L", "m": "l"}.get(last, last)

    def numbers(self, command: str) -> list[float]:
        """As many numbers as the command takes."""
        return [self._flag() if command == "A" and k in _FLAGS else self._number() for k in range(_COUNTS[command])]

    def _number(self) -> float:
        self._skip()
        found = _NUMBER.match(self.text, self.at)
        if found is None:
            raise self._fault()
        self.at = found.end()
        return number_of(found[0], self.where)

    def _flag(self) -> float:
        self._skip()
        if self.text[self.at : self.at + 1] not in ("0", "1"):
            raise self._fault()
        self.at += 1
        return float(self.text[self.at - 1])

    def _skip(self) -> None:
        found = _GAP.match(self.text, self.at)
        self.at = found.end() if found else self.at

    def _fault(self) -> BadInput:
        shown = self.text[self.at : self.at + 12]
        what = f"holds {shown!r} where a number belongs" if shown else "ends in the middle of a command"
        return BadInput(f"The data of {self.where} {what} (character {self.at + 1}): draw that line anew.")


class _Pen:
    """Where the pen stands, what it drew, and which handle a smooth command reflects."""

    def __init__(self, where: str, tolerance: float) -> None:
        self.where, self.tolerance = where, tolerance
        self.paths: list[SubPath] = []
        self.at = self.begin = self.handle = 0j
        self.last = ""
        self.nodes = 0

    def take(self, command: str, numbers: list[float]) -> None:
        """Carries out one command."""
        base = self.at if command.islower() else 0j
        points = [base + complex(x, y) for x, y in zip(numbers[::2], numbers[1::2], strict=False)]
        kind = command.upper()
        if kind == "M":
            self._move(points[0])
        elif kind == "Z":
            self._close()
        elif kind == "A":
            self._arc(numbers, base + complex(numbers[5], numbers[6]))
        elif kind in "CS":
            self._cubic(kind, points)
        elif kind in "QT":
            self._quadratic(kind, points)
        else:
            self._line(self._target(command, numbers, points))
        self.last = command

    def _target(self, command: str, numbers: list[float], points: list[complex]) -> complex:
        if command in "Hh":
            return complex(numbers[0] + (self.at.real if command == "h" else 0.0), self.at.imag)
        if command in "Vv":
            return complex(self.at.real, numbers[0] + (self.at.imag if command == "v" else 0.0))
        return points[0]

    def _move(self, to: complex) -> None:
        self.paths.append(SubPath())
        self.at = self.begin = to

    def _line(self, to: complex) -> None:
        self._draw([line_span(self.at, to)], True)

    def _close(self) -> None:
        if self.at != self.begin:
            self._line(self.begin)
        self._current().closed = True

    def _arc(self, numbers: list[float], to: complex) -> None:
        radii, large, sweep = (numbers[0], numbers[1]), numbers[3] > 0, numbers[4] > 0
        self._draw(endpoint_arc(self.at, radii, numbers[2], large, sweep, to, self.tolerance), False)

    def _cubic(self, kind: str, points: list[complex]) -> None:
        reflected = 2 * self.at - self.handle if self.last.upper() in ("C", "S") else self.at
        first, second, end = points if kind == "C" else (reflected, *points)
        self._draw([(self.at, first, second, end)], False)
        self.handle = second

    def _quadratic(self, kind: str, points: list[complex]) -> None:
        reflected = 2 * self.at - self.handle if self.last.upper() in ("Q", "T") else self.at
        handle, end = points if kind == "Q" else (reflected, *points)
        self._draw([quadratic_span(self.at, handle, end)], False)
        self.handle = handle

    def _current(self) -> SubPath:
        """The run being drawn; after a closing a new one begins where that one did."""
        if self.paths[-1].closed:
            self.paths.append(SubPath())
        return self.paths[-1]

    def _draw(self, spans: list[Span], flat: bool) -> None:
        self.nodes += len(spans)
        if self.nodes > MOST_NODES:
            raise BadInput(
                f"{self.where[:1].upper()}{self.where[1:]} has more than {MOST_NODES} nodes: "
                "simplify that line in the drawing program."
            )
        path = self._current()
        path.spans += spans
        path.flat += [flat] * len(spans)
        if spans:
            self.at = spans[-1][3]
