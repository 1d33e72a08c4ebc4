"""Reading printed pages back: raster, text and path operators, all through pdfium."""

import ctypes
import io

import numpy as np
import pikepdf
import pypdfium2
from pypdfium2 import raw

MM_PER_POINT = 25.4 / 72


def pages(content: bytes) -> list[pypdfium2.PdfPage]:
    return list(pypdfium2.PdfDocument(content))


def texts(content: bytes) -> list[str]:
    """The text of every page, line ends as spaces."""
    return [" ".join(page.get_textpage().get_text_range().split()) for page in pages(content)]


def darkness(page: pypdfium2.PdfPage, dpi: float) -> tuple[np.ndarray, tuple[float, float]]:
    """The page as darkness 0 to 1, and pixels per mm across and down.

    pdfium stretches a page to whole pixels, so the scale is the pixels over the page's exact size.
    """
    grey = np.asarray(page.render(scale=dpi / 72).to_pil().convert("L"), dtype=float)
    width, height = (side * MM_PER_POINT for side in page.get_size())
    return 1 - grey / 255, (grey.shape[1] / width, grey.shape[0] / height)


def drawn_paths(page: pypdfium2.PdfPage) -> list[np.ndarray]:
    """The points of every path's operators in mm on the page, clipped or not: (n, 2) each, handles included."""
    objects = (raw.FPDFPage_GetObject(page.raw, i) for i in range(raw.FPDFPage_CountObjects(page.raw)))
    return [_points(found) for found in objects if raw.FPDFPageObj_GetType(found) == raw.FPDF_PAGEOBJ_PATH]


def _points(path) -> np.ndarray:
    matrix = raw.FS_MATRIX()
    assert raw.FPDFPageObj_GetMatrix(path, matrix)
    turn = np.array([[matrix.a, matrix.b], [matrix.c, matrix.d]])
    local = np.array([_segment(path, i) for i in range(raw.FPDFPath_CountSegments(path))])
    return (local @ turn + (matrix.e, matrix.f)) * MM_PER_POINT


def _segment(path, i: int) -> tuple[float, float]:
    x, y = ctypes.c_float(), ctypes.c_float()
    assert raw.FPDFPathSegment_GetPoint(raw.FPDFPath_GetPathSegment(path, i), x, y)
    return x.value, y.value


def with_layers_off(content: bytes, *titles: str) -> bytes:
    """The file as a viewer shows it with these layers switched off."""
    with pikepdf.open(io.BytesIO(content)) as pdf:
        groups = list(pdf.Root.OCProperties.OCGs)
        off = [group for group in groups if str(group.Name) in titles]
        assert len(off) == len(titles)
        pdf.Root.OCProperties.D.OFF = pikepdf.Array(off)
        pdf.Root.OCProperties.D.ON = pikepdf.Array([group for group in groups if group not in off])
        written = io.BytesIO()
        pdf.save(written)
    return written.getvalue()


def layer_titles(content: bytes) -> list[str]:
    with pikepdf.open(io.BytesIO(content)) as pdf:
        return [str(group.Name) for group in pdf.Root.OCProperties.OCGs]
