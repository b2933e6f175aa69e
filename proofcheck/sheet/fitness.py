"""Refuse a sheet that no reader would judge, saying why and what would do.

Readers of proofs refuse those that are over-inked, pale, smeared or short of margin (TRADE
practice); a scan adds out of focus and too coarse. The limits were found by spoiling pages of
three books step by step (blur, movement, shrinking, fading, swelling of the ink) and reading
them with a general OCR engine beside the unspoilt page:

    what                 reads as well as before      a fifth or more is misread     limit
    blur, σ              to 0.16 x-heights            from 0.20 to 0.25              0.18
    movement             to 0.3 x-heights             from 0.5                       0.45
    x-height             from 7 px                    at 5 px                        7.5 px
    contrast             from 0.20 (quiet scan)       at 0.10                        0.25
    swelling of strokes  to 0.22 x-heights in all     from 0.26 to 0.34              see below

On 401 real pages of nine books none reaches a limit: the worst have spread 0.027 (across) and
0.042 (down), evenness 0.47, letters 0.65, stroke 0.28, x-height 8.1 px.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from proofcheck.base.errors import SheetUnfitError
from proofcheck.sheet.cut_off import cut_off
from proofcheck.sheet.impression import (
    Impression,
    measure_impression,
    sheet_contrast,
    stray_ink,
)
from proofcheck.sheet.skew import letter_boxes

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.values import Line, Sheet

__all__ = ["check_fit"]

_LEAST_X_HEIGHT_PX: Final = 7.5
_GOOD_X_HEIGHT_PX: Final = 12.0
"""What is recommended: twice the height at which reading fails."""
_LEAST_CONTRAST: Final = 0.25
_BLANK_CONTRAST: Final = 0.05
_FAINT_CONTRAST: Final = 0.12
_SOME_LETTERS: Final = 15
_MOST_SPREAD: Final = (0.038, 0.095)
"""Across and down, in x-heights: blur of about 0.18."""
_BLUR_SWELLS: Final = 0.6
"""From this share of the limit on, letters that run together do so by blur, not by ink."""
_LEAST_EVENNESS: Final = 0.35
_SMEAR_SOFTNESS: Final = 0.5
"""A face of upright strokes alone is uneven too, but its edges are not soft."""
_SMEAR_BLURS: Final = 0.22
"""Nor is a script that leans far, though worn thin its edges are soft: its strokes are sharp up and
down and across (of six pulls of two scripts at most 0.16 of the limit of blur); where movement
leaves edges so uneven it takes 0.27 of it at least, whichever way it goes."""
_GOOD_STROKE: Final = 0.17
_MOST_STROKE: Final = 0.4
_FEW_LETTERS: Final = 0.6
_LETTERS_IN_ONE: Final = 0.3
_LEAST_TYPE: Final = 0.5
"""Share of the lines, by width, that must look like type."""
_CRUMBS: Final = 5.0
_STRAY_INK: Final = 0.6
"""Where more of the dark than this is outside the lines and they can't be read either, the
picture is not of a proof."""


def check_fit(sheet: Sheet, lines: Sequence[Line]) -> None:
    """Pass a sheet that can be judged; refuse any other.

    Args:
        sheet: the cleaned sheet.
        lines: what `find_lines` found on it.

    Raises:
        SheetUnfitError: blank, not a proof, too coarse, pale, out of focus, smeared, over-inked,
            or cut off at the margin; with the figure measured and what would do.
    """
    impression, type_share = measure_impression(sheet, lines)
    if all(_in_panel(line, sheet) for line in lines):
        # That they are type was known by reading them; what can't be read is told line by line.
        type_share = 1.0
    if impression is None:
        raise _without_lines(sheet)
    unfit = _illegible(sheet, impression)
    if unfit is not None or type_share < _LEAST_TYPE:
        raise _reason(sheet, lines, unfit, impression, type_share)
    cut = cut_off(sheet, lines)
    if cut is not None:
        raise _margin(sheet, *cut)


def _in_panel(line: Line, sheet: Sheet) -> bool:
    """Whether a line stands white on black."""
    x, y = line.box.x + line.box.width / 2, line.box.y + line.box.height / 2
    boxes = [panel.box for panel in sheet.panels]
    return any(box.x < x < box.right and box.y < y < box.bottom for box in boxes)


def _where(sheet: Sheet) -> str:
    name = "".join(c if c.isprintable() else ascii(c)[1:-1] for c in sheet.scan.name)
    return f"{name}, page {sheet.scan.page + 1}" if sheet.scan.page else name


def _refusal(sheet: Sheet, what: str, measured: str, needed: str) -> SheetUnfitError:
    message = f"{_where(sheet)}: {what} ({measured}); {needed}"
    return SheetUnfitError(message, measured=measured, needed=needed)


def _no_proof(sheet: Sheet) -> SheetUnfitError:
    return _refusal(
        sheet,
        "no lines of type on this picture",
        "the dark parts are not letters set in lines",
        "give a scan or a straight picture of the proof",
    )


def _reason(
    sheet: Sheet,
    lines: Sequence[Line],
    unfit: SheetUnfitError | None,
    seen: Impression,
    type_share: float,
) -> SheetUnfitError:
    """Bad type, or no type at all: smeared type is broken into pieces, but not into so many."""
    stray = stray_ink(sheet, lines)
    in_crumbs = type_share < _LEAST_TYPE and seen.pieces > _CRUMBS
    if stray > _STRAY_INK or in_crumbs:
        return _no_proof(sheet)
    if unfit is not None:
        return unfit
    if stray > _STRAY_INK / 2:
        return _no_proof(sheet)
    return _refusal(
        sheet,
        "the letters are broken or smeared",
        f"{seen.pieces:.1f} pieces of ink to an x-height of line",
        "1 is usual: pull the proof again, or scan it anew",
    )


def _without_lines(sheet: Sheet) -> SheetUnfitError:
    contrast = sheet_contrast(sheet.image)
    dark_share = float((sheet.image[::4, ::4] < 140).mean())
    if sheet.lifted and contrast < _BLANK_CONTRAST:
        return _refusal(
            sheet,
            "there is no type on this sheet",
            "nothing but rules or a border",
            "scan the proof with its matter in it",
        )
    if contrast < _BLANK_CONTRAST and dark_share < 0.02:
        return _refusal(
            sheet, "the sheet is blank", f"contrast {contrast:.0%}", "scan the printed side"
        )
    letters, _ = letter_boxes(sheet.image)
    if contrast < _LEAST_CONTRAST + 0.1 and dark_share < 0.02 and len(letters) >= _SOME_LETTERS:
        return _pale(sheet, contrast)
    if contrast < _FAINT_CONTRAST and dark_share < 0.02:
        return _pale(sheet, contrast)
    return _no_proof(sheet)


def _pale(sheet: Sheet, contrast: float) -> SheetUnfitError:
    return _refusal(
        sheet,
        "the proof is too pale to read",
        f"ink {contrast:.0%} darker than the paper",
        f"at least {_LEAST_CONTRAST:.0%} is needed: pull it again with more ink, or scan it darker",
    )


def _illegible(sheet: Sheet, seen: Impression) -> SheetUnfitError | None:
    """The first reason why these letters can't be judged, coarse first: it mimics the others."""
    if seen.x_height_px < _LEAST_X_HEIGHT_PX:
        return _coarse(sheet, seen.x_height_px)
    if seen.contrast < _LEAST_CONTRAST:
        return _pale(sheet, seen.contrast)
    blurs = (seen.spread_across / _MOST_SPREAD[0], seen.spread_down / _MOST_SPREAD[1])
    uneven = seen.evenness < _LEAST_EVENNESS and seen.softness > _SMEAR_SOFTNESS
    if uneven and max(blurs) > _SMEAR_BLURS and min(blurs) < _BLUR_SWELLS:
        return _refusal(
            sheet,
            "the letters are smeared in one direction",
            f"edges across it are {seen.evenness:.0%} as strong as those along it",
            f"at least {_LEAST_EVENNESS:.0%} is needed: hold sheet and camera still, "
            "or pull the proof again",
        )
    swollen = seen.stroke > _MOST_STROKE and seen.letters < _FEW_LETTERS
    if max(blurs) > 1 or (swollen and max(blurs) > _BLUR_SWELLS):
        return _refusal(
            sheet,
            "the sheet is out of focus",
            f"letters {seen.stroke / _GOOD_STROKE:.1f} times as thick as sharp ones, "
            f"edges at {max(blurs):.0%} of the blur that can be read",
            "scan it flat on the glass, or take the picture again in focus",
        )
    return _run_together(sheet, seen)


