"""Measure the reading of faces it was never trained on, on proofs set and worn by ourselves.

    python -m tests.benchmark.faces FOLDER_OF_FONTS [--proofs 2] [--ways WAYS] [--out FOLDER]

FOLDER_OF_FONTS holds the font files marked "held" in tests/lab/faces.csv. Each proof is
read as set (whatever is reported is a false alarm) and again with one text fault of each kind;
proofs are pulled good and worn in turn. With --ways plain,planted,shuffled each is read a third
time with the letters of its words in any order, in setting and copy alike: if much more is reported
then, the reading leans on knowing words. (tests/lab/evaluate.py asks the same of the bare
network.)
Writes FOLDER/faces.md, and a strip of the proof for every miss and alarm.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import cv2
import numpy as np

from proofcheck import check_proof
from proofcheck.base.found import Status
from proofcheck.base.options import Options
from tests import typesetter

from .alarms import context_of
from .faceplants import Plan, forme_of, held_families, planted
from .facetables import WAYS, WEARS, FaceResult, Told, as_markdown
from .score import on_scan

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.base.found import Fault
    from proofcheck.results.report import Report
    from tests.typesetter import Expected, Forme, Proof


def read_face(held: tuple[str, dict[str, Path]], plan: Plan) -> FaceResult:
    """Every proof of one face."""
    name, files = held
    characters: Counter[str] = Counter()
    plants, alarms = [], []
    for number in range(plan.proofs):
        for way in plan.ways:
            forme = forme_of(name, files, number, plan, mix=way == "shuffled")
            if way == "planted":
                forme = planted(forme, plan.seed * 31 + number)
            characters[way] += len(" ".join(forme.copy.split()))
            found, besides = _read(name, number, way, forme, plan)
            plants += found
            alarms += besides
    return FaceResult(name, max(characters.values()), tuple(plants), tuple(alarms))


def _read(
    name: str, number: int, way: str, forme: Forme, plan: Plan
) -> tuple[list[Told], list[Told]]:
    wear = WEARS[number % len(WEARS)]
    title = f"{name}-{number + 1}-{wear}"
    proof = typesetter.print_proof(forme, misalign_pt=0.06, seed=number)
    picture, onto = typesetter.pull_mapped(proof, wear, seed=plan.seed + number)
    with tempfile.TemporaryDirectory() as folder:
        scan, copy = Path(folder) / "proof.png", Path(folder) / "copy.txt"
        cv2.imwrite(str(scan), picture)
        copy.write_text(proof.copy, encoding="utf-8")
        options = Options(type_too=False, recast=False, dpi=proof.dpi)
        report = check_proof(scan, copy, options=options)
    if report.copy.text != proof.copy:
        msg = f"{title}: the copy as loaded isn't the copy as set; places can't be compared"
        raise ValueError(msg)
    taken: set[str] = set()
    plants = []
    for at, plant in enumerate(proof.faults):
        here = [fault for fault in report.faults if _meets(fault, _anchored(plant, proof))]
        taken.update(fault.id for fault in here)
        told = _of_plant(plant, here, name, title, proof)
        plants.append(told)
        if told.found != "fault":
            line = proof.lines[plant.line - 1].box
            _strip(picture, _mapped(line, onto), plan.out / f"{title}-{told.found}-{at}.png")
    alarms = [fault for fault in report.faults if fault.id not in taken]
    for fault in alarms:
        path = plan.out / f"{title}-{way}-alarm-{fault.id}.png"
        _strip(picture, _widened(on_scan(report, fault)), path)
    return plants, [_of_alarm(fault, report, name, title, way) for fault in alarms]


def _anchored(plant: Expected, proof: Proof) -> Expected:
    """The plant with a place in the copy: one put in at a line's very end stands at its end."""
    held = proof.lines[plant.line - 1].copy
    return replace(plant, copy_at=held[1]) if plant.copy_at < 0 and held else plant


