"""Small harm done to the program on purpose, to see whether the tests notice.

    python -m tests.lab.mutants --sample 60 --seed 1 --room collate --room recast

Each mutant is one change at one place, as mutmut makes them (`harms`). The fast tests of its room
that come to that place are run on it, the quickest first, until one fails or `--seconds` of them
are spent. What came of each is added to `--out` at once, and a run that was broken off goes on
where it was; `--again FILE` takes over what was noticed there, and tries anew what lived. To which
places a test comes is kept in the folder `--kept` till the test or the program changes. A mutant on
which one test takes more than three times as long as on the program as it is runs on without end:
it is counted as noticed, and said apart. Those judged by hand to change nothing stand in
`equivalent.toml`.
"""

from __future__ import annotations

import os

# Said before numpy is loaded, as `tests/conftest.py` says it: one thread a process.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import argparse
import importlib
import json
import random
import shutil
import tempfile
import tomllib
from dataclasses import asdict, astuple, dataclass, replace
from itertools import islice
from math import sqrt
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from tests.lab.noticing import Said, Tests
from tests.lab.reaching import reach

if TYPE_CHECKING:
    from tests.lab.harms import Mutant

ROOT = Path(__file__).parents[2]


class Room(NamedTuple):
    """Where the modules of a room are, and the test files whose business it is."""

    modules: tuple[str, ...]
    tests: tuple[str, ...]
    """Files of tests: those that call it by itself, then those that read sheets through it."""


CLEARS = (
    "clear", "against", "unproved", "proved", "vouching", "facts", "job", "agreeing", "one_job",
    "quick", "verify",
)  # fmt: skip
"""What a job is called clear for press by."""

JUDGES = (
    "judged", "unsound", "in_line", "by_line", "by_face", "company", "alone", "rare", "certain",
    "broken", "swallowed", "turned_sorts", "wrongfont", "leaning", "posture", "offline", "miscast",
    "twins", "twin_bodies", "spacing", "grading",
)  # fmt: skip
"""What judges letters, lines and spaces by what was measured of them: not what lays, measures and
learns, nor what looks for ink of its own (rules, borders, what has risen)."""

OF_TYPE = (
    "kinds", "patch_store", "metal_judging", "metal_told", "metal_rules", "metal_ink",
    "metal_company", "metal_measures", "rare", "grading", "leaning", "in_line", "comparing",
    "unsound", "metal", "metal_lines", "risen", "face_book", "face_lessons", "ticket_twins",
)  # fmt: skip
"""Files of tests that look at the type."""

ROOMS = {
    "collate": Room(
        ("collate/*.py",),
        (
            "kinds", "collate_rules", "collate_layout", "collate_cases", "collate_places", "same",
            "collate_geometry", "collate_capitals", "causes", "collate_makeup", "allowances",
            "collate_properties", "collate_robust", "part_held",
            "sheets_apart", "makeup_sheets", "reading_order", "verse", "several_up", "silence",
        ),
    ),
    "weigh": Room(
        ("weigh/*.py",),
        (
            "weigh_rules", "weigh_made", "weigh_judging", "weigh_shapes", "dash_lengths",
            "one_dash", "weigh", "end_points", "weigh_told", "page_letters", "weigh_dashes",
            "weigh_rings", "quote_ways", "second_look", "letters_alphabet", "sideways",
            "turned_words", "specimen_read", "specimen_samples",
            "silence",
        ),
    ),
    "metal": Room(("metal/*.py",), (*OF_TYPE, "rule_faults", "rules")),
    "judge": Room(tuple(f"metal/{module}.py" for module in JUDGES), OF_TYPE),
    "recast": Room(
        ("recast/*.py",),
        (
            "recast_rules", "recast_made", "recast_damage", "recast_search", "recast_trade",
            "recast_plan", "hands", "record", "recast_read", "bounds",
        ),
    ),
    "clear": Room(
        tuple(f"docket/{module}.py" for module in CLEARS),
        (
            "docket_said", "docket_clearance", "docket_unproved", "docket_work", "docket_two_minds",
            "docket_anchor", "docket_quick", "docket_tampering", "docket_record", "docket_cli",
            "shop_figures", "billing", "decided",
        ),
    ),
}  # fmt: skip

