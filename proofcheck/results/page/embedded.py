"""Pictures carried inside a page in data addresses: strips as WebP, the marked proof as painted."""

from __future__ import annotations

import base64
import io
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from PIL.WebPImagePlugin import WebPImageFile

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from proofcheck.results.report import Report

__all__ = [
    "MarkedSheet",
    "Picture",
    "as_address",
    "as_painted",
    "marked_sheets",
    "page_size",
    "reduced",
]

Picture: TypeAlias = Image.Image | NDArray[np.uint8]
"""A picture as painted: grey (height, width) or colour (height, width, 3)."""

PAGE_DPI = 300.0
"""Marked proofs of finer resolution are reduced to this for the page."""
MAX_SIDE_PX = 12_000
"""Longest side of a picture on the page; WebP holds 16,383."""
MOST_FILE_BYTES = 1_000_000
"""A painted file no larger than this is carried as it is. One of a sheet in black and white is
hardly larger than the same made anew, and mostly smaller, and takes no time."""


@dataclass(frozen=True, slots=True, eq=False)
class MarkedSheet:
    """One picture of the marked proof, and where the sheet lies on it."""

    image: Picture
    sheet: int | None
    """Number of the sheet on it; None for a picture with no sheet on it."""
    at: tuple[float, float] | None = (0.0, 0.0)
    """Where the sheet's top left corner stands, in the picture's pixels; None if not known."""
    scale: float = 1.0
    """Pixels of the picture to one of the sheet."""
    marked: bool = True
    """Whether marks are painted on it already."""
    file: Path | None = None
    """Where it lies as a file (PNG) already."""


def marked_sheets(
    report: Report, marked: Sequence[MarkedSheet | Picture]
) -> tuple[MarkedSheet, ...]:
    """The pictures with what is known of them; the bare sheets where none was painted.

    A bare picture is taken for the sheet of the same place in order; where it has that sheet's
    size, it is taken to lie at its corner.
    """
    if not marked:
        sheets = (sheet for sheet in report.sheets if sheet.pictured)
        return tuple(MarkedSheet(s.as_printed(), s.number, marked=False) for s in sheets)
    return tuple(
        picture if isinstance(picture, MarkedSheet) else _as_marked(report, index, picture)
        for index, picture in enumerate(marked)
    )


def _as_marked(report: Report, index: int, picture: Picture) -> MarkedSheet:
    if index >= len(report.sheets):
        return MarkedSheet(picture, None, None)
    sheet = report.sheets[index]
    height, width = sheet.image.shape
    same = _as_image(picture).size == (width, height)
    return MarkedSheet(picture, sheet.number, (0.0, 0.0) if same else None)


def as_painted(picture: MarkedSheet) -> str:
    """The file a picture was painted to, as a data address; "" for none, or a large one."""
    if picture.file is None or picture.file.stat().st_size > MOST_FILE_BYTES:
        return ""
    packed = base64.b64encode(picture.file.read_bytes()).decode("ascii")
    return f"data:image/png;base64,{packed}"


def reduced(picture: Picture, dpi: float) -> tuple[Image.Image, float]:
    """The picture at the page's resolution, and by how much it was reduced (1.0: not at all)."""
    image = _as_image(picture)
    size, share = page_size(image.size, dpi)
    return (image if share >= 1.0 else image.resize(size, Image.Resampling.LANCZOS)), share


def page_size(size: tuple[int, int], dpi: float) -> tuple[tuple[int, int], float]:
    """Width and height of a picture at the page's resolution, and by how much it was reduced."""
    share = min(1.0, PAGE_DPI / dpi if dpi > 0 else 1.0, MAX_SIDE_PX / max(size))
    if share >= 1.0:
        return size, 1.0
    return (max(1, round(size[0] * share)), max(1, round(size[1] * share))), share


def as_address(picture: Picture, *, quality: int = 60) -> str:
    """The picture as a data address (WebP)."""
    out = io.BytesIO()
    # Looking harder for what can be left out saves a tenth of the bytes for twice the time.
    # By its own module: of a bare name all formats there are would be opened first.
    _as_image(picture).save(out, WebPImageFile.format, quality=quality, method=2)
    return "data:image/webp;base64," + base64.b64encode(out.getvalue()).decode("ascii")


def _as_image(picture: Picture) -> Image.Image:
    image = picture if isinstance(picture, Image.Image) else Image.fromarray(picture)
    return image if image.mode in ("L", "RGB") else image.convert("RGB")
