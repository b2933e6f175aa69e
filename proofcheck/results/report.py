"""The report: all that was found, with what it was made from."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from importlib import metadata
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.found import Collation, Status, Verdict
from proofcheck.base.values import Box, Copy

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from proofcheck.base.found import Fault, LetGo, Unread
    from proofcheck.base.values import Line, Reading, Sheet, Span
    from proofcheck.recast.change import Recast
    from proofcheck.recast.plan import RecastPlan

__all__ = [
    "Counts",
    "Provenance",
    "Report",
    "exit_status",
    "program_version",
    "scan_box",
    "verdict_of",
    "wholly_read",
]

_ROUNDING_PX = 1e-6
"""Slack below which a mapped edge counts as lying on a whole pixel (float noise of the map)."""


def program_version() -> str:
    """Version of the installed package; "unknown" when it runs from a folder uninstalled."""
    try:
        return metadata.version("proofcheck")
    except metadata.PackageNotFoundError:
        return "unknown"


@dataclass(frozen=True, slots=True)
class Provenance:
    """With what the proof was read: enough to read it again the same way."""

    reader: str
    """Name of the reader whose letters were collated ("letters", "ocr")."""
    reader_version: str = ""
    """Version of its engine or of its weights."""
    version: str = field(default_factory=program_version)
    """Version of proofcheck."""
    settings: Mapping[str, str | int | float | bool | None] = field(default_factory=dict)
    """Settings that bore on the result, by name."""
    program: str = ""
    """Hash of the very program (`program_hash`); "" where it was not said."""


@dataclass(frozen=True, slots=True)
class Counts:
    """How many of each standing."""

    faults: int
    queries: int
    stand: int = 0
    """Let stand, by a person's decision."""


@dataclass(frozen=True, slots=True, eq=False)
class Report:
    """All that was found on one proof, and what it was made from."""

    verdict: Verdict
    sheets: tuple[Sheet, ...]
    copy: Copy
    lines: tuple[Line, ...]
    readings: tuple[Reading, ...]
    """What the reader saw, one a line; a line that could not be read may be left out."""
    collation: Collation
    faults: tuple[Fault, ...]
    """Faults and queries in the order of the proof."""
    provenance: Provenance
    recast: tuple[Recast, ...] = ()
    """The new slugs, each with what it replaces."""
    warnings: tuple[str, ...] = ()
    """What a person should know of how the proof was taken, one line each."""
    plan: RecastPlan | None = None
    """The whole plan of recasting, of which `recast` is a part; None where none was made."""
    let_go: tuple[LetGo, ...] = ()
    """What was read otherwise than the copy has it and not alleged, in the order of the proof."""
    unread: tuple[Unread, ...] = ()
    """Ink that belongs to nothing that was read."""

    @property
    def judged(self) -> bool:
        """Whether the proof was laid against its copy: so marks can be drawn on it."""
        return self.verdict not in {Verdict.MISMATCH, Verdict.UNREADABLE}

    @property
    def pictured(self) -> bool:
        """Whether the pictures of its sheets are at hand; not so for one read from a record."""
        return all(sheet.pictured for sheet in self.sheets)

    @property
    def counts(self) -> Counts:
        """Faults and queries, and what a person has let stand, counted apart."""
        found = Counter(fault.status for fault in self.faults)
        return Counts(found[Status.FAULT], found[Status.QUERY], found[Status.STAND])

    def line(self, number: int) -> Line | None:
        """The printed line of that number, if there is one (0 is before the first)."""
        return next((line for line in self.lines if line.number == number), None)

    def reading(self, number: int) -> Reading | None:
        """What was read on the line of that number, if anything."""
        return next((reading for reading in self.readings if reading.line == number), None)

    def placed(self, number: int) -> Span | None:
        """The stretch of copy that the line of that number holds, if any."""
        return next((p.copy for p in self.collation.placings if p.line == number), None)


def verdict_of(
    faults: Iterable[Fault],
    *,
    mismatch: bool = False,
    readable: bool = True,
    wholly_read: bool = True,
) -> Verdict:
    """What to say of the whole proof: clean only if all was read and nothing is left to settle."""
    if not readable:
        return Verdict.UNREADABLE
    if mismatch:
        return Verdict.MISMATCH
    found = {fault.status for fault in faults} - {Status.STAND}
    if Status.FAULT in found:
        return Verdict.FAULTS
    if not wholly_read:
        return Verdict.NOT_WHOLLY_READ
    return Verdict.QUERIES if found else Verdict.CLEAN


def wholly_read(unread: Sequence[Unread], *, unfit: bool) -> bool:
    """Whether all was read; `unfit` lets ink on a sheet pass, but no sheet that was left out."""
    return not (any(each.whole_sheet for each in unread) if unfit else unread)


def exit_status(report: Report) -> int:
    """Exit status as with `diff`: 0 nothing found, 1 faults or queries, 2 not (wholly) judged."""
    found = {Verdict.CLEAN: 0, Verdict.QUERIES: 1, Verdict.FAULTS: 1}
    return found.get(report.verdict, 2)


def scan_box(sheet: Sheet, box: Box) -> Box:
    """The box in the scan's own pixels: upright, round its four mapped corners, clipped.

    The map takes pixel centres to pixel centres, so that edges lie half a pixel before them. A
    gap (width 0) stays a gap where the map keeps it upright.
    """
    x, y, right, bottom = box.x - 0.5, box.y - 0.5, box.right - 0.5, box.bottom - 0.5
    corners = np.array([(x, y, 1.0), (right, y, 1.0), (right, bottom, 1.0), (x, bottom, 1.0)])
    mapped = corners @ sheet.map_at(box).T
    points = mapped[:, :2] / mapped[:, 2:] + 0.5
    lows = np.floor(points.min(axis=0) + _ROUNDING_PX)
    highs = np.ceil(points.max(axis=0) - _ROUNDING_PX)
    size = np.array([sheet.scan.width_px, sheet.scan.height_px])
    lows, highs = np.clip(lows, 0, size), np.clip(highs, 0, size)
    left, top = int(lows[0]), int(lows[1])
    return Box(left, top, max(0, int(highs[0]) - left), max(0, int(highs[1]) - top))
