"""The face of printed sheets: DejaVu Sans, which has Latin, Greek and Cyrillic letters, embedded as used.

Its file comes with the package ziafont; the licence (that of the Bitstream Vera fonts, changes in the public
domain) stands in the file itself.
"""

from __future__ import annotations

import io
import unicodedata
from functools import cache, lru_cache
from importlib.resources import files

from coutil.errors import CoutilError

FACE = "DejaVuSans"

# What stands for a letter that the face has not: an empty box, so that it is seen.
BOX = "□"


@cache
def face() -> str:
    """The name by which the PDF writer knows the face; raises CoutilError where its file is missing."""
    from reportlab import rl_config
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    # Packed pages stay as they are: written as text they take longer, and a quarter more room.
    rl_config.useA85 = 0
    pdfmetrics.registerFont(TTFont(FACE, io.BytesIO(_content())))
    return FACE


def _content() -> bytes:
    try:
        return files("ziafont").joinpath("fonts", "DejaVuSans.ttf").read_bytes()
    except (ModuleNotFoundError, FileNotFoundError) as error:
        raise CoutilError("The font of printed sheets is missing: install ziafont again.") from error


@cache
def _letters() -> frozenset[int]:
    from reportlab.pdfbase import pdfmetrics

    return frozenset(pdfmetrics.getFont(face()).face.charToGlyph)


@lru_cache(maxsize=4096)
def shown(string: str) -> str:
    """The text as it can be drawn: a letter that the face has not becomes BOX, a control a space.

    A combining mark is drawn with its letter where there is one character for both.
    """
    composed = unicodedata.normalize("NFC", string)
    return "".join(_shown(character) for character in composed)


def _shown(character: str) -> str:
    if unicodedata.category(character) in ("Cc", "Cf", "Zl", "Zp"):
        return " "
    return character if ord(character) in _letters() else BOX


def missing_letters(*words: str) -> str:
    """The letters of these words that the face has not, each once, in the order they come."""
    composed = unicodedata.normalize("NFC", "".join(words))
    return "".join(dict.fromkeys(letter for letter in composed if _shown(letter) == BOX != letter))


def string_width(string: str, size: float) -> float:
    """The width a text takes in the unit of `size`, the font size."""
    from reportlab.pdfbase import pdfmetrics

    return float(pdfmetrics.stringWidth(string, face(), size))
