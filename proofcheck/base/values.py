"""The values that pass from stage to stage: plain, frozen, each field with its unit.

    Copy, Sheet → Line → Reading → Collation (Difference) → Fault → Report

What was found stands in `found`, its kinds in `kinds`. Boxes are in pixels of the sheet (the
cleaned, upright picture) with the origin at top left; `Sheet.to_scan` carries them back to the
scan's own pixels. Copy positions are code-point offsets into `Copy.text`, end exclusive.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = [
    "Box",
    "Copy",
    "Emphasis",
    "Grey",
    "Inset",
    "Letter",
    "Lifted",
    "Line",
    "Panel",
    "Reading",
    "Scan",
    "Sheet",
    "Span",
    "no_picture",
]

Grey: TypeAlias = NDArray[np.uint8]
"""A grey picture, shape (height, width), 0 = ink, 255 = paper."""


def no_picture(height: int, width: int) -> Grey:
    """What stands for a picture that is not at hand: blank paper, taking no memory."""
    return np.broadcast_to(np.uint8(255), (height, width))


class Span(NamedTuple):
    """A stretch of text: code-point offsets, end exclusive; empty where start == end."""

    start: int
    end: int


class Box(NamedTuple):
    """A rectangle in pixels: left edge, top edge, width, height. A gap has width 0."""

    x: int
    y: int
    width: int
    height: int

    @property
    def right(self) -> int:
        """First column to the right of the box."""
        return self.x + self.width

    @property
    def bottom(self) -> int:
        """First row below the box."""
        return self.y + self.height

    @staticmethod
    def around(boxes: Iterable[Box]) -> Box:
        """The smallest box that holds all the given ones; ValueError if there are none."""
        held = list(boxes)
        if not held:
            msg = "no boxes to hold"
            raise ValueError(msg)
        x, y = min(b.x for b in held), min(b.y for b in held)
        right, bottom = max(b.right for b in held), max(b.bottom for b in held)
        return Box(x, y, right - x, bottom - y)


# ---------------------------------------------------------------------------- the copy


@dataclass(frozen=True, slots=True)
class Emphasis:
    """A stretch of copy the customer wants in another posture or weight."""

    span: Span
    style: str
    """One of "italic", "bold", "small-caps"."""


@dataclass(frozen=True, slots=True)
class Copy:
    """The approved copy as loaded."""

    text: str
    """Decoded, line ends as "\\n"; every copy position in a report points into this."""
    name: str
    """Where it came from: the path as given, or "-" for standard input."""
    sha256: str
    """Of the bytes as supplied, in hex."""
    encoding: str
    """As taken ("utf-8", "cp1252" …); for DOCX and ODT "utf-8"."""
    paragraphs: tuple[Span, ...]
    """Paragraphs in order, without their line ends; none of them empty."""
    emphasis: tuple[Emphasis, ...] = ()
    notes: tuple[str, ...] = ()
    """What loading had to decide or leave out, a plain sentence each, for the report."""


# ---------------------------------------------------------------------------- the sheet


@dataclass(frozen=True, slots=True)
class Scan:
    """One picture as supplied: a file, or one page of a TIFF or PDF."""

    name: str
    """Path as given."""
    page: int
    """Page in its file, from 0."""
    sha256: str
    """Of the file's bytes, in hex."""
    width_px: int
    height_px: int


@dataclass(frozen=True, slots=True, eq=False)
class Panel:
    """A panel of white lettering on black, as it is printed."""

    box: Box
    """In sheet pixels."""
    image: Grey
    sideways: bool = False
    """Its lettering stands in lines only if it is turned."""


@dataclass(frozen=True, slots=True, eq=False)
class Lifted:
    """A rule, a brace, an ornament or type set sideways, taken away before lines are read."""

    box: Box
    """In sheet pixels."""
    image: Grey
    """The place as it is printed (panels as they are read)."""
    look: str = ""
    """What it is: "rule", "border", "ornament", "cut", "sideways" for type set so, "initial" for
    a block in whose place its letter is; empty for a further part of the one before."""


