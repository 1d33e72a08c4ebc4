"""The face of printed sheets: DejaVu Sans, which has Latin, Greek and Cyrillic letters, embedded as used.

Its file comes with the package ziafont; the licence (that of the Bitstream Vera fonts, changes in the public
domain) stands in the file itself.
"""

from __future__ import annotations

import io
from functools import cache
from importlib.resources import files

from coutil.errors import CoutilError

FACE = "DejaVuSans"


@cache
def face() -> str:
    """The name by which the PDF writer knows the face; raises CoutilError where its file is missing."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    pdfmetrics.registerFont(TTFont(FACE, io.BytesIO(_content())))
    return FACE


def _content() -> bytes:
    try:
        return files("ziafont").joinpath("fonts", "DejaVuSans.ttf").read_bytes()
    except (ModuleNotFoundError, FileNotFoundError) as error:
        raise CoutilError("The font of printed sheets is missing: install ziafont again.") from error


def string_width(string: str, size: float) -> float:
    """The width a text takes in the unit of `size`, the font size."""
    from reportlab.pdfbase import pdfmetrics

    return float(pdfmetrics.stringWidth(string, face(), size))
