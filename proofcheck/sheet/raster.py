"""Decode picture files (PNG, JPEG, TIFF, WebP) page by page into grey arrays."""

from __future__ import annotations

import struct
import zlib
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import cv2
import numpy as np
from PIL import ExifTags, Image

from proofcheck.base.errors import ScanError
from proofcheck.sheet.hush import hushed

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from numpy.typing import NDArray

__all__ = ["MAX_PIXELS", "RasterPage", "as_grey", "picture_pages", "refuse_if_too_large", "shown"]

MAX_PIXELS: Final = 178_000_000
"""Largest scan taken, in pixels: a 600-dpi sheet of 22 × 22 inches. Beyond it memory would go."""

LONGEST_SIDE_PX: Final = 30_000
"""No side may be longer: pictures are resampled with coordinates of 15 bits, and a sheet grows by
being straightened. A galley of 50 inches at 600 dpi has as many."""

SHORTEST_SIDE_PX: Final = 32
"""No side may be shorter: less than two lines of the smallest type that can be read."""

_FORMATS: Final = ("PNG", "JPEG", "TIFF", "WEBP", "BMP", "GIF", "PPM")
"""Only plain pixel formats: some others would start another program to be drawn."""

_HEIF_BRANDS: Final = (b"heic", b"heix", b"hevc", b"mif1", b"msf1", b"avif")

_BAND_ROWS: Final = 256

_DECODER_ERRORS: Final = (
    OSError,
    ValueError,
    SyntaxError,
    EOFError,
    LookupError,
    TypeError,
    ArithmeticError,
    NotImplementedError,
    AttributeError,
    RuntimeError,
    struct.error,
    zlib.error,
)
"""What a decoder raises on damaged files; Pillow's own do not share one base."""


@dataclass(frozen=True, slots=True, eq=False)
class RasterPage:
    """One decoded page of a file."""

    number: int
    """Page in its file, from 0."""
    image: NDArray[np.uint8]
    """(height, width) grey."""
    dpi: float | None
    """As the file tells, unjudged."""
    camera: bool


def shown(path: Path) -> str:
    """A file name fit for one line of a message: control characters shown as escapes."""
    return "".join(c if c.isprintable() else ascii(c)[1:-1] for c in str(path))


def refuse_if_too_large(where: str, width_px: float, height_px: float) -> None:
    """Refuse a picture by its header's size, before it is decoded.

    Raises:
        ScanError: more than `MAX_PIXELS`, a side longer than `LONGEST_SIDE_PX` or shorter than
            `SHORTEST_SIDE_PX`.
    """
    if not min(width_px, height_px) >= SHORTEST_SIDE_PX:
        msg = f"{where}: {width_px:.0f} × {height_px:.0f} pixels can hold no type; scan it again"
        raise ScanError(msg)
    if width_px * height_px > MAX_PIXELS:
        msg = (
            f"{where}: {width_px:.0f} × {height_px:.0f} pixels is more than "
            f"{MAX_PIXELS // 1_000_000} million; scan at 300 to 600 dpi, or in parts"
        )
        raise ScanError(msg)
    if max(width_px, height_px) > LONGEST_SIDE_PX:
        msg = (
            f"{where}: {width_px:.0f} × {height_px:.0f} pixels; a side may have "
            f"{LONGEST_SIDE_PX:,}: scan at 300 to 600 dpi, or in parts"
        )
        raise ScanError(msg)


