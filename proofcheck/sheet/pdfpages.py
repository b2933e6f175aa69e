"""Draw the pages of a PDF one by one, at the resolution of the scan they hold."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from proofcheck.errors import ScanError
from proofcheck.sheet.raster import RasterPage, refuse_if_too_large, shown
from proofcheck.units import PDF_UNITS_PER_INCH

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from numpy.typing import NDArray

__all__ = ["PDF_DPI", "pdf_pages"]

PDF_DPI: Final = 300.0
"""Resolution at which a page is drawn that holds no scan of its whole area."""

_COVER: Final = 0.8
"""Share of the page a picture must cover to be taken for the scan of it."""

_SCAN_DPI: Final = (30.0, 2400.0)
"""Resolutions of an embedded scan that are believed. A camera's picture laid on a page at one
point a pixel is 72 dpi."""


def pdf_pages(path: Path) -> Iterator[RasterPage]:
    """Draw each page of a PDF; comments and marks laid over it (annotations) are left out.

    Raises:
        ScanError: locked by a password, damaged, without pages, a page too large or of no area.
    """
    name = shown(path)
    document = _opened(path, name)
    try:
        count = len(document)
        if count == 0:
            msg = f"{name}: the PDF has no pages; make it again"
            raise ScanError(msg)
        for number in range(count):
            yield _drawn(document, number, f"{name}, page {number + 1}" if count > 1 else name)
    finally:
        document.close()


def _opened(path: Path, name: str) -> Any:  # noqa: ANN401  # the library carries no types
    import pypdfium2

    try:
        return pypdfium2.PdfDocument(path)
    except pypdfium2.PdfiumError as error:
        raise ScanError(f"{name}: {_why_not(path)}") from error


def _why_not(path: Path) -> str:
    """Why a PDF can't be drawn, asked of a second library: the first keeps stale error codes."""
    import pikepdf

    try:
        with pikepdf.open(path) as pdf:
            if len(pdf.pages) == 0:
                return "the PDF has no pages; make it again"
    except pikepdf.PasswordError:
        return "the PDF is locked by a password; save a copy without one"
    except (pikepdf.PdfError, OSError, ValueError):
        pass
    return "the PDF is damaged or cut short; make or copy it again"


def _drawn(document: Any, number: int, where: str) -> RasterPage:  # noqa: ANN401
    import pypdfium2

    try:
        page = document[number]
        try:
            dpi, grey = _scan_of(page)
            scale = dpi / PDF_UNITS_PER_INCH
            width, height = page.get_size()
            refuse_if_too_large(where, width * scale, height * scale)
            image = _bitmap(page, scale, grey=grey)
        finally:
            page.close()
    except pypdfium2.PdfiumError as error:
        msg = f"{where}: the page of the PDF is damaged; make or copy it again"
        raise ScanError(msg) from error
    return RasterPage(number, image, dpi, camera=False)


def _bitmap(page: Any, scale: float, *, grey: bool) -> NDArray[np.uint8]:  # noqa: ANN401
    bitmap = page.render(
        scale=scale, grayscale=grey, rev_byteorder=True, draw_annots=False, may_draw_forms=False
    )
    try:
        image = np.asarray(bitmap.to_numpy(), np.uint8)
        if image.ndim == 3:
            image = image[:, :, 0] if image.shape[2] == 1 else image[:, :, :3]
        return np.array(image, order="C")  # a copy: the bitmap's memory goes with it
    finally:
        bitmap.close()


def _scan_of(page: Any) -> tuple[float, bool]:  # noqa: ANN401
    """Resolution of the scan that fills the page, and whether it is grey or bilevel.

    A page without one is drawn at `PDF_DPI`, in colour.
    """
    import pypdfium2
    import pypdfium2.raw as pdfium

    width_pt, height_pt = page.get_size()
    for held in page.get_objects(filter=(pdfium.FPDF_PAGEOBJ_IMAGE,)):
        try:
            left, bottom, right, top = held.get_bounds()
            across_px, down_px = held.get_px_size()
            bits = held.get_metadata().bits_per_pixel
        except pypdfium2.PdfiumError:
            continue
        area_pt2 = (right - left) * (top - bottom)
        if area_pt2 <= 0 or area_pt2 < _COVER * width_pt * height_pt:
            continue
        dpi = PDF_UNITS_PER_INCH * math.sqrt(across_px * down_px / area_pt2)
        if _SCAN_DPI[0] <= dpi <= _SCAN_DPI[1]:
            return dpi, bits <= 8
    return PDF_DPI, False
