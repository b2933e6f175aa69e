"""One dash printed for another wherever the copy has it: one cause, asked about once."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from proofcheck.reading.alphabet import DASHES
from proofcheck.weigh.telling import differing

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from proofcheck.base.values import Reading
    from proofcheck.weigh.judging import Judged

__all__ = ["asked_once"]

_LEAST = 4
"""So many times at least: fewer are marked one by one."""
_OTHERWISE = 0.1
"""For each of them the copy's own dash is read no oftener than this on the whole proof: where a
page prints both, each stands for something."""
_QUERY = 0.3
"""Certainty of the one that is put."""
AS_THE_FIRST = "the dash is printed so at every place; the first is put as a query"


def asked_once(
    judged: Sequence[Judged], readings: Mapping[int, Reading]
) -> tuple[list[Judged], Counter[str]]:
    """The judged differences, of each such dash only the first left to be told, as a query.

    Args:
        judged: in the order of the proof.
        readings: of its lines, by number.

    Returns:
        The same differences, and how often each such dash stands, by words that say which.
    """
    pairs = Counter(_pair(one) for one in judged if not one.reason)
    printed = Counter(letter.text for held in readings.values() for letter in held.letters)
    alike = {
        pair
        for pair, count in pairs.items()
        if pair and count >= _LEAST and printed[pair[1]] <= _OTHERWISE * count
    }
    seen: Counter[str] = Counter()
    out = []
    for one in judged:
        pair = _pair(one)
        if one.reason or pair not in alike:
            out.append(one)
            continue
        cause = f"{pair[0]} is printed wherever the copy has {pair[1]}"
        seen[cause] += 1
        if seen[cause] > 1:
            out.append(replace(one, reason=AS_THE_FIRST))
            continue
        put = replace(one.difference, only_query=True)
        out.append(replace(one, difference=put, certainty=max(one.certainty, _QUERY)))
    return out, seen


def _pair(one: Judged) -> str:
    """The dash as read and as the copy has it; "" where it is anything else."""
    pair = differing(one.difference.proof_text, one.difference.copy_text)
    return "".join(pair) if all(part in DASHES for part in pair) and all(pair) else ""
