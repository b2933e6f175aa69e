"""Read one page in each of the four ways, and keep what came of it."""

from __future__ import annotations

import dataclasses
import tempfile
import time
import zlib
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import cv2
from PIL import Image

from proofcheck import check_proof
from proofcheck.base.errors import ProofcheckError
from proofcheck.copytext import load_copy

from .alarms import Alarm, alarms_of, load_true_differences
from .copyplants import plant_in_copy
from .linemoves import LINE_KINDS, plant_line
from .pages import load_grey
from .planting import plant_in_image
from .score import Outcome, found_anyway, outcomes
from .standing import study

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.options import Options
    from proofcheck.base.values import Grey
    from proofcheck.results.report import Report

    from .pages import Page
    from .planting import Plant
    from .standing import Standing
    from .wearing import Wear

__all__ = ["WAYS", "PageResult", "Plan", "options_for", "run_page", "save_worn"]

WAYS = ("printed", "copy", "image", "lines")
"""As printed; faults planted in the copy; letters moved; lines moved."""


@dataclass(frozen=True, slots=True)
class Plan:
    """What is done with every page."""

    ways: tuple[str, ...]
    options: Options
    weights: Path | None
    """A file, or a folder of BOOK.onnx."""
    wear: Wear
    seed: int


@dataclass(slots=True)
class PageResult:
    """What came of one page."""

    book: str
    page: str
    characters: int
    outcomes: list[Outcome] = field(default_factory=list)
    alarms: list[Alarm] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)
    """Way and reason, where it would not be read."""
    seconds: float = 0.0
    """Of reading it as printed."""


def options_for(plan: Plan, book: str) -> Options:
    """The options for one book; its own weights, never trained on it, where there is a folder.

    Raises:
        FileNotFoundError: the folder has none for this book.
    """
    weights = plan.weights
    if weights is not None and weights.is_dir():
        weights = weights / f"{book}.onnx"
        if not weights.exists():
            msg = f"no weights {weights}"
            raise FileNotFoundError(msg)
    return dataclasses.replace(plan.options, weights=weights)


def run_page(page: Page, plan: Plan) -> PageResult:
    """Read one page in every way of the plan."""
    cv2.setNumThreads(1)
    result = PageResult(page.book, page.name, len(" ".join(page.text.split())))
    image, plain = load_grey(page), None
    if "printed" in plan.ways:
        start = time.perf_counter()
        plain = _read(image, page.text, page, plan, result, "printed")
        result.seconds = time.perf_counter() - start
        if plain:
            listed = load_true_differences().get(page.name, [])
            result.alarms = alarms_of(plain, page.book, page.name, listed)
    if set(plan.ways) - {"printed"}:
        standing = study(image, page.text)
        for way, picture, text, plants in _planted(standing, page, plan):
            report = _read(picture, text, page, plan, result, way)
            if report:
                scale = plan.wear.scale
                found = outcomes(report, plants, way, page.book, page.name, scale)
                chance = found_anyway(plain, plants, scale) if plain else [False] * len(plants)
                result.outcomes += [
                    dataclasses.replace(outcome, by_chance=anyway)
                    for outcome, anyway in zip(found, chance, strict=True)
                ]
    return result


def _planted(
    standing: Standing, page: Page, plan: Plan
) -> list[tuple[str, Grey, str, Sequence[Plant]]]:
    seed = zlib.crc32(f"{plan.seed} {page.name}".encode())
    found: list[tuple[str, Grey, str, Sequence[Plant]]] = []
    if "copy" in plan.ways:
        text, plants = plant_in_copy(standing, seed)
        found.append(("copy", standing.image, text, plants))
    if "image" in plan.ways:
        picture, plants = plant_in_image(standing, seed)
        found.append(("image", picture, page.text, plants))
    if "lines" in plan.ways:
        planted = plant_line(standing, LINE_KINDS[seed % len(LINE_KINDS)], seed)
        if planted:
            found.append(("lines", planted[0], page.text, [planted[1]]))
    return found


def save_worn(picture: Grey, page: Page, wear: Wear, path: Path) -> None:
    """Write a page as the scanner of this run would have seen it."""
    worn = wear.worn(picture, zlib.crc32(page.name.encode()))
    tag = {"dpi": (wear.dpi, wear.dpi)} if page.tagged else {}
    Image.fromarray(worn).save(path, **tag)


def _read(
    picture: Grey, text: str, page: Page, plan: Plan, result: PageResult, way: str
) -> Report | None:
    with tempfile.TemporaryDirectory() as folder:
        scan, copy = Path(folder) / "page.png", Path(folder) / "copy.txt"
        save_worn(picture, page, plan.wear, scan)
        copy.write_text(text, encoding="utf-8", newline="")
        try:
            return check_proof([scan], load_copy(copy), options=options_for(plan, page.book))
        except ProofcheckError as error:
            result.refused.append(f"{way}: {type(error).__name__}: {error}")
            return None
