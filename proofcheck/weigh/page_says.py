"""What the page itself says of a difference that the reading alone must not settle.

Letters, figures, points and dashes are laid on their fellows (`fellows`); the marks of quotes are
counted; a speck is no point if it is unlike the page's own points; a space is measured against
the line's other spaces; ink where a dash is said to be missing is looked for.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.kinds import Kind
from proofcheck.sheet.ink import line_ink
from proofcheck.weigh.dashes import is_seen
from proofcheck.weigh.dotted_rules import is_dotted_rule
from proofcheck.weigh.end_points import is_past_end
from proofcheck.weigh.fellows import Fellows, Says
from proofcheck.weigh.heights import Heights
from proofcheck.weigh.ring_shapes import (
    FIGURES,
    RINGS,
    ROUND,
    is_common_nought,
    is_of_kind,
    ring_among,
    ring_of,
)
from proofcheck.weigh.unlikeness import nearest

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from proofcheck.base.found import Difference
    from proofcheck.base.values import Box, Letter, Line, Reading, Sheet
    from proofcheck.sheet.pieces import Pieces
    from proofcheck.weigh.evidence import Dispute

__all__ = ["PageSays"]

_MARKS = {"'": 1, '"': 2}
"""How many marks of ink a quote is made of."""
_NO_POINT = 2.5
"""So many times as unlike the page's points as they are among themselves, a speck is none."""
_LEAST_INK = 0.6
"""Nor is one with less than this share of their ink."""
_NO_SPACE, _A_SPACE = 0.5, 0.75
"""A gap of less than the first share of the line's usual word space is none, from the second share
on it is one."""
_JOINED = 0.2
"""A letter nearer to a quote than this share of the quote's width may have another joined to it."""
_LEAST_MARK = 0.12
"""A piece of ink lower than this share of the x-height is a speck."""
_NEAR, _LIKE_MARKS = 0.4, 0.7
"""A mark that was given to the letter beside a quote lies in this share of its width; it is as high
as the marks read by the second share at least, which no dot of an i is."""


class PageSays:
    """The page as its own evidence.

    Args:
        sheets, lines, readings: the proof as read.
        differences: what is in dispute.
    """

    def __init__(
        self,
        sheets: Sequence[Sheet],
        lines: Sequence[Line],
        readings: Sequence[Reading],
        differences: Iterable[Difference],
    ) -> None:
        differences = list(differences)
        self.fellows = Fellows(sheets, lines, readings, differences)
        self._rings = _disputed_rings(readings, differences)
        self._heights = Heights(lines, readings)

    def of(self, dispute: Dispute) -> Says:
        """What the page says of one difference."""
        difference = dispute.difference
        read, wanted = difference.proof_text, difference.copy_text
        if read + wanted and set(read + wanted) <= _MARKS.keys():
            return _by_marks(dispute)
        if difference.kind in (Kind.SPACE_EXTRA, Kind.SPACE_MISSING):
            return _by_gap(dispute)
        if is_seen(dispute) or is_past_end(dispute, self.fellows) or is_dotted_rule(dispute):
            return Says.SEEN
        if difference.kind is Kind.POINT_EXTRA and not wanted and len(read) == 1:
            return self._by_points(dispute)
        if not len(read) == len(wanted) == difference.proof.end - difference.proof.start:
            return Says.NOTHING
        asked = (
            self._letter_by_letter,
            self._heights.of_stem,
            self._heights.of_nought,
            self._by_ring,
            self._heights.of_case,
        )
        said = (ask(dispute) for ask in asked)
        return next((answer for answer in said if answer is not Says.NOTHING), Says.NOTHING)

    def _letter_by_letter(self, dispute: Dispute) -> Says:
        """For the copy only where every letter is; for the reading where one is."""
        difference = dispute.difference
        start = difference.proof.start
        said = {
            self.fellows.says(dispute.line.number, dispute.reading.letters[start + at].box, r, w)
            for at, (r, w) in enumerate(
                zip(difference.proof_text, difference.copy_text, strict=True)
            )
            if r != w
        }
        if Says.READING in said:
            return Says.READING
        if Says.NOTHING in said or not said:
            return Says.NOTHING
        return Says.ALIKE if Says.ALIKE in said else Says.COPY

    def _by_ring(self, dispute: Dispute) -> Says:
        """An O or nought that has the copy's shape beside its line or the page's other rings."""
        difference = dispute.difference
        pairs = enumerate(zip(difference.proof_text, difference.copy_text, strict=True))
        apart = [(difference.proof.start + k, *pair) for k, pair in pairs if len(set(pair)) > 1]
        if not apart or not all({read, wanted} == RINGS for _, read, wanted in apart):
            return Says.NOTHING
        letters = dispute.reading.letters
        told = (
            ring_of(letters, at) == wanted
            or self._is_of_kind(letters[at].box, wanted, read)
            or self._among_all(letters[at].box, wanted)
            for at, read, wanted in apart
        )
        return Says.COPY if all(told) else Says.NOTHING

    def _is_of_kind(self, box: Box, kind: str, other: str) -> bool:
        return is_of_kind(box, self.fellows.boxes(kind), self.fellows.boxes(other))

    def _among_all(self, box: Box, wanted: str) -> bool:
        """Whether a ring is what the copy has by all figures and capitals of the sheet."""
        if not box.height:
            return False
        figures = self.fellows.boxes(FIGURES)
        if ring_among(box, figures, self.fellows.boxes(ROUND)) == wanted:
            return True
        fellows = [each for each in self._rings["0"] if each != box]
        capitals = [*self.fellows.boxes("O"), *self._rings["O"]]
        return wanted == "0" and is_common_nought(box, fellows, figures, capitals)

    def _by_points(self, dispute: Dispute) -> Says:
        """A speck that is unlike the page's own points of that kind."""
        stock = self.fellows.stock(dispute.difference.proof_text)
        if not stock.patches:
            stock = self.fellows.stock(".")
        if stock.usual is None:
            return Says.NOTHING
        letter = dispute.reading.letters[dispute.difference.proof.start]
        patch = self.fellows.patch(dispute.line.number, letter.box)
        ink = float(np.median([fellow.sum() for fellow in stock.patches]))
        unlike = nearest(patch, stock.patches) > _NO_POINT * stock.usual
        return Says.COPY if unlike or float(patch.sum()) < _LEAST_INK * ink else Says.NOTHING


