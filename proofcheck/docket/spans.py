"""Stretches of copy: (first character, one past the last), reckoned with."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

__all__ = ["matter", "merged", "without"]


def merged(spans: Iterable[tuple[int, int]]) -> list[tuple[int, int]]:
    """Stretches in order, those that touch made one."""
    out: list[tuple[int, int]] = []
    for start, end in sorted(spans):
        if out and start <= out[-1][1]:
            out[-1] = out[-1][0], max(end, out[-1][1])
        else:
            out.append((start, end))
    return out


def without(
    spans: Sequence[tuple[int, int]], taken: Sequence[tuple[int, int]]
) -> list[tuple[int, int]]:
    """What is left of spans (in order, apart) without others (likewise)."""
    out = []
    for start, end in spans:
        at = start
        for a, b in taken:
            if b <= at or a >= end:
                continue
            if a > at:
                out.append((at, a))
            at = max(at, b)
        if at < end:
            out.append((at, end))
    return out


def matter(spans: Iterable[tuple[int, int]], text: str) -> list[tuple[int, int]]:
    """Only such as have a letter or figure in them, less the white space at their ends."""
    out = []
    for start, end in spans:
        piece = text[start:end]
        if any(char.isalnum() for char in piece):
            first = start + len(piece) - len(piece.lstrip())
            out.append((first, first + len(piece.strip())))
    return out
