"""Set the words of one disputed stretch against each other.

An alignment with affine gaps: words missing or extra in a run cost less than scattered ones. A
step may take two words on either side (swapped), three where two words round a third have changed
places, and more where they are run together or broken apart.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from rapidfuzz import process
from rapidfuzz.distance import OSA

from proofcheck.collate.edits import is_dash
from proofcheck.collate.same import is_letter

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from proofcheck.collate.stream import Word

__all__ = ["Block", "align_region", "core_of", "swapped", "swapped_round"]

_OPEN = 0.6
"""Cost of beginning a run of words missing or extra, beside the letters in it."""
_LETTER_OUT = 0.8
"""Cost of each of those letters; a letter wrong costs 1."""
_NEAR, _OF_LONG = 2, 5
"""Letters that may differ where words are run together or broken apart, or one in so many of long
ones."""
_MOST_JOINED = 5
"""Words at most that are looked for run together in one, or one broken apart into."""
_SWAPPED = 1.5
_REWRITTEN = 1.0
"""Added where less than half of a word's letters agree."""
_CASE = 0.3
_TWO_FOR_TWO = 0.2
"""Added where two words are set against two, so that one against one is tried first."""
_FAR = 1e9


class Block(NamedTuple):
    """Copy words ci:cj answer to proof words pi:pj."""

    ci: int
    cj: int
    pi: int
    pj: int
    equal: bool = False


def align_region(copy: Sequence[Word], proof: Sequence[Word]) -> list[Block]:
    """Blocks of one stretch, in order; takes time in proportion to the product of its words."""
    return _Region(copy, proof).blocks()


def core_of(text: str) -> tuple[int, int]:
    """Where a word begins and ends without the points before and after it; (0, 0) if all points."""
    start, end = 0, len(text)
    while start < end and not is_letter(text[start]):
        start += 1
    while end > start and not is_letter(text[end - 1]):
        end -= 1
    return (start, end) if start < end else (0, 0)


class _Region:
    """Affine-gap alignment of one stretch, with moves over one to two words on either side."""

    def __init__(self, copy: Sequence[Word], proof: Sequence[Word]) -> None:
        self.copy, self.proof = copy, proof
        self.pair = _pair_costs(copy, proof)

    def blocks(self) -> list[Block]:
        """The cheapest way through."""
        rows, cols = len(self.copy) + 1, len(self.proof) + 1
        # Three layers: 0 after words set against words, 1 after copy left out, 2 after extra.
        best = np.full((3, rows, cols), _FAR).tolist()
        came: list[list[list[tuple[int, int, int] | None]]] = [
            [[None] * cols for _ in range(rows)] for _ in range(3)
        ]
        best[0][0][0] = 0.0
        for i in range(rows):
            for j in range(cols):
                self._relax(best, came, i, j)
        return self._traced(best, came)

    def _relax(
        self,
        best: list[list[list[float]]],
        came: list[list[list[tuple[int, int, int] | None]]],
        i: int,
        j: int,
    ) -> None:
        """Try every step from one cell."""
        here = [best[layer][i][j] for layer in range(3)]
        least = min(here)
        if least >= _FAR:
            return
        # Of equals, words set against words come first.
        nearest = here.index(least)
        steps = [(nearest, 0, di, dj, cost) for di, dj, cost in self._set_against(i, j)]
        for layer in range(3):
            if i < len(self.copy):
                out = _out(self.copy[i].text, begun=layer == 1)
                steps.append((layer, 1, 1, 0, out))
            if j < len(self.proof):
                out = _out(self.proof[j].text, begun=layer == 2)
                steps.append((layer, 2, 0, 1, out))
        for layer, to, di, dj, cost in steps:
            new = here[layer] + cost
            if new < best[to][i + di][j + dj] - 1e-9:
                best[to][i + di][j + dj] = new
                came[to][i + di][j + dj] = (layer, di, dj)

    def _set_against(self, i: int, j: int) -> Iterator[tuple[int, int, float]]:
        """(copy words, proof words, cost) of the steps that set words against words."""
        if i < len(self.copy) and j < len(self.proof):
            cost = self.pair[i][j]
            yield 1, 1, cost
            if cost:
                yield from self._many(i, j)

    def _many(self, i: int, j: int) -> Iterator[tuple[int, int, float]]:
        """Steps over two words of either side or both."""
        c, p = self.copy[i : i + 2], self.proof[j : j + 2]
        one, other = c[0].text, p[0].text
        if len(p) == 2 and abs(len(other) + len(p[1].text) - len(one)) <= _NEAR + 1:
            yield 1, 2, _broken_cost(one, p[0], p[1])
        for many in range(2, min(_MOST_JOINED, len(self.copy) - i) + 1):
            yield many, 1, _joined_cost(self.copy[i : i + many], other)
        # Two printed words may be one divided at a line end (above).
        for many in range(3, min(_MOST_JOINED, len(self.proof) - j) + 1):
            yield 1, many, _joined_cost(self.proof[j : j + many], one)
        if swapped_round(self.copy[i : i + 3], self.proof[j : j + 3]):
            yield 3, 3, _SWAPPED + 1
        if len(c) == 2 and len(p) == 2:
            if swapped(one, c[1].text, other, p[1].text):
                yield 2, 2, _SWAPPED
            else:
                apart = min(_near(f"{one} {c[1].text}", both) for both in _together(*p))
                yield 2, 2, apart + _TWO_FOR_TWO

    def _traced(
        self,
        best: list[list[list[float]]],
        came: list[list[list[tuple[int, int, int] | None]]],
    ) -> list[Block]:
        """Blocks along the cheapest way, runs left out or put in made one block each."""
        i, j = len(self.copy), len(self.proof)
        layer = min(range(3), key=lambda k: best[k][i][j])
        blocks: list[Block] = []
        while step := came[layer][i][j]:
            before, di, dj = step
            equal = di == dj == 1 and self.pair[i - 1][j - 1] == 0
            block = Block(i - di, i, j - dj, j, equal)
            after = blocks[-1] if blocks else None
            if after and layer and _same_run(block, after):
                blocks[-1] = Block(block.ci, after.cj, block.pi, after.pj)
            else:
                blocks.append(block)
            layer, i, j = before, i - di, j - dj
        return blocks[::-1]


