"""Read job work set by another typesetter: what is found, what is lost, what is alleged wrongly.

    python -m tests.benchmark.jobs PATH/TO/jobs [--names a,b] [--pulled photo|worn] [--json FILE]

Each job is a picture that is right (NAME.jpg), one with faults (NAME-faults.jpg), its copy
(NAME.txt), the faults put in (NAME-faults.json: kind, place in the copy, wanted, printed) and a row
in list.tsv with its class. A fault is found where an entry of a like extent meets its place within
two characters, drowned where only a far wider one covers it; the share of the copy's letters that
no line read bears is lost, but for lines that were put in as dropped: they are not printed. Prints
a row a job and a table by class; --json keeps what was said, --earlier FILE lays it beside that.
--pulled photo takes a picture of each by hand on a bench, in the computer; --pulled worn prints
each once more, from starved and battered type.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
import zlib
from collections import defaultdict
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass, field
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import cv2

from proofcheck import check_proof
from proofcheck.base.errors import ProofcheckError
from proofcheck.base.kinds import Group, Kind, of_group
from proofcheck.base.options import Options
from tests.typesetter.photo import photograph
from tests.typesetter.printing import Proof
from tests.typesetter.wear import pull

if TYPE_CHECKING:
    from proofcheck.results.report import Report

METAL = of_group(Group.TYPE, Group.RULES) | {Kind.TURNED_SORT}

NEAR = 2
"""Characters within which an entry and a planted fault meet."""
WIDER = 12
"""Characters by which an entry may be longer than what was planted and still point at it."""


@dataclass(slots=True)
class Told:
    """What came of one job: its sound sheet and the one with faults."""

    name: str
    kind: str
    characters: int
    verdicts: list[str] = field(default_factory=list)
    lost: list[float] = field(default_factory=list)
    text: list[str] = field(default_factory=list)
    """Faults of the text alleged of the sound sheet."""
    queries: list[str] = field(default_factory=list)
    metal: list[str] = field(default_factory=list)
    """Faults and queries of the type alleged of it."""
    planted: int = 0
    found: int = 0
    drowned: int = 0
    missed: list[str] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)


PHOTO_WIDTH_PX = 3000
"""Of the picture's shorter side, as a phone of twelve million pixels takes it."""


def as_pulled(scan: Path, pulled: str, folder: Path) -> Path:
    """The sheet as given, photographed, or printed once more from worn type."""
    if not pulled:
        return scan
    sheet = cv2.imread(str(scan), cv2.IMREAD_GRAYSCALE)
    seed = zlib.crc32(scan.stem.encode())
    if pulled == "photo":
        image = photograph(sheet, seed=seed, width_px=PHOTO_WIDTH_PX).image
    else:
        image = pull(Proof(sheet, (), 300.0, "", ()), "worn", seed)
    made = folder / f"{scan.stem}.png"
    cv2.imwrite(str(made), image)
    return made


def read_job(
    name: str, folder: Path, kinds: dict[str, str], weights: Path | None, pulled: str = ""
) -> Told:
    """Read both sheets of one job."""
    with tempfile.TemporaryDirectory() as made:
        return _read_job(name, folder, kinds, weights, (pulled, Path(made)))


def _read_job(
    name: str, folder: Path, kinds: dict[str, str], weights: Path | None, way: tuple[str, Path]
) -> Told:
    copy = folder / f"{name}.txt"
    told = Told(name, kinds[name], len(" ".join(copy.read_text(encoding="utf-8").split())))
    planted = json.loads((folder / f"{name}-faults.json").read_text(encoding="utf-8"))
    for suffix in ("", "-faults"):
        try:
            report = check_proof(
                as_pulled(folder / f"{name}{suffix}.jpg", *way),
                copy,
                options=Options(recast=False, weights=weights),
            )
        except ProofcheckError as error:
            told.verdicts.append(f"refused: {error}")
            told.lost.append(1.0)
            report = None
        else:
            told.verdicts.append(report.verdict.value)
            told.lost.append(_lost(report, planted if suffix else []))
            told.warnings += [*report.warnings, *(f"not read: {u.words}" for u in report.unread)]
        if suffix:
            _score(told, report, planted)
        elif report:
            _alarms(told, report)
    return told


def _lost(report: Report, planted: list[dict[str, object]]) -> float:
    """Share of the copy's letters that are printed, and that no line read bears."""
    text = report.copy.text
    held = [False] * len(text)
    for each in planted:
        if each["kind"] == "line-dropped":
            start, end = int(str(each["start"])), int(str(each["end"]))
            held[start:end] = [True] * (end - start)
    for placing in report.collation.placings:
        if placing.copy:
            for at in range(placing.copy.start, placing.copy.end):
                held[at] = True
    inked = [at for at, char in enumerate(text) if not char.isspace()]
    if report.collation.mismatch:
        return 1.0
    return sum(not held[at] for at in inked) / max(len(inked), 1)


