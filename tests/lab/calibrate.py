"""Fit the certainty on pages whose text is known, and show that it means what it says.

    python -m tests.lab.calibrate PATH/TO/scans [--pages 6] [--weights FOLDER] [--write]

Every difference of a page, however doubtful, is a row: of a page as printed it is a slip of the
reading (unless listed by name as a true difference), of a page with planted faults it is real
where it meets a plant. A "slip" that the picture bears out by more than 20 nats is none: looked at
one by one they were names and figures of lists set in another order than the text has them, and
true differences not listed yet; they are left out here, and counted as false alarms in the
benchmark. Real faults are weighed so that there is one in 1,000 characters, about
what a first proof holds. The certainty of each book is taken from a model fitted without it; the
table printed is of those. With --write the model fitted on all books goes into the package.
"""

from __future__ import annotations

import argparse
import itertools
import json
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import minimize

from proofcheck.base.options import READERS, Options
from proofcheck.weigh.calibration import FEATURES, features_of
from proofcheck.weigh.evidence import Evidence
from tests.benchmark.alarms import alarms_of, load_true_differences
from tests.benchmark.pages import is_for_fitting, load_grey, pages_in, sampled
from tests.benchmark.running import PageResult, Plan, _planted, _read
from tests.benchmark.score import _in_copy, _meets, _x_height, on_scan
from tests.benchmark.standing import study
from tests.benchmark.wearing import SCAN_DPI, Wear

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.base.found import Fault
    from proofcheck.results.report import Report
    from tests.benchmark.pages import Page
    from tests.benchmark.planting import Plant

FAULTS_PER_CHARACTER = 1 / 1000
"""How many faults a first proof holds; common practice: one or two in a galley of prose."""
NO_SLIP_NATS = 20.0
EDGES = (0.0, 0.02, 0.05, 0.2, 0.5, 0.8, 0.9, 0.95, 0.98, 1.0)
PENALTY = 0.02
"""Holds the weights of witnesses that rarely speak near 0."""
CALIBRATION = Path(__file__).parents[2] / "proofcheck" / "weigh" / "calibration.json"


@dataclass(frozen=True, slots=True)
class Row:
    """One difference with what is true of it."""

    book: str
    features: tuple[float, ...]
    real: bool
    kind: str
    printed: str
    wanted: str


def rows_of_page(page: Page, plan: Plan) -> tuple[str, int, list[Row]]:
    """Book, characters as printed, and a row for each difference that can be labelled."""
    result = PageResult(page.book, page.name, len(" ".join(page.text.split())))
    image = load_grey(page)
    rows = []
    plain = _read(image, page.text, page, plan, result, "printed")
    if plain:
        listed = load_true_differences().get(page.name, [])
        alarms = alarms_of(plain, page.book, page.name, listed)
        rows += [
            _row(page, fault, real=False)
            for fault, alarm in zip(plain.faults, alarms, strict=True)
            if fault.evidence
            and not alarm.listed
            and fault.evidence.get("ratio", 0.0) < NO_SLIP_NATS
        ]
    for way, picture, text, plants in _planted(study(image, page.text), page, plan):
        report = _read(picture, text, page, plan, result, way)
        if report:
            rows += [
                _row(page, fault, real=True)
                for fault in report.faults
                if fault.evidence and _is_planted(report, fault, plants, plan.wear.scale)
            ]
    return page.book, result.characters, rows


def _row(page: Page, fault: Fault, *, real: bool) -> Row:
    said = fault.evidence
    evidence = Evidence(
        said.get("ratio"),
        said.get("second-look"),
        said.get("own-letters"),
        said.get("certainty-read", 0.0),
    )
    features = features_of(fault, evidence)
    return Row(page.book, features, real, str(fault.kind), fault.proof_text, fault.copy_text)


def _is_planted(report: Report, fault: Fault, plants: Sequence[Plant], scale: float) -> bool:
    box, size = on_scan(report, fault), _x_height(report)
    return any(
        fault.kind in plant.kinds
        and (_meets(box, plant.box, scale, size) or _in_copy(fault, plant))
        for plant in plants
    )


