"""Turn words set against words into edits: letters, whole words, swaps, case."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rapidfuzz.distance import OSA

from proofcheck.collate.edits import Edit, How, is_dash
from proofcheck.collate.letters import align_letters
from proofcheck.collate.region import core_of, swapped, swapped_round
from proofcheck.collate.same import is_letter

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.collate.region import Block
    from proofcheck.collate.stream import Word

__all__ = ["Matched", "block_edits"]

Matched = tuple[int, int, int]
"""Copy offset, proof offset and length of a stretch that agrees letter for letter."""


def block_edits(
    block: Block,
    words: tuple[Sequence[Word], Sequence[Word]],
    texts: tuple[str, str],
    gap: tuple[int, int],
) -> tuple[list[Edit], list[Matched]]:
    """Edits of one block, and what agrees in it.

    Args:
        block: which words answer to which.
        words: the copy's and the proof's words that the block counts in.
        texts: the copy's compared form and the stream of printed lines.
        gap: where, in either, words belong that the other side lacks.
    """
    copy, proof = words[0][block.ci : block.cj], words[1][block.pi : block.pj]
    if not copy:
        end = proof[-1].end - proof[-1].closes
        return [Edit(gap[0], gap[0], proof[0].start, end, How.WORDS)], []
    if not proof:
        return [Edit(copy[0].start, copy[-1].end, gap[1], gap[1], How.WORDS)], []
    c0, c1, p0, p1 = copy[0].start, copy[-1].end, proof[0].start, proof[-1].end
    c_text, p_text = texts[0][c0:c1], texts[1][p0:p1]
    if block.equal and c_text == p_text:
        return [], [(c0, p0, c1 - c0)]
    if _is_swap(copy, proof):
        swap = _swap(c_text, p_text).moved(c0, p0)
        return [swap], _crossed(copy, proof)
    edits, pairs = align_letters(c_text, p_text)
    if proof[-1].closes:
        edits = [_before_hyphen(edit, len(p_text)) for edit in edits]
        edits.sort(key=_place)
    if len(copy) == len(proof) == 1 and not _is_half(copy[0], proof[0]):
        edits, pairs = _told_as_word(c_text, p_text, edits, pairs)
    edits = _with_case(c_text, p_text, edits, pairs)
    matched = [(c + c0, p + p0, 1) for c, p in pairs]
    matched += [(e.c0 + c0, e.p0 + p0, e.c1 - e.c0) for e in edits if e.how is How.CASE]
    return [e.moved(c0, p0) for e in edits], matched


def _before_hyphen(edit: Edit, size: int) -> Edit:
    """What is missing after the hyphen that ends the text, set before it."""
    if edit.p0 == edit.p1 == size:
        return edit._replace(p0=size - 2, p1=size - 2)
    return edit


def _is_swap(copy: Sequence[Word], proof: Sequence[Word]) -> bool:
    """Whether the words are the same but for two that have changed places."""
    if len(copy) == len(proof) == 2:
        return swapped(copy[0].text, copy[1].text, proof[0].text, proof[1].text)
    return swapped_round(copy, proof)


def _crossed(copy: Sequence[Word], proof: Sequence[Word]) -> list[Matched]:
    """What agrees in two words the wrong way round: each with the other."""
    out = []
    for ours, theirs in ((copy[0], proof[-1]), (copy[-1], proof[0])):
        (c0, c1), (p0, _) = core_of(ours.text), core_of(theirs.text)
        out.append((ours.start + c0, theirs.start + p0, c1 - c0))
    return out


def _is_half(copy: Word, proof: Word) -> bool:
    """Whether the printed word is one half of the copy's, divided at a line end."""
    if proof.closes:
        return copy.text.startswith(proof.text[:-1])
    # The other half may stand on a line that is missing.
    return proof.leads and copy.text.endswith(proof.text)


def _swap(copy: str, proof: str) -> Edit:
    """Two words the wrong way round, less the points that stand where they should."""
    start, c_end = core_of(copy)
    p_start, p_end = core_of(proof)
    if copy[:start] != proof[:p_start] or copy[c_end:] != proof[p_end:]:
        return Edit(0, len(copy), 0, len(proof), How.SWAPPED)
    return Edit(start, c_end, p_start, p_end, How.SWAPPED)


