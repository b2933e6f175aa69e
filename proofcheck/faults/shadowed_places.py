"""What is alleged where a shadow of the scan lies over a line: said to be not read instead."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from proofcheck.base.kinds import Group, of_group

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.found import Found, LetGo, Unread
    from proofcheck.base.values import Box, Line

__all__ = ["IN_SHADOW", "Lighted", "leave_shadowed"]

IN_SHADOW = "it is in the shadow at the edge of the scan, and is not read"
_BESIDE_X: Final = 1.5
"""How far from the shadow a letter stands that it may touch, in x-heights."""
_WORD_X: Final = 0.5
"""How far a word may be missing from it: a word farther off is missing in the light."""
_WHOLE: Final = of_group(Group.WORDS, Group.LINES)
_LETTER_X: Final = 0.6
"""Least width of a letter, usually, in x-heights: more of them can't be hidden."""
_SPARE: Final = 2
"""Letters that may be more, where they are narrow, or half hidden."""


@dataclass(frozen=True, slots=True, eq=False)
class Lighted:
    """What was found in the light, and the rest."""

    found: tuple[Found, ...]
    let_go: tuple[LetGo, ...]
    unread: tuple[Unread, ...]
    """With the words of the copy that may stand in the shadow."""


def leave_shadowed(
    found: Sequence[Found], unread: Sequence[Unread], lines: Sequence[Line]
) -> Lighted:
    """Take back what is alleged where a shadow lies, as far as it can hide so much.

    Args:
        found: faults and queries of the text and the type.
        unread: what was not read; `in_shadow` for a shadow's places.
        lines: all lines.
    """
    told, kept, let_go = list(unread), [], []
    for each in found:
        at = next((k for k, one in enumerate(told) if _hides(one, each, lines)), None)
        if at is None:
            kept.append(each)
            continue
        let_go.append(each.let_go(IN_SHADOW))
        words = " ".join(each.difference.copy_text.split())
        if words:
            place = told[at]
            told[at] = replace(place, words=f"{place.words}; “{words}” of the copy may be there")
    return Lighted(tuple(kept), tuple(let_go), tuple(told))


def _hides(place: Unread, found: Found, lines: Sequence[Line]) -> bool:
    """Whether what was found may be no more than a shadow's work."""
    if not place.in_shadow or place.sheet != found.sheet:
        return False
    own = [k for k, line in enumerate(lines) if _is_of(place, line)]
    if not own:
        return False
    at = min(own, key=lambda k: _apart(place.box, lines[k].box))
    line, x_height = lines[at], lines[at].x_height_px
    most = place.box.width + _SPARE * x_height
    if len(found.difference.copy_text.replace(" ", "")) * _LETTER_X * x_height > most:
        return False
    if found.difference.line == line.number:
        # From the shadow to the letters that are left of the line nothing is known.
        whole = found.difference.kind in _WHOLE
        reach, box = (_WORD_X if whole else _BESIDE_X) * x_height, found.box
        start, end = min(place.box.x, line.box.right), max(place.box.right, line.box.x)
        return box.x < end + reach and box.right > start - reach
    left = place.box.x <= line.box.x
    beside = lines[at - 1 : at] if left else lines[at + 1 : at + 2]
    return any(
        found.difference.line == other.number and _is_gap_at_end(found.box, other, last=left)
        for other in beside
    )


def _is_of(place: Unread, line: Line) -> bool:
    """Whether a place may be of a line: it is as high and on one level with it."""
    return place.sheet == line.sheet and (place.box.y, place.box.height) == (
        line.box.y,
        line.box.height,
    )


def _apart(one: Box, other: Box) -> int:
    return max(one.x, other.x) - min(one.right, other.right)


def _is_gap_at_end(box: Box, line: Line, *, last: bool) -> bool:
    """Whether something is missing at the end of a line, or before its beginning."""
    end = line.box.right if last else line.box.x
    return box.width == 0 and abs(box.x - end) < _BESIDE_X * line.x_height_px