def _coarse(sheet: Sheet, x_height_px: float) -> SheetUnfitError:
    dpi = sheet.dpi * _GOOD_X_HEIGHT_PX / max(x_height_px, 1.0)
    how = f"scan at {_round_dpi(dpi)} dpi" if sheet.dpi_source != "guess" else "scan it finer"
    return _refusal(
        sheet,
        "the scan is too coarse",
        f"x-height {x_height_px:.1f} px",
        f"at least {_LEAST_X_HEIGHT_PX:g} px is needed, {_GOOD_X_HEIGHT_PX:g} is good: {how}, "
        "or go nearer with the camera",
    )


def _round_dpi(dpi: float) -> int:
    """The next resolution that scanners offer."""
    return next((usual for usual in (200, 300, 400, 600, 1200) if usual >= dpi), 2400)


def _run_together(sheet: Sheet, seen: Impression) -> SheetUnfitError | None:
    if seen.stroke > _MOST_STROKE and seen.letters < _FEW_LETTERS:
        return _refusal(
            sheet,
            "the proof is over-inked",
            f"strokes {seen.stroke:.2f} x-heights thick, letters run together",
            f"less than {_MOST_STROKE:g} is needed: pull it again with less ink, "
            "or scan it lighter",
        )
    if seen.letters < _LETTERS_IN_ONE:
        return _refusal(
            sheet,
            "the letters run together, as on a smeared proof",
            f"{seen.letters:.2f} separate letters to an x-height of line",
            f"at least {_LETTERS_IN_ONE:g} is needed: pull the proof again",
        )
    return None


def _margin(sheet: Sheet, edge: str, measured: str) -> SheetUnfitError:
    return _refusal(
        sheet,
        f"the type is cut off at the {edge} of the scan",
        measured,
        "scan the whole sheet with a margin all round",
    )
