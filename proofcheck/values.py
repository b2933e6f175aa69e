"""The values that pass from stage to stage: plain, frozen, each field with its unit.

    Copy, Sheet → Line → Reading → Collation (Difference) → Fault → Report

Boxes are in pixels of the sheet (the cleaned, upright picture) with the origin at top left;
`Sheet.to_scan` carries them back to the scan's own pixels. Copy positions are code-point offsets
into `Copy.text`, end exclusive.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

__all__ = [
    "Box",
    "Cause",
    "Collation",
    "Copy",
    "Difference",
    "Emphasis",
    "Fault",
    "Grey",
    "Kind",
    "LetGo",
    "Letter",
    "Line",
    "Mark",
    "Panel",
    "Placing",
    "Reading",
    "Scan",
    "Sheet",
    "Span",
    "Status",
    "Unread",
    "Verdict",
]

Grey: TypeAlias = NDArray[np.uint8]
"""A grey picture, shape (height, width), 0 = ink, 255 = paper."""


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
    """3×3 homography: sheet pixel (x, y, 1) → scan pixel."""
    panels: tuple[Panel, ...] = ()
    """Panels of white on black, which `image` has as black on white."""

    def as_printed(self) -> Grey:
        """The picture as printed, panels in black."""
        if not self.panels:
            return self.image
        printed = np.array(self.image)
        for panel in self.panels:
            box = panel.box
            printed[box.y : box.bottom, box.x : box.right] = panel.image
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


@dataclass(frozen=True, slots=True)
class Reading:
    """What one reader saw on one line. Words are parted by single spaces."""

    line: int
    """Number of the line read."""
    letters: tuple[Letter, ...]

    @property
    def text(self) -> str:
        """The line as read, without space at its ends."""
        return "".join(letter.text for letter in self.letters)


# ---------------------------------------------------------------------------- what was found


class Kind(StrEnum):
    """Kinds of fault, as named in the report."""

    WRONG_LETTER = "wrong-letter"
    LETTER_MISSING = "letter-missing"
    LETTER_EXTRA = "letter-extra"
    LETTERS_TRANSPOSED = "letters-transposed"
    WRONG_WORD = "wrong-word"
    WORD_MISSING = "word-missing"
    WORD_EXTRA = "word-extra"
    WORD_DOUBLED = "word-doubled"
    WORDS_TRANSPOSED = "words-transposed"
    CASE = "case"
    POINT_WRONG = "point-wrong"
    POINT_MISSING = "point-missing"
    POINT_EXTRA = "point-extra"
    SPACE_MISSING = "space-missing"
    SPACE_EXTRA = "space-extra"
    BAD_DIVISION = "bad-division"
    PARAGRAPH = "paragraph"
    MATTER_MISSING = "matter-missing"
    LINE_MISSING = "line-missing"
    LINE_DOUBLED = "line-doubled"
    LINES_TRANSPOSED = "lines-transposed"
    LINE_FOREIGN = "line-foreign"
    TURNED_SORT = "turned-sort"
    WRONG_FONT = "wrong-font"
    BROKEN_LETTER = "broken-letter"
    WORK_UP = "work-up"
    OFF_LINE = "off-line"
    HAIRLINE = "hairline"
    UNEVEN_SPACING = "uneven-spacing"
    CROOKED_LINE = "crooked-line"
    SHORT_MEASURE = "short-measure"


class Cause(StrEnum):
    """Likely causes the trade knows; only ever a hint."""

    NEIGHBOUR_KEY = "neighbouring key"
    LATE_MAT = "late mat"
    DOUBLED_KEY = "key struck twice"
    MAT_NOT_FALLEN = "mat not fallen"
    FOUL_CASE = "foul case"
    TURNED_SORT = "turned sort"
    LOOK_ALIKE = "look-alike"
    RUN_DOWN_LINE = "run-down line"
    SLUG_LEFT_IN = "slug left in twice"
    SLUG_MISPLACED = "slug in the wrong place"
    COLUMN_MISPLACED = "column in the wrong place"
    PAGE_MISPLACED = "page in the wrong place"
    OTHER_JOB = "matter of another job"


class Status(StrEnum):
    """Whether a difference is called a fault or only put to a person."""

    FAULT = "fault"
    QUERY = "query"


class Verdict(StrEnum):
    """What the report says of the whole proof."""

    CLEAN = "clean"
    """All of it was read, and nothing was found."""
    QUERIES = "queries"
    """No fault, but something for a person to settle."""
    FAULTS = "faults"
    NOT_WHOLLY_READ = "not-wholly-read"
    """No fault in what was read, but there is ink on the sheet that was not."""
    MISMATCH = "mismatch"
    UNREADABLE = "unreadable"


@dataclass(frozen=True, slots=True)
class Difference:
    """One place where the reading and the copy part, told as the trade would tell it."""

    kind: Kind
    line: int
    """Printed line where it shows. For missing lines or matter: the line it should follow
    (0 = before the first line)."""
    proof: Span
    """Letters of that line's `Reading`; empty at the gap where something is missing."""
    proof_text: str
    """What is printed there."""
    copy: Span
    """Where in `Copy.text`; empty where the copy has nothing."""
    copy_text: str
    """What the copy has there, as it should be set (compared form, one space for any white)."""
    cause: Cause | None = None
    other_lines: tuple[int, ...] = ()
    """Other printed lines concerned: the first of two doubled, the partner of a swap."""
    follows: int | None = None
    """Of lines astray: the printed line they should follow (0 = at the head). None for two lines
    that change places, and for all other kinds."""
    make_up: str = ""
    """Of lines astray that are a whole column or page: where that belongs, in plain words ("page 1
    should follow page 2"). Pages are the sheets of the proof, from 1."""
    only_query: bool = False
    """True for what only a person can settle, however plain it is in print: a word all in
    capitals where the copy has small letters may be the style of a head."""


