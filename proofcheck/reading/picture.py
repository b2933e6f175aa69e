"""One picture through the first stages: made clean, turned to read, its lines found and read."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.errors import SheetUnfitError
from proofcheck.reading.broken_dashes import with_whole_dashes
from proofcheck.reading.set_sideways import read_sideways
from proofcheck.reading.sized_anew import read_at_other_sizes
from proofcheck.reading.unread_parts import unread_parts
from proofcheck.sheet.again import look_again, only_left, with_more
from proofcheck.sheet.clean import clean_sheet, with_measure
from proofcheck.sheet.fitness import check_fit
from proofcheck.sheet.given_lines import given_lines
from proofcheck.sheet.lifting import lift
from proofcheck.sheet.lines import cell_of_line, lay_lines
from proofcheck.sheet.orient import choose_variant
from proofcheck.sheet.panels import open_panels
from proofcheck.sheet.shadows import shadowed
from proofcheck.sheet.unclaimed import unclaimed

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from proofcheck.base.found import Unread
    from proofcheck.base.options import Options
    from proofcheck.base.values import Line, Reading, Sheet
    from proofcheck.reading import Reader
    from proofcheck.sheet.given_lines import GivenLines
    from proofcheck.sheet.lines import Laid
    from proofcheck.sheet.scans import Picture

__all__ = ["Legibility", "PageRead", "read_page"]

SAMPLE_LINES = 12
"""Lines read to tell which way up a doubtful sheet reads."""
SAMPLE_X_HEIGHTS = 1500
"""Most matter read for that, by its length in x-heights: a line has some 100, one of specks taken
for letters as many hundreds, and a strip grows with it."""


@dataclass(frozen=True, slots=True)
class PageRead:
    """One sheet with its lines and what was read on them."""

    sheet: Sheet
    lines: tuple[Line, ...]
    readings: tuple[Reading, ...]
    warnings: tuple[str, ...] = ()
    unread: tuple[Unread, ...] = ()
    """Its ink that belongs to none of the lines."""


class Legibility:
    """How well readings read, 0 to 1: the share of their threes of letters that the copy has too.

    A reader's own certainty won't do: one that does not guess is as sure of a letter that stands
    on its head. Any matter in the copy's language shares most of its threes upright, and next to
    none upside down or mirrored.

    Args:
        copy_text: the copy as loaded.
    """

    def __init__(self, copy_text: str) -> None:
        self._known = _threes(copy_text)

    def __call__(self, readings: Sequence[Reading]) -> float:
        """Score readings; 0 for none."""
        read = " ".join(reading.text for reading in readings)
        threes = _threes(read)
        return len(threes & self._known) / len(threes) if threes else 0.0


def _threes(text: str) -> set[str]:
    plain = re.sub(r"[\W_]+", " ", text.lower())
    return {plain[at : at + 3] for at in range(len(plain) - 2)}


def read_page(
    picture: Picture,
    number: int,
    first_line: int,
    reader: Reader,
    options: Options,
    legibility: Callable[[Sequence[Reading]], float],
    copy_text: str = "",
) -> PageRead:
    """Clean one picture, bring it upright and right-reading, find its lines and read them.

    Args:
        picture: as opened.
        number: place of the sheet in the proof, from 0.
        first_line: number its first line takes.
        reader: who reads.
        options: the shop's choices.
        legibility: scores readings; tells which way up the sheet reads.
        copy_text: the copy as loaded; what it holds as a character is no rule.

    Raises:
        SheetUnfitError: no proof can be judged from this sheet (unless `options.unfit`).
        SettingError: `options.lines` are not of this picture, or can't be used.
    """
    given = given_lines(options.lines, picture.scan, number)
    clean = open_panels(clean_sheet(picture, number, dpi=options.dpi), reader.read, copy_text)
    tried = _Trial(clean, reader, first_line, legibility, copy_text, given)
    sheet, laid, readings, unfit = tried.of(choose_variant(clean, tried.legibility))
    if unfit is not None and laid.lines and not options.unfit:
        raise unfit
    lines, readings = laid.lines, readings or reader.read(sheet, laid.lines)
    seen = only_left(laid) if given else look_again(sheet, laid, readings, reader.read, copy_text)
    if seen.lines:
        lines = with_more(lines, seen.lines, first_line, partial(cell_of_line, laid))
        unfit = _unfit(sheet, lines)
        readings = reader.read(sheet, lines)
    if not given:
        lines, readings = read_at_other_sizes(sheet, lines, readings, reader.read)
    if options.measure_picas and lines:
        sheet, lines = _measured(sheet, lines, options.measure_picas)
    left = unclaimed(sheet, laid, seen, lines)
    told = (given.told(laid.lines) if given else ()) + _told_unfit(unfit, go_on=options.unfit)
    unread = left.unread + shadowed(sheet, laid, lines)
    page = PageRead(replace(sheet, cuts=left.cuts), lines, readings, told + left.notes, unread)
    return _with_lifted_matter(page, laid, reader, legibility)


def _with_lifted_matter(
    page: PageRead, laid: Laid, reader: Reader, legibility: Callable[[Sequence[Reading]], float]
) -> PageRead:
    """The page with its type set sideways read, and told what of matter lifted off it was not."""
    sideways = read_sideways(page.sheet, reader.read, legibility)
    if sideways.lines:
        sheet, lines = sideways.sheet, sideways.after(page.lines, laid)
        unread = page.unread + sideways.unread
        page = replace(
            page, sheet=sheet, lines=lines, readings=reader.read(sheet, lines), unread=unread
        )
    readings = with_whole_dashes(page.lines, page.readings)
    unread = page.unread + unread_parts(page.sheet, page.lines, readings)
    return replace(page, readings=readings, unread=unread)


class _Trial:
    """Scores ways up; keeps the whole reading of the first, which is nearly always the one.

    A sheet that is not fit as it lies is first read in a sample only: dirt that is taken for
    letters can make more lines than a book's page.
    """

    def __init__(
        self,
        laid: Sheet,
        reader: Reader,
        first_line: int,
        score: Callable[[Sequence[Reading]], float],
        copy_text: str,
        given: GivenLines | None,
    ) -> None:
        self._laid, self._reader, self._first_line = laid, reader, first_line
        self._score, self._copy_text = score, copy_text
        self._lay: Callable[[Sheet, int], Laid] = given.lay if given else lay_lines
        self.sheet = laid
        self.laid: Laid | None = None
        self.readings: tuple[Reading, ...] = ()
        self.unfit: SheetUnfitError | None = None

    def legibility(self, sheet: Sheet) -> float:
        """Score one way up."""
        bare = lift(sheet, self._copy_text)
        if sheet is not self._laid:
            lines = _sample(self._lay(bare, self._first_line).lines)
            return self._score(self._reader.read(bare, lines))
        self.sheet = sheet = bare
        self.laid = self._lay(sheet, self._first_line)
        self.unfit = _unfit(sheet, self.laid.lines)
        if self.unfit is not None:
            return self._score(self._reader.read(sheet, _sample(self.laid.lines)))
        self.readings = self._reader.read(sheet, self.laid.lines)
        return self._score(self.readings)

    def of(self, sheet: Sheet) -> tuple[Sheet, Laid, tuple[Reading, ...], SheetUnfitError | None]:
        """The sheet of the way up that was chosen, its lines, and all that is known of them."""
        if sheet is self._laid and self.laid:
            return self.sheet, self.laid, self.readings, self.unfit
        bare = lift(sheet, self._copy_text)
        laid = self._lay(bare, self._first_line)
        return bare, laid, (), _unfit(bare, laid.lines)


def _told_unfit(unfit: SheetUnfitError | None, *, go_on: bool) -> tuple[str, ...]:
    """A note on a sheet read although it is unfit; raises that where it is not asked for."""
    if unfit is None:
        return ()
    if not go_on:
        raise unfit
    return (f"read although not fit to be judged: {unfit}",)


def _unfit(sheet: Sheet, lines: Sequence[Line]) -> SheetUnfitError | None:
    """Why no proof can be judged from this sheet, if none can."""
    try:
        check_fit(sheet, lines)
    except SheetUnfitError as error:
        return error
    return None


def _sample(lines: Sequence[Line]) -> tuple[Line, ...]:
    """The longest lines, in order: most letters for the time."""
    longest = sorted(lines, key=lambda line: line.box.width, reverse=True)[:SAMPLE_LINES]
    kept, room = list(longest[:1]), float(SAMPLE_X_HEIGHTS)
    for line in longest:
        room -= line.box.width / max(line.x_height_px, 1.0)
        if line is not longest[0] and room >= 0:
            kept.append(line)
    return tuple(sorted(kept, key=lambda line: line.number))


def _measured(
    sheet: Sheet, lines: tuple[Line, ...], measure_picas: float
) -> tuple[Sheet, tuple[Line, ...]]:
    """The sheet and its lines with the resolution that makes a full line its measure."""
    # The longest lines but the very longest: one that ran over must not set the scale.
    full_px = float(np.percentile([line.box.width for line in lines], 90))
    scaled = with_measure(sheet, full_px, measure_picas)
    share = sheet.dpi / scaled.dpi
    return scaled, tuple(replace(line, body_pt=line.body_pt * share) for line in lines)
