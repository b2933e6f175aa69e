"""The pictures of a proof's sheets made again from its scans, for a report read from a record."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.errors import RecordError
from proofcheck.base.values import Panel
from proofcheck.base.visible import visible
from proofcheck.sheet.clean import clean_sheet
from proofcheck.sheet.insets import sideways_parts, with_insets
from proofcheck.sheet.lifting import lift
from proofcheck.sheet.orient import turned
from proofcheck.sheet.panels import open_known
from proofcheck.sheet.scans import open_scans
from proofcheck.sheet.shelf import shelve
from proofcheck.sheet.solid_places import solid_boxes

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from proofcheck.base.values import Box, Sheet
    from proofcheck.results.report import Report
    from proofcheck.sheet.scans import Picture

__all__ = ["with_pictures"]


def with_pictures(report: Report, scans: Sequence[Path]) -> Report:
    """The report with the pictures of its sheets, made clean again as they were; nothing is read.

    Args:
        report: as read from a record.
        scans: the files its proof was read from, by whatever names they have now.

    Raises:
        ScanError: a scan can't be opened.
        RecordError: a scan is not the one that was read, or is now made clean in another way.
    """
    dpi = report.provenance.settings.get("dpi")
    asked = float(dpi) if isinstance(dpi, int | float) and dpi else None
    wanted = {(s.scan.sha256, s.scan.page, s.number): s for s in report.sheets}
    made: dict[int, Sheet] = {}
    for picture in open_scans(scans):
        scan = picture.scan
        for (sha256, page, number), sheet in wanted.items():
            if (sha256, page) == (scan.sha256, scan.page) and number not in made:
                made[number] = shelve(_again(sheet, picture, asked, report.copy.text))
    missing = next((s for s in report.sheets if s.number not in made), None)
    if missing is not None:
        name, sha256 = visible(missing.scan.name), visible(missing.scan.sha256[:12])
        msg = (
            f"none of these scans is sheet {missing.number + 1} of the record ({name}, "
            f"SHA-256 {sha256}…); give the files that were read"
        )
        raise RecordError(msg)
    return replace(report, sheets=tuple(made[sheet.number] for sheet in report.sheets))


def _again(sheet: Sheet, picture: Picture, dpi: float | None, copy_text: str) -> Sheet:
    """The sheet of the record with its picture. Raises RecordError where it is made otherwise."""
    clean = clean_sheet(picture, sheet.number, dpi=dpi)
    turn = _turn(clean, sheet)
    if sheet.panels:
        known = {panel.box for panel in sheet.panels}
        boxes = solid_boxes(clean)
        marked = replace(clean, panels=tuple(Panel(box, clean.image[:1, :1]) for box in boxes))
        lying = [panel.box for panel in turned(marked, turn, sheet.mirrored).panels]
        there = {box for box, now in zip(boxes, lying, strict=True) if now in known}
        clean = open_known(clean, there)
    made = turned(clean, turn, sheet.mirrored) if turn or sheet.mirrored else clean
    made = lift(made, copy_text) if sheet.lifted else made
    if {inset.home for inset in sheet.insets} <= {part.box for part in sideways_parts(made)}:
        # A measure given may have made the resolution another after that.
        made = replace(made, dpi=sheet.dpi)
        made = with_insets(made, [(inset.home, inset.turned_deg) for inset in sheet.insets])
    same = (
        made.image.shape == sheet.image.shape
        and np.allclose(made.to_scan, sheet.to_scan, rtol=1e-6, atol=1e-6)
        and _boxes(made) == _boxes(sheet)
    )
    if not same:
        msg = (
            f"{visible(picture.scan.name)} is made clean otherwise here than when it was read; "
            "read it again"
        )
        raise RecordError(msg)
    return replace(sheet, image=made.image, panels=made.panels, lifted=made.lifted)


def _boxes(sheet: Sheet) -> list[Box]:
    insets = [inset.box for inset in sheet.insets]
    return [*(panel.box for panel in sheet.panels), *(part.box for part in sheet.lifted), *insets]


def _turn(clean: Sheet, sheet: Sheet) -> int:
    """How far the clean sheet was turned on, clockwise, to read."""
    before = -clean.turned_deg if sheet.mirrored else clean.turned_deg
    return (sheet.turned_deg - before) % 360
