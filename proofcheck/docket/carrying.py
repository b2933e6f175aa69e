"""Decisions carried on to later proofs: what was let stand is not asked again."""

from __future__ import annotations

import re
from bisect import bisect_right
from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING

from rapidfuzz.distance import Levenshtein

if TYPE_CHECKING:
    from collections.abc import Iterable

    from proofcheck.docket.facts import Found
    from proofcheck.docket.job import Job

__all__ = ["with_standing"]

_WORD = re.compile(r"\S+")


def with_standing(job: Job, found: Iterable[Found], copy: int) -> tuple[Found, ...]:
    """Carry a decision to the same fault on a later proof, also where the copy was changed since.

    What was let stand or queried stays so; a correction missed is still to be made.

    Args:
        job: as it stood.
        found: on the proof just pulled.
        copy: version of the copy it was read against.
    """
    earlier = {
        _sameness(old, _span_now(job, old, copy)): old
        for old in job.found
        if old.decision is not None and job.made.get(old.carried_from or old.ref) != "made"
    }
    out = []
    for new in found:
        old = earlier.get(_sameness(new, new.copy))
        if old is None or new.status == "revise":
            out.append(new)
        else:
            first = old.carried_from or old.ref
            out.append(replace(new, decision=old.decision, carried_from=first))
    return tuple(out)


def _sameness(found: Found, span: tuple[int, int] | None) -> tuple[object, ...]:
    return (found.kind, span, found.printed, found.wanted)


def _span_now(job: Job, old: Found, copy: int) -> tuple[int, int] | None:
    """Where a fault of an earlier proof stands in the copy of that version; None if it is gone."""
    before = job.proofs[old.proof - 1].copy
    if before == copy:
        return old.copy
    texts = [str(job.copies[number - 1].entry.data["text"]) for number in (before, copy)]
    words = _same_words(*texts)
    start, end = (_across(words, at) for at in old.copy)
    return None if start is None or end is None else (start, end)


@lru_cache(maxsize=8)
def _same_words(old: str, new: str) -> list[tuple[int, int, int]]:
    """Words that both copies have: where each begins and ends in the old, and begins in the new."""
    ours, theirs = (
        [(m.group(), m.start(), m.end()) for m in _WORD.finditer(t)] for t in (old, new)
    )
    steps = Levenshtein.opcodes([word for word, *_ in ours], [word for word, *_ in theirs])
    return [
        (ours[i][1], ours[i][2], theirs[i - step.src_start + step.dest_start][1])
        for step in steps
        if step.tag == "equal"
        for i in range(step.src_start, step.src_end)
    ]


def _across(words: list[tuple[int, int, int]], at: int) -> int | None:
    """A place in or at the edge of a word of both copies, in the new one."""
    k = bisect_right(words, (at, 1 << 62, 0)) - 1
    if k < 0 or at > words[k][1]:
        return None
    start, _, now = words[k]
    return at - start + now
