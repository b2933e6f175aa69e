"""Pieces of a border of type ornaments that are turned, another's, or missing in their run.

Each piece is laid on the others of its side, which stand at even pitch: most of them show what
the piece should be, and how much a worn one differs from them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box
from proofcheck.metal.finder import Finder
from proofcheck.metal.rule_faults import on_each_sheet, told_at
from proofcheck.sheet.lifted import border_sides, with_lifted
from proofcheck.sheet.ornaments import pitch_of
from proofcheck.sheet.pieces import ink_mask

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Line, Sheet
    from proofcheck.metal.findings import MetalFinding
    from proofcheck.metal.judged import Judged

__all__ = ["border_pieces", "pieces_at_fault"]

_LEAST: Final = 5
"""Pieces of one side that show what each should be."""
_LIKE: Final = 0.8
"""Likeness to the usual piece that most have; a side whose pieces differ more is no run."""
_UNLIKE: Final = (0.88, 4.0)
"""A piece less like it, and so many times as far from it as its fellows, is another or stands
otherwise; worn pieces of this project's own borders have 0.95 and more, turned ones 0.4 to 0.82."""
_EMPTY: Final = 0.25
"""Share of the usual ink below which a piece is missing."""
_FORM_PX: Final = 24
_PLAY: Final = 0.15
"""How far a piece may be off its place, in pitches, and still be compared there."""


def border_pieces(judged: Judged) -> list[MetalFinding]:
    """Pieces of the borders of all sheets that are not as their fellows."""
    return on_each_sheet(judged, pieces_at_fault)


FINDER = Finder(130, border_pieces)


def pieces_at_fault(sheet: Sheet, lines: Sequence[Line]) -> list[MetalFinding]:
    """What is wrong with the borders of one sheet.

    Args:
        sheet: the sheet, with what was lifted off it.
        lines: of that sheet; not none.
    """
    sides = border_sides(sheet)
    if not sides:
        return []
    ink = ink_mask(with_lifted(sheet))
    return [
        told_at(sheet, lines, Kind.BORDER_PIECE, box, f"border {{}}: {words}")
        for at, side in enumerate(sides)
        for box, words in _wrong_pieces(ink, side, _run(side, sides[at - at % 4 :][:4]))
    ]


def _run(side: Box, four: Sequence[Box]) -> tuple[int, int]:
    """Where a side's run begins and ends along it: between the corners."""
    level = side.width > side.height
    bands = sorted(
        (box.x - side.x, box.right - side.x) if level else (box.y - side.y, box.bottom - side.y)
        for box in four
        if (box.width > box.height) != level
    )
    return (bands[0][1], bands[-1][0]) if bands else (0, max(side.width, side.height))


def _wrong_pieces(
    ink: NDArray[np.uint8], side: Box, run: tuple[int, int]
) -> Iterator[tuple[Box, str]]:
    """Boxes of a side's wrong pieces, and what is wrong; corners are no part of the run."""
    level = side.width > side.height
    part = ink[side.y : side.bottom, side.x : side.right]
    strip = np.ascontiguousarray(part if level else part.T)
    pitch = pitch_of(strip)
    if pitch is None:
        return
    starts = _starts(strip, pitch, run)
    forms = np.array([_form(strip, start, pitch) for start in starts])
    if len(forms) < _LEAST:
        return
    usual = np.median(forms, axis=0)
    likes = np.array([_best(strip, start, pitch, usual) for start in starts])
    amounts = forms.sum(axis=(1, 2)) / max(float(usual.sum()), 1e-6)
    common = float(np.median(likes))
    if common < _LIKE:
        return
    odd = (likes < _UNLIKE[0]) & (1 - likes > _UNLIKE[1] * (1 - common))
    bad = odd | (amounts < _EMPTY)
    if np.count_nonzero(bad) > len(forms) // 4:
        return
    for at in np.flatnonzero(bad).tolist():
        missing = amounts[at] < _EMPTY
        words = "a piece is missing" if missing else _how_it_stands(forms[at], usual, likes[at])
        along, thick = starts[at], strip.shape[0]
        box = Box(side.x + along, side.y, pitch, thick) if level else Box(
            side.x, side.y + along, thick, pitch
        )  # fmt: skip
        yield box, words


def _starts(strip: NDArray[np.uint8], pitch: int, run: tuple[int, int]) -> list[int]:
    """Where each piece of a run begins: cut at the whitest place of the pitch."""
    columns = strip.sum(axis=0).astype(np.float64)
    folded = np.array([float(np.median(columns[at::pitch])) for at in range(pitch)])
    soft = np.convolve(np.tile(folded, 3), np.ones(3) / 3, "same")[pitch : 2 * pitch]
    cut = int(np.argmin(soft))
    spare = pitch // 8
    places = range(cut, strip.shape[1], pitch)
    return [at for at in places if run[0] - spare <= at <= run[1] - pitch + spare]


def _form(strip: NDArray[np.uint8], start: int, pitch: int) -> NDArray[np.float32]:
    piece = strip[:, max(start, 0) : start + pitch].astype(np.float32)
    soft = cv2.GaussianBlur(piece, (0, 0), max(pitch / 30, 1.0))
    return np.asarray(cv2.resize(soft, (_FORM_PX, _FORM_PX), interpolation=cv2.INTER_AREA))


def _best(strip: NDArray[np.uint8], start: int, pitch: int, usual: NDArray[np.floating]) -> float:
    """How like the usual piece is what stands at a place or a little off it."""
    play = max(round(_PLAY * pitch), 1)
    offs = range(-play, play + 1, max(play // 3, 1))
    return max(_alike(_form(strip, start + off, pitch), usual) for off in offs)


def _alike(one: NDArray[np.floating], other: NDArray[np.floating]) -> float:
    a, b = one - one.mean(), other - other.mean()
    return float((a * b).sum() / max(float(np.sqrt((a**2).sum() * (b**2).sum())), 1e-6))


def _how_it_stands(form: NDArray[np.float32], usual: NDArray[np.floating], like: float) -> str:
    turned = max(_alike(np.rot90(form, turn), usual) for turn in (1, 2, 3))
    return "a piece is turned" if turned > like + 0.1 else "a piece is not as its fellows"