@dataclass(frozen=True, slots=True)
class Placing:
    """Which stretch of copy a printed line holds."""

    line: int
    copy: Span | None
    """None for a line that is not in this copy."""


@dataclass(frozen=True, slots=True)
class Collation:
    """The lines laid against the copy."""

    placings: tuple[Placing, ...]
    """One a line, in order of the proof."""
    differences: tuple[Difference, ...]
    """In order of the proof."""
    waived: Mapping[str, int] = field(default_factory=dict)
    """How often each allowance was made, by the name of its rule."""
    agreement: float = 1.0
    """Share of the printed characters that the copy bears out, 0 to 1."""
    mismatch: bool = False
    """True where the sheet is plainly not of this copy; then there are no differences."""


@dataclass(frozen=True, slots=True)
class Mark:
    """How one fault is marked on the proof."""

    sign: str
    """Name of the sign in the table of marks (`proofcheck.marks`)."""
    matter: str
    """New matter to be set, written before the closing stroke; "" for a bare instruction."""
    margin: str
    """The margin as plain text: "n/", "tr", "(?)"."""
    text: str
    """Name of the mark in the text: "stroke", "line-through", "caret", "ring", …"""
    words: str
    """The instruction in plain words: "change u to n"."""


@dataclass(frozen=True, slots=True)
class Fault:
    """A difference the image bears out, or a fault of the type itself."""

    id: str
    """ "F1", "F2" … in the order of the proof."""
    kind: Kind
    line: int
    sheet: int
    box: Box
    """Where, in sheet pixels; a gap has width 0."""
    copy: Span
    copy_text: str
    proof_text: str
    mark: Mark
    certainty: float
    """Chance that it is a real fault of the type, 0 to 1."""
    status: Status
    cause: Cause | None = None
    other_lines: tuple[int, ...] = ()
    evidence: Mapping[str, float] = field(default_factory=dict)
    """What the witnesses said, by name; a witness with nothing to say is left out."""


@dataclass(frozen=True, slots=True)
class LetGo:
    """A difference between reading and copy that was not alleged, and why not."""

    kind: Kind
    line: int
    sheet: int
    box: Box
    """Where, in sheet pixels; a gap has width 0."""
    copy: Span
    copy_text: str
    proof_text: str
    """What the reader took it for."""
    certainty: float
    """Chance that it is a real fault after all, 0 to 1."""
    reason: str
    """In a few plain words, the same for all of a kind, so that they can be counted."""


@dataclass(frozen=True, slots=True)
class Unread:
    """Ink on a sheet that belongs to nothing that was read."""

    sheet: int
    box: Box
    """Round it, in sheet pixels."""
    words: str
    """Its size and place, to be said after "not read: ": "40 × 12 mm at the foot"."""
