"""Bills and cards with a letter of another fount in a display line: is it told, and no other?

    python -m tests.benchmark.displayfounts --fonts FOLDER [--sheets 40] [--seed 1]

Each sheet is set of short lines in several sizes, styles and faces, as a bill is, in the faces of
the tests and those marked "held" in the table of faces; half of the sheets hold two letters of
another face, the rest are sound. Prints what share was told (as a fault or a query of the type, at
the letter), of letters of the same style and of another apart, and the faults and queries of the
type alleged of sound letters for 1,000 characters; each on standard error. --keep FOLDER keeps the
sheets.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import cv2

from proofcheck import check_proof
from proofcheck.base.errors import ProofcheckError
from proofcheck.base.kinds import Group, of_group
from proofcheck.base.options import Options
from tests import typesetter
from tests.typesetter import Gap, Head, Para, Rule, Style
from tests.typesetter.faces import FAMILIES, family, register_family

from .faceplants import held_families, same_ink

if TYPE_CHECKING:
    from proofcheck.base.found import Fault
    from proofcheck.base.values import Reading

__all__ = ["Put", "Told", "make_one", "read_one"]

_TYPE = of_group(Group.TYPE)
_MATTER = """
grand evening concert annual flower show public meeting village hall tickets sixpence tea
and dancing doors open seven auction sale live stock household furniture lot eleven brass
band by order wanted strong lad apply within notice lost brown purse reward harvest supper
ferry landing coal coke best prices market square saturday friday closing early summer
winter bazaar
"""
_WORDS = _MATTER.split()
_NAMES = ("Alderton", "Birkmyre", "Cawdrey", "Farthing", "Quiney", "Oxenhope", "Wragge", "Zeal")
_WEARS = ("clean", "good", "good", "worn")
_PLANTED = 2
_LEAST_PT, _MOST_PT = 8.0, 36.0
_WIDEST_EM = 0.85
"""A letter of a line on average, and its space, in the widest face."""


@dataclass(slots=True)
class Told:
    """What came of one sheet."""

    name: str
    characters: int = 0
    planted: int = 0
    found: list[str] = field(default_factory=list)
    missed: list[str] = field(default_factory=list)
    wrongly: list[str] = field(default_factory=list)
    """Faults and queries of the type on sound letters."""
    trouble: str = ""


def _line(rng: random.Random) -> str:
    words = rng.sample(_WORDS, rng.randint(1, 4))
    if rng.random() < 0.3:
        words.append(rng.choice(_NAMES).lower())
    how = rng.random()
    if how < 0.45:
        return " ".join(words).upper()
    if how < 0.85:
        return " ".join(word.capitalize() for word in words)
    return " ".join([words[0].capitalize(), *words[1:]])


def _blocks(rng: random.Random, faces: list[str], measure_pt: float) -> list[object]:
    blocks: list[object] = []
    for _ in range(rng.randint(5, 10)):
        name = rng.choice(faces)
        styles = [s for s in ("roman", "roman", "bold", "italic") if _has(name, s)]
        text = _line(rng)
        space = rng.choice((0.0, 0.0, 0.5, 1.5))
        room = (measure_pt / len(text) - space) / _WIDEST_EM
        if room < _LEAST_PT:
            continue
        size = min(rng.uniform(_LEAST_PT, _MOST_PT), room)
        blocks.append(
            Head(text, int(size), 4, letterspace_pt=space,
                 style=rng.choice(styles), family=name)
        )  # fmt: skip
        if rng.random() < 0.2:
            blocks.append(Rule(width_pt=90))
        if rng.random() < 0.3:
            blocks.append(Gap(5))
    if rng.random() < 0.5:
        words = " ".join(rng.choice(_WORDS) for _ in range(rng.randint(12, 30)))
        blocks.append(Para(words.capitalize() + ".", style=Style(family=faces[0], body_pt=9)))
    return blocks


def _has(name: str, style: str) -> bool:
    return bool(getattr(family(name), style, None))


class Put(NamedTuple):
    """A letter of another face."""

    line: int
    word: str
    letter: int
    """Its place in the word."""
    style: str
    """Of the line."""
    other: str
    """The face and style it is of."""

    def __str__(self) -> str:
        return f"{self.word[self.letter]} of {self.other} in {self.style} {self.word}"


def _planted(forme, rng: random.Random, faces: list[str], broken: float):
    """The forme with letters of other faces that can be seen, or broken ones, and which."""
    put: list[Put] = []
    for _ in range(60):
        if len(put) == _PLANTED:
            break
        line = rng.randint(1, len(forme.slugs))
        text = forme.slugs[line - 1].text
        words = [word for word in text.split() if word.isalpha() and text.count(word) == 1]
        if not words or any(line == held.line for held in put):
            continue
        word = rng.choice(words)
        letter = rng.randrange(len(word))
        sort = next(s for s in forme.slugs[line - 1].sorts if s.text == word[letter])
        if rng.random() < broken:
            forme = typesetter.broken_letter(
                forme, line, word, letter=letter, seed=rng.randrange(10**6)
            )
            put.append(Put(line, word, letter, f"{sort.family} {sort.style}", "broken"))
            continue
        other, style = rng.choice(faces), rng.choice(("roman", "roman", "bold", "italic"))
        if other == sort.family or not _has(other, style):
            continue
        tried = typesetter.wrong_font(forme, line, word, letter=letter, other=other, style=style)
        changed = next(
            (new for old, new in zip(forme.slugs[line - 1].sorts, tried.slugs[line - 1].sorts,
                                     strict=False)
             if (old.family, old.style) != (new.family, new.style)), None)  # fmt: skip
        if changed is None or same_ink(sort, changed):
            continue
        forme = tried
        put.append(Put(line, word, letter, f"{sort.family} {sort.style}", f"{other} {style}"))
    return forme, put


def make_one(seed: int, fonts: Path, *, wrong: bool, broken: float = 0.0):
    """Set and pull a sheet: the forme, the letters of other faces in it, the picture.

    Of those letters a share is not of another face but broken.
    """
    for name, files in held_families(fonts).items():
        if name not in FAMILIES and all(path.exists() for path in files.values()):
            register_family(name, files["roman"], files.get("italic"), files.get("bold"))
    rng = random.Random(seed)
    everything = sorted(FAMILIES)
    faces = rng.sample(everything, rng.randint(1, 3))
    picas = rng.choice((18, 24))
    forme = typesetter.compose(_blocks(rng, faces, 12.0 * picas), measure_picas=picas)
    put: list[Put] = []
    if wrong:
        forme, put = _planted(forme, rng, everything, broken)
    proof = typesetter.print_proof(forme, misalign_pt=0.05, seed=seed)
    return forme, put, typesetter.pull(proof, rng.choice(_WEARS), seed)


def read_one(asked: tuple[int, bool], fonts: Path, keep: Path | None) -> Told:
    """Set and read one sheet: seed, with letters of other faces or sound."""
    seed, wrong = asked
    forme, put, image = make_one(seed, fonts, wrong=wrong)
    told = Told(f"{seed}-{'wrong' if wrong else 'sound'}", len(forme.copy.replace("\n", "")))
    told.planted = len(put)
    with tempfile.TemporaryDirectory() as folder:
        scan = (keep or Path(folder)) / f"{told.name}.png"
        scan.parent.mkdir(parents=True, exist_ok=True)
        cv2.imwrite(str(scan), image)
        copy = scan.with_suffix(".txt")
        copy.write_text(forme.copy, encoding="utf-8")
        _read(scan, copy, put, told)
    return told


def _read(scan: Path, copy: Path, put: list[Put], told: Told) -> None:
    try:
        report = check_proof(scan, copy, options=Options(dpi=300, recast=False))
    except ProofcheckError as error:
        told.trouble = str(error)
        return
    readings = {line.number: reading for line, reading in
                zip(report.lines, report.readings, strict=True)}  # fmt: skip
    left = list(put)
    for fault in report.faults:
        reading = readings.get(fault.line)
        where = f"{fault.proof_text!r} in {reading.text if reading else ''!r}"
        words = f"{fault.status} {fault.kind} {fault.certainty:.2f}: {where}"
        meant = [each for each in left if _is_at(fault, reading, each)]
        if meant:
            left.remove(meant[0])
            told.found.append(f"{meant[0]}: {words}")
        elif fault.kind in _TYPE:
            told.wrongly.append(words)
    told.missed += [str(each) for each in left]


def _is_at(fault: Fault, reading: Reading | None, put: Put) -> bool:
    """Whether a fault or query meets the letter put there, or its line where it was misread."""
    at = reading.text.find(put.word) if reading else -1
    if reading is None or at < 0:
        return fault.line == put.line
    there = reading.letters[at + put.letter].box
    return fault.box.x <= there.right and there.x <= fault.box.right


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmark.displayfounts")
    parser.add_argument("--fonts", type=Path, required=True)
    parser.add_argument("--sheets", type=int, default=40)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--keep", type=Path)
    given = parser.parse_args()
    asked = [(given.seed * 1000 + n, n % 2 == 0) for n in range(given.sheets)]
    with ProcessPoolExecutor(given.processes) as pool:
        told = list(pool.map(partial(read_one, fonts=given.fonts, keep=given.keep), asked))
    for each in told:
        for name in ("found", "missed", "wrongly"):
            for words in getattr(each, name):
                print(f"{each.name} {name}: {words}", file=sys.stderr)
        if each.trouble:
            print(f"{each.name}: {each.trouble}", file=sys.stderr)
    planted = sum(each.planted for each in told)
    found = sum(len(each.found) for each in told)
    thousands = sum(each.characters for each in told) / 1000
    wrongly = [words for each in told for words in each.wrongly]
    faults = sum(words.startswith("fault") for words in wrongly)
    print(f"told {found} of {planted}; of sound letters {faults / thousands:.2f} faults and "
          f"{(len(wrongly) - faults) / thousands:.2f} queries for 1,000 characters "
          f"({1000 * thousands:.0f})")  # fmt: skip


if __name__ == "__main__":
    main()
