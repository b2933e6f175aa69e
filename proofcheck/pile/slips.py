"""Slips with a code among the pages that a scanner lays down: which pages are of which job."""

from __future__ import annotations

from dataclasses import dataclass
from importlib.util import find_spec
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.errors import ScanError
from proofcheck.base.visible import visible
from proofcheck.docket.job_slip import SLIP
from proofcheck.sheet.scans import open_scans

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

__all__ = ["NEEDS", "Run", "can_read_codes", "job_on_slip", "runs_of", "take_pages"]

NEEDS = "slips with a code need zxing-cpp (pip install 'proofcheck[watch]')"


@dataclass(frozen=True, slots=True)
class Run:
    """Pages that follow one another in a file, with the slip that stands before them."""

    job: str
    """As the slip has it; "" where none stands before them."""
    pages: tuple[int, ...]
    """From 0; empty where nothing follows the slip."""


def can_read_codes() -> bool:
    """Whether the library that reads codes is there."""
    return find_spec("zxingcpp") is not None


def job_on_slip(image: NDArray[np.uint8]) -> str:
    """The job whose slip a page is; "" where it is none.

    Raises:
        ScanError: it bears the codes of several jobs.
    """
    import zxingcpp

    found = zxingcpp.read_barcodes(np.ascontiguousarray(image))
    jobs = {each.text[len(SLIP) :].strip() for each in found if each.text.startswith(SLIP)}
    jobs.discard("")
    if len(jobs) > 1:
        named = " and ".join(visible(job) for job in sorted(jobs))
        msg = f"the slips of jobs {named} are on one page; scan them one after the other"
        raise ScanError(msg)
    return next(iter(jobs), "")


def runs_of(path: Path) -> tuple[Run, ...]:
    """The pages of a file, parted by the slips among them.

    Raises:
        ScanError: it can't be opened, or a page bears several codes.
    """
    runs = [Run("", ())]
    for number, picture in enumerate(open_scans([path])):
        job = job_on_slip(picture.image)
        if job:
            runs.append(Run(job, ()))
        else:
            last = runs.pop()
            runs.append(Run(last.job, (*last.pages, number)))
    return tuple(run for run in runs if run.job or run.pages)


def take_pages(path: Path, pages: tuple[int, ...], out: Path) -> Path:
    """Some pages of a PDF or TIFF as a file of its own, their pixels untouched.

    Raises:
        ScanError: it is neither, or can't be taken apart.
    """
    try:
        if path.read_bytes()[:1024].find(b"%PDF-") >= 0:
            return _of_pdf(path, pages, out.with_suffix(".pdf"))
        return _of_picture(path, pages, out.with_suffix(".tif"))
    except Exception as error:
        why = f"{type(error).__name__}: {visible(str(error))[:80]}"
        msg = f"{visible(path.name)} can't be taken apart at its slips ({why}); scan them singly"
        raise ScanError(msg) from error


def _of_pdf(path: Path, pages: tuple[int, ...], out: Path) -> Path:
    import pikepdf

    with pikepdf.open(path) as whole, pikepdf.new() as part:
        for number in pages:
            part.pages.append(whole.pages[number])
        part.save(out, deterministic_id=True)
    return out


def _of_picture(path: Path, pages: tuple[int, ...], out: Path) -> Path:
    from PIL import Image

    frames = []
    with Image.open(path) as whole:
        for number in pages:
            whole.seek(number)
            frames.append(whole.copy())
        dpi = whole.info.get("dpi", (0, 0))
    more = {"dpi": dpi} if all(dpi) else {}
    frames[0].save(out, save_all=True, append_images=frames[1:], compression="tiff_lzw", **more)
    return out
