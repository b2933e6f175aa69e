r"""Align the letters of a printed word with the copy's, as a reader would see the fault.

The proof's text has "\n" where a printed line ends. There a space of the copy needs nothing
more, a hyphen may be a division, and a dash may end a line with no space after it.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from proofcheck.collate.edits import Edit, How, is_dash
from proofcheck.collate.same import is_letter

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["align_letters"]

_ONE = 10
"""Cost of one letter wrong, missing or extra; the others are in proportion."""
_CASE = 5
_OTHER_CLASS = 14
"""A letter for a point: dearer than one letter wrong, so that points are set against points."""
_LEADERS = 25
"""A leader point for anything else: no cheaper than both told apart."""
_SWAP = 10
_SWAP_ACROSS = 12
_NEVER = 10**6


class _Move(NamedTuple):
    """One step of the alignment: letters of copy and of proof used up, and what it costs."""

    dc: int
    dp: int
    cost: int
    how: How | None
    """None where the two sides agree."""


def align_letters(copy: str, proof: str) -> tuple[list[Edit], list[tuple[int, int]]]:
    """Edits from proof to copy, and the (copy, proof) offsets of the letters that agree.

    Takes time in proportion to the product of what is left after the common beginning and end
    are taken off: meant for a word or a few.
    """
    start = _common_start(copy, proof)
    stop = _common_end(copy, proof, start)
    inner_copy, inner_proof = copy[start : len(copy) - stop], proof[start : len(proof) - stop]
    beside = (proof[max(0, start - 1) : start], proof[len(proof) - stop :][:1])
    edits, agreed = _aligned(inner_copy, inner_proof, beside)
    pairs = [(i, i) for i in range(start)]
    pairs += [(c + start, p + start) for c, p in agreed]
    pairs += [(len(copy) - k, len(proof) - k) for k in range(stop, 0, -1)]
    agreeing = set(pairs)
    edits = [_settled(e.moved(start, start), copy, proof, agreeing) for e in edits]
    return _before_leaders(_joined(edits, copy, proof), proof), sorted(agreeing)


def _agree(copy: str, proof: str) -> bool:
    """The same character, or a line end for a space."""
    return copy == proof or (copy == " " and proof == "\n")


def _common_start(copy: str, proof: str) -> int:
    """How many characters agree from the left, up to a hyphen at a line end."""
    count = 0
    for c, p in zip(copy, proof, strict=False):
        if not _agree(c, p) or (p == "-" and proof[count + 1 : count + 2] == "\n"):
            break
        count += 1
    return count


def _common_end(copy: str, proof: str, start: int) -> int:
    """How many agree from the right, from there on."""
    most = min(len(copy), len(proof)) - start
    count = 0
    while count < most and _agree(copy[-1 - count], proof[-1 - count]):
        # A line end after a hyphen belongs to the hyphen.
        if proof[-1 - count] == "\n" and proof[-2 - count : -1 - count] == "-":
            break
        count += 1
    return count


def _aligned(
    copy: str, proof: str, beside: tuple[str, str]
) -> tuple[list[Edit], list[tuple[int, int]]]:
    """The cheapest way through, by dynamic programming.

    Args:
        copy: what the proof should hold.
        proof: what is printed.
        beside: the printed characters before and after it, "" for none.
    """
    wide = len(proof) + 1
    best = [[_NEVER] * wide for _ in range(len(copy) + 1)]
    came: list[list[_Move | None]] = [[None] * wide for _ in range(len(copy) + 1)]
    best[0][0] = 0
    for i in range(len(copy) + 1):
        for j in range(wide):
            here = best[i][j]
            if here >= _NEVER:
                continue
            for move in _moves(copy, proof, (i, j), beside):
                to_i, to_j = i + move.dc, j + move.dp
                if here + move.cost < best[to_i][to_j]:
                    best[to_i][to_j] = here + move.cost
                    came[to_i][to_j] = move
    return _traced(came, len(copy), len(proof))


def _traced(
    came: list[list[_Move | None]], i: int, j: int
) -> tuple[list[Edit], list[tuple[int, int]]]:
    """Edits and agreeing pairs along the way back."""
    edits: list[Edit] = []
    agreed: list[tuple[int, int]] = []
    while move := came[i][j]:
        i, j = i - move.dc, j - move.dp
        if move.how is None:
            if move.dc and move.dp:
                agreed.append((i, j))
        else:
            # A hyphen too many before a line end: the line end itself is the copy's space.
            spare = move.dc == 1 and move.dp == 2 and move.how is How.LETTERS
            c1, p1 = (i, j + 1) if spare else (i + move.dc, j + move.dp)
            edits.append(Edit(i, c1, j, p1, move.how))
    return edits[::-1], agreed[::-1]


def _moves(copy: str, proof: str, at: tuple[int, int], beside: tuple[str, str]) -> Iterator[_Move]:
    """All steps from one copy letter and one proof letter."""
    i, j = at
    c = copy[i : i + 1]
    if j < len(proof):
        p = proof[j]
        if p == "\n":
            before = proof[j - 1] if j else beside[0]
            yield from _line_end_moves(c, before, proof[j + 1 : j + 2] or beside[1])
        else:
            if p == "-" and proof[j + 1 : j + 2] == "\n":
                yield from _hyphen_end_moves(c)
            if c:
                yield from _pair_moves(copy, proof, i, j)
            yield _Move(0, 1, _ONE, How.LETTERS)
    if c:
        yield _Move(1, 0, _ONE, How.LETTERS)


def _hyphen_end_moves(c: str) -> Iterator[_Move]:
    """A hyphen and the line end after it."""
    yield _Move(0, 2, 0, How.DIVISION)
    if c == "-":
        yield _Move(1, 2, 0, None)
    elif c == " ":
        yield _Move(1, 2, _ONE, How.LETTERS)


def _line_end_moves(c: str, before: str, after: str) -> Iterator[_Move]:
    """A line end with no hyphen before it."""
    if c == " ":
        yield _Move(1, 1, 0, None)
    elif c and (c == "-" or is_dash(c)):
        yield _Move(1, 1, _ONE, How.LETTERS)
    if is_dash(before) or is_dash(after):
        yield _Move(0, 1, 0, None)
    else:
        yield _Move(0, 1, _ONE, How.BROKEN)


def _pair_moves(copy: str, proof: str, i: int, j: int) -> Iterator[_Move]:
    """One letter against one, or two against two the wrong way round."""
    c, p = copy[i], proof[j]
    yield _Move(1, 1, _pair_cost(c, p), None if c == p else How.LETTERS)
    if c != p and copy[i + 1 : i + 2] == p and proof[j + 1 : j + 2] == c:
        across = not (is_letter(c) and is_letter(p))
        yield _Move(2, 2, _SWAP_ACROSS if across else _SWAP, How.TRANSPOSED)


@lru_cache(maxsize=4096)
def _pair_cost(c: str, p: str) -> int:
    """Cost of printing p for c."""
    if c == p:
        return 0
    if " " in (c, p):
        return _ONE if "-" in (c, p) else _OTHER_CLASS
    if "…" in (c, p):
        return _LEADERS
    if c.casefold() == p.casefold():
        return _CASE
    return _ONE if is_letter(c) == is_letter(p) else _OTHER_CLASS


def _settled(edit: Edit, copy: str, proof: str, pairs: set[tuple[int, int]]) -> Edit:
    """A missing or extra run as far right as it can stand: the second of two doubled letters."""
    c0, c1, p0, p1, how = edit
    if how is not How.LETTERS or (c0 < c1 and p0 < p1):
        return edit
    text, at, end = (proof, p0, p1) if c0 == c1 else (copy, c0, c1)
    while (c1, p1) in pairs and text[end] == text[at]:
        pairs.remove((c1, p1))
        pairs.add((c0, p0))
        c0, c1, p0, p1 = c0 + 1, c1 + 1, p0 + 1, p1 + 1
        at, end = at + 1, end + 1
    return Edit(c0, c1, p0, p1, how)


def _joined(edits: list[Edit], copy: str, proof: str) -> list[Edit]:
    """Runs of letters missing or extra made one, and "rn" for "m" one fault, not two."""
    joined: list[Edit] = []
    for edit in edits:
        last = joined[-1] if joined else None
        if last and _one_fault(last, edit, copy, proof):
            joined[-1] = Edit(last.c0, edit.c1, last.p0, edit.p1)
        else:
            joined.append(edit)
    return joined


def _before_leaders(edits: list[Edit], proof: str) -> list[Edit]:
    """What is missing where leaders begin set before them and their space, not after."""
    out = list(edits)
    for k in range(len(out) - 1):
        one, two = out[k], out[k + 1]
        if (one.c1, one.p1) != (two.c0, two.p0) or "…" not in proof[one.p0 : two.p1]:
            continue
        if one.c0 == one.c1 and two.p0 == two.p1:
            missing = two._replace(p0=one.p0, p1=one.p0)
        elif two.c0 == two.c1 and proof[one.p0 : one.p1] == " ":
            missing = one._replace(p1=one.p0)
        else:
            continue
        out[k] = missing
        out[k + 1] = Edit(missing.c1, missing.c1, one.p0, two.p1)
    return out


def _one_fault(first: Edit, second: Edit, copy: str, proof: str) -> bool:
    """Whether two edits are one fault: side by side, of one class, not two letters each wrong."""
    if not (first.how is second.how is How.LETTERS):
        return False
    if (first.c1, first.p1) != (second.c0, second.p0):
        return False
    if all(e.c1 - e.c0 == e.p1 - e.p0 for e in (first, second)):
        return False
    if any(copy[e.c0 : e.c1].casefold() == proof[e.p0 : e.p1].casefold() for e in (first, second)):
        return False
    concerned = copy[first.c0 : second.c1] + proof[first.p0 : second.p1]
    if set(concerned.replace(" ", "")) == {"…"}:
        # Leaders and the spaces at their ends.
        return True
    classes = {(is_letter(char), char.isspace()) for char in concerned}
    return len(classes) == 1
