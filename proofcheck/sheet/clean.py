"""Make a scan into a clean sheet: laid flat, upright, deskewed, evenly lit, in grey.

All geometry (perspective, quarter turn, skew) is put into one homography, so that the letters are
resampled once at most, at full resolution.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from proofcheck.base.errors import SettingError
from proofcheck.base.units import PICA_IN, pt_to_inches
from proofcheck.base.values import Sheet
from proofcheck.sheet.background import background_hidden
from proofcheck.sheet.corners import find_corners, flat_size, is_plain_rectangle
from proofcheck.sheet.light import evened, is_negative
from proofcheck.sheet.raster import as_grey
from proofcheck.sheet.rim import rim_cleared
from proofcheck.sheet.skew import Slope, measure_slope

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.base.values import Grey
    from proofcheck.sheet.scans import Picture

__all__ = ["DPI_RANGE", "clean_sheet", "with_measure"]

DPI_RANGE: Final = (50.0, 2400.0)
"""Resolutions, in pixels per inch, outside which a figure is taken for a slip."""

_SCREEN_DPI: Final = (72.0, 96.0)
"""Tags that programs write which know no resolution (common practice)."""

_NO_SKEW_DEG: Final = 0.05
"""Less is left as it is: over 5 inches it lifts a line by 1.3 px at 300 dpi."""

_LETTER_PT: Final = 5.6
"""Usual height of a piece of ink, in points, where the body is 10-point: between the height of
the small letters and of the capitals (measured on book pages)."""

_MEASURE_PX: Final = 2400


@dataclass(frozen=True, slots=True, eq=False)
class _Laid:
    """How the sheet lies in the scan."""

    to_scan: NDArray[np.float64]
    size: tuple[int, int]
    """Width and height once flat, in pixels."""
    found: bool
    """True where it had a background round it."""
    perspective: bool


def clean_sheet(picture: Picture, number: int, *, dpi: float | None = None) -> Sheet:
    """Clean one scan. Upside-down and mirrored scans stay so: see `proofcheck.sheet.orient`.

    Args:
        picture: the scan.
        number: place among the sheets of the proof, from 0.
        dpi: resolution in pixels per inch, if a person says so; it overrides the file's tag.

    Raises:
        SettingError: a resolution that no scan has.
    """
    if dpi is not None and not DPI_RANGE[0] <= dpi <= DPI_RANGE[1]:
        msg = f"resolution {dpi:g} dpi: give {DPI_RANGE[0]:g} to {DPI_RANGE[1]:g} pixels per inch"
        raise SettingError(msg)
    grey = as_grey(picture.image)
    corners = find_corners(grey)
    laid = _laid(grey, corners)
    in_sight: tuple[tuple[float, float], ...] = ()
    if corners is None:
        grey, in_sight = background_hidden(grey)
    else:
        grey = rim_cleared(grey, corners)
    preview = _preview(grey, laid)
    if is_negative(preview):
        grey = np.asarray(cv2.bitwise_not(grey), np.uint8)
        preview = np.asarray(cv2.bitwise_not(preview), np.uint8)
    slope = measure_slope(evened(preview))
    image, to_scan, skew_deg = _resampled(grey, laid, slope)
    image = evened(image)
    figure, source = _resolution(picture, laid, slope, dpi)
    return Sheet(
        image=image,
        scan=picture.scan,
        number=number,
        dpi=figure,
        dpi_source=source,
        turned_deg=0 if slope.upright else 90,
        mirrored=False,
        skew_deg=skew_deg,
        to_scan=to_scan,
        in_sight=in_sight,
    )


def with_measure(
    sheet: Sheet, line_width_px: float, measure_picas: float, *, pica_in: float = PICA_IN
) -> Sheet:
    """The sheet with its resolution worked out from the known length of its lines.

    Args:
        sheet: the sheet.
        line_width_px: width of a full line on it, in pixels.
        measure_picas: the measure the lines were set to, in picas.
        pica_in: the shop's pica in inches: `units.PICA_IN` or `units.SLUG_PICA_IN`.

    Raises:
        SettingError: a measure that makes no possible resolution.
    """
    dpi = line_width_px / (measure_picas * pica_in) if measure_picas > 0 else 0.0
    if not DPI_RANGE[0] <= dpi <= DPI_RANGE[1]:
        msg = (
            f"measure {measure_picas:g} picas: lines of {line_width_px:.0f} px would make "
            f"{dpi:.0f} dpi; check the measure"
        )
        raise SettingError(msg)
    return replace(sheet, dpi=dpi, dpi_source="measure")


def _laid(grey: Grey, corners: NDArray[np.float64] | None) -> _Laid:
    height, width = grey.shape
    if corners is None:
        return _Laid(np.eye(3), (width, height), found=False, perspective=False)
    if is_plain_rectangle(corners):
        return _Laid(*_straight(corners), found=True, perspective=False)
    size = flat_size(corners)
    flat = np.array(
        [(0, 0), (size[0] - 1, 0), (size[0] - 1, size[1] - 1), (0, size[1] - 1)], np.float32
    )
    to_scan = np.asarray(cv2.getPerspectiveTransform(flat, corners.astype(np.float32)), np.float64)
    return _Laid(to_scan, size, found=True, perspective=True)


def _straight(corners: NDArray[np.float64]) -> tuple[NDArray[np.float64], tuple[int, int]]:
    """A flat-bed scan's rectangle: cut out and turned, its lengths untouched."""
    along = (corners[1] - corners[0] + corners[2] - corners[3]) / 2
    angle = math.atan2(along[1], along[0])
    size = flat_size(corners)
    cos, sin = math.cos(angle), math.sin(angle)
    turn = np.array([[cos, -sin], [sin, cos]])
    origin = corners.mean(axis=0) - turn @ ((np.array(size) - 1) / 2)
    return np.vstack([np.column_stack([turn, origin]), (0.0, 0.0, 1.0)]), size


