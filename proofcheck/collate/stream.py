"""The printed lines as one text, in the order they are to be compared, and its words."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from proofcheck.collate.edits import is_dash
from proofcheck.same import Compared, is_letter

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from numpy.typing import NDArray

__all__ = ["Stream", "Word", "copy_words", "proof_words", "stream_of"]


@dataclass(frozen=True, slots=True, eq=False)
class Stream:
    r"""Printed lines set one after another, a "\n" after each."""

    text: str
    order: tuple[int, ...]
    """Places in the proof (from 0) of the lines, in the order they are laid in."""
    line_start: NDArray[np.int64]
    """Where each line begins in `text`; one more at the end, its length."""
    parts: tuple[Compared, ...]
    """The lines themselves, in the same order."""

    def row(self, at: int) -> int:
        """Which line (place in `order`) holds offset `at`; its line end is its own."""
        row = int(np.searchsorted(self.line_start, at, side="right")) - 1
        return min(max(row, 0), max(0, len(self.order) - 1))


def stream_of(lines: Sequence[Compared], order: Sequence[int]) -> Stream:
    """The lines named by `order`, one after another."""
    parts = tuple(lines[k] for k in order)
    sizes = [len(part.text) + 1 for part in parts]
    starts = np.concatenate([[0], np.cumsum(sizes)]).astype(np.int64)
    return Stream("".join(part.text + "\n" for part in parts), tuple(order), starts, parts)


class Word(NamedTuple):
    """A word with its points, between white space."""

    start: int
    end: int
    text: str
    """As looked for in the copy: of a word divided at a line end, the whole."""
    leads: bool = False
    """First of its line."""
    opens: bool = False
    """First of its line, after a line that ends in a hyphen, and not joined to what is there."""
    closes: bool = False
    """Last of its line, with a hyphen, not joined to what follows; `end` is past the line end."""


def copy_words(text: str, start: int, end: int) -> list[Word]:
    """Words of the copy's compared form between two offsets that lie between words."""
    found = re.compile(r"[^ ]+").finditer(text, start, end)
    return [Word(m.start(), m.end(), m.group()) for m in found]


def proof_words(stream: Stream, first: int, last: int, known: Collection[str]) -> list[Word]:
    """Words of the lines first ≤ row < last; one divided at a line end is joined if `known`."""
    start, end = int(stream.line_start[first]), int(stream.line_start[last])
    words: list[Word] = []
    for found in re.compile(r"[^ \n]+").finditer(stream.text, start, end):
        word = Word(found.start(), found.end(), found.group())
        before = words[-1] if words else None
        if before and stream.text[word.start - 1] == "\n":
            word = word._replace(leads=True)
            whole = _joined(before.text, word.text, known)
            if whole is not None:
                words[-1] = before._replace(end=word.end, text=whole)
                continue
            if _hyphened(before.text):
                words[-1] = before._replace(end=word.start, closes=True)
                word = word._replace(opens=True)
        words.append(word)
    if words and words[-1].end == end - 1 and _hyphened(words[-1].text):
        words[-1] = words[-1]._replace(end=end, closes=True)
    return words


def _hyphened(text: str) -> bool:
    """Whether a word at a line end may be divided there."""
    return len(text) > 1 and text[-1] == "-" and is_letter(text[-2])


def _joined(left: str, right: str, known: Collection[str]) -> str | None:
    """Two parts over a line end as the one word of the copy they make; None if they make none."""
    if _hyphened(left):
        for whole in (left[:-1] + right, left + right):
            if whole in known:
                return whole
    if is_dash(left[-1]) or is_dash(right[0]):
        whole = left + right
        return whole if whole in known else None
    return None