def _alarms(told: Told, report: Report) -> None:
    for fault in report.faults:
        words = (f"{fault.kind.value} L{fault.line}: {fault.proof_text[:40]!r} for "
                 f"{fault.copy_text[:40]!r} {fault.certainty:.2f}")  # fmt: skip
        if fault.kind in METAL:
            told.metal.append(f"{fault.status.value} {words}")
        else:
            (told.text if fault.status.value == "fault" else told.queries).append(words)


def _score(told: Told, report: Report | None, planted: list[dict[str, object]]) -> None:
    for each in planted:
        start, end = int(str(each["start"])), int(str(each["end"]))
        told.planted += 1
        met = [
            fault for fault in (report.faults if report else ())
            if fault.copy.start <= end + NEAR and fault.copy.end >= start - NEAR
        ]  # fmt: skip
        size = end - start
        if any(fault.copy.end - fault.copy.start <= size + WIDER for fault in met):
            told.found += 1
            continue
        told.drowned += bool(met)
        word = "drowned" if met else "missed"
        told.missed.append(
            f"{word} {each['kind']} {each['printed']!r} for {each['wanted']!r} @{start}"
        )


def as_table(told: list[Told]) -> str:
    """The figures by class, as Markdown."""
    rows = ["| class | jobs | planted | found | drowned | refused | lost | text | queries | type |",
            "|---|---|---|---|---|---|---|---|---|---|"]  # fmt: skip
    classes: dict[str, list[Told]] = defaultdict(list)
    for each in told:
        classes[each.kind].append(each)
    for kind, mine in [*sorted(classes.items()), ("all", told)]:
        planted, found = sum(t.planted for t in mine), sum(t.found for t in mine)
        refused = sum(v.startswith(("refused", "mismatch")) for t in mine for v in t.verdicts)
        lost = sum(sum(t.lost) / 2 * t.characters for t in mine) / sum(t.characters for t in mine)
        thousands = sum(t.characters for t in mine) / 1000
        rows.append(
            f"| {kind} | {len(mine)} | {planted} | {100 * found / max(planted, 1):.0f} % "
            f"| {sum(t.drowned for t in mine)} | {refused} | {100 * lost:.1f} % "
            f"| {sum(len(t.text) for t in mine) / thousands:.2f} "
            f"| {sum(len(t.queries) for t in mine) / thousands:.2f} "
            f"| {sum(len(t.metal) for t in mine) / thousands:.2f} |"
        )
    return "\n".join([*rows, "", "Text, queries, type: alleged of the right sheets, for 1,000."])


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmark.jobs", description=__doc__)
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.add_argument("jobs", type=Path)
    parser.add_argument("--names", default="", help="only these, parted by commas")
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--weights", type=Path, help="another letter reader")
    parser.add_argument("--pulled", choices=("photo", "worn"), default="", help="see above")
    parser.add_argument("--json", type=Path, help="write what was said here")
    parser.add_argument("--earlier", type=Path, help="what was said before, to tell what changed")
    given = parser.parse_args()
    rows = (given.jobs / "list.tsv").read_text(encoding="utf-8").splitlines()[1:]
    kinds = dict(row.split("\t") for row in rows)
    names = [name for name in kinds if not given.names or name in given.names.split(",")]
    told: list[Told] = []
    with ProcessPoolExecutor(given.processes) as pool:
        for each in pool.map(
            partial(
                read_job,
                folder=given.jobs,
                kinds=kinds,
                weights=given.weights,
                pulled=given.pulled,
            ),
            names,
        ):
            told.append(each)
            sys.stderr.write(_row(each))
    if given.earlier:
        before = {each["name"]: each for each in json.loads(given.earlier.read_text())}
        for each in told:
            was = before.get(each.name)
            if was and (was["found"], len(was["text"])) != (each.found, len(each.text)):
                print(f"{each.name}: found {was['found']} → {each.found} of {each.planted}, "
                      f"text {len(was['text'])} → {len(each.text)}")  # fmt: skip
    if given.json:
        given.json.write_text(
            json.dumps([asdict(each) for each in told], ensure_ascii=False, indent=1)
        )
    print(as_table(told))


def _row(told: Told) -> str:
    lost = ", ".join(f"{100 * share:.1f} %" for share in told.lost)
    head = (
        f"{told.name} ({told.kind}): {told.found} of {told.planted} found, lost {lost}, "
        f"{len(told.text)} text, {len(told.queries)} queries, {len(told.metal)} type; "
        f"{' / '.join(told.verdicts)}"
    )
    said = [head]
    said += [f"    {words}" for words in (*told.missed, *told.text, *told.queries, *told.metal)]
    return "\n".join(said) + "\n"


if __name__ == "__main__":
    main()