def _preview(grey: Grey, laid: _Laid) -> Grey:
    """The sheet laid flat at reduced size, to measure its lines on."""
    if not laid.found:
        return grey if max(grey.shape) <= _MEASURE_PX else _reduced(grey)
    scale = min(1.0, _MEASURE_PX / max(laid.size))
    size = (max(1, round(laid.size[0] * scale)), max(1, round(laid.size[1] * scale)))
    zoom = _scaling(laid.size, size)
    return _warped(grey, laid.to_scan @ zoom, size)


def _reduced(grey: Grey) -> Grey:
    scale = _MEASURE_PX / max(grey.shape)
    small = cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    return np.asarray(small, np.uint8)


def _scaling(full: tuple[int, int], small: tuple[int, int]) -> NDArray[np.float64]:
    """Homography from pixels of a reduced picture to those of the full one."""
    across, down = full[0] / small[0], full[1] / small[1]
    return np.array([[across, 0, (across - 1) / 2], [0, down, (down - 1) / 2], [0, 0, 1.0]])


def _resampled(grey: Grey, laid: _Laid, slope: Slope) -> tuple[Grey, NDArray[np.float64], float]:
    """The upright picture, its map to the scan, and the skew that was taken out."""
    skew_deg = slope.skew_deg if abs(slope.skew_deg) >= _NO_SKEW_DEG else 0.0
    quarter = np.eye(3)
    size = laid.size
    if not slope.upright:
        # A quarter clockwise: the upright picture's (x, y) was at (y, height - 1 - x).
        quarter = np.array([[0, 1, 0], [-1, 0, size[1] - 1], [0, 0, 1.0]])
        size = (size[1], size[0])
    if skew_deg == 0.0 and not laid.found:
        image = grey if slope.upright else np.ascontiguousarray(np.rot90(grey, -1))
        return image, quarter, 0.0
    turned, size = _deskewing(size, skew_deg)
    to_scan = laid.to_scan @ quarter @ turned
    to_scan /= to_scan[2, 2]
    return _warped(grey, to_scan, size), to_scan, skew_deg


def _deskewing(
    size: tuple[int, int], skew_deg: float
) -> tuple[NDArray[np.float64], tuple[int, int]]:
    """Map from the deskewed picture, large enough to hold all of it, to the skewed one."""
    if skew_deg == 0.0:
        return np.eye(3), size
    angle = math.radians(skew_deg)
    cos, sin = math.cos(angle), math.sin(angle)
    width, height = size
    grown = (
        math.ceil(width * cos + height * abs(sin)),
        math.ceil(height * cos + width * abs(sin)),
    )
    turn = np.array([[cos, -sin], [sin, cos]])
    origin = (np.array(size) - 1) / 2 - turn @ ((np.array(grown) - 1) / 2)
    return np.vstack([np.column_stack([turn, origin]), (0.0, 0.0, 1.0)]), grown


def _warped(grey: Grey, to_scan: NDArray[np.float64], size: tuple[int, int]) -> Grey:
    """One cubic resampling; what lies beyond the scan becomes paper."""
    warped = cv2.warpPerspective(
        grey,
        to_scan,
        size,
        flags=cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_CONSTANT,
        borderValue=_paper_level(grey),
    )
    return np.asarray(warped, np.uint8)


def _paper_level(grey: Grey) -> float:
    return float(np.percentile(grey[::8, ::8], 90))


def _resolution(
    picture: Picture, laid: _Laid, slope: Slope, asked_dpi: float | None
) -> tuple[float, str]:
    if asked_dpi is not None:
        return float(asked_dpi), "option"
    tag = picture.file_dpi
    flat_bed = not picture.camera and not laid.perspective
    if tag is not None and flat_bed and _is_believed(tag):
        return float(tag), "file"
    if slope.letter_px > 0:
        guess = slope.letter_px / pt_to_inches(_LETTER_PT)
        return float(np.clip(guess, *DPI_RANGE)), "guess"
    return 300.0, "guess"


def _is_believed(tag_dpi: float) -> bool:
    by_default = any(abs(tag_dpi - screen) < 1 for screen in _SCREEN_DPI)
    return DPI_RANGE[0] <= tag_dpi <= DPI_RANGE[1] and not by_default
