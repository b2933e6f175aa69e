"""Draw the pages of a PDF one by one, at the resolution of the scan they hold.

The drawing itself is done by a program apart (`pdfdrawer`), so that a PDF made to swallow memory or
time is refused and takes nothing with it.
"""

from __future__ import annotations

import contextlib
import json
import subprocess
import sys
from contextlib import contextmanager
from typing import IO, TYPE_CHECKING, Any, cast

import numpy as np

from proofcheck.base.errors import ScanError
from proofcheck.base.units import PDF_UNITS_PER_INCH
from proofcheck.sheet import pdfdrawer
from proofcheck.sheet.raster import RasterPage, as_grey, refuse_if_too_large, shown

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from numpy.typing import NDArray

__all__ = ["pdf_pages"]

_BAND_ROWS = 256


def pdf_pages(path: Path) -> Iterator[RasterPage]:
    """Draw each page of a PDF; comments and marks laid over it (annotations) are left out.

    Raises:
        ScanError: locked by a password, damaged, without pages, a page too large or of no area,
            or one that takes more memory or time to draw than any proof does.
    """
    name = shown(path)
    with _drawer(path) as (answers, asks):
        count = int(_answer(answers, name)["pages"])
        if count == 0:
            raise ScanError(f"{name}: {pdfdrawer.EMPTY}")
        for number in range(count):
            where = f"{name}, page {number + 1}" if count > 1 else name
            told = _answer(answers, where)
            refuse_if_too_large(where, told["width"], told["height"])
            with contextlib.suppress(OSError):  # one that has died gives no answer
                asks.write(b"\n")
                asks.flush()
            drawn = _answer(answers, where)
            image = _pixels(answers, drawn["height"], drawn["width"], drawn["channels"], where)
            yield RasterPage(number, image, float(told["dpi"]), camera=False)


@contextmanager
def _drawer(path: Path) -> Iterator[tuple[IO[bytes], IO[bytes]]]:
    """The program that draws this PDF: what it answers, and what it is asked."""
    told = (pdfdrawer.MOST_BYTES, pdfdrawer.MOST_SECONDS, PDF_UNITS_PER_INCH)
    with subprocess.Popen(
        # -P: nothing of the package's own folder stands in for a module of the library's.
        [sys.executable, "-P", pdfdrawer.__file__, str(path.absolute()), *map(str, told)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
    ) as drawing:
        try:
            yield cast("IO[bytes]", drawing.stdout), cast("IO[bytes]", drawing.stdin)
        finally:
            drawing.kill()


def _answer(answers: IO[bytes], where: str) -> dict[str, Any]:
    """The next line. Raises ScanError where it tells of an error or the drawing has died."""
    line = answers.readline()
    if not line.endswith(b"\n"):
        raise ScanError(_too_much(where))
    said: dict[str, Any] = json.loads(line)
    if "error" in said:
        raise ScanError(f"{where}: {said['error']}")
    return said


def _pixels(
    answers: IO[bytes], height: int, width: int, channels: int, where: str
) -> NDArray[np.uint8]:
    """The pixels that follow, in grey, taken in bands."""
    image = np.empty((height, width), np.uint8)
    for top in range(0, height, _BAND_ROWS):
        bottom = min(top + _BAND_ROWS, height)
        data = answers.read((bottom - top) * width * channels)
        if len(data) < (bottom - top) * width * channels:
            raise ScanError(_too_much(where))
        band = np.frombuffer(data, np.uint8).reshape(bottom - top, width, channels)
        image[top:bottom] = as_grey(band[:, :, :3].copy()) if channels >= 3 else band[:, :, 0]
    return image


def _too_much(where: str) -> str:
    return (
        f"{where}: drawing it takes more than {pdfdrawer.MOST_BYTES // 2**30} GB of memory or "
        f"{pdfdrawer.MOST_SECONDS} s; save the proof as a picture (PNG or TIFF)"
    )
