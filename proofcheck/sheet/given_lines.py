"""Lines given from outside in place of those we would find: laid on the sheet and measured there.

What another program says is where a line is; how high its letters stand, and on what baseline, is
measured in the ink as for lines of our own. Ink that none of the lines holds is left for
`unclaimed` to tell.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path, PurePath
from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from proofcheck.base.errors import SettingError
from proofcheck.base.values import Box
from proofcheck.base.visible import visible
from proofcheck.sheet.line_files import pages_of
from proofcheck.sheet.lines import Laid, bodies_of, fit_rows, line_of, noise, sorted_pieces
from proofcheck.sheet.pieces import MOST_PIECES
from proofcheck.sheet.true_lines import Row

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Line, Scan, Sheet
    from proofcheck.sheet.baselines import Fit
    from proofcheck.sheet.line_files import GivenLine, GivenPage
    from proofcheck.sheet.pieces import Pieces

__all__ = ["GivenLines", "given_lines", "refuse_left_over"]

_TALL: Final = 0.35
"""Share of a line's own height from which on a piece is a letter rather than a point."""
_OFF: Final = 0.5
"""x-heights from the baseline given past which one measured on few letters is not believed."""


@lru_cache(maxsize=4)
def _pages(names: tuple[tuple[str, int, int], ...]) -> tuple[GivenPage, ...]:
    return tuple(page for name, _, _ in names for page in pages_of(name))


def _all_pages(files: Sequence[str]) -> tuple[GivenPage, ...]:
    """The pages of all files; each is read once as long as it stays as it is."""
    stamped = []
    for name in files:
        try:
            state = Path(name).stat()
        except (OSError, ValueError):
            # Told by the reading of it.
            stamped.append((name, 0, 0))
        else:
            stamped.append((name, state.st_mtime_ns, state.st_size))
    return _pages(tuple(stamped))


def given_lines(files: Sequence[str], scan: Scan, number: int) -> GivenLines | None:
    """The lines given for a scan; None where none are given at all.

    Args:
        files: PAGE XML or ALTO; their pages in order are those of the proof.
        scan: the scan.
        number: its place among the sheets of the proof, from 0.

    Raises:
        SettingError: the files can't be used, or are not of this scan.
    """
    if not files:
        return None
    pages = _all_pages(files)
    name = visible(scan.name)
    if number >= len(pages):
        msg = f"no lines are given for sheet {number + 1} ({name}); give a file for each sheet"
        raise SettingError(msg)
    page = pages[number]
    size, own = (page.width_px, page.height_px), (float(scan.width_px), float(scan.height_px))
    if (all(size) and size != own) or not _within(page, own):
        told = f"{size[0]:g} × {size[1]:g}" if all(size) else "a larger picture’s"
        msg = (
            f"the lines of {page.file} are for {told} pixels, and {name} has "
            f"{own[0]:g} × {own[1]:g}; find them on this very scan"
        )
        raise SettingError(msg)
    if page.sha256 and page.sha256 != scan.sha256:
        msg = f"the lines of {page.file} are of another scan than {name} by its SHA-256"
        raise SettingError(msg)
    if not page.lines:
        msg = f"{page.file} holds no line for {name}; leave it out to have the lines found here"
        raise SettingError(msg)
    called, held = (PurePath(n.replace("\\", "/")).name for n in (page.picture, scan.name))
    notes: tuple[str, ...] = ()
    if called and called != held:
        notes = (f"the lines of {page.file} say they are of {visible(called)}; taken for {name}",)
    return GivenLines(page, notes)


def refuse_left_over(files: Sequence[str], sheets: int) -> None:
    """Raise SettingError where lines are given for more sheets than the proof has."""
    given = len(_all_pages(files)) if files else 0
    if given > sheets:
        msg = f"lines are given for {given} sheets and the proof has {sheets}; give one for each"
        raise SettingError(msg)


def _within(page: GivenPage, size: tuple[float, float]) -> bool:
    places = np.array([place for line in page.lines for place in line.outline] or [(0.0, 0.0)])
    return bool((places >= -1).all() and (places <= np.array(size) + 1).all())


@dataclass(frozen=True, slots=True)
class GivenLines:
    """The lines given for one scan."""

    page: GivenPage
    notes: tuple[str, ...] = ()

    def lay(self, sheet: Sheet, first_number: int = 1) -> Laid:
        """The lines on a sheet made of that scan, as `lines.lay_lines` gives those it finds.

        A line that holds no ink is left out.

        Raises:
            SheetUnfitError: the picture is of noise.
        """
        image, step, pieces, labels, sifted = sorted_pieces(sheet)
        if len(pieces) > MOST_PIECES:
            raise noise(sheet, len(pieces))
        outlines = [_on_sheet(sheet, line.outline) / step for line in self.page.lines]
        owners = _owners(pieces, outlines)
        held = [np.flatnonzero(owners == at) for at in range(len(outlines))]
        full = [at for at, members in enumerate(held) if len(members)]
        if not full:
            return Laid((), pieces, labels, sifted, step)
        columns = _columns(self.page.lines, outlines)
        lines = [self.page.lines[at] for at in full]
        rows = [
            Row(_letters(pieces, sifted.letter, held[at]), line.block, columns[line.block])
            for at, line in zip(full, lines, strict=True)
        ]
        fits = [
            _believed(fit, _on_sheet(sheet, line.baseline) / step)
            for fit, line in zip(fit_rows(image, pieces, sifted, rows), lines, strict=True)
        ]
        boxes = [_box(pieces, held[at]) for at in full]
        bodies = bodies_of(rows, fits, boxes)
        made = tuple(
            line_of(sheet, first_number + at, row, fit, (box, step, body))
            for at, (row, fit, box, body) in enumerate(zip(rows, fits, boxes, bodies, strict=True))
        )
        return Laid(made, pieces, labels, sifted, step, tuple(held[at] for at in full))

    def told(self, lines: Sequence[Line]) -> tuple[str, ...]:
        """Notes on how they were taken, for the report.

        Args:
            lines: those that were laid.

        Raises:
            SettingError: most of them hold no ink.
        """
        empty = len(self.page.lines) - len(lines)
        if 2 * empty > len(self.page.lines):
            msg = (
                f"{empty} of the {len(self.page.lines)} lines of {self.page.file} hold no ink: "
                "they are of another picture; find them on this very scan"
            )
            raise SettingError(msg)
        notes = (*self.notes, f"lines taken as {self.page.file} gives them, not found here")
        if empty:
            many = f"{empty} lines" if empty > 1 else "1 line"
            notes += (f"{many} of {self.page.file} left out: no ink in them",)
        return notes