MOST_SECONDS = 60.0
"""Of the processor, for the tests of one mutant: the quickest of those that come to its place."""
UNHARMED = 3
"""Places of a room in which the same is put as stands there, to see that nothing is noticed."""
LIVES = {"passed": "lives", "unreached": "no test comes there"}
EQUIVALENT = Path(__file__).with_name("equivalent.toml")
HEAVY = ("cv2", "onnxruntime", "PIL.Image", "rapidfuzz", "pypdfium2", "sqlalchemy", "typer")


@dataclass(frozen=True, slots=True)
class Tried:
    """What is written down of each mutant that was tried: one line of JSON."""

    room: str
    seed: int
    path: str
    line: int
    start: int
    was: str
    instead: str
    function: str
    said: str
    """`failed` or `late`: noticed; `passed`; `unreached`: no test comes to the place."""
    test: str
    seconds: float

    @property
    def place(self) -> tuple[str, int, str]:
        """What tells it from every other mutant of the program as it stands."""
        return self.path, self.start, self.instead


def wilson(hits: int, of: int) -> tuple[float, float]:
    """The interval that holds a share in 95 of 100 samples (E. B. Wilson 1927, JASA 22:209)."""
    if not of:
        return 0.0, 1.0
    z, share = 1.96, hits / of
    middle = share + z * z / (2 * of)
    wide = z * sqrt(share * (1 - share) / of + z * z / (4 * of * of))
    return (middle - wide) / (1 + z * z / of), (middle + wide) / (1 + z * z / of)


def read_tried(path: Path) -> list[Tried]:
    """What was written down so far."""
    if not path.exists():
        return []
    return [Tried(**json.loads(row)) for row in path.read_text("utf-8").splitlines()]


def equivalents() -> set[tuple[str, str, str, str]]:
    """Mutants judged by hand to change nothing that can be seen: file, line of text, both texts."""
    rows = tomllib.loads(EQUIVALENT.read_text("utf-8")).get("mutant", [])
    return {(row["path"], row["line"], row["was"], row["instead"]) for row in rows}


def _is_equivalent(tried: Tried, same: set[tuple[str, str, str, str]]) -> bool:
    """Whether it was judged so, the line still being as it was."""
    lines = (ROOT / tried.path).read_text("utf-8").splitlines()
    text = lines[tried.line - 1].strip() if tried.line <= len(lines) else ""
    return (tried.path, text, tried.was, tried.instead) in same


def try_room(copy: Path, name: str, asked: argparse.Namespace) -> None:
    """Try a random sample of a room's mutants that has not been tried yet, and write each down.

    Raises:
        SystemExit: the tests of the room fail on the program as it is.
    """
    from tests.lab.harms import mutants

    room = ROOMS[name]
    modules = sorted({path for glob in room.modules for path in (copy / "proofcheck").glob(glob)})
    every = [each for path in modules for each in mutants(path)]
    files = tuple(f"tests/test_{test}.py" for test in room.tests)
    found = reach(copy, modules, files, asked.kept)
    print(f"  {len(found.seconds)} tests, {sum(found.seconds.values()):.0f} s of the processor")
    tests = Tests(copy, files, found, asked.seconds)
    if asked.again:
        chosen = _lived(every, copy, name, asked)
    else:
        drawn = random.Random(asked.seed).sample(every, len(every))
        chosen = list(islice((each for each in drawn if each.is_python()), asked.sample))

    def tell(mutant: Mutant, said: Said) -> None:
        path = str(mutant.path.relative_to(copy))
        what = (mutant.line, mutant.start, mutant.was, mutant.instead)
        function = mutant.function[0] if mutant.function else ""
        tried = Tried(name, asked.seed, path, *what, function, *astuple(said))
        with asked.out.open("a", encoding="utf-8") as out:
            out.write(json.dumps(asdict(tried), ensure_ascii=False) + "\n")

    _try_unharmed(tests, chosen[:UNHARMED], asked.out)

    def left() -> list[Mutant]:
        done = {
            each.place
            for each in read_tried(asked.out)
            if (each.room, each.seed) == (name, asked.seed)
        }
        return [each for each in chosen if _place(each, copy) not in done]

    tests.warm(left(), tell)
    for mutant in left():
        tell(mutant, tests.fresh(mutant))


