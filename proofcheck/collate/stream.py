"""The printed lines as one text, in the order they are to be compared, and its words."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from proofcheck.collate.edits import is_dash
from proofcheck.collate.same import Compared, is_letter

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


def copy_words(
    text: str, start: int, end: int, breaks: Collection[int] = frozenset()
) -> list[Word]:
    """Words of the copy's compared form between two offsets that lie between words.

    A dash holds what stands on either side of it, and a point what it follows, spaced or not; but
    not over `breaks`, the spaces between paragraphs: a dash may end an entry, for no price.
    """
    words: list[Word] = []
    for found in re.compile(r"[^ ]+").finditer(text, start, end):
        word = Word(found.start(), found.end(), found.group())
        before = words[-1] if words and words[-1].end not in breaks else None
        if before and _are_leaders(word.text):
            words[-1] = before._replace(end=word.end)
        elif before and (_linked(text, before.end, word.text) or _FOLLOWING.fullmatch(word.text)):
            words[-1] = Word(before.start, word.end, before.text + word.text)
        else:
            words.append(word)
    return words


def proof_words(stream: Stream, first: int, last: int, known: Collection[str]) -> list[Word]:
    """Words of the lines first ≤ row < last; one divided at a line end is joined if `known`."""
    start, end = int(stream.line_start[first]), int(stream.line_start[last])
    words: list[Word] = []
    for word in _with_points(_printed_words(stream, start, end), known):
        before = words[-1] if words else None
        now = word
        if before and word.leads:
            whole = _joined(before.text, word.text, known)
            if whole is not None:
                words[-1] = before._replace(end=word.end, text=whole)
                continue
            if _hyphened(before.text):
                words[-1] = before._replace(end=word.start, closes=True)
                now = word._replace(opens=True)
        words.append(now)
    if words and words[-1].end == end - 1 and _hyphened(words[-1].text):
        words[-1] = words[-1]._replace(end=end, closes=True)
    return words


def _printed_words(stream: Stream, start: int, end: int) -> list[Word]:
    """Words as printed, with what a dash links on the same line."""
    words: list[Word] = []
    for found in re.compile(r"[^ \n]+").finditer(stream.text, start, end):
        at = found.start()
        leads = at > start and stream.text[at - 1] == "\n"
        word = Word(at, found.end(), found.group(), leads)
        before = words[-1] if words else None
        if before and not leads and _are_leaders(word.text):
            words[-1] = before._replace(end=word.end)
        elif before and not leads and _linked(stream.text, before.end, word.text):
            words[-1] = before._replace(end=word.end, text=before.text + word.text)
        else:
            words.append(word)
    return words


def _are_leaders(text: str) -> bool:
    """Whether a word is a row of leader points: it goes with the word before it, as nothing."""
    return len(text) > 1 and set(text) == {"…"}


def _linked(text: str, left_end: int, right: str) -> bool:
    """Whether a dash stands by itself between two words, or is the second of them."""
    left = text[max(0, left_end - 2) : left_end]
    alone = is_dash(left[-1]) and (len(left) == 1 or left[0] in " \n")
    return alone or all(map(is_dash, right))


_FOLLOWING = re.compile("[;:!?…]+")
_MOST_PIECES = 5
"""A word in quotes with a point, all spaced out, is so many pieces."""


def _with_points(words: list[Word], known: Collection[str]) -> list[Word]:
    """Points spaced off from a word set against it, where the copy has them so."""
    bare = [not any(map(is_letter, word.text)) for word in words]
    out: list[Word] = []
    k = 0
    while k < len(words):
        size = 1
        if bare[k] or (k + 1 < len(words) and bare[k + 1]):
            size = _pieces(words, bare, k, known)
        last = words[k + size - 1]
        text = "".join(word.text for word in words[k : k + size])
        out.append(words[k]._replace(end=last.end, text=text) if size > 1 else words[k])
        k += size
    return out


def _pieces(words: list[Word], bare: list[bool], k: int, known: Collection[str]) -> int:
    """How many words from the k-th on are one of the copy's, all but one of them points."""
    for size in range(min(_MOST_PIECES, len(words) - k), 1, -1):
        if sum(bare[k : k + size]) < size - 1 or any(w.leads for w in words[k + 1 : k + size]):
            continue
        if "".join(word.text for word in words[k : k + size]) in known:
            return size
    return 1


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
