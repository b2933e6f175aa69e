"""A letter missing where a large initial stands that is not read: named there, not alleged.

An initial of many lines is too large to be told from a cut. It is hatched for a person to read; to
say beside it that the letter is missing cries wolf.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from proofcheck.base.kinds import Kind
from proofcheck.faults.unfollowed_lines import Followed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.found import Found, Unread
    from proofcheck.base.values import Line

__all__ = ["INITIAL_NOT_READ", "leave_initials"]

INITIAL_NOT_READ = "it may be the large initial beside it, which is not read"
_BESIDE_X: Final = 3.0
"""X-heights between an initial and its line, at most."""
_ABOVE_X: Final = 2.5
"""X-heights that an initial may rise over its line, or begin under the line's foot."""
_HIGH_X: Final = 2.5
"""X-heights that an initial is high at least."""


def leave_initials(
    found: Sequence[Found], unread: Sequence[Unread], lines: Sequence[Line]
) -> Followed:
    """Take back that a line's first letter is missing where an initial was not read.

    Args:
        found: faults and queries of the text and the type.
        unread: what was not read.
        lines: all lines.
    """
    by_number = {line.number: line for line in lines}
    told, kept, let_go, taken = list(unread), [], [], set()
    for each in found:
        line = by_number.get(each.difference.line)
        at = None
        if line is not None and _is_first_letter(each):
            places = (k for k, place in enumerate(told) if _is_initial_of(place, line))
            at = next((k for k in places if k not in taken), None)
        if at is None:
            kept.append(each)
            continue
        taken.add(at)
        let_go.append(each.let_go(INITIAL_NOT_READ))
        words = f"{told[at].words}; “{each.difference.copy_text.strip()}” of the copy may be it"
        told[at] = replace(told[at], words=words)
    return Followed(tuple(kept), tuple(let_go), tuple(told))


def _is_first_letter(found: Found) -> bool:
    difference = found.difference
    letter = difference.copy_text.strip()
    missing = difference.kind is Kind.LETTER_MISSING and difference.proof.start == 0
    return missing and len(letter) == 1 and letter.isalpha()


def _is_initial_of(place: Unread, line: Line) -> bool:
    if place.in_shadow or place.whole_sheet or place.sheet != line.sheet:
        return False
    box, size = place.box, line.x_height_px
    beside = -size < line.box.x - box.right < _BESIDE_X * size
    above, under = line.box.y - box.y, box.y - line.box.bottom
    level = above < _ABOVE_X * size and under < _ABOVE_X * size
    return beside and level and box.bottom > line.box.bottom and box.height >= _HIGH_X * size
