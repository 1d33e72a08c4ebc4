"""The face of printed sheets: what it covers, that it is in the file, and under which licence it may be.

Sources: the face's own tables, read by fontTools; Unicode blocks Basic Latin, Latin-1, Latin Extended-A, Greek and
Cyrillic (the Unicode Standard's code charts).
"""

import io

import pikepdf
import pytest
from fontTools.ttLib import TTFont
from reportlab.pdfbase import pdfmetrics

from coutil.draft import base_chart, draft_cupped
from coutil.sheet import PrintOptions, missing_in, print_pdf
from coutil.sheet._fonts import BOX, face, missing_letters, shown
from coutil.sheet._fonts import _content as font_file
from helpers.pdf_reading import texts

STYLE = draft_cupped(base_chart(75, 18))


@pytest.fixture(scope="module")
def font() -> TTFont:
    return TTFont(io.BytesIO(font_file()))


def letters(first: int, last: int) -> set[str]:
    return {chr(code) for code in range(first, last + 1) if chr(code).isalpha()}


def test_latin_greek_and_cyrillic_are_covered(font: TTFont) -> None:
    known = {chr(code) for code in font.getBestCmap()}
    for first, last in ((0x20, 0x7E), (0xA0, 0xFF), (0x100, 0x17F), (0x391, 0x3CE), (0x400, 0x45F)):
        assert letters(first, last) <= known
    # What the sheets themselves write beside letters.
    assert set("×·–’°½¼¾⅛ ") <= known
    assert BOX in known


def test_the_licence_lets_the_face_be_embedded_and_passed_on(font: TTFont) -> None:
    licence = str(font["name"].getDebugName(13))
    assert "Permission is hereby granted, free of charge" in licence
    assert "to reproduce and distribute the\nFont Software" in licence.replace("\r", "")
    # OS/2 fsType 0: installable embedding (OpenType specification).
    assert font["OS/2"].fsType == 0


def test_every_face_of_the_file_is_embedded() -> None:
    with pikepdf.open(io.BytesIO(print_pdf(STYLE))) as pdf:
        fonts = [font for page in pdf.pages for font in page.resources.get("/Font", {}).values()]
        described = [font for font in fonts if "/FontDescriptor" in font]
        embedded = {str(font.BaseFont) for font in described if "/FontFile2" in font.FontDescriptor}
        bare = {str(font.BaseFont) for font in fonts} - embedded
    assert embedded
    assert all(name.split("+")[-1] == "DejaVuSans" for name in embedded)
    # The page writer lists a standard face on every page; nothing is set in it.
    assert bare <= {"/Helvetica"}


def test_letters_the_face_has_not_become_boxes_and_are_told() -> None:
    assert pdfmetrics.getFont(face())
    assert missing_letters("Šárka", "漢字 Ж 漢") == "漢字"
    assert shown("漢字 Ж\tΩ") == "□□ Ж Ω"
    # One letter, written as a letter and a combining mark.
    assert shown("e\u0301") == "é"
    options = PrintOptions("漢字")
    assert missing_in(STYLE, options) == "漢字"
    first = texts(print_pdf(STYLE, options=options))[0]
    assert "no letter for U+6F22, U+5B57" in first
    assert "□□" in first