def fitted(
    rows: Sequence[Row], characters: int
) -> tuple[float, NDArray[np.float64], NDArray[np.float64]]:
    """Bias and weights of a logistic model, and the weight each row was given."""
    x = np.array([row.features for row in rows])
    y = np.array([row.real for row in rows], float)
    weight = np.where(y > 0, characters * FAULTS_PER_CHARACTER / max(y.sum(), 1.0), 1.0)

    def loss(parts: NDArray[np.float64]) -> tuple[float, NDArray[np.float64]]:
        score = parts[0] + x @ parts[1:]
        chance = 1 / (1 + np.exp(-np.clip(score, -40, 40)))
        grade = weight * (chance - y)
        value = float(np.sum(weight * (np.logaddexp(0, score) - y * score)))
        value += PENALTY * float(parts[1:] @ parts[1:])
        return value, np.concatenate([[grade.sum()], x.T @ grade + 2 * PENALTY * parts[1:]])

    best = minimize(loss, np.zeros(x.shape[1] + 1), jac=True, method="L-BFGS-B").x
    return float(best[0]), best[1:], weight


def reliability(rows: Sequence[Row], characters: dict[str, int]) -> str:
    """Table of certainty given against share that was real, each book by the others' model."""
    given, real, weights = [], [], []
    for book in sorted({row.book for row in rows}):
        others = [row for row in rows if row.book != book]
        bias, parts, _ = fitted(others, sum(n for b, n in characters.items() if b != book))
        own = [row for row in rows if row.book == book]
        planted = sum(row.real for row in own)
        for row in own:
            score = bias + float(np.dot(parts, row.features))
            given.append(1 / (1 + np.exp(-score)))
            real.append(row.real)
            share = characters[book] * FAULTS_PER_CHARACTER / max(planted, 1)
            weights.append(share if row.real else 1.0)
    lines = ["| certainty given | differences | real, of these |", "|---|---|---|"]
    at, is_real, weight = np.array(given), np.array(real), np.array(weights)
    for low, high in itertools.pairwise(EDGES):
        here = (at >= low) & (at < high if high < 1 else at <= 1)
        if here.any():
            share = np.sum(weight[here] * is_real[here]) / np.sum(weight[here])
            lines.append(f"| {low:.2f} to {high:.2f} | {int(here.sum())} | {share:.1%} |")
    return "\n".join(lines)


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.lab.calibrate")
    parser.add_argument("scans", type=Path)
    parser.add_argument("--pages", type=int, default=6, help="at most so many of each book")
    parser.add_argument("--books", default="")
    parser.add_argument("--reader", choices=READERS, default="letters")
    parser.add_argument("--weights", type=Path)
    parser.add_argument("--seed", type=int, default=11, help="another than the benchmark's")
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--rows", type=Path, help="keep the rows here, as JSON")
    parser.add_argument("--write", action="store_true", help="put the model into the package")
    given = parser.parse_args()
    options = replace(Options(), reader=given.reader, query_certainty=0.0)
    plan = Plan(
        ("printed", "copy", "image"),
        options,
        given.weights,
        Wear(SCAN_DPI, noise=False),
        given.seed,
    )
    books = set(filter(None, given.books.split(",")))
    held = [page for page in pages_in(given.scans) if is_for_fitting(page)]
    pages = sampled(held, given.pages, given.seed, books)
    rows: list[Row] = []
    characters: dict[str, int] = {}
    with ProcessPoolExecutor(given.jobs) as pool:
        for book, count, found in pool.map(partial(rows_of_page, plan=plan), pages):
            characters[book] = characters.get(book, 0) + count
            rows += found
    if given.rows:
        given.rows.write_text(
            json.dumps([[r.book, r.features, r.real, r.kind, r.printed, r.wanted] for r in rows])
        )
    print(reliability(rows, characters))
    bias, weights, _ = fitted(rows, sum(characters.values()))
    model = {
        "bias": round(bias, 4),
        "fitted_on": f"{len(pages)} pages of {len(characters)} books, "
        f"{sum(row.real for row in rows)} planted faults, "
        f"{sum(not row.real for row in rows)} slips of the reading",
        "weights": {name: round(float(w), 4) for name, w in zip(FEATURES, weights, strict=True)},
    }
    print(json.dumps(model, indent=1))
    if given.write:
        held = json.loads(CALIBRATION.read_text())
        held[given.reader] = model
        CALIBRATION.write_text(json.dumps(held, indent=1) + "\n")


if __name__ == "__main__":
    main()
