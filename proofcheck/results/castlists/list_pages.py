"""Both lists as clean printed pages, A4, in the fonts that every PDF viewer has (ISO 32000)."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

from proofcheck.base.visible import visible
from proofcheck.results.castlists.hand_rows import SECTIONS, entry_of, hand_lists
from proofcheck.results.castlists.list_words import SAFETY, numbered_plan, plan_notes
from proofcheck.results.plain_page import (
    FOOT,
    HEIGHT,
    MARGIN,
    TOP,
    TYPED,
    WIDTH,
    PlainPage,
    plain_pdf,
    wrapped,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.recast.plan import RecastPlan
    from proofcheck.results.castlists.hand_rows import HandLists, SlugRow, StoneRow
    from proofcheck.results.castlists.slug_styles import Runs

__all__ = ["lists_pdf"]

_MATTER_X = 104.0
_STYLES = {"italic": "I", "bold": "H"}
"""Which of them shows a style of the matter; small capitals are named beside it."""


def lists_pdf(plan: RecastPlan, heading: str, lists: HandLists | None = None) -> bytes:
    """The list for the machine and the list for the stone as the bytes of a PDF file.

    Args:
        plan: the plan.
        heading: job and proof, for the head of each page.
        lists: the plan as lists with all that is known of face and forme; if not given made of the
            plan alone, as of a first proof.
    """
    pages = _list_pages(plan, heading, lists or hand_lists(numbered_plan(plan, 1)))
    for number, page in enumerate(pages, 1):
        page.put("P", 8, WIDTH - MARGIN - 50, HEIGHT - 30, f"page {number} of {len(pages)}")
    return plain_pdf(pages, f"{heading}: lists for correction")


def _list_pages(plan: RecastPlan, heading: str, lists: HandLists) -> list[PlainPage]:
    """Both lists laid out, each from the head of a page."""
    pages: list[PlainPage] = []
    if lists.machine:
        title = "Lines to set" if plan.hand_set else "Slugs to cast"
        safety = "" if plan.hand_set else SAFETY
        blocks = [_slug_block(row) for row in lists.machine]
        blocks += [_note_block(note) for note in plan_notes(plan, lists.names)]
        pages += _pages(title, heading, blocks, safety)
    blocks = []
    for sort, title in SECTIONS.items():
        rows = lists.section(sort)
        blocks += [_head_block(title)] if rows else []
        blocks += [_stone_block(row) for row in rows]
    pages += _pages("At the stone", heading, blocks, "")
    return pages


@dataclass(frozen=True, slots=True)
class _Block:
    """What stands together: an entry with its box to tick, a heading, a note."""

    lines: tuple[tuple[float, tuple[tuple[str, str], ...]], ...]
    """Size, and stretches of font and text, of each line."""
    label: str = ""
    """Beside a box to be ticked; "" for no entry."""
    ruled: bool = False
    """A rule above it."""


def _pages(title: str, heading: str, blocks: Sequence[_Block], safety: str) -> list[PlainPage]:
    pages = [_headed(title, heading, safety)]
    for number, block in enumerate(blocks):
        depth = _depth(block)
        if not block.label and number + 1 < len(blocks):
            depth += _depth(blocks[number + 1])  # A heading goes with what it heads.
        if pages[-1].y + depth > HEIGHT - FOOT and pages[-1].y > TOP + 60:
            pages.append(_headed(title, heading, safety))
        _set_block(pages[-1], block)
    return pages


def _depth(block: _Block) -> float:
    return sum(size * 1.35 for size, _ in block.lines) + 9


def _set_block(page: PlainPage, block: _Block) -> None:
    if block.ruled:
        page.rule(MARGIN, page.y, WIDTH - 2 * MARGIN)
    for place, (size, runs) in enumerate(block.lines):
        page.y += size * 1.35
        if block.label and place == 0:
            page.box(MARGIN, page.y - 1, 9)
            page.put("B", 11, MARGIN + 16, page.y, block.label)
        x = _MATTER_X if block.label else MARGIN
        for font, text in runs:
            page.put(font, size, x, page.y, text)
            x += len(text) * size * TYPED
    page.y += 9


def _headed(title: str, heading: str, safety: str) -> PlainPage:
    page = PlainPage()
    page.put("B", 17, MARGIN, page.y, title)
    page.y += 16
    page.put("P", 9, MARGIN, page.y, visible(heading)[:95])
    page.y += 8
    page.rule(MARGIN, page.y, WIDTH - 2 * MARGIN)
    page.y += 8
    for place, line in enumerate(wrapped(safety, 8.0, MARGIN)):
        page.put("P", 8, MARGIN, HEIGHT - 52 + 10 * place, line)
    return page


def _slug_block(row: SlugRow) -> _Block:
    lines = [*_set_lines(row.runs, 10.5), *_plain_lines(row.words)]
    return _Block(tuple(lines), str(row.number))


def _stone_block(row: StoneRow) -> _Block:
    lines = list(_plain_lines(entry_of(row).words))
    if row.runs:
        lines += _set_lines(row.runs, 9.0)
    return _Block(tuple(lines), row.label)


def _head_block(title: str) -> _Block:
    return _Block(((12.0, (("B", title),)),))


def _note_block(note: str) -> _Block:
    return _Block(tuple((9.0, (("P", line),)) for line in wrapped(note, 9.0, MARGIN)), ruled=True)


def _plain_lines(words: str) -> list[tuple[float, tuple[tuple[str, str], ...]]]:
    return [(9.0, (("P", line),)) for line in wrapped(words, 9.0, _MATTER_X)]


def _set_lines(runs: Runs, size: float) -> list[tuple[float, tuple[tuple[str, str], ...]]]:
    """A slug's matter broken to the page, each stretch in the font of its style."""
    room = int((WIDTH - MARGIN - _MATTER_X) / (TYPED * size))
    text = "".join(part for part, _ in runs)
    fonts = "".join(_STYLES.get(style, "T") * len(part) for part, style in runs)
    out, at = [], 0
    for line in textwrap.wrap(text, room, break_on_hyphens=False) or [""]:
        at = max(text.find(line, at), at)
        own = fonts[at : at + len(line)].ljust(len(line), "T")
        at += len(line)
        pairs = groupby(zip(line, own, strict=True), key=lambda pair: pair[1])
        out.append((size, tuple((font, "".join(c for c, _ in held)) for font, held in pairs)))
    return out
