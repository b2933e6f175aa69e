"""Letters set by themselves: a reference in brackets, the head of a column, a note's letter.

They are often of another face than the text ((a), s., d.: common practice), and one letter alone
cannot show that it is meant.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Letter
    from proofcheck.metal.context import Matter

__all__ = ["is_set_apart", "set_apart"]

_OPEN: Final = frozenset("([")
_CLOSED: Final = frozenset(")]")
_POINTS: Final = frozenset(".,*)")
_FAR_X: Final = 2.0
"""White on either side from which a letter stands in a cell of its own, x-heights."""


def set_apart(matter: Matter) -> NDArray[np.bool_]:
    """For each letter of the fount whether it is a small letter set by itself."""
    small = [text.islower() for text in matter.fount.text.tolist()]
    rows = matter.fount.line.tolist()
    return np.array(
        [known and is_set_apart(matter, rows[n], n) for n, known in enumerate(small)], bool
    )


def is_set_apart(matter: Matter, row: int, number: int) -> bool:
    """Whether a letter stands by itself, whatever it was read as.

    Args:
        matter: the proof.
        row: its row.
        number: its number in the fount.
    """
    letters, at = matter.readings[row].letters, int(matter.fount.at[number])
    far = _FAR_X * matter.lines[row].x_height_px
    return _in_brackets(letters, at) or _in_a_cell(letters, at, far)


def _in_brackets(letters: Sequence[Letter], at: int) -> bool:
    beside = [letters[k].text for k in (at - 1, at + 1) if 0 <= k < len(letters)]
    return len(beside) > 1 and beside[0] in _OPEN and beside[1] in _CLOSED


def _in_a_cell(letters: Sequence[Letter], at: int, far: float) -> bool:
    """Whether white, or the line's end, is on either side of a letter and its point."""
    end = at + 1
    if end < len(letters) and letters[end].text in _POINTS:
        end += 1
    white = []
    if at:
        before = next((x for x in reversed(letters[:at]) if not x.text.isspace()), None)
        white.append(letters[at].box.x - before.box.right if before else far)
    if end < len(letters):
        after = next((x for x in letters[end:] if not x.text.isspace()), None)
        white.append(after.box.x - letters[end - 1].box.right if after else far)
    return len(letters) > end - at and all(gap >= far for gap in white)