def _on_sheet(sheet: Sheet, places: Sequence[tuple[float, float]]) -> NDArray[np.float64]:
    """Places of the scan carried to the sheet, at pixel edges as there; shape (n, 2)."""
    if not places:
        return np.zeros((0, 2))
    edges = np.array(places, np.float64)[None] - 0.5
    return np.asarray(cv2.perspectiveTransform(edges, np.linalg.inv(sheet.to_scan))[0] + 0.5)


def _owners(pieces: Pieces, outlines: Sequence[NDArray[np.float64]]) -> NDArray[np.intp]:
    """For each piece the line whose outline holds its middle, or −1; of two the nearer."""
    x, y = pieces.middle, (pieces.y + pieces.bottom) / 2
    best, owner = np.full(len(pieces), np.inf), np.full(len(pieces), -1, np.intp)
    for at, outline in enumerate(outlines):
        low = np.floor(outline.min(axis=0)).astype(int)
        size = np.ceil(outline.max(axis=0)).astype(int) - low + 1
        mask = np.zeros((size[1], size[0]), np.uint8)
        cv2.fillPoly(mask, [np.rint(outline - low).astype(np.int32)], 1)
        column, row = (x - low[0]).astype(int), (y - low[1]).astype(int)
        near = np.flatnonzero(
            (column >= 0) & (row >= 0) & (column < size[0]) & (row < size[1])
            & (pieces.height <= 1.5 * size[1])
        )  # fmt: skip
        near = near[mask[row[near], column[near]] > 0]
        filled = mask.sum(axis=0)
        middles = (mask * np.arange(size[1])[:, None]).sum(axis=0) / np.maximum(filled, 1)
        far = np.abs(row[near] - middles[column[near]]) / size[1]
        nearer = near[far < best[near]]
        best[nearer], owner[nearer] = far[far < best[near]], at
    return owner


def _letters(
    pieces: Pieces, letter: NDArray[np.bool_], members: NDArray[np.intp]
) -> NDArray[np.intp]:
    """Those of a line's pieces that are letters, from left to right; never none."""
    mine = members[letter[members]]
    if pieces.area[mine].sum() < 0.5 * pieces.area[members].sum():
        # Display, which is out of all proportion to the sheet's common size.
        tall = pieces.height[members]
        mine = members[tall >= _TALL * np.percentile(tall, 90)]
    return mine[np.argsort(pieces.x[mine])]


def _believed(fit: Fit, baseline: NDArray[np.float64]) -> Fit:
    """The fit, with the baseline given where it was measured on too few letters to go against."""
    if len(baseline) < 2 or fit.sure:
        return fit
    (x, y), (end_x, end_y) = baseline[0], baseline[-1]
    middle = (x + end_x) / 2
    if abs(float(fit.at(middle)) - (y + end_y) / 2) <= _OFF * fit.x_height or end_x == x:
        return fit
    slope = float((end_y - y) / (end_x - x))
    return replace(fit, slope=slope, level=float(y - slope * x))


def _columns(lines: Sequence[GivenLine], outlines: Sequence[NDArray[np.float64]]) -> dict[int, int]:
    """The column of each block: the one before's where it stands under that, else the next."""
    spans: dict[int, tuple[float, float, float]] = {}
    for line, outline in zip(lines, outlines, strict=True):
        (left, top), right = outline.min(axis=0), outline[:, 0].max()
        low, high, head = spans.get(line.block, (left, right, top))
        spans[line.block] = min(low, left), max(high, right), min(head, top)
    columns: dict[int, int] = {}
    before: tuple[float, float, float] | None = None
    column = 0
    for block, span in sorted(spans.items()):
        if before is not None:
            shared = min(span[1], before[1]) - max(span[0], before[0])
            narrower = min(span[1] - span[0], before[1] - before[0])
            column += not (shared > 0.5 * narrower and span[2] >= before[2])
        columns[block], before = column, span
    return columns


def _box(pieces: Pieces, members: NDArray[np.intp]) -> Box:
    mine = pieces.take(members)
    x, y = int(mine.x.min()), int(mine.y.min())
    return Box(x, y, int(mine.right.max()) - x, int(mine.bottom.max()) - y)
