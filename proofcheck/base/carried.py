"""A place in one text as a place in another: the old copy's in the new, a line's in its copy.

Laid on one another are words, so that white space written otherwise moves nothing.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from rapidfuzz.distance import Levenshtein

__all__ = ["carried_span", "kept_span", "letters_span"]

_WORD = re.compile(r"\S+")


def carried_span(span: tuple[int, int], old: str, new: str) -> tuple[int, int]:
    """A place in the old text as a place in the new; one inside a change takes in all of it.

    Args:
        span: code points of the old text, end exclusive; empty for a gap.
        old: the text it is of.
        new: the text it is carried over to.
    """
    start, end = span
    if old == new:
        return start, end
    laid = _laid(old, new)
    return _ordered(laid.start(start), laid.end(end) if end > start else laid.start(end))


def kept_span(span: tuple[int, int], old: str, new: str) -> tuple[int, int] | None:
    """The same place in the new text where the words at its ends still stand; else None."""
    if old == new:
        return span
    laid = _laid(old, new)
    start, end = laid.kept(span[0]), laid.kept(span[1])
    return None if start is None or end is None else (start, end)


def letters_span(span: tuple[int, int], read: str, wanted: str) -> tuple[int, int]:
    """Letters of a line as read as those of its copy; a gap takes in what was put in there."""
    starts, ends = [], []
    for step in Levenshtein.opcodes(read, wanted):
        if step.src_start <= span[0] <= step.src_end:
            starts.append(_across(step, span[0]))
        if step.src_start <= span[1] <= step.src_end:
            put_in = step.src_start == step.src_end
            ends.append(int(step.dest_end) if put_in else _across(step, span[1]))
    if span[0] == span[1]:
        return _ordered(min(starts, default=0), max(ends, default=0))
    return _ordered(max(starts, default=0), min(ends, default=len(wanted)))


def _ordered(a: int, b: int) -> tuple[int, int]:
    return min(a, b), max(a, b)


def _across(step: Any, at: int) -> int:  # noqa: ANN401 - a step of the alignment
    """An offset of the line as an offset of the copy, within one step between the two."""
    last = at == step.src_end and step.src_end > step.src_start
    return int(step.dest_end if last else min(step.dest_start + at - step.src_start, step.dest_end))


@dataclass(frozen=True, slots=True)
class _Laid:
    """The words of the old text in order: where each begins and ends, and what became of it."""

    starts: tuple[int, ...]
    ends: tuple[int, ...]
    now: tuple[tuple[int, int], ...]
    """In the new text: the word itself, or all of the change that it went into."""
    same: tuple[bool, ...]
    longest: int
    """Characters of the new text."""

    def start(self, at: int) -> int:
        """The place where something begins, or a gap, in the new text."""
        k = bisect_right(self.starts, at) - 1
        if k < 0:
            return self._before_all(at)
        if at < self.ends[k] or (at == self.ends[k] and self.same[k]):
            return self.now[k][0] + (at - self.starts[k] if self.same[k] else 0)
        return self._in_gap(k, at)

    def end(self, at: int) -> int:
        """The place where something ends."""
        k = bisect_right(self.starts, at - 1) - 1
        if k < 0:
            return self._before_all(at)
        if at <= self.ends[k]:
            return self.now[k][0] + at - self.starts[k] if self.same[k] else self.now[k][1]
        return self._in_gap(k, at)

    def kept(self, at: int) -> int | None:
        """A place in or at the edge of a word of both texts."""
        k = bisect_right(self.starts, at) - 1
        if k < 0 or at > self.ends[k] or not self.same[k]:
            return None
        return self.now[k][0] + at - self.starts[k]

    def _before_all(self, at: int) -> int:
        """White space before the first word stays as far before it."""
        if not self.starts:
            return min(at, self.longest)
        return max(0, self.now[0][0] - (self.starts[0] - at))

    def _in_gap(self, k: int, at: int) -> int:
        """White space after a word: as far after it, and no farther than the next word."""
        after = self.now[k][1] + at - self.ends[k]
        last = k + 1 == len(self.starts)
        if not last and at == self.starts[k + 1]:
            return self.now[k + 1][0]
        return min(after, self.longest if last else max(self.now[k][1], self.now[k + 1][0]))


@lru_cache(maxsize=8)
def _laid(old: str, new: str) -> _Laid:
    ours, theirs = ([m.span() for m in _WORD.finditer(text)] for text in (old, new))
    steps = Levenshtein.opcodes([old[a:b] for a, b in ours], [new[a:b] for a, b in theirs])
    now: list[tuple[int, int]] = []
    same: list[bool] = []
    for src, dest, equal in _blocks(steps):
        if equal:
            now += theirs[dest[0] : dest[1]]
        else:
            now += [_stretch(theirs, *dest)] * (src[1] - src[0])
        same += [equal] * (src[1] - src[0])
    starts, ends = (tuple(word[k] for word in ours) for k in (0, 1))
    return _Laid(starts, ends, tuple(now), tuple(same), len(new))


def _blocks(steps: Any) -> list[tuple[tuple[int, int], tuple[int, int], bool]]:  # noqa: ANN401
    """Words of both that are the same, and between them what was changed, all in one."""
    out: list[tuple[tuple[int, int], tuple[int, int], bool]] = []
    for step in steps:
        equal = step.tag == "equal"
        src, dest = (step.src_start, step.src_end), (step.dest_start, step.dest_end)
        if out and not equal and not out[-1][2]:
            (a, _), (c, _), _ = out.pop()
            src, dest = (a, src[1]), (c, dest[1])
        out.append((src, dest, equal))
    return out


def _stretch(words: list[tuple[int, int]], start: int, end: int) -> tuple[int, int]:
    if start < end:
        return words[start][0], words[end - 1][1]
    at = words[start - 1][1] if start else 0
    return at, at
