"""Cells of a table that stand in another column than the copy's tabs have them in.

Read row by row such a table says the same words in the same order, so that no letter of it is
wrong. Where the columns stand is told by the table's other rows, and a cell is judged only where
those agree: it lies within another column's room and wholly outside its own.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass
from itertools import takewhile
from typing import TYPE_CHECKING

from proofcheck.base.agreed import agreed_places
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Span
from proofcheck.metal.finder import Finder
from proofcheck.metal.findings import MetalFinding

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from proofcheck.base.values import Copy
    from proofcheck.metal.context import Matter
    from proofcheck.metal.judged import Judged

__all__ = ["cells_astray"]

_LEAST_ROWS = 3
_FELLOWS = 2
"""Other cells that say where a column stands."""
_HELD = 0.5
"""Share of a cell's letters that must be read as the copy has them."""
_CERTAINTY = 0.6
_APART = 3
"""Characters at most between two rows of one table: a blank line."""
_HEAD = 40
"""Characters at most of what stands between them without a tab."""


@dataclass(frozen=True, slots=True)
class _Cell:
    """A printed cell; `left` and `right` are sheet pixels."""

    row: int
    """Of the table."""
    column: int
    line: int
    """Place of the printed line among the proof's."""
    letters: Span
    left: int
    right: int


def cells_astray(judged: Judged) -> list[MetalFinding]:
    """Cells that stand in another column."""
    matter = judged.matter
    found = []
    for table in _tables(matter.copy):
        cells = list(_printed(matter, table))
        spanning = _spanning(table, cells)
        own = [cell for cell in cells if cell.row not in spanning]
        found += [_finding(matter, *pair) for cell in own if (pair := _astray(cell, own))]
    return found


FINDER = Finder(105, cells_astray)


def _spanning(table: Sequence[Sequence[Span]], cells: Sequence[_Cell]) -> set[int]:
    """Rows of heads of which one goes over two columns: all after it stand a column further on."""
    most = max(map(len, table))
    heads = set(takewhile(lambda row: len(table[row]) < most, range(len(table))))
    body = [cell for cell in cells if cell.row not in heads]
    astray = (_astray(cell, [cell, *body]) for cell in cells if cell.row in heads)
    moved = Counter(pair[0].row for pair in astray if pair and pair[1] > pair[0].column)
    return {row for row in heads if moved[row] > 1}


def _tables(copy: Copy) -> Iterator[list[list[Span]]]:
    """Rows of cells of each table of the copy."""
    table: list[list[Span]] = []
    end = 0
    for paragraph in copy.paragraphs:
        cells = _cells(copy.text, paragraph)
        # A head, or an entry with nothing beside it, stands in a table and is no row of it.
        passed = len(cells) == 1 and paragraph.end - paragraph.start <= _HEAD
        if paragraph.start - end > _APART or (len(cells) == 1 and not passed):
            yield from _of_columns(table)
            table = []
        if len(cells) > 1:
            table.append(cells)
        end = paragraph.end
    yield from _of_columns(table)


def _of_columns(table: list[list[Span]]) -> Iterator[list[list[Span]]]:
    """The table without rows of more cells than most have; one of fewer ends in empty ones."""
    if len(table) >= _LEAST_ROWS:
        usual = Counter(map(len, table)).most_common(1)[0][0]
        yield [row for row in table if len(row) <= usual]


def _cells(text: str, paragraph: Span) -> list[Span]:
    """Cells of a row, empty ones too but for the last."""
    cells, start = [], paragraph.start
    for part in text[paragraph.start : paragraph.end].split("\t"):
        cells.append(Span(start, start + len(part)))
        start += len(part) + 1
    while len(cells) > 1 and cells[-1].start == cells[-1].end:
        cells.pop()
    return cells


def _printed(matter: Matter, table: Sequence[Sequence[Span]]) -> Iterator[_Cell]:
    """Where each cell that was read stands, on one line."""
    place: dict[int, tuple[int, int]] = {}
    start, end = table[0][0].start, table[-1][-1].end
    for line, held in enumerate(matter.placed):
        if held is not None and held.start < end and held.end > start:
            printed = agreed_places(matter.readings[line].text, matter.copy.text, held)
            place |= {where: (line, at) for at, where in printed.items()}
    for row, cells in enumerate(table):
        for column, cell in enumerate(cells):
            wanted = [at for at in range(*cell) if not matter.copy.text[at].isspace()]
            by_line: dict[int, list[int]] = defaultdict(list)
            for at in wanted:
                if at in place:
                    by_line[place[at][0]].append(place[at][1])
            if len(by_line) != 1:
                continue
            ((line, ats),) = by_line.items()
            if len(ats) >= _HELD * len(wanted):
                boxes = [matter.readings[line].letters[at].box for at in ats]
                left, right = min(b.x for b in boxes), max(b.right for b in boxes)
                yield _Cell(row, column, line, Span(min(ats), max(ats) + 1), left, right)


def _astray(cell: _Cell, cells: Sequence[_Cell]) -> tuple[_Cell, int] | None:
    """The cell and the column it stands in, where that is not its own."""
    rooms: dict[int, list[_Cell]] = defaultdict(list)
    for other in cells:
        if other.row != cell.row:
            rooms[other.column].append(other)
    own = rooms.get(cell.column, [])
    if len(own) < _FELLOWS or _overlap([cell], own):
        return None
    for column, there in rooms.items():
        if column != cell.column and len(there) >= _FELLOWS and _overlap([cell], there):
            # Columns that overlap, or where the sheet has rows side by side, say nothing.
            return (cell, column) if not _overlap(own, there) else None
    return None


def _overlap(one: Sequence[_Cell], two: Sequence[_Cell]) -> bool:
    """Whether the rooms that two sets of cells take have any width in common."""
    return min(c.left for c in one) < max(c.right for c in two) and max(c.right for c in one) > min(
        c.left for c in two
    )


def _finding(matter: Matter, cell: _Cell, column: int) -> MetalFinding:
    held = matter.readings[cell.line].letters[cell.letters.start : cell.letters.end]
    text = "".join(letter.text for letter in held)
    return MetalFinding(
        Kind.WRONG_COLUMN,
        matter.lines[cell.line].number,
        matter.lines[cell.line].sheet,
        Box.around(letter.box for letter in held),
        cell.letters,
        _CERTAINTY,
        words=f"“{text}” stands in column {column + 1}: the copy has it in column "
        f"{cell.column + 1}",
        sign="move-left" if column > cell.column else "move-right",
        proof_text=text,
        copy_text=text,
        only_query=True,
    )
