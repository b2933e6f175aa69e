"""Read sheets printed wrong on purpose, and sound ones of the same kinds: does any wrong one pass?

    python -m tests.benchmark.silent [--wrong 600] [--sound 300] [--fonts FOLDER] [--seed 1]

Sets them in the faces of the tests, and with --fonts in those marked "held" in the table of faces
too (files in FOLDER). Prints, kind by kind, how many wrong ones exit with 0 (and, apart, how many
of these in a face of which the list says that just these two characters can hardly be told apart),
and of the sound ones how many do, with faults and queries alleged for 1,000 characters. Every
wrong one that passed and every alarm is named on standard error; --keep FOLDER keeps their sheets.
"""

from __future__ import annotations

import argparse
import re
import sys
import tempfile
import zlib
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import cv2

from proofcheck import check_proof
from proofcheck.base.errors import ProofcheckError
from proofcheck.base.options import Options
from proofcheck.results.report import exit_status
from tests.typesetter.faces import FAMILIES, register_family

from .faceplants import held_families
from .wrongsheets import KINDS, Made, make


@dataclass(frozen=True, slots=True)
class Told:
    """What was said of one proof."""

    name: str
    kind: str
    wrong: str
    status: int
    verdict: str
    faults: tuple[str, ...]
    queries: tuple[str, ...]
    characters: int
    said_alike: bool = False
    """The list says that the two characters exchanged can hardly be told apart in this face."""


def read_one(asked: tuple[str, str, int, bool], keep: Path | None, fonts: Path | None) -> Told:
    """Make and read one proof: kind, face, seed, wrong or not."""
    kind, face, seed, wrong = asked
    if fonts and face not in FAMILIES:
        files = held_families(fonts)[face]
        register_family(face, files["roman"], files.get("italic"), files.get("bold"))
    made = make(kind, face, zlib.crc32(f"{kind} {face} {seed}".encode()), wrong=wrong)
    name = f"{kind.replace(' ', '-')}-{face}-{seed}-{'wrong' if wrong else 'sound'}"
    with tempfile.TemporaryDirectory() as folder:
        told = _read(made, name, Path(folder))
    if keep and (told.status == 0) == wrong:
        keep.mkdir(parents=True, exist_ok=True)
        _write(made, name, keep)
    return told


def _write(made: Made, name: str, folder: Path) -> tuple[list[Path], Path]:
    scans = [folder / f"{name}-{number + 1}.png" for number in range(len(made.sheets))]
    for scan, sheet in zip(scans, made.sheets, strict=True):
        cv2.imwrite(str(scan), sheet)
    copy = folder / f"{name}.txt"
    copy.write_text(made.copy, encoding="utf-8")
    return scans, copy


def _read(made: Made, name: str, folder: Path) -> Told:
    scans, copy = _write(made, name, folder)
    size = len(" ".join(made.copy.split()))
    try:
        report = check_proof(scans, copy, options=Options(dpi=made.dpi, recast=False))
    except ProofcheckError as error:
        return Told(name, made.kind, made.wrong, 2, f"refused: {error}", (), (), size)
    said: dict[str, list[str]] = {"fault": [], "query": []}
    for fault in report.faults:
        words = f"{fault.kind}: {fault.proof_text[:30]!r} for {fault.copy_text[:30]!r}"
        said[fault.status].append(f"{words} {fault.certainty:.2f}")
    faults, queries = tuple(said["fault"]), tuple(said["query"])
    verdict = report.verdict.value + "".join(f"; not read: {each.words}" for each in report.unread)
    exchanged = re.match(r"(\S) for (\S) in ", made.wrong)
    pair = {" and ".join(sorted(exchanged.groups()))} if exchanged else set()
    alike = any(
        " and ".join(sorted(said.groups())) in pair
        for note in report.warnings
        if (said := re.match(r"(\S) and (\S) can(?:'t| hardly) be told apart", note))
    )
    return Told(
        name, made.kind, made.wrong, exit_status(report), verdict, faults, queries, size, alike
    )


def as_table(told: list[Told]) -> str:
    """The figures, as Markdown."""
    rows = [("| kind | printed wrong | exit 0 | – said to look alike | exit 2 | sound | exit 0 "
            "| faults | queries |"),
            "|---|---|---|---|---|---|---|---|---|"]  # fmt: skip
    for kind in [*KINDS, "all"]:
        mine = [each for each in told if kind in (each.kind, "all")]
        wrong = [each for each in mine if each.wrong]
        sound = [each for each in mine if not each.wrong]
        statuses = Counter(each.status for each in wrong)
        alike = sum(each.said_alike for each in wrong if each.status == 0)
        passed = sum(each.status == 0 for each in sound)
        thousands = max(sum(each.characters for each in sound), 1) / 1000
        rates = (sum(len(each.faults) for each in sound) / thousands,
                 sum(len(each.queries) for each in sound) / thousands)  # fmt: skip
        rows.append(
            f"| {kind} | {len(wrong)} | {statuses[0]} | {alike} | {statuses[2]} | {len(sound)} "
            f"| {passed} | {rates[0]:.2f} | {rates[1]:.2f} |"
        )
    return "\n".join([*rows, "", "Faults and queries: on the sound ones, for 1,000 characters."])


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmark.silent", description=__doc__)
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.add_argument("--wrong", type=int, default=600, help="sheets printed wrong (%(default)s)")
    parser.add_argument("--sound", type=int, default=300, help="sound ones (%(default)s)")
    parser.add_argument("--fonts", type=Path, help="folder of font files of the held faces")
    parser.add_argument("--kinds", default="", help="only these, parted by commas")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--keep", type=Path, help="keep the sheets that went wrong here")
    given = parser.parse_args()
    faces = sorted(FAMILIES)
    if given.fonts:
        held = held_families(given.fonts)
        faces += sorted(n for n, f in held.items() if all(p.exists() for p in f.values()))
    kinds = [kind for kind in KINDS if not given.kinds or kind in given.kinds.split(",")]
    asked = [
        (
            kinds[at % len(kinds)],
            faces[at // len(kinds) % len(faces)],
            given.seed * 10_000 + at,
            bad,
        )
        for bad, count in ((True, given.wrong), (False, given.sound))
        for at in range(count)
    ]
    told: list[Told] = []
    with ProcessPoolExecutor(given.processes) as pool:
        for each in pool.map(partial(read_one, keep=given.keep, fonts=given.fonts), asked):
            told.append(each)
            if (each.status == 0) == bool(each.wrong) or (not each.wrong and each.status):
                alleged = "; ".join((*each.faults, *(f"({query})" for query in each.queries)))
                print(f"{each.name}: {each.wrong or 'sound'}: {each.verdict} {alleged}",
                      file=sys.stderr)  # fmt: skip
    print(as_table(told))


if __name__ == "__main__":
    main()
