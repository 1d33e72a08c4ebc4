"""SVG at true size: one user unit is one millimetre, groups keep their names, curves stay curves."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from xml.sax.saxutils import escape, quoteattr

from coutil.sheet._drawing import BLACK, CAPITALS_PER_EM, Anchor, Colour, Floats, Line, Recorder

# A ten-thousandth of a millimetre: a hundred times finer than what must come back the same.
DECIMALS = 4

# What XML 1.0 allows below the space: tab, line feed and carriage return.
ALLOWED_CONTROLS = frozenset("\t\n\r")


@dataclass(slots=True)
class SvgPen:
    """Writes a drawing as SVG elements; y is turned round, since SVG counts it downwards."""

    _parts: list[str] = field(default_factory=list)
    _names: Counter[str] = field(default_factory=Counter)

    def begin_group(self, name: str) -> None:
        """See Pen.  `data-name` keeps the name; `id` is the same without spaces, numbered where repeated."""
        self._parts.append(f"<g id={_attribute(self._unique(name))} data-name={_attribute(name)}>")

    def end_group(self) -> None:
        """See Pen."""
        self._parts.append("</g>")

    def curve(self, points: Floats, line: Line) -> None:
        """See Pen."""
        start, *rest = (_pair(point) for point in points)
        self._path(f"M{start} C{' '.join(rest)}", line)

    def polyline(self, points: Floats, line: Line, closed: bool = False) -> None:
        """See Pen."""
        self._path("M" + " L".join(_pair(point) for point in points) + (" Z" if closed else ""), line)

    def text(
        self,
        position: tuple[float, float],
        string: str,
        height: float,
        *,
        angle: float = 0.0,
        anchor: Anchor = "start",
        colour: Colour = BLACK,
    ) -> None:
        """See Pen."""
        x, y = _number(position[0]), _number(-position[1])
        turn = f' transform="rotate({_number(-angle)} {x} {y})"' if angle else ""
        size = _number(height / CAPITALS_PER_EM)
        self._parts.append(
            f'<text x="{x}" y="{y}" font-size="{size}" text-anchor="{anchor}" fill="{_hex(colour)}"{turn}>'
            f"{escape(_clean(string))}</text>"
        )

    def document(self, box: tuple[float, float, float, float], title: str) -> str:
        """The whole file: the drawing's (xmin, ymin, xmax, ymax) becomes its width and height, mm."""
        xmin, ymin, xmax, ymax = box
        width, height = _number(xmax - xmin), _number(ymax - ymin)
        head = (
            '<?xml version="1.0" encoding="UTF-8"?>\n'
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
            f'viewBox="{_number(xmin)} {_number(-ymax)} {width} {height}" font-family="sans-serif">'
        )
        return "\n".join([head, f"<title>{escape(_clean(title))}</title>", *self._parts, "</svg>\n"])

    def _path(self, steps: str, line: Line) -> None:
        dash = f' stroke-dasharray="{" ".join(map(_number, line.dash))}"' if line.dash else ""
        self._parts.append(
            f'<path class={_attribute(line.name)} d="{steps}" fill="none" stroke="{_hex(line.colour)}" '
            f'stroke-width="{_number(line.width)}" stroke-linejoin="round"{dash}/>'
        )

    def _unique(self, name: str) -> str:
        plain = "_".join(_clean(name).split()) or "group"
        self._names[plain] += 1
        if self._names[plain] == 1:
            return plain
        return self._unique(f"{plain}-{self._names[plain]}")


def svg_text(drawing: Recorder, box: tuple[float, float, float, float], title: str) -> str:
    """A recorded drawing as an SVG file that shows `box` (mm)."""
    pen = SvgPen()
    drawing.replay(pen)
    return pen.document(box, title)


def _pair(point: Floats) -> str:
    return f"{_number(float(point[0]))} {_number(-float(point[1]))}"


def _number(value: float) -> str:
    """At most DECIMALS decimals, without trailing zeros and without a negative zero."""
    return f"{round(value, DECIMALS) + 0.0:.{DECIMALS}f}".rstrip("0").rstrip(".")


def _hex(colour: Colour) -> str:
    return "#{:02x}{:02x}{:02x}".format(*colour)


def _attribute(value: str) -> str:
    return quoteattr(_clean(value))


def _clean(value: str) -> str:
    """The text without characters that XML cannot carry at all, not even escaped."""
    return "".join(c for c in value if _is_xml(c))


def _is_xml(character: str) -> bool:
    code = ord(character)
    surrogate, not_character = 0xD800 <= code <= 0xDFFF, code in (0xFFFE, 0xFFFF)
    return (code >= 0x20 or character in ALLOWED_CONTROLS) and not surrogate and not not_character
