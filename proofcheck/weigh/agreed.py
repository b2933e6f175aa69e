"""Where reading and copy agree, character for character."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rapidfuzz.distance import Levenshtein

from proofcheck.weigh.quote_ways import QUOTES

if TYPE_CHECKING:
    from proofcheck.base.values import Span

__all__ = ["agreed_places"]


def agreed_places(printed: str, copy: str, span: Span) -> dict[int, int]:
    """For printed characters that the copy has too, where it has them; quotes of either way."""
    wanted = copy[span.start : span.end].replace("\n", " ").translate(QUOTES)
    return {
        op.src_start + k: span.start + op.dest_start + k
        for op in Levenshtein.opcodes(printed, wanted)
        if op.tag == "equal"
        for k in range(op.src_end - op.src_start)
    }