def _disputed_rings(
    readings: Sequence[Reading], differences: Iterable[Difference]
) -> dict[str, list[Box]]:
    """Round each ring read as the other kind, by what the copy has for it."""
    letters = {reading.line: reading.letters for reading in readings}
    out: dict[str, list[Box]] = {kind: [] for kind in RINGS}
    for each in differences:
        start, end = each.proof
        if end - start == len(each.copy_text) == len(each.proof_text):
            for at, (read, wanted) in enumerate(zip(each.proof_text, each.copy_text, strict=True)):
                if {read, wanted} == RINGS:
                    out[wanted].append(letters[each.line][start + at].box)
    return out


def _by_marks(dispute: Dispute) -> Says:
    """The marks of a run of quotes counted: two for a double quote, one for a single one."""
    text, letters = dispute.as_read, dispute.reading.letters
    start, end = dispute.difference.proof
    while start > 0 and text[start - 1] in _MARKS:
        start -= 1
    while end < len(text) and text[end] in _MARKS:
        end += 1
    if start == end:
        return Says.NOTHING
    boxes = [letter.box for letter in letters[start:end]]
    left, right = min(b.x for b in boxes), max(b.right for b in boxes)
    found = line_ink(dispute.sheet, dispute.line).pieces
    tall = found.height >= _LEAST_MARK * dispute.line.x_height_px
    inside = (found.middle >= left) & (found.middle <= right) & tall
    marks = inside & (found.bottom <= max(b.bottom for b in boxes) + 1)
    # Where one mark of two was read, the other may have been given to the letter beside it.
    for one, side in ((letters[start - 1 : start], -1), (letters[end : end + 1], 1)):
        if one and one[0].text != " ":
            marks |= _given(found, one[0].box, side, boxes)
    count = int(marks.sum())
    as_read = sum(_MARKS[char] for char in text[start:end])
    read, wanted = dispute.difference.proof_text, dispute.difference.copy_text
    as_copy = as_read + sum(map(_MARKS.__getitem__, wanted)) - sum(map(_MARKS.__getitem__, read))
    if as_read == as_copy:
        return Says.NOTHING
    if as_copy > as_read and _is_joined(letters[start - 1 : start], letters[end : end + 1], boxes):
        return Says.COPY if count == as_copy else Says.NOTHING
    return {as_copy: Says.COPY, as_read: Says.READING}.get(count, Says.NOTHING)


def _given(found: Pieces, beside: Box, side: int, run: Sequence[Box]) -> NDArray[np.bool_]:
    """Which pieces given to the letter before a run of quotes (side -1) or after it (1) are of it.

    They lie in the letter's near part, are as high as the marks of the run, and hang as high.
    """
    near, least = _NEAR * beside.width, min(box.height for box in run)
    low, high = (beside.x, beside.x + near) if side > 0 else (beside.right - near, beside.right)
    like = found.height >= _LIKE_MARKS * least
    hang = found.bottom <= max(box.bottom for box in run) + (1 - _LIKE_MARKS) * least
    return (found.middle >= low) & (found.middle <= high) & like & hang


def _is_joined(before: Sequence[Letter], after: Sequence[Letter], run: Sequence[Box]) -> bool:
    """Whether a mark more may hang on the letter beside a run of quotes, as high as they are."""
    left, right = min(box.x for box in run), max(box.right for box in run)
    foot, apart = max(box.bottom for box in run), _JOINED * (right - left) / len(run)
    beside = [(left - one.box.right, one.box) for one in before if one.text != " "]
    beside += [(one.box.x - right, one.box) for one in after if one.text != " "]
    return any(gap <= apart and box.width and box.y < foot for gap, box in beside)


def _by_gap(dispute: Dispute) -> Says:
    """A gap beside the line's other word spaces."""
    letters = dispute.reading.letters
    start, end = dispute.difference.proof
    if start < 1 or end >= len(letters):
        return Says.NOTHING
    spaces = [
        after.box.x - before.box.right
        for at, (before, after) in enumerate(zip(letters, letters[2:], strict=False), 1)
        if letters[at].text == " " and not start <= at < end
    ]
    if not spaces:
        return Says.NOTHING
    usual = float(np.median(spaces))
    gap = letters[end].box.x - letters[start - 1].box.right
    if dispute.difference.kind is Kind.SPACE_EXTRA:
        return Says.COPY if gap < _NO_SPACE * usual else Says.NOTHING
    return Says.COPY if gap > _A_SPACE * usual else Says.NOTHING