def _told_as_word(
    copy: str, proof: str, edits: list[Edit], pairs: list[tuple[int, int]]
) -> tuple[list[Edit], list[tuple[int, int]]]:
    """The edits as they are, or the word struck out and written again if too many are wrong."""
    (c0, c1), (p0, p1) = core_of(copy), core_of(proof)
    if c0 == c1 or p0 == p1:
        return edits, pairs
    inside = [
        e
        for e in edits
        if e.how is not How.DIVISION and c0 <= e.c0 and e.c1 <= c1 and _on_letters(e, copy, proof)
    ]
    size = max(c1 - c0, p1 - p0)
    wrong = sum(max(e.c1 - e.c0, e.p1 - e.p0) for e in inside if e.how is not How.TRANSPOSED)
    if 2 * wrong <= size and len(inside) <= (2 if size <= 6 else 3):
        return edits, pairs
    if size == 1 or not inside:
        return edits, pairs
    before, agreed = align_letters(copy[:c0], proof[:p0])
    after, later = align_letters(copy[c1:], proof[p1:])
    whole = before + _rewritten(copy[c0:c1], proof[p0:p1], c0, p0)
    whole += [e.moved(c1, p1) for e in after]
    return whole, agreed + [(c + c1, p + p1) for c, p in later]


def _on_letters(edit: Edit, copy: str, proof: str) -> bool:
    """Whether an edit is about letters wrong in themselves, not case or points."""
    c, p = copy[edit.c0 : edit.c1], proof[edit.p0 : edit.p1]
    return any(map(is_letter, c + p)) and c.casefold() != p.casefold()


def _rewritten(copy: str, proof: str, c0: int, p0: int) -> list[Edit]:
    """A word to write again; over a line end, each line's part by itself."""
    at = proof.find("\n")
    if at < 0:
        return [Edit(c0, c0 + len(copy), p0, p0 + len(proof), How.WORD)]
    left = proof[:at].removesuffix("-")
    right = proof[at + 1 :]
    cut = min(
        range(len(copy) + 1),
        key=lambda k: OSA.distance(copy[:k], left) + OSA.distance(copy[k:], right),
    )
    hyphen = p0 + len(left)
    edits = []
    if copy[:cut] != left:
        edits.append(Edit(c0, c0 + cut, p0, hyphen, How.WORD))
    how = How.DIVISION if proof[at - 1 : at] == "-" else How.BROKEN
    if not any(map(is_dash, proof[at - 1 : at] + right[:1])):
        edits.append(Edit(c0 + cut, c0 + cut, hyphen, p0 + at + 1, how))
    if copy[cut:] != right:
        edits.append(Edit(c0 + cut, c0 + len(copy), p0 + at + 1, p0 + len(proof), How.WORD))
    return edits


def _with_case(
    copy: str, proof: str, edits: list[Edit], pairs: list[tuple[int, int]]
) -> list[Edit]:
    """Letters wrong in case only, told as such; those of a word set in capitals in one stretch."""
    is_case = [
        e.how is How.LETTERS
        and e.c1 - e.c0 == e.p1 - e.p0 == 1
        and copy[e.c0].casefold() == proof[e.p0].casefold()
        for e in edits
    ]
    if not any(is_case):
        return edits
    cased = [(e.c0, e.p0) for e, case in zip(edits, is_case, strict=True) if case]
    others = [e for e, case in zip(edits, is_case, strict=True) if not case]
    if not _is_style(proof, cased):
        return sorted(others + [Edit(c, c + 1, p, p + 1, How.CASE) for c, p in cased], key=_place)
    stretches = _stretches(sorted(cased + pairs), set(cased), proof)
    return sorted(others + stretches, key=_place)


def _is_style(proof: str, cased: list[tuple[int, int]]) -> bool:
    """Whether letters wrong in case look meant: several capitals, or all of a word's."""
    if not all(proof[p].isupper() for _, p in cased):
        return False
    letters = [char for char in proof if char.isalpha()]
    in_capitals = len(letters) > 1 and all(char.isupper() for char in letters)
    return len(cased) > 1 or (in_capitals and 2 * len(cased) >= len(letters))


def _place(edit: Edit) -> tuple[int, int, int, int]:
    """Order along the proof."""
    return edit.p0, edit.c0, edit.p1, edit.c1


def _stretches(steps: list[tuple[int, int]], cased: set[tuple[int, int]], proof: str) -> list[Edit]:
    """Runs of letters that differ in case or not at all, one edit a run that has any case in it."""
    runs: list[list[tuple[int, int]]] = []
    for c, p in steps:
        if not proof[p].isalpha() and (c, p) not in cased:
            continue
        if runs and runs[-1][-1] == (c - 1, p - 1):
            runs[-1].append((c, p))
        else:
            runs.append([(c, p)])
    return [
        Edit(run[0][0], run[-1][0] + 1, run[0][1], run[-1][1] + 1, How.CASE)
        for run in runs
        if any(step in cased for step in run)
    ]