def as_grey(colour: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Grey of a picture that may be in colour: (height, width) or (height, width, 3) in."""
    if colour.ndim == 2:
        return colour
    return np.asarray(cv2.cvtColor(colour, cv2.COLOR_RGB2GRAY), np.uint8)


def picture_pages(path: Path, head: bytes) -> Iterator[RasterPage]:
    """Decode the pages of a picture file one after the other (only a TIFF has several).

    Args:
        path: the file.
        head: its first bytes, to tell kinds that are known but not taken.

    Raises:
        ScanError: not a picture, damaged, or too large.
    """
    name = shown(path)
    with _opened(path, name, head) as picture:
        several = picture.format == "TIFF" and _has_more(picture)
        number = 0
        while _turned_to(picture, number, name):
            where = f"{name}, page {number + 1}" if several else name
            if number == 0 or not _is_thumbnail(picture):
                yield _decoded(picture, number, where)
            if not several:
                return
            number += 1


@contextmanager
def _opened(path: Path, name: str, head: bytes) -> Iterator[Image.Image]:
    # An open file, not its path: Pillow maps uncompressed pictures of a path into memory, and
    # there garbles a TIFF whose tag turns it by a quarter.
    with path.open("rb") as file:
        try:
            with hushed():
                picture = Image.open(file, formats=_FORMATS)
        except Image.DecompressionBombError as error:
            msg = (
                f"{name}: more than {MAX_PIXELS // 1_000_000} million pixels; "
                "scan at 300 to 600 dpi, or in parts"
            )
            raise ScanError(msg) from error
        except _DECODER_ERRORS as error:
            raise ScanError(_not_a_picture(name, head)) from error
        with picture:
            yield picture


def _not_a_picture(name: str, head: bytes) -> str:
    if head[4:8] == b"ftyp" and head[8:12] in _HEIF_BRANDS:
        return f"{name}: HEIF and AVIF pictures can't be opened here; save it as JPEG or PNG"
    known = (b"\x89PNG", b"\xff\xd8\xff", b"II*\x00", b"MM\x00*", b"RIFF")
    if head.startswith(known):
        return f"{name}: the picture is damaged at its head; scan or copy it again"
    return f"{name}: not a picture; give a PNG, JPEG, TIFF, WebP or PDF file"


def _has_more(picture: Image.Image) -> bool:
    """Whether a TIFF has a second page; with a damaged directory it is read as far as it goes."""
    try:
        with hushed():
            return int(getattr(picture, "n_frames", 1)) > 1
    except (Image.DecompressionBombError, *_DECODER_ERRORS):
        return True


def _turned_to(picture: Image.Image, number: int, name: str) -> bool:
    """Go to a page; False past the last one."""
    if number == 0:
        return True
    try:
        with hushed():
            picture.seek(number)
    except EOFError:
        return False
    except Image.DecompressionBombError as error:
        msg = f"{name}, page {number + 1}: too many pixels; scan at 300 to 600 dpi, or in parts"
        raise ScanError(msg) from error
    except _DECODER_ERRORS as error:
        msg = f"{name}, page {number + 1}: the file is damaged there; scan or copy it again"
        raise ScanError(msg) from error
    return True


def _is_thumbnail(picture: Image.Image) -> bool:
    """Whether a TIFF page is only a reduced copy of another (TIFF 6.0, tag NewSubfileType)."""
    try:
        return bool(int(getattr(picture, "tag_v2", {}).get(254, 0)) & 1)
    except _DECODER_ERRORS:
        return False


def _decoded(picture: Image.Image, number: int, where: str) -> RasterPage:
    refuse_if_too_large(where, *picture.size)
    dpi = _file_dpi(picture)
    try:
        with hushed():
            picture.load()
            orientation, camera = _exif(picture)
            image = _as_array(picture)
    except Image.DecompressionBombError as error:
        msg = f"{where}: too many pixels; scan at 300 to 600 dpi, or in parts"
        raise ScanError(msg) from error
    except _DECODER_ERRORS as error:
        msg = f"{where}: the picture is damaged or cut short; scan or copy it again"
        raise ScanError(msg) from error
    return RasterPage(number, _oriented(image, orientation), dpi, camera)


def _file_dpi(picture: Image.Image) -> float | None:
    """The file's own resolution tag, the mean of the two directions."""
    try:
        across, down = (float(v) for v in picture.info["dpi"])
    except (LookupError, TypeError, ValueError, ArithmeticError):
        return None
    return (across + down) / 2 if across > 0 and down > 0 else None


def _exif(picture: Image.Image) -> tuple[int, bool]:
    """Orientation tag (1 to 8) and whether a camera took the picture."""
    try:
        exif = picture.getexif()
        orientation = int(exif.get(ExifTags.Base.Orientation, 1))
        shot = exif.get_ifd(ExifTags.IFD.Exif)
    except _DECODER_ERRORS:
        return 1, False
    lens = (ExifTags.Base.ExposureTime, ExifTags.Base.FNumber, ExifTags.Base.FocalLength)
    return orientation, any(tag in shot for tag in lens)


def _oriented(image: NDArray[np.uint8], orientation: int) -> NDArray[np.uint8]:
    """Honour the orientation tag of Exif (CIPA DC-008: 1 upright … 8)."""
    if orientation in {2, 3, 4, 5, 6, 7, 8}:
        if orientation in {2, 4, 5, 7}:
            image = image[:, ::-1]
        # Quarter turns counter-clockwise, after the flip, that bring the picture upright.
        quarters = {2: 0, 3: 2, 4: 2, 5: 1, 6: 3, 7: 3, 8: 1}[orientation]
        image = np.rot90(image, quarters)
    return np.ascontiguousarray(image)


def _as_array(picture: Image.Image) -> NDArray[np.uint8]:
    """Grey array, in bands so that no second whole copy of the picture is made."""
    width, height = picture.size
    deep = _depth_scale(picture)
    image = np.empty((height, width), np.uint8)
    for top in range(0, height, _BAND_ROWS):
        bottom = min(top + _BAND_ROWS, height)
        image[top:bottom] = as_grey(_band(picture.crop((0, top, width, bottom)), deep))
    return image


def _depth_scale(picture: Image.Image) -> float:
    """Factor that brings more than 8 bits down to 0…255; 0 for ordinary pictures."""
    if not picture.mode.startswith(("I", "F")):
        return 0.0
    extrema = picture.getextrema()
    top = float(extrema[1])  # type: ignore[arg-type]  # one band: (lowest, highest)
    for full in (1.0, 255.0, 4095.0, 65535.0):
        if top <= full and (full > 1.0 or picture.mode == "F"):
            return 255.0 / full
    return 255.0 / top


def _band(band: Image.Image, deep: float) -> NDArray[np.uint8]:
    if deep:
        scaled = np.nan_to_num(np.asarray(band, np.float32) * deep)
        return np.asarray(np.clip(scaled + 0.5, 0, 255), np.uint8)
    if band.mode == "1":
        band = band.convert("L")
    elif band.mode == "P":
        band = band.convert("RGBA" if "transparency" in band.info else _palette_mode(band))
    elif band.mode in {"PA", "LA", "La", "RGBa"}:
        band = band.convert("RGBA")
    elif band.mode not in {"L", "RGB", "RGBA"}:
        band = band.convert("RGB")  # CMYK, YCbCr, LAB, HSV
    if band.mode == "RGBA":
        paper = Image.new("RGBA", band.size, "white")
        band = Image.alpha_composite(paper, band).convert("RGB")
    return np.asarray(band, np.uint8)


def _palette_mode(picture: Image.Image) -> str:
    """Grey where every colour of the palette is one."""
    palette = np.array(picture.getpalette("RGB") or [0, 0, 0], np.uint8).reshape(-1, 3)
    return "L" if (palette == palette[:, :1]).all() else "RGB"
