"""A program of its own that draws the pages of one PDF, within bounds of memory and time.

A PDF is a program for whoever draws it, and the library that does so ends the process where memory
runs out. So it is run apart, by `pdfpages`, as `python pdfdrawer.py FILE BYTES SECONDS UNITS`
(units of the page to the inch); it knows nothing of the package. For each page it writes one line
of JSON (its size in pixels, its resolution), waits for a line on its standard input, and writes a
second line (channels) with the pixels after it, row by row. A line with "error" ends it; a PDF
without pages gives none.
"""

from __future__ import annotations

import contextlib
import json
import math
import sys
from typing import Any, Final

__all__ = ["MOST_BYTES", "MOST_SECONDS", "PDF_DPI"]

MOST_BYTES: Final = 2 * 2**30
"""Address space: a page of the most pixels taken, in colour, with the scan on it, needs 1.5 GiB."""
MOST_SECONDS: Final = 30
"""Processor time for a page; a scanned one takes less than 2 s."""

PDF_DPI: Final = 300.0
"""Resolution at which a page is drawn that holds no scan of its whole area."""

_COVER: Final = 0.8
"""Share of the page a picture must cover to be taken for the scan of it."""

_SCAN_DPI: Final = (30.0, 2400.0)
"""Resolutions of an embedded scan that are believed. A camera's picture laid on a page at one
point a pixel is 72 dpi."""

DAMAGED: Final = "the PDF is damaged or cut short; make or copy it again"
DAMAGED_PAGE: Final = "the page of the PDF is damaged; make or copy it again"
LOCKED: Final = "the PDF is locked by a password; save a copy without one"
EMPTY: Final = "the PDF has no pages; make it again"


def _bound(*, most_bytes: int = 0, seconds: int = 0) -> None:
    """Set the bounds: of memory once, of time anew for each page. None can be set on Windows."""
    try:
        import resource
    except ImportError:
        return
    with contextlib.suppress(ValueError, OSError):
        if most_bytes:
            resource.setrlimit(resource.RLIMIT_AS, (most_bytes, most_bytes))
            resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        if seconds:
            used = resource.getrusage(resource.RUSAGE_SELF)
            most = math.ceil(used.ru_utime + used.ru_stime + seconds)
            hard = resource.getrlimit(resource.RLIMIT_CPU)[1]
            resource.setrlimit(resource.RLIMIT_CPU, (most, hard))


def _why_not(path: str) -> str:
    """Why a PDF can't be drawn, asked of a second library: the first keeps stale error codes."""
    import pikepdf

    try:
        with pikepdf.open(path) as pdf:
            if len(pdf.pages) == 0:
                return EMPTY
    except pikepdf.PasswordError:
        return LOCKED
    except (pikepdf.PdfError, OSError, ValueError, RuntimeError):
        pass
    return DAMAGED


def _scan_of(page: Any, units_per_inch: float) -> tuple[float, bool]:  # noqa: ANN401  # the library carries no types
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
        dpi = units_per_inch * math.sqrt(across_px * down_px / area_pt2)
        if _SCAN_DPI[0] <= dpi <= _SCAN_DPI[1]:
            return dpi, bits <= 8
    return PDF_DPI, False


def _tell(**said: object) -> None:
    sys.stdout.buffer.write(json.dumps(said).encode() + b"\n")
    sys.stdout.buffer.flush()


def _draw(page: Any, units_per_inch: float) -> bool:  # noqa: ANN401
    """Tell of one page and draw it; False where nobody wants it."""
    dpi, grey = _scan_of(page, units_per_inch)
    scale = dpi / units_per_inch
    width, height = page.get_size()
    _tell(width=width * scale, height=height * scale, dpi=dpi)
    if not sys.stdin.readline():
        return False
    # Comments and marks laid over the page (annotations) are left out.
    bitmap = page.render(
        scale=scale, grayscale=grey, rev_byteorder=True, draw_annots=False, may_draw_forms=False
    )
    try:
        _tell(width=bitmap.width, height=bitmap.height, channels=bitmap.n_channels)
        pixels, row = memoryview(bitmap.buffer).cast("B"), bitmap.width * bitmap.n_channels
        for start in range(0, bitmap.height * bitmap.stride, bitmap.stride):
            sys.stdout.buffer.write(pixels[start : start + row])
        sys.stdout.buffer.flush()
    finally:
        bitmap.close()
    return True


def _draw_all(path: str, seconds: int, units_per_inch: float) -> None:
    import pypdfium2

    _bound(seconds=seconds)
    try:
        document = pypdfium2.PdfDocument(path)
        count = len(document)
    except pypdfium2.PdfiumError:
        _tell(error=_why_not(path))
        return
    _tell(pages=count)
    for number in range(count):
        _bound(seconds=seconds)
        page = document[number]
        if not _draw(page, units_per_inch):
            return
        page.close()


def _main(path: str, most_bytes: int, seconds: int, units_per_inch: float) -> None:
    _bound(most_bytes=most_bytes)
    try:
        _draw_all(path, seconds, units_per_inch)
    except (MemoryError, BrokenPipeError, KeyboardInterrupt):
        sys.exit(1)  # no answer says enough
    except Exception:  # noqa: BLE001 - whatever the library meets in a damaged page
        _tell(error=DAMAGED_PAGE)


if __name__ == "__main__":
    _main(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]), float(sys.argv[4]))