def _lived(every: list[Mutant], copy: Path, name: str, asked: argparse.Namespace) -> list[Mutant]:
    """What lived when it was tried before; of the rest it is written down again what came of it."""
    before = [
        each for each in read_tried(asked.again) if (each.room, each.seed) == (name, asked.seed)
    ]
    known = {each.place for each in read_tried(asked.out)}
    with asked.out.open("a", encoding="utf-8") as out:
        for each in before:
            if each.said not in LIVES and each.place not in known:
                out.write(json.dumps(asdict(each), ensure_ascii=False) + "\n")
    lived = {each.place for each in before if each.said in LIVES}
    return [each for each in every if _place(each, copy) in lived]


def _try_unharmed(tests: Tests, chosen: list[Mutant], out: Path) -> None:
    """Put the same text in some places: were that noticed, so would be what is no harm.

    Raises:
        SystemExit: it was.
    """
    told = out.with_suffix(".unharmed")
    told.write_text("", "utf-8")

    def tell(mutant: Mutant, said: Said) -> None:
        with told.open("a", encoding="utf-8") as file:
            file.write(f"{mutant.path.name}:{mutant.line} {said.said} {said.test}\n")

    same = [replace(each, instead=each.was) for each in chosen]
    tests.warm(same, tell)
    for mutant in same:
        if tests.anew(mutant):
            tell(mutant, tests.fresh(mutant))
    noticed = [row for row in told.read_text("utf-8").splitlines() if " passed " not in row]
    if wrong := [row for row in noticed if " unreached " not in row]:
        raise SystemExit("noticed though nothing was harmed: " + "; ".join(wrong))
    told.unlink()


def _place(mutant: Mutant, copy: Path) -> tuple[str, int, str]:
    return str(mutant.path.relative_to(copy)), mutant.start, mutant.instead


def report(tried: list[Tried], name: str, seed: int) -> None:
    """Print which live, and the share that was noticed."""
    rows = [each for each in tried if (each.room, each.seed) == (name, seed)]
    same = equivalents()
    alike = [each for each in rows if each.said in LIVES and _is_equivalent(each, same)]
    for each in rows:
        if each.said in LIVES:
            what = "equivalent" if each in alike else LIVES[each.said]
            print(f"  {what}: {each.path}:{each.line}: {each.was} -> {each.instead}")
    noticed = sum(each.said not in LIVES for each in rows)
    late = sum(each.said == "late" for each in rows)
    for what, of in (("all", len(rows)), ("all but the equivalent", len(rows) - len(alike))):
        low, high = wilson(noticed, of)
        print(
            f"{name}, seed {seed}: {noticed} of {of} noticed ({what}): "
            f"{noticed / max(of, 1):.0%} ({low:.0%} to {high:.0%})"
        )
    print(f"  {late} by running late; {sum(each.seconds for each in rows):.0f} s of the processor")


def main() -> None:
    """Try the rooms asked for, in a copy of the checkout."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--room", action="append", choices=[*ROOMS])
    parser.add_argument("--sample", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=MOST_SECONDS)
    parser.add_argument("--out", type=Path, default=Path("mutants.jsonl"))
    parser.add_argument("--again", type=Path, help="try those of it that live, no sample")
    parser.add_argument("--kept", type=Path, default=Path(tempfile.gettempdir()) / "reached")
    asked = parser.parse_args()
    asked.out = asked.out.resolve()
    os.nice(5)
    for heavy in HEAVY:
        importlib.import_module(heavy)
    with tempfile.TemporaryDirectory(prefix="mutants-") as folder:
        copy = Path(folder) / "checkout"
        left = shutil.ignore_patterns(".*", "__pycache__", "*.egg-info", "*.jsonl")
        shutil.copytree(ROOT, copy, ignore=left)
        for name in asked.room or ROOMS:
            print(f"{name}:", flush=True)
            try_room(copy, name, asked)
            report(read_tried(asked.out), name, asked.seed)


if __name__ == "__main__":
    main()