def _meets(fault: Fault, plant: Expected) -> bool:
    """Whether the fault is told where the plant is, give or take what was put in and a letter."""
    slack = len(plant.printed) + 2
    start, end = plant.copy_at, plant.copy_at + len(plant.copy)
    return fault.copy.start <= end + slack and fault.copy.end >= start - slack


def _of_plant(plant: Expected, here: Sequence[Fault], name: str, title: str, proof: Proof) -> Told:
    if any(fault.status is Status.FAULT for fault in here):
        found = "fault"
    else:
        found = "query" if here else "missed"
    said = ", ".join(sorted({str(fault.kind) for fault in here}))
    context = proof.lines[plant.line - 1].text
    return Told(name, title, "planted", found, plant.kind, plant.printed, plant.copy, said, context)


def _of_alarm(fault: Fault, report: Report, name: str, title: str, way: str) -> Told:
    context = context_of(report.copy.text, *fault.copy)
    said, kind = f"certainty {fault.certainty:.2f}", str(fault.kind)
    return Told(name, title, way, str(fault.status), kind, fault.proof_text, fault.copy_text, said,
                context)  # fmt: skip


def _mapped(
    box: tuple[float, float, float, float], onto: NDArray[np.float64]
) -> tuple[float, float, float, float]:
    x, y, width, height = box
    corners = np.array(
        [(x, y, 1), (x + width, y, 1), (x, y + height, 1), (x + width, y + height, 1)]
    )
    at = (onto @ corners.T)[:2]
    return (*at.min(axis=1), *at.max(axis=1))


def _widened(box: tuple[float, float, float, float]) -> tuple[float, float, float, float]:
    return box[0] - 150, box[1], box[2] + 150, box[3]


def _strip(picture: NDArray[np.uint8], box: tuple[float, float, float, float], path: Path) -> None:
    left, top, right, bottom = (round(v) for v in box)
    part = picture[max(top - 12, 0) : bottom + 12, max(left - 12, 0) : right + 12]
    if part.size:
        cv2.imwrite(str(path), part)


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmark.faces", description=__doc__)
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.add_argument("fonts", type=Path, help="folder of the font files")
    parser.add_argument("--proofs", type=int, default=2, help="proofs of each face (%(default)s)")
    parser.add_argument("--words", type=int, default=260, help="words to a proof (%(default)s)")
    parser.add_argument("--faces", default="", help="only these families, parted by commas")
    parser.add_argument("--ways", default="plain,planted", help="of %(default)s,shuffled")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=1, help="faces read at a time")
    parser.add_argument("--out", type=Path, default=Path("build/faces"))
    return parser.parse_args()


def main() -> None:
    given = _arguments()
    ways = tuple(given.ways.split(","))
    if not set(ways) <= set(WAYS):
        sys.exit(f"--ways takes {', '.join(WAYS)}")
    wanted = set(filter(None, given.faces.split(",")))
    held = {n: f for n, f in held_families(given.fonts).items() if not wanted or n in wanted}
    lacking = sorted(str(p) for files in held.values() for p in files.values() if not p.exists())
    if lacking or not held:
        sys.exit(f"no such face, or font files missing: {', '.join(lacking) or given.faces}")
    given.out.mkdir(parents=True, exist_ok=True)
    plan = Plan(given.words, given.proofs, given.seed, ways, given.out)
    read = partial(read_face, plan=plan)
    results = []
    with ProcessPoolExecutor(given.jobs) as pool:
        for result in pool.map(read, held.items()):
            results.append(result)
            told = Counter(t.found for t in result.plants)
            print(f"{result.face}: {dict(told)}, {len(result.alarms)} alarms", file=sys.stderr)
            (given.out / "faces.md").write_text(as_markdown(results, plan), encoding="utf-8")
    print(as_markdown(results, plan))


if __name__ == "__main__":
    main()
