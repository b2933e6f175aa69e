"""Open the scans of a proof: one picture at a time, from any usual file.

The pixels of a `Picture` are the scan's own, as a viewer shows them: a camera's orientation tag
is honoured, a page of a PDF is drawn at the resolution of the scan it holds (or at 300 dpi).
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from typing import TYPE_CHECKING

from proofcheck.base.errors import ScanError
from proofcheck.base.values import Scan
from proofcheck.sheet.pdfpages import pdf_pages
from proofcheck.sheet.raster import RasterPage, picture_pages, shown

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    import numpy as np
    from numpy.typing import NDArray

_ONE_EACH = frozenset({".png", ".jpg", ".jpeg", ".bmp", ".pnm", ".pgm", ".ppm"})

__all__ = ["Picture", "one_each", "open_scans"]

_HEAD_BYTES = 1024
"""A PDF's signature may stand anywhere in its first 1024 bytes (common practice of readers)."""


@dataclass(frozen=True, slots=True, eq=False)
class Picture:
    """One scan as opened: a whole file, or one page of a TIFF or PDF."""

    scan: Scan
    image: NDArray[np.uint8]
    """Shape (height, width) for grey, as opened; (height, width, 3) for red, green, blue is taken
    as well."""
    file_dpi: float | None
    """Resolution as the file tells it, unjudged; None where it tells none."""
    camera: bool = False
    """True where the file says that a camera took it: then its resolution means nothing."""


def one_each(paths: Sequence[Path]) -> bool:
    """Whether every file is sure to hold one picture: no PDF, TIFF or moving picture."""
    return all(path.suffix.lower() in _ONE_EACH for path in paths)


def open_scans(paths: Sequence[Path]) -> Iterator[Picture]:
    """Open the scans of one proof, in order, holding only one picture at a time.

    Every path is looked at before the first picture is decoded, so that a missing third file is
    told at once.

    Args:
        paths: PNG, JPEG, TIFF (of any number of pages), WebP, PDF; BMP, GIF and PNM also open.

    Returns:
        An iterator of pictures; it raises as `open_scans` does when it meets a damaged page.

    Raises:
        ScanError: no paths; a file that is missing, a folder, empty, damaged, locked, too large,
            or not a picture.
    """
    if not paths:
        msg = "no scan given: name at least one PNG, JPEG, TIFF, WebP or PDF file"
        raise ScanError(msg)
    for path in paths:
        _must_be_a_file(path)
    return _walk(paths)


def _walk(paths: Sequence[Path]) -> Iterator[Picture]:
    for path in paths:
        head, sha256 = _head_and_hash(path)
        pages = pdf_pages(path) if b"%PDF-" in head else picture_pages(path, head)
        for page in pages:
            yield _picture(path, sha256, page)


def _picture(path: Path, sha256: str, page: RasterPage) -> Picture:
    height, width = page.image.shape[:2]
    scan = Scan(str(path), page.number, sha256, width, height)
    return Picture(scan, page.image, page.dpi, page.camera)


def _must_be_a_file(path: Path) -> None:
    name = shown(path)
    try:
        if path.is_dir():
            msg = f"{name}: this is a folder; name the scans in it one by one"
            raise ScanError(msg)
        if not path.exists():
            msg = f"{name}: no such file; check the name and the folder"
            raise ScanError(msg)
        if not path.is_file():
            msg = f"{name}: not a plain file; save the scan to a file first"
            raise ScanError(msg)
        if path.stat().st_size == 0:
            msg = f"{name}: the file is empty; scan or copy it again"
            raise ScanError(msg)
    except (OSError, ValueError) as error:  # no right to look, a name too long, a null byte
        msg = f"{name}: can't be looked at ({_reason(error)}); check the name and your rights"
        raise ScanError(msg) from error


def _head_and_hash(path: Path) -> tuple[bytes, str]:
    try:
        with path.open("rb") as file:
            head = file.read(_HEAD_BYTES)
            file.seek(0)
            return head, hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as error:
        msg = f"{shown(path)}: can't be read ({_reason(error)}); check your rights to the file"
        raise ScanError(msg) from error


def _reason(error: Exception) -> str:
    reason = error.strerror if isinstance(error, OSError) else None
    return (reason or "unusable name").lower()
