"""The letters of pages, cut out as the product cuts them, for the comparer to learn from.

    python -m tests.lab.cutting FOLDER PAGE.png … [--processes N]

Beside each page lies its text (same name, `.txt`). Every page is read, and the letters that surely
are what they were read as are kept: FOLDER/PAGE.cut.npz.
"""

from __future__ import annotations

import argparse
import logging
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path

import cv2
import numpy as np

from proofcheck import check_proof
from proofcheck.base.errors import ProofcheckError
from proofcheck.base.options import Options
from proofcheck.metal.context import Matter
from proofcheck.metal.findings import MetalSettings
from tests.lab.page_cut import PageCut

__all__ = ["cut_page"]

_CALM = 1.2
_log = logging.getLogger(__name__)


def cut_page(page: Path, folder: Path) -> int:
    """Read a page and keep its letters; how many there are, 0 where it can't be read."""
    cv2.setNumThreads(1)
    options = Options(second_look=False, type_too=False, recast=False)
    try:
        report = check_proof(page, page.with_suffix(".txt"), options=options)
    except ProofcheckError as error:
        _log.warning("%s: %s", page.name, error)
        return 0
    if report.collation.mismatch:
        return 0
    matter = Matter.of(
        report.sheets, report.lines, report.readings, report.collation, report.copy,
        MetalSettings(),
    )  # fmt: skip
    fount = matter.fount
    calm = matter.borne_out & matter.cut_true & (matter.oddness_beside < _CALM)
    held = np.flatnonzero(calm)
    PageCut(
        np.round(255 * fount.cut.ink[held]).astype(np.uint8),
        fount.cut.half_width[held],
        fount.text[held],
        matter.body_x_height,
    ).save(folder / f"{page.stem}.cut.npz")
    return len(held)


def main() -> None:
    """Cut every page."""
    parser = argparse.ArgumentParser(prog="python -m tests.lab.cutting")
    parser.add_argument("folder", type=Path)
    parser.add_argument("pages", type=Path, nargs="+")
    parser.add_argument("--processes", type=int, default=2)
    given = parser.parse_args()
    logging.basicConfig(level=logging.INFO, format="%(message)s")
    given.folder.mkdir(parents=True, exist_ok=True)
    with ProcessPoolExecutor(given.processes) as pool:
        letters = sum(pool.map(partial(cut_page, folder=given.folder), given.pages))
    _log.info("%d pages, %d letters", len(given.pages), letters)


if __name__ == "__main__":
    main()
