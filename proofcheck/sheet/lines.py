"""Find every printed line of a sheet, in reading order."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.errors import SheetUnfitError
from proofcheck.base.units import px_to_pt
from proofcheck.base.values import Box, Line
from proofcheck.base.visible import visible
from proofcheck.sheet.baselines import EM_TO_X, Fit, share_sizes, straighten_short, with_dots
from proofcheck.sheet.cells import cell_of, find_cells, with_tickets
from proofcheck.sheet.columns import blocks_in_order
from proofcheck.sheet.dots import count_dots
from proofcheck.sheet.edges import refine
from proofcheck.sheet.lifted import at_step, boxes_lifted, rules_apart, with_lifted
from proofcheck.sheet.lone_dashes import lone_dashes
from proofcheck.sheet.on_one_line import as_index, rows_of
from proofcheck.sheet.parting import part_touching
from proofcheck.sheet.pieces import MOST_PIECES, Pieces, find_pieces, ink_mask, joined, worked_on
from proofcheck.sheet.repeats import repeated_bands
from proofcheck.sheet.rows import bridge_dashes, find_segments, parted_by_rules, without_bits
from proofcheck.sheet.screens import COARSEST_SCREEN_IN, small_rows, without_screens
from proofcheck.sheet.sharing import share_out
from proofcheck.sheet.sift import TALLEST_OF_SHEET, Sifted, sift
from proofcheck.sheet.true_lines import Row, in_order, true_lines
from proofcheck.sheet.unlike_ends import parted_where_unlike

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Grey, Sheet
    from proofcheck.sheet.cells import Cell
    from proofcheck.sheet.rows import Segment

__all__ = [
    "Laid",
    "bodies_of",
    "cell_of_line",
    "find_lines",
    "fit_rows",
    "lay_lines",
    "line_of",
    "noise",
    "sorted_pieces",
    "ticket_at",
]

MOST_RUNS = 8_000
"""Runs of letters past which it is of specks: a page of a newspaper has some 2,000 (reckoned)."""


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """The lines of a sheet with the ink they were found in, for asking what is left."""

    lines: tuple[Line, ...]
    pieces: Pieces
    """In pixels of the picture worked on: `step` sheet pixels each."""
    labels: NDArray[np.int32]
    sifted: Sifted
    step: int
    members: tuple[NDArray[np.intp], ...] = ()
    """The pieces of each line."""
    cells: tuple[Cell, ...] = ()
    """Boxes that part the sheet, in order of reading; none where it is one."""


def find_lines(sheet: Sheet, first_number: int = 1) -> tuple[Line, ...]:
    """Every printed line of a sheet: the lines of `lay_lines` alone."""
    return lay_lines(sheet, first_number).lines


def lay_lines(sheet: Sheet, first_number: int = 1, *, tallest: float = TALLEST_OF_SHEET) -> Laid:
    """Every printed line of a sheet with its number, box, baseline, x-height and body.

    Columns run left to right, each from top to bottom; matter across all columns keeps its place
    above or below them. Rules, boxes, cuts, borders and dirt are no lines. An empty or wholly
    black sheet has none. The baseline is the lower edge of the letters that stand on the line (see
    `baselines`). The body can't be measured on solid or leaded matter; it is the x-height over
    0.45, but no more than the distance to the nearest line of the same size in the column.

    Args:
        sheet: the cleaned sheet; 150 to 600 dpi.
        first_number: number of its first line.
        tallest: share of the sheet's height up to which a piece may tell the common size.

    Raises:
        SheetUnfitError: the picture is of noise or specks, in thousands of pieces.
    """
    image, step, pieces, labels, sifted = sorted_pieces(sheet, tallest)
    panels = at_step((panel.box for panel in sheet.panels), step)
    off = rules_apart(sheet, step), boxes_lifted(sheet, step), panels
    found = _rows(pieces, labels, sifted, off, COARSEST_SCREEN_IN * sheet.dpi / step)
    if found is None:
        raise noise(sheet, len(pieces))
    rows, cells = found
    if not rows:
        return Laid((), pieces, labels, sifted, step)
    rows = parted_where_unlike(pieces, rows)
    fits = fit_rows(image, pieces, sifted, rows)
    held = true_lines(pieces, labels, rows, fits, [cell.box for cell in cells])
    lines = in_order(pieces, held, image.shape[1] / 2)
    if not lines:
        return Laid((), pieces, labels, sifted, step)
    rows, fits = [row for row, _ in lines], [fit for _, fit in lines]
    free = replace(sifted, small=sifted.small & ~small_rows(pieces, sifted))
    shares = share_out(pieces, labels, free, [r.members for r in rows], fits)
    bodies = bodies_of(rows, fits, [s.box for s in shares])
    made = tuple(
        line_of(sheet, first_number + index, row, fit, (share.box, step, body))
        for index, (row, fit, share, body) in enumerate(
            zip(rows, fits, shares, bodies, strict=True)
        )
    )
    made = with_tickets(made, cells, step)
    return Laid(made, pieces, labels, sifted, step, tuple(s.members for s in shares), tuple(cells))


def cell_of_line(laid: Laid, line: Line) -> int:
    """In which box of its sheet a line stands, by its place among them; -1 for none."""
    x, y = line.box.x + line.box.width / 2, line.box.y + line.box.height / 2
    return cell_of(laid.cells, x / laid.step, y / laid.step)


def ticket_at(laid: Laid, box: Box) -> int:
    """The number of the ticket on which a box of the sheet lies, or nearest to it; 0 for none."""
    x, y = (box.x + box.width / 2) / laid.step, (box.y + box.height / 2) / laid.step

    def off(cell: Cell) -> float:
        its = cell.box
        return max(its.x - x, 0.0, x - its.right) + max(its.y - y, 0.0, y - its.bottom)

    return min(laid.cells, key=off).ticket if laid.cells else 0


def line_of(
    sheet: Sheet, number: int, row: Row, fit: Fit, measured: tuple[Box, int, float]
) -> Line:
    """One line in pixels of the sheet, from its box, the step and the body."""
    box, step, body = measured
    return Line(
        number=number,
        sheet=sheet.number,
        column=row.column,
        box=Box(*(step * side for side in box)),
        baseline=(float(step * fit.at(box.x)), float(step * fit.at(box.right))),
        x_height_px=float(step * fit.x_height),
        body_pt=round(px_to_pt(float(step * body), sheet.dpi), 2),
    )


def sorted_pieces(
    sheet: Sheet, tallest: float = TALLEST_OF_SHEET
) -> tuple[Grey, int, Pieces, NDArray[np.int32], Sifted]:
    """The picture worked on, its step, its pieces and what they may be, letters parted."""
    image, step = worked_on(sheet)
    # What was lifted off is ink of the same sheet: letters are as dark with it as without.
    like = worked_on(replace(sheet, image=with_lifted(sheet)))[0] if sheet.lifted else None
    return image, step, *_sorted(ink_mask(image, like), sheet.dpi / step, tallest)


def _sorted(
    mask: NDArray[np.uint8], dpi: float, tallest: float
) -> tuple[Pieces, NDArray[np.int32], Sifted]:
    """The pieces of a sheet and what they may be, letters of neighbouring lines parted."""
    pieces, labels = find_pieces(mask)
    if len(pieces) > MOST_PIECES:
        none = np.zeros(len(pieces), bool)
        return pieces, labels, Sifted(none, none, none, 0.0)
    sifted = sift(pieces, labels, dpi, tallest)
    for _ in range(3):
        if not part_touching(mask, pieces, labels, sifted):
            break
        pieces, labels = find_pieces(mask)
        sifted = sift(pieces, labels, dpi, tallest)
    return pieces, labels, sifted


def noise(sheet: Sheet, pieces: int) -> SheetUnfitError:
    """What is said of a picture that is of no type."""
    measured = f"{pieces} pieces of ink that stand in no lines"
    needed = "give a scan or a straight picture of the proof"
    message = f"{visible(sheet.scan.name)}: no lines of type on this picture ({measured}); {needed}"
    return SheetUnfitError(message, measured=measured, needed=needed)


def _rows(
    pieces: Pieces,
    labels: NDArray[np.int32],
    sifted: Sifted,
    lifted: tuple[Pieces, Sequence[Box], Sequence[Box]],
    dot_px: float,
) -> tuple[list[Row], list[Cell]] | None:
    """Rows of letters, block by block in reading order, and the boxes that part the sheet.

    Lone bits are left out. None where there is so much ink in so many pieces that it is no type.
    """
    if len(pieces) > MOST_PIECES:
        return None
    if not sifted.size_px:
        return [], []
    size = sifted.size_px
    runs = without_screens(pieces, find_segments(pieces, sifted.letter), size, dot_px)
    if len(runs) > MOST_RUNS:
        return None
    segments = bridge_dashes(pieces, without_bits(runs, size), sifted.small, size)
    segments += lone_dashes(pieces, segments, sifted.small, size)
    parting, ruled, panels = lifted
    segments = parted_by_rules(pieces, segments, ruled)
    dots, rules = pieces.take(sifted.small), joined(pieces.take(sifted.upright), parting)
    cells = find_cells(pieces, labels, segments, size, (ruled, panels))
    found: list[Row] = []
    place = columns = 0
    for part in _parts(segments, cells, size):
        for block in blocks_in_order(part, dots, rules, size):
            column = columns + block.column
            found += [Row(as_index(row), place, column) for row in rows_of(block.segments)]
            place += 1
        columns = 1 + max((row.column for row in found), default=-1)
    return found, cells


def _parts(segments: Sequence[Segment], cells: Sequence[Cell], size: float) -> list[list[Segment]]:
    """What stands over the boxes, then box by box, then what stands beside and under them.

    Where there are no boxes: band by band, if the same matter stands in several side by side.
    """
    if not cells:
        return repeated_bands(segments, size) or [list(segments)]
    first = min(cell.box.y for cell in cells)
    parts: list[list[Segment]] = [[] for _ in range(len(cells) + 2)]
    for segment in segments:
        y = (segment.top + segment.bottom) / 2
        at = cell_of(cells, (segment.x + segment.right) / 2, y)
        parts[at + 1 if at >= 0 else (0 if y < first else -1)].append(segment)
    return [part for part in parts if part]


def fit_rows(image: Grey, pieces: Pieces, sifted: Sifted, rows: Sequence[Row]) -> list[Fit]:
    """Geometry of each row: from its pieces, then to the flat edges, then shared by size."""
    members = [row.members for row in rows]
    spans = [(float(pieces.x[m].min()), float(pieces.right[m].max())) for m in members]
    fits = refine(image, straighten_short(pieces, members), spans)
    small = np.flatnonzero(sifted.small)
    fits = [
        fit if fit.sure else with_dots(fit, count_dots(pieces, small, row, fit))
        for fit, row in zip(fits, members, strict=True)
    ]
    return share_sizes(fits, _flush(pieces, rows), [row.block for row in rows])


def _flush(pieces: Pieces, rows: Sequence[Row]) -> list[bool]:
    """For each row whether it starts where most lines of its block start."""
    starts = np.array([pieces.x[row.members].min() for row in rows])
    heights = np.array([np.median(pieces.height[row.members]) for row in rows])
    blocks = np.array([row.block for row in rows])
    found = []
    for index in range(len(rows)):
        near = np.abs(starts - starts[index]) < 0.6 * heights[index]
        same = blocks == blocks[index]
        found.append(bool(np.count_nonzero(near & same) >= max(0.3 * np.count_nonzero(same), 2)))
    return found


def bodies_of(rows: Sequence[Row], fits: Sequence[Fit], boxes: Sequence[Box]) -> list[float]:
    """Body of each line in pixels; one figure for all lines of a size."""
    sizes = np.array([f.x_height for f in fits])
    pitches = np.full(len(fits), np.inf)
    for index in range(len(fits) - 1):
        if rows[index].column == rows[index + 1].column:
            middle = boxes[index].x + boxes[index].width / 2
            pitch = float(fits[index + 1].at(middle) - fits[index].at(middle))
            alike = abs(sizes[index] - sizes[index + 1]) < 0.05 * sizes[index]
            if alike and pitch > 1.2 * sizes[index]:
                pitches[index] = pitch
    bodies = []
    for size in sizes:
        near = pitches[(np.abs(sizes - size) < 0.05 * size) & np.isfinite(pitches)]
        bound = float(np.percentile(near, 20)) if len(near) else np.inf
        bodies.append(min(size / EM_TO_X, bound))
    return bodies
