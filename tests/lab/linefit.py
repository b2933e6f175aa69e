"""How what a line says of a letter and what its fellows say are taken together.

    python -m tests.lab.linefit FONTS_FOLDER [--seed 3] [--sheets 30] [--broken 1.0]

Sets and reads bills of many faces (`tests.benchmark.displayfounts`), half of them with letters of
other faces, or broken ones, put in, and fits the weights of the module `in_line` by logistic
regression: of another fount, or of broken. Prints them, and how many planted and sound letters have
so much.
"""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path
from typing import NamedTuple

import cv2
import numpy as np
from scipy.optimize import minimize

from proofcheck import check_proof
from proofcheck.base.errors import ProofcheckError
from proofcheck.base.options import Options
from proofcheck.metal.by_line import NOT_ASKED, by_line
from proofcheck.metal.context import Matter
from proofcheck.metal.findings import MetalSettings
from proofcheck.metal.judged import judge
from tests.benchmark.displayfounts import Put, make_one

_OWN, _LINE = 8.0, 9.0
_HELD = 0.05
"""Of the sum of squared weights, taken from the likelihood."""
_LEVELS = (-2.0, -1.0, 0.0, 1.0, 2.0, 3.0)


class _Letter(NamedTuple):
    """A letter that its line was asked about."""

    planted: bool
    fellows: bool
    own: float
    line: float


def _letters(seed: int, fonts: Path, *, wrong: bool, broken: float) -> list[_Letter]:
    """The letters of one sheet."""
    forme, put, image = make_one(seed, fonts, wrong=wrong, broken=broken)
    with tempfile.TemporaryDirectory() as folder:
        scan = Path(folder) / "bill.png"
        cv2.imwrite(str(scan), image)
        copy = scan.with_suffix(".txt")
        copy.write_text(forme.copy, encoding="utf-8")
        try:
            report = check_proof(scan, copy, options=Options(dpi=300, recast=False))
        except ProofcheckError:
            return []
    matter = Matter.of(
        report.sheets, report.lines, report.readings, report.collation, report.copy,
        MetalSettings(),
    )  # fmt: skip
    judged = judge(matter)
    said = by_line(matter, range(len(matter.lines)))
    line = said.broken if broken else said.other
    planted = {place for each in put if (place := _place(matter, each)) is not None}
    fount = matter.fount
    return [
        _Letter(
            (int(fount.line[n]), int(fount.at[n])) in planted,
            bool(np.isfinite(fount.unlike[n])),
            float(judged.own_odds[n]),
            float(line[n]),
        )
        for n in np.flatnonzero((said.other > NOT_ASKED) & matter.borne_out).tolist()
    ]


def _place(matter: Matter, put: Put) -> tuple[int, int] | None:
    """Row and letter of what was put in; None where its word was read otherwise."""
    rows = [
        (abs(row - put.line + 1), row)
        for row, reading in enumerate(matter.readings)
        if put.word in reading.text.split() and abs(row - put.line + 1) <= 1
    ]
    if not rows:
        return None
    row = min(rows)[1]
    return row, matter.readings[row].text.find(put.word) + put.letter


def _fitted(letters: list[_Letter]) -> np.ndarray:  # type: ignore[type-arg]
    shown = np.array(
        [[np.clip(e.own, -_OWN, _OWN), np.clip(e.line, -_LINE, _LINE), 1.0] for e in letters]
    )
    sign = np.where([e.planted for e in letters], 1.0, -1.0)

    def loss(weights: np.ndarray) -> float:  # type: ignore[type-arg]
        likelihood = np.logaddexp(0, -sign * (shown @ weights)).sum()
        return float(likelihood + _HELD * (weights[:2] ** 2).sum())

    return np.asarray(minimize(loss, np.zeros(3)).x)


def main() -> None:
    """Set, read, fit, print."""
    parser = argparse.ArgumentParser(prog="python -m tests.lab.linefit")
    parser.add_argument("fonts", type=Path)
    parser.add_argument("--seed", type=int, nargs="+", default=[3])
    parser.add_argument("--sheets", type=int, default=30, help="for each seed")
    parser.add_argument("--broken", type=float, default=0.0, help="share of broken letters")
    given = parser.parse_args()
    letters = [
        letter
        for seed in given.seed
        for n in range(given.sheets)
        for letter in _letters(1000 * seed + n, given.fonts, wrong=n % 2 == 0, broken=given.broken)
    ]
    fellows = [each for each in letters if each.fellows]
    weights = _fitted(fellows)
    print("weights of fellows and line, and the beginning:", np.round(weights, 3))
    odds = [
        float(weights @ (np.clip(e.own, -_OWN, _OWN), np.clip(e.line, -_LINE, _LINE), 1.0))
        for e in fellows
    ]
    alone = [each for each in letters if not each.fellows]
    for name, held, values in (
        ("with fellows, log odds", fellows, odds),
        ("without, what the line says", alone, [each.line for each in alone]),
    ):
        for level in _LEVELS:
            past = [e.planted for e, value in zip(held, values, strict=True) if value > level]
            planted = sum(each.planted for each in held)
            print(
                f"{name} over {level}: {sum(past)} of {planted} planted, "
                f"{len(past) - sum(past)} of {len(held) - planted} sound"
            )


if __name__ == "__main__":
    main()
