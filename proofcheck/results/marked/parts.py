"""What a marked page is made of, once everything has its place.

Lengths are pixels of the page, which has the resolution of the sheet on it; the origin is at top
left. Drawings here are strokes in those pixels (y down).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    import datetime as dt

    from proofcheck.base.found import Fault
    from proofcheck.base.values import Grey
    from proofcheck.marks.paths import Drawing
    from proofcheck.results.paper_names import Paper

__all__ = [
    "FAINT",
    "INK",
    "TYPE",
    "Heading",
    "Inked",
    "Layout",
    "Lead",
    "Page",
    "PlacedSign",
    "PlacedTextMark",
    "PlacedUnread",
    "Rect",
]

INK = "ink"
"""The reader's ink."""
FAINT = "faint"
"""Grey, for line numbers and the foot."""
TYPE = "type"
"""Near black, for the heading."""


class Rect(NamedTuple):
    """A rectangle in pixels, by its edges."""

    left: float
    top: float
    right: float
    bottom: float

    def moved(self, dx: float, dy: float) -> Rect:
        """The rectangle moved."""
        return Rect(self.left + dx, self.top + dy, self.right + dx, self.bottom + dy)


@dataclass(frozen=True, slots=True)
class Heading:
    """What stands at the head of a marked proof."""

    job: str
    proof: str
    """Which proof of the series: a number ("2") or a name ("first", "revise")."""
    date: dt.date
    faults: int
    queries: int
    unread: int = 0
    """Places that were not read."""
    number: int = 1
    """The same as a number, from 1: faults are numbered by it."""
    paper: Paper | None = None
    """Which proof of a docket it is, where it is one's."""
    disputes: tuple[str, ...] = ()
    """What two have decided differently, a line each: written at the foot."""


@dataclass(frozen=True, slots=True, eq=False)
class Inked:
    """Strokes to be drawn with one pen."""

    drawing: Drawing
    pen_px: float
    ink: str = INK
    dash_px: float = 0.0
    """Length of the dashes, 0 for a whole line."""


@dataclass(frozen=True, slots=True, eq=False)
class PlacedSign:
    """One margin sign in its place."""

    fault: str
    """Id of its fault."""
    line: int
    side: str
    """ "left" or "right"."""
    row: int
    """Row among those of its line on this side, from 0."""
    rect: Rect
    """What it fills, the width of the pen included."""
    inked: Inked


@dataclass(frozen=True, slots=True, eq=False)
class PlacedTextMark:
    """One mark at the place itself."""

    fault: Fault
    rect: Rect
    inked: Inked
    number: str = ""
    """Of its fault, as people see it: "2/4"."""
    line: str = ""
    """What its line is called; "" for its number."""


@dataclass(frozen=True, slots=True, eq=False)
class PlacedUnread:
    """One place that was not read, hatched."""

    words: str
    rect: Rect
    inked: Inked


@dataclass(frozen=True, slots=True, eq=False)
class Lead:
    """A thin line from a printed line, or from a mark in it, to its signs in the margin."""

    line: int
    side: str
    inked: Inked


@dataclass(frozen=True, slots=True, eq=False)
class Page:
    """One marked sheet, ready to be painted."""

    sheet: int
    width_px: int
    height_px: int
    dpi: float
    image: Grey | None
    """The sheet; None for a page that carries none."""
    at: tuple[int, int]
    """Where the sheet's top left corner stands on the page."""
    signs: tuple[PlacedSign, ...] = ()
    text_marks: tuple[PlacedTextMark, ...] = ()
    leads: tuple[Lead, ...] = ()
    labels: tuple[Inked, ...] = ()
    """Heading, line numbers and foot."""
    unread: tuple[PlacedUnread, ...] = ()

    def inked(self) -> tuple[Inked, ...]:
        """Everything to be drawn over the sheet, in order."""
        return (
            *self.labels,
            *(m.inked for m in self.unread),
            *(m.inked for m in self.leads),
            *(m.inked for m in self.text_marks),
            *(m.inked for m in self.signs),
        )


@dataclass(frozen=True, slots=True)
class Layout:
    """The marked proof: one page a sheet."""

    heading: Heading
    pages: tuple[Page, ...]
