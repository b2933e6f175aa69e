"""Align the words of a stretch of proof with the copy's.

Words that are alike hold the stretch together; between them, words are set against words by how
many letters they share, with the moves a reader thinks in: left out, put in, swapped, run
together, broken apart.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from rapidfuzz.distance import Levenshtein

from proofcheck.collate.region import Block, align_region

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.collate.stream import Word

__all__ = ["align_words"]

_MOST_CELLS = 60_000
"""Past this only words that are the same are matched: it is hardly the same matter."""


def align_words(copy: Sequence[Word], proof: Sequence[Word]) -> list[Block]:
    """Blocks in order, covering both sides. Words missing or extra have one side empty."""
    blocks: list[Block] = []
    at_c = at_p = 0
    for c0, c1, p0, p1 in _disputed(copy, proof):
        blocks += _equal_blocks(at_c, at_p, c0 - at_c)
        blocks += [
            Block(b.ci + c0, b.cj + c0, b.pi + p0, b.pj + p0, b.equal)
            for b in _align_region(copy[c0:c1], proof[p0:p1])
        ]
        at_c, at_p = c1, p1
    blocks += _equal_blocks(at_c, at_p, len(copy) - at_c)
    return _at_line_ends(_settled(blocks, proof, copy), proof, copy)


def _equal_blocks(c: int, p: int, count: int) -> list[Block]:
    """One block a word for `count` equal words."""
    return [Block(c + k, c + k + 1, p + k, p + k + 1, equal=True) for k in range(count)]


def _disputed(copy: Sequence[Word], proof: Sequence[Word]) -> list[tuple[int, int, int, int]]:
    """Stretches (copy from, to, proof from, to) that don't agree word for word, a word to spare."""
    numbers = {word.text: k for k, word in enumerate(copy)}
    mine = [numbers[word.text] for word in copy]
    theirs = [numbers.get(word.text, -1 - k) for k, word in enumerate(proof)]
    regions: list[list[int]] = []
    for op in Levenshtein.opcodes(mine, theirs):
        if op.tag == "equal":
            continue
        found = [op.src_start, op.src_end, op.dest_start, op.dest_end]
        if regions and _one_region(regions[-1], found):
            regions[-1] = [regions[-1][0], found[1], regions[-1][2], found[3]]
        else:
            regions.append(found)
    return [(c0, c1, p0, p1) for c0, c1, p0, p1 in _widened(regions, len(copy), len(proof))]


def _one_region(first: list[int], second: list[int]) -> bool:
    """Whether the equal words between two disputed stretches may be chance."""
    between = second[0] - first[1]
    lopsided = max(abs((r[1] - r[0]) - (r[3] - r[2])) for r in (first, second))
    return between <= 2 or (between <= 6 and lopsided >= 3 * between)


def _widened(regions: list[list[int]], copy: int, proof: int) -> list[list[int]]:
    """Each stretch with the equal word before and after it (at least two lie between any two)."""
    return [
        [c0 - 1, c1, p0 - 1, p1] if c0 and p0 else [c0, c1, p0, p1]
        for c0, c1, p0, p1 in (
            [c0, c1 + 1, p0, p1 + 1] if c1 < copy and p1 < proof else [c0, c1, p0, p1]
            for c0, c1, p0, p1 in regions
        )
    ]


def _align_region(copy: Sequence[Word], proof: Sequence[Word]) -> list[Block]:
    """Blocks of one disputed stretch."""
    if not copy or not proof or len(copy) * len(proof) > _MOST_CELLS:
        return _coarse(copy, proof)
    return align_region(copy, proof)


def _coarse(copy: Sequence[Word], proof: Sequence[Word]) -> list[Block]:
    """Blocks of words that are the same, and of words missing or extra."""
    blocks: list[Block] = []
    for op in Levenshtein.opcodes([w.text for w in copy], [w.text for w in proof]):
        if op.tag == "equal":
            blocks += _equal_blocks(op.src_start, op.dest_start, op.src_end - op.src_start)
            continue
        if op.src_end > op.src_start:
            blocks.append(Block(op.src_start, op.src_end, op.dest_start, op.dest_start))
        if op.dest_end > op.dest_start:
            blocks.append(Block(op.src_end, op.src_end, op.dest_start, op.dest_end))
    return blocks


def _settled(blocks: list[Block], proof: Sequence[Word], copy: Sequence[Word]) -> list[Block]:
    """Runs left out or put in as late as they can stand: the second of two doubled words."""
    out = list(blocks)
    k = 0
    while k + 1 < len(out):
        block, after = out[k], out[k + 1]
        put_in = block.ci == block.cj and after.equal
        left_out = block.pi == block.pj and after.equal
        if put_in and proof[block.pi].text == proof[after.pi].text:
            first = Block(after.ci, after.cj, block.pi, block.pi + 1, equal=True)
            out[k : k + 2] = [first, Block(after.cj, after.cj, block.pi + 1, block.pj + 1)]
        elif left_out and copy[block.ci].text == copy[after.ci].text:
            first = Block(block.ci, block.ci + 1, after.pi, after.pj, equal=True)
            out[k : k + 2] = [first, Block(block.ci + 1, block.cj + 1, after.pj, after.pj)]
        k += 1
    return out


def _at_line_ends(blocks: list[Block], proof: Sequence[Word], copy: Sequence[Word]) -> list[Block]:
    """Runs left out that may as well begin where a printed line does set there: a slug is out."""
    out = list(blocks)
    for k, block in enumerate(blocks):
        size = block.cj - block.ci
        if block.pi != block.pj or size < 2 or _leads(block, proof):
            continue
        for back in range(1, min(size, k + 1)):
            before = out[k - back]
            if not before.equal or copy[before.ci].text != copy[block.cj - back].text:
                break
            if proof[before.pi].leads:
                _rotate(out, k, back)
                break
    return out


def _leads(block: Block, proof: Sequence[Word]) -> bool:
    """Whether the word after a gap is the first of its line."""
    return block.pi >= len(proof) or proof[block.pi].leads


def _rotate(blocks: list[Block], k: int, back: int) -> None:
    """Move a run left out so many words towards the beginning."""
    gap, moved = blocks[k], blocks[k - back : k]
    size = gap.cj - gap.ci
    at = moved[0].pi
    blocks[k - back] = Block(gap.ci - back, gap.cj - back, at, at)
    for step, block in enumerate(moved):
        blocks[k - back + 1 + step] = block._replace(ci=block.ci + size, cj=block.cj + size)
