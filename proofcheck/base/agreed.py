"""Where a line as read and the copy it holds agree, character for character."""

from __future__ import annotations

from types import MappingProxyType
from typing import TYPE_CHECKING

from rapidfuzz.distance import Levenshtein

if TYPE_CHECKING:
    from collections.abc import Mapping

    from proofcheck.base.values import Span

__all__ = ["agreed_places"]

_AS_IT_IS: Mapping[int, str] = MappingProxyType({})


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
    wanted = copy[span.start : span.end].replace("\n", " ").translate(written)
    return {
        op.src_start + k: span.start + op.dest_start + k
        for op in Levenshtein.opcodes(printed, wanted)
        if op.tag == "equal"
        for k in range(op.src_end - op.src_start)
    }
