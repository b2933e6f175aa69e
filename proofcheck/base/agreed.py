"""Where a line as read and the copy it holds agree, character for character."""

from __future__ import annotations

import re
from types import MappingProxyType
from typing import TYPE_CHECKING

from rapidfuzz.distance import Levenshtein

if TYPE_CHECKING:
    from collections.abc import Mapping

    from proofcheck.base.values import Span

__all__ = ["agreed_places"]

_AS_IT_IS: Mapping[int, str] = MappingProxyType({})
_WHITE = str.maketrans("\n\t", "  ")
_LEADERS = re.compile(r"\.(?: ?\.){4,}")


def _without_leaders(text: str) -> list[int]:
    """Places of a text's characters, but for the points of leaders.

    They tell no cell from another, and are so many that it would cost less to take cells for them.
    """
    gone = {at for row in _LEADERS.finditer(text) for at in range(*row.span())}
    return [at for at in range(len(text)) if at not in gone]


def agreed_places(
    printed: str, copy: str, span: Span, written: Mapping[int, str] = _AS_IT_IS
) -> dict[int, int]:
    """For printed characters that the copy has too, where it has them.

    Args:
        printed: a line as it was read.
        copy: the whole copy.
        span: the stretch of it that the line holds.
        written: how the reader writes some of its characters, one for one, by code point.
    """
    wanted = copy[span.start : span.end].translate(_WHITE).translate(written)
    here, there = _without_leaders(printed), _without_leaders(wanted)
    return {
        here[op.src_start + k]: span.start + there[op.dest_start + k]
        for op in Levenshtein.opcodes([printed[at] for at in here], [wanted[at] for at in there])
        if op.tag == "equal"
        for k in range(op.src_end - op.src_start)
    }
