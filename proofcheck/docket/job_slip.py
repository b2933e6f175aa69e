"""The slip that goes through the scanner before a job's proof: its number, and a code that says it.

The code is a QR code (ISO/IEC 18004, made by a library) that reads "JOB-" and the number. A slip of
the shop's own, with the same words in Code 39 or QR, serves as well.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.visible import visible
from proofcheck.base.writing import write_whole
from proofcheck.docket.record_words import details_of
from proofcheck.marks.lettering import write
from proofcheck.marks.paths import extent, moved
from proofcheck.results.marked.paint_pdf import paint_pages
from proofcheck.results.marked.parts import FAINT, TYPE, Inked, Page

if TYPE_CHECKING:
    from pathlib import Path

    from proofcheck.base.values import Grey
    from proofcheck.docket.job import Job

__all__ = ["SLIP", "slip_page", "write_job_slip"]

SLIP = "JOB-"
"""What the code on a slip begins with, so that no code in a customer's matter is taken for one."""

_WIDTH_PX, _HEIGHT_PX, _DPI = 1748, 2480, 300.0  # A5
_MARGIN_PX = 150.0
_MODULE_PX = 24
_QUIET = 4
"""Modules of white round the code (ISO/IEC 18004; from memory)."""
_MOST_LINES = 12


def write_job_slip(job: Job, path: Path | str, *, overwrite: bool = False) -> Path:
    """Write the slip as a PDF. Raises OutputError where it can't be written."""
    pages = [slip_page(job)]
    return write_whole(path, paint_pages(pages, f"Job {job.number}: slip"), overwrite=overwrite)


def slip_page(job: Job) -> Page:
    """The slip laid out: number, code, and what the docket says of the job."""
    code, quiet_px = _code(f"{SLIP}{job.number}")
    labels = [_line(f"Job {visible(job.number)}", 300.0, 58.0, TYPE)]
    top = 460
    y = top + code.shape[0] + 150.0
    for key, value in list(details_of(job))[:_MOST_LINES]:
        labels.append(_line(f"{key.capitalize()}: {visible(value)}", y, 24.0, TYPE))
        y += 72.0
    words = "Scan this before the sheets of the proof, or in one file with them."
    labels.append(_line(words, _HEIGHT_PX - 170.0, 21.0, FAINT))
    at = (int(_MARGIN_PX) - quiet_px, top)
    return Page(0, _WIDTH_PX, _HEIGHT_PX, _DPI, code, at, labels=tuple(labels))


def _line(text: str, y: float, size: float, ink: str) -> Inked:
    """One line, made smaller where it would run over the edge."""
    drawing = write(text, 0.0)
    size = min(size, (_WIDTH_PX - 2 * _MARGIN_PX) / max(extent(drawing).width, 1.0))
    return Inked(moved(drawing, by=(_MARGIN_PX, y), scale=size, flip=True), 0.1 * size, ink)


def _code(text: str) -> tuple[Grey, int]:
    """The code's picture, and how much white there is beside its dark (px)."""
    import segno

    modules = np.array([list(row) for row in segno.make_qr(text, error="q").matrix], np.uint8)
    modules = np.pad(1 - modules, _QUIET, constant_values=1)
    module_px = min(_MODULE_PX, int((_WIDTH_PX - 2 * _MARGIN_PX) / len(modules)))
    picture = np.kron(modules * 255, np.ones((module_px, module_px), np.uint8))
    return picture.astype(np.uint8), _QUIET * module_px
