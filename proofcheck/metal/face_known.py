"""Which face of the shop's book a proof is set in, line by line; none where it is not sure.

A letter of the same face is hardly more unlike the book's than unlike its own fellows on the proof;
one of another face is twice as unlike and more. Any one letter says little, a line of them much.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.units import MM_PER_INCH
from proofcheck.metal.overlaying import Fellows, lay_on
from proofcheck.metal.patch_store import blocks

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from proofcheck.metal.context import Matter
    from proofcheck.metal.face import Face

__all__ = ["Known", "as_strangers", "face_fellows", "known_faces", "sizes_mm"]

IN_FACE = 0.25
"""Logarithm of how much more unlike the book's letters than those of the proof a letter may be, in
the middle of all on lines of the face. On pages of the books b, d and f against their own face it
was 0.05 to 0.14, against each of four others 0.50 to 1.1."""
LINE_IN_FACE = 0.4
"""The same in the middle of one line: nine in ten lines of the face had 0.27 or less."""
MAY_BE = 0.45
"""Where all lines of the size have less than this in the middle it may be the face, and no new one
is begun."""
SIZE = 0.08
"""Share by which x-heights may differ."""
MOST_LINES = 0.4
"""Share of the lines of its size that a face must hold: half a page may be of another."""
LEAST_LETTERS, LEAST_OF_LINE, LEAST_KINDS = 60, 5, 6
"""Small letters that say so, in all and of a line, and kinds of them."""
LEAST_KEPT = 6
"""Letters a face must have kept of a kind for it to be used."""
_FEW = 0.01
_SURE = 0.9


@dataclass(frozen=True, slots=True, eq=False)
class Known:
    """A face of the book on a proof."""

    face: Face
    fellows: Mapping[str, Fellows]
    """Its letters by kind, those kinds of which enough are kept."""
    rows: NDArray[np.bool_]
    """For each line whether it is of the face."""
    unlike: float
    """`IN_FACE` says of what; over all lines of its size."""
    sure: bool
    """Whether the proof is in this face as far as `rows` says; else it only may be."""
    whole: bool
    """Whether nearly all lines of its size are."""


def face_fellows(face: Face) -> dict[str, Fellows]:
    """The letters of a face laid true on one another, by kind."""
    cut, text = face.cut(), face.letters.text
    kinds, counts = np.unique(text, return_counts=True)
    return {
        str(kind): Fellows.of(cut, np.flatnonzero(text == kind))
        for kind, count in zip(kinds, counts, strict=True)
        if count >= LEAST_KEPT
    }


def sizes_mm(matter: Matter) -> NDArray[np.float64]:
    """The x-height of each line in mm; NaN on a sheet whose resolution is only guessed."""
    found = np.full(len(matter.lines), np.nan)
    for row, line in enumerate(matter.lines):
        sheet = matter.sheets[line.sheet]
        if sheet.dpi_source != "guess":
            found[row] = MM_PER_INCH * line.x_height_px / sheet.dpi
    return found


def known_faces(matter: Matter, faces: Sequence[Face]) -> list[Known]:
    """The faces a proof is set in, or may be; each line is of one at most."""
    size = sizes_mm(matter)
    found, of_line = [], []
    for face in faces:
        near = np.abs(size / face.letters.x_height_mm - 1) < SIZE
        letters = _telling(matter, near)
        if len(letters) < LEAST_LETTERS:
            continue
        fellows = face_fellows(face)
        more = _more_unlike(matter, letters, fellows)
        told = np.isfinite(more)
        kinds = len(set(matter.fount.text[letters[told]].tolist()))
        if told.sum() < LEAST_LETTERS or kinds < LEAST_KINDS:
            continue
        lines = _by_line(matter, letters[told], more[told])
        of_line.append(lines)
        rows = np.nan_to_num(lines, nan=np.inf) < LINE_IN_FACE
        found.append(Known(face, fellows, rows, float(np.median(more[told])), False, False))
    return [_settled(each, of_line, at) for at, each in enumerate(found)]


def _settled(known: Known, of_line: list[NDArray[np.float64]], at: int) -> Known:
    """A face with the lines that are nearer to it than to any other, and whether it is sure."""
    least = np.min(np.nan_to_num(np.stack(of_line), nan=np.inf), axis=0)
    asked = np.isfinite(of_line[at])
    rows = known.rows & (of_line[at] <= least)
    share = rows.sum() / max(asked.sum(), 1)
    within = float(np.median(of_line[at][rows])) if rows.any() else np.inf
    sure = bool(share >= MOST_LINES and within < IN_FACE)
    return Known(known.face, known.fellows, rows, known.unlike, sure, bool(share >= 2 * MOST_LINES))


def _telling(matter: Matter, rows: NDArray[np.bool_]) -> NDArray[np.intp]:
    """Numbers of small letters on those lines, read surely and rightly, that have fellows."""
    fount = matter.fount
    small = np.array([each.islower() for each in fount.text.tolist()], bool)
    told = small & fount.agreed & np.isfinite(fount.unlike) & rows[fount.line]
    numbers = np.flatnonzero(told).tolist()
    return np.array([n for n in numbers if matter.letter(n).certainty >= _SURE], np.intp)


def _more_unlike(
    matter: Matter, letters: NDArray[np.intp], fellows: Mapping[str, Fellows]
) -> NDArray[np.float64]:
    """Of each letter the logarithm of how much more unlike the face's than the proof's; NaN."""
    fount = matter.fount
    found = np.full(len(letters), np.nan)
    for kind, its in fellows.items():
        for part in blocks(np.flatnonzero(fount.text[letters] == kind)):
            who = letters[part]
            # Its own number may be one of the face's, and is no fellow of itself there.
            laid = lay_on(fount.cut, who, as_strangers(its))
            found[part] = np.log(laid.unlike + _FEW) - np.log(fount.unlike[who] + _FEW)
    return found


def as_strangers(fellows: Fellows) -> Fellows:
    """The same under numbers that no letter of a proof has, in order."""
    who = np.arange(len(fellows.who)) - len(fellows.who)
    return Fellows(who, fellows.ink, fellows.mould, fellows.mould_window)


def _by_line(
    matter: Matter, letters: NDArray[np.intp], more: NDArray[np.float64]
) -> NDArray[np.float64]:
    """The middle of each line; NaN where too few say so."""
    found = np.full(len(matter.lines), np.nan)
    line = matter.fount.line[letters]
    for row in np.unique(line):
        mine = more[line == row]
        if len(mine) >= LEAST_OF_LINE:
            found[row] = float(np.median(mine))
    return found
