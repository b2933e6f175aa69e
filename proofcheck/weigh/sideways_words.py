"""Words of the copy that may stand in type set sideways, where that could not be read.

Such type is one cause, told once: what of the copy could be just that block is named with it, for
a person to read it by, and not alleged to be missing besides. A proof with a part not read is
never clean.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from proofcheck.base.kinds import Kind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.found import Found, LetGo, Unread
    from proofcheck.base.values import Box, Copy, Sheet

__all__ = ["MAY_BE_SIDEWAYS", "Claimed", "claimed_by_sideways"]

MAY_BE_SIDEWAYS = "it may be the type set sideways, which is not read"
_KINDS: Final = (Kind.WORD_MISSING, Kind.LINE_MISSING, Kind.MATTER_MISSING)
_SET_WIDTH: Final = (0.4, 1.1)
"""A character with its share of the spaces, in heights of the ink of its line: from narrow small
letters with heads and tails to wide or letter-spaced capitals. Common practice."""


@dataclass(frozen=True, slots=True, eq=False)
class Claimed:
    """What was found without what may stand sideways."""

    found: tuple[Found, ...]
    let_go: tuple[LetGo, ...]
    unread: tuple[Unread, ...]
    """With the words of the copy that may stand there."""


def claimed_by_sideways(
    found: Sequence[Found], unread: Sequence[Unread], sheets: Sequence[Sheet], copy: Copy
) -> Claimed:
    """Take whole missing lines of the copy for type set sideways, where that is as long.

    A block takes one stretch of copy at most; what none can hold stays alleged.

    Args:
        found: what the image bears out.
        unread: what was not read.
        sheets: the sheets; `lifted` holds what stands sideways.
        copy: the approved copy.
    """
    told = list(unread)
    sideways = {
        (sheet.number, part.box)
        for sheet in sheets
        for part in sheet.lifted
        if part.look == "sideways"
    }
    free = [at for at, part in enumerate(told) if (part.sheet, part.box) in sideways]
    kept: list[Found] = []
    let_go: list[LetGo] = []
    for each in found:
        words = _whole_lines(each, copy)
        at = next((at for at in free if words and _holds(told[at].box, words)), None)
        if at is None:
            kept.append(each)
            continue
        free.remove(at)
        told[at] = replace(told[at], words=f"{told[at].words}; “{words}” of the copy may be it")
        let_go.append(each.let_go(MAY_BE_SIDEWAYS))
    return Claimed(tuple(kept), tuple(let_go), tuple(told))


def _whole_lines(found: Found, copy: Copy) -> str:
    """The missing words, where they are lines of the copy of their own; "" otherwise."""
    start, end = found.difference.copy
    if found.difference.kind not in _KINDS or found.difference.proof_text.strip():
        return ""
    before, after = copy.text[:start], copy.text[end:]
    held = copy.text[start:end]
    begins = "\n" in held[: len(held) - len(held.lstrip())] or not before.strip(" \t")
    begins |= before.rstrip(" \t").endswith("\n")
    ends = "\n" in held[len(held.rstrip()) :] or not after.strip(" \t")
    ends |= after.lstrip(" \t").startswith("\n")
    return " ".join(held.split()) if begins and ends else ""


def _holds(block: Box, words: str) -> bool:
    """Whether words set on their side are about as long as a block is high."""
    least, most = (width * block.width * len(words) for width in _SET_WIDTH)
    return least <= block.height <= most