class Inset(NamedTuple):
    """Type set sideways, laid upright in paper added at the foot of its sheet, to be read there."""

    box: Box
    """Where it is laid upright, in sheet pixels."""
    home: Box
    """Where it is printed, in sheet pixels."""
    turned_deg: int
    """How far it was turned clockwise to come upright: 90 or 270."""

    def to_home(self) -> NDArray[np.float64]:
        """3×3 homography: place in the paper at the foot → where that is printed, sheet pixels."""
        home, (x, y, *_) = self.home, self.box
        turn = [[0.0, 1, home.x], [-1, 0, home.bottom - 1], [0, 0, 1]]
        if self.turned_deg == 270:
            turn = [[0.0, -1, home.right - 1], [1, 0, home.y], [0, 0, 1]]
        return np.asarray(np.array(turn) @ [[1, 0, -x], [0, 1, -y], [0, 0, 1]], np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class Sheet:
    """One pulled proof made clean: upright, right-reading, deskewed, evenly lit, in grey."""

    image: Grey
    scan: Scan
    number: int
    """Place of this sheet among the sheets of the proof, from 0 (`scan` in the report)."""
    dpi: float
    dpi_source: str
    """One of "option", "measure", "file", "guess"."""
    turned_deg: int
    """How far the scan was turned clockwise to come upright: 0, 90, 180 or 270."""
    mirrored: bool
    """True where the scan was a mirror image."""
    skew_deg: float
    """Slope taken out, in degrees, positive where the lines fell to the right."""
    to_scan: NDArray[np.float64]
    """3×3 homography: sheet pixel (x, y, 1) → scan pixel; of what lies in an inset: `map_at`."""
    panels: tuple[Panel, ...] = ()
    """Panels of white on black, which `image` has as black on white."""
    lifted: tuple[Lifted, ...] = ()
    """Rules and ornaments, which `image` has not."""
    cuts: tuple[Box, ...] = ()
    """Round what was taken for cuts, in sheet pixels."""
    in_sight: tuple[tuple[float, float], ...] = ()
    """Outline, x and y in scan pixels, of what was left as it is where a dark background was
    painted out round the sheet; no points where none was."""
    insets: tuple[Inset, ...] = ()
    """Type set sideways, which `image` has upright at its foot."""

    def inset_at(self, box: Box) -> Inset | None:
        """The inset in which the middle of a box lies, if in any."""
        x, y = box.x + box.width / 2, box.y + box.height / 2
        for inset in self.insets:
            its = inset.box
            if its.x <= x <= its.right and its.y <= y <= its.bottom:
                return inset
        return None

    def map_at(self, box: Box) -> NDArray[np.float64]:
        """The 3×3 homography to scan pixels of what stands in a box of the sheet."""
        inset = self.inset_at(box)
        return self.to_scan if inset is None else self.to_scan @ inset.to_home()

    @property
    def pictured(self) -> bool:
        """False for a sheet read from a record, whose picture is not at hand (`no_picture`)."""
        return self.image.strides != (0, 0)

    def as_printed(self) -> Grey:
        """The picture as printed, panels in black, with its rules and ornaments."""
        if not self.panels and not self.lifted:
            return self.image
        printed = np.array(self.image)
        # What was taken away last goes back first: the places lie one over the other.
        held = [(part.box, part.image) for part in reversed(self.lifted)]
        for box, image in (*held, *((panel.box, panel.image) for panel in self.panels)):
            printed[box.y : box.bottom, box.x : box.right] = image
        return printed


@dataclass(frozen=True, slots=True)
class Line:
    """One printed line (on a line-casting machine, one slug)."""

    number: int
    """From the head of the proof, from 1, on through all its sheets and columns."""
    sheet: int
    """Number of the sheet it stands on, from 0."""
    column: int
    """Column on that sheet, from 0, left to right."""
    box: Box
    """Round the line's ink, sheet pixels."""
    baseline: tuple[float, float]
    """Height of the baseline (y, sheet pixels) at the left and right edge of the box."""
    x_height_px: float
    """Height of its small letters without ascenders (of its capitals × 0.68 if it has none)."""
    body_pt: float
    """Estimated size of the body in points."""
    ticket: int = 0
    """Which of the tickets, labels or cards of its sheet it stands on, from 1; 0 where the sheet is
    not several up."""
    home: Box | None = None
    """Round the type set sideways it is a line of, as printed; `box` is in its inset."""


# ---------------------------------------------------------------------------- the reading


@dataclass(frozen=True, slots=True)
class Letter:
    """One character as a reader saw it."""

    text: str
    """One code point. A turned sort is the Unicode turned letter (see `reading.turned`)."""
    box: Box
    """Its own ink, sheet pixels; for a space the gap between its neighbours."""
    certainty: float
    """The reader's own, 0 to 1; not calibrated."""


class _Texted:
    """Keeps the text of a reading, which is asked for a hundred times a line."""

    __slots__ = ("_text",)
    _text: str


@dataclass(frozen=True, slots=True)
class Reading(_Texted):
    """What one reader saw on one line. Words are parted by single spaces."""

    line: int
    """Number of the line read."""
    letters: tuple[Letter, ...]

    @property
    def text(self) -> str:
        """The line as read, without space at its ends."""
        try:
            return self._text
        except AttributeError:
            text = "".join([letter.text for letter in self.letters])
            object.__setattr__(self, "_text", text)
            return text
