"""Differences for quotes that stand the wrong way round, wherever a quote was read for a quote."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from proofcheck.base.agreed import agreed_places
from proofcheck.base.found import Difference
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Span
from proofcheck.weigh.quote_ways import QUOTES, Quote, quotes_of, wrong_way

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.found import Collation
    from proofcheck.base.values import Copy, Reading
    from proofcheck.weigh.fellows import Fellows

__all__ = ["quotes_amiss"]


def quotes_amiss(
    collation: Collation, readings: Sequence[Reading], copy: Copy, fellows: Fellows
) -> tuple[tuple[Difference, ...], frozenset[Difference]]:
    """Queries about quotes, and the differences whose place they take.

    A double quote read as a single one is in dispute, and let go where two marks are seen: which
    way round they stand is asked there too.
    """
    disputed: dict[int, dict[int, Difference]] = defaultdict(dict)
    for difference in collation.differences:
        for at in range(*difference.proof):
            disputed[difference.line][at] = difference
    held = {placing.line: placing.copy for placing in collation.placings}
    quotes: list[Quote] = []
    for reading in readings:
        span = held.get(reading.line)
        if span is None:
            continue
        known = agreed_places(reading.text, copy.text, span, QUOTES)
        own = disputed[reading.line]
        known = {at: where for at, where in known.items() if at not in own}
        known |= {d.proof.start: d.copy.start for d in own.values() if _of_quotes(d)}
        quotes += quotes_of(reading, known, copy.text, fellows)
    found = wrong_way(quotes)
    instead_of = [disputed[quote.line].get(quote.at) for quote in found]
    return (
        tuple(_told(quote, copy.text) for quote in found),
        frozenset(each for each in instead_of if each is not None),
    )


def _of_quotes(difference: Difference) -> bool:
    """Whether one quote was read for one quote."""
    texts = difference.proof_text, difference.copy_text
    return all(len(text) == 1 and text.translate(QUOTES) in "'\"" for text in texts)


def _told(quote: Quote, copy: str) -> Difference:
    return Difference(
        kind=Kind.POINT_WRONG,
        line=quote.line,
        proof=Span(quote.at, quote.at + 1),
        proof_text=quote.instead,
        copy=Span(quote.in_copy, quote.in_copy + 1),
        copy_text=copy[quote.in_copy],
        only_query=True,
    )