def _same_run(block: Block, after: Block) -> bool:
    """Whether both are words left out, or both words put in."""
    left_out = block.pi == block.pj and after.pi == after.pj
    put_in = block.ci == block.cj and after.ci == after.cj
    return left_out or put_in


def _pair_costs(copy: Sequence[Word], proof: Sequence[Word]) -> list[list[float]]:
    """Cost of each printed word for each word of the copy, shape (copy, proof)."""
    ours, theirs = [w.text for w in copy], [w.text for w in proof]
    exact = process.cdist(ours, theirs, scorer=OSA.distance, dtype=np.int32)
    folded = process.cdist(
        [t.casefold() for t in ours],
        [t.casefold() for t in theirs],
        scorer=OSA.distance,
        dtype=np.int32,
    )
    size_c = np.array([len(t) for t in ours])[:, None]
    size_p = np.array([len(t) for t in theirs])[None, :]
    longest = np.maximum(size_c, size_p)
    cost: NDArray[np.float64] = folded + _CASE * (exact > folded)
    cost += _REWRITTEN * (2 * folded > longest)
    _divided(cost, copy, proof)
    rows: list[list[float]] = cost.tolist()
    return rows


def _divided(cost: NDArray[np.float64], copy: Sequence[Word], proof: Sequence[Word]) -> None:
    """Half of a word at a line end whose other half isn't there costs little against the whole."""
    for j, printed in enumerate(proof):
        if not (printed.closes or printed.opens):
            continue
        half = printed.text[:-1] if printed.closes else printed.text
        for i, word in enumerate(copy):
            whole = word.text
            is_half = whole.startswith(half) if printed.closes else whole.endswith(half)
            if is_half and len(whole) > len(half):
                cost[i, j] = min(cost[i, j], 1.0)


def _out(word: str, *, begun: bool) -> float:
    """Cost of a word missing or extra; less where the word before it is too."""
    return _LETTER_OUT * len(word) + (0.0 if begun else _OPEN)


def _near(copy: str, proof: str) -> float:
    """Letters that differ; too many to count where past what may."""
    most = _most_apart(copy)
    apart = OSA.distance(copy.casefold(), proof.casefold(), score_cutoff=most)
    return apart + _CASE * (copy != proof) if apart <= most else _FAR


def _most_apart(words: str) -> int:
    return max(_NEAR, len(words) // _OF_LONG)


def _together(left: Word, right: Word) -> tuple[str, ...]:
    """Two printed words as one stretch, in the ways it may be meant."""
    if left.closes:
        return left.text[:-1] + right.text, left.text + right.text
    if right.leads and (is_dash(left.text[-1]) or is_dash(right.text[0])):
        return (left.text + right.text,)
    return (f"{left.text} {right.text}",)


def _joined_cost(words: Sequence[Word], whole: str) -> float:
    """Cost of several words on one side for one on the other; none may be divided at a line end."""
    size = sum(len(word.text) for word in words)
    if abs(size - len(whole)) > _most_apart(whole) or any(word.closes for word in words):
        return _FAR
    return _near("".join(word.text for word in words), whole) + len(words) - 1


def _broken_cost(copy: str, left: Word, right: Word) -> float:
    """Cost of two printed words for one of the copy."""
    meant = _together(left, right)
    if " " in meant[0]:
        return _near(copy, left.text + right.text) + 1
    return min(_near(copy, whole) for whole in meant)


def swapped(c1: str, c2: str, p1: str, p2: str) -> bool:
    """Whether two words stand the wrong way round, their points left where they belong."""
    if c1 == c2 or len(c1) + len(c2) != len(p1) + len(p2) or abs(len(c1) - len(p2)) > 4:
        return False
    parts = [(t, *core_of(t)) for t in (c1, c2, p1, p2)]
    cores = [t[a:b] for t, a, b in parts]
    if not all(cores) or cores[0] == cores[1]:
        return False
    crossed = cores[0] == cores[3] and cores[1] == cores[2]
    points = [(t[:a], t[b:]) for t, a, b in parts]
    kept = points[0] == points[2] and points[1] == points[3]
    return crossed and (kept or (c1 == p2 and c2 == p1))


def swapped_round(copy: Sequence[Word], proof: Sequence[Word]) -> bool:
    """Whether three words stand so that the outer two have changed places."""
    if len(copy) != 3 or len(proof) != 3 or copy[1].text != proof[1].text:
        return False
    return swapped(copy[0].text, copy[2].text, proof[0].text, proof[2].text)
