"""From a mark to what is written in the margin for it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.marks.strokes import beside, closed, matter_drawing, ringed, sign_drawing, written
from proofcheck.marks.table import SIGNS

if TYPE_CHECKING:
    from proofcheck.base.found import Mark
    from proofcheck.marks.paths import Drawing

__all__ = ["margin_drawing"]

_GRADE_GAP = 0.9
"""White between a sign and the grade beside it, x-heights: they are two words."""
_MARK_ALONE = 2
"""New matter up to this many characters is drawn by the signs of its points inside a query."""


def margin_drawing(
    mark: Mark, *, query: bool = False, followed: bool = False, grade: str = ""
) -> Drawing:
    """What stands in the margin, from x = 0 on a baseline at y = 0, in x-heights.

    Args:
        mark: what to write.
        query: ring it, with a question mark and the suggested matter inside the ring.
        followed: another sign follows on the line, so that a bare instruction too is closed by
            the slanting stroke (as the plates have "tr" before a dele).
        grade: of a fault of the type, written after the sign; "" for none.
    """
    if grade:
        bare = margin_drawing(mark, query=query, followed=followed)
        return beside(bare, written(grade), gap=_GRADE_GAP)
    if query:
        asked = written("?")
        return ringed(beside(_suggestion(mark), asked, gap=0.34))
    if mark.sign == "transpose" and mark.matter:
        return ringed(written(f"tr {mark.matter}"))  # says where to: an instruction, not new matter
    if mark.matter:
        return beside(matter_drawing(mark.matter))
    drawing = sign_drawing(mark.sign)
    if SIGNS[mark.sign].ringed:
        return ringed(drawing)
    return closed(drawing) if followed else drawing


def _suggestion(mark: Mark) -> Drawing:
    if mark.sign == "transpose" and mark.matter:
        return written(f"tr {mark.matter}")
    if mark.matter:
        points_only = len(mark.matter) <= _MARK_ALONE and not any(map(str.isalnum, mark.matter))
        return beside(matter_drawing(mark.matter) if points_only else written(mark.matter))
    return () if mark.sign == "query" else sign_drawing(mark.sign)
