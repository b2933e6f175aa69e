"""Read pages of printed catalogues: entries with number, title and price in columns of their own.

    python -m tests.benchmark.catalogues PATH/TO/catalogues [--pages 2] [--books a,b] [--seed 1]
        [--listed]

PATH holds NAME.png with NAME.txt, line for line in the order of the page's entries. Each page is
read once, and laid on its text twice: as it stands, when all that is alleged counts as false but
what is listed by name in true_differences.csv (the texts have slips of their own, and leave column
heads out; only pages looked at by eye have any there), and with changes planted: a letter, a
figure, a line dropped, two lines that change places. A change is found where an entry of a like
extent meets its place within two characters, drowned where only a far wider one covers it.
"""

from __future__ import annotations

import argparse
import random
import re
import sys
from collections import Counter, defaultdict
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from proofcheck.base.errors import ProofcheckError
from proofcheck.base.options import Options
from proofcheck.base.values import Span
from proofcheck.copytext import load_copy
from proofcheck.marks import AMERICAN
from proofcheck.stages import begin, lay_on_copy, mark, put_in_order, read, report, weigh_up

from .alarms import load_true_differences

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.found import Fault
    from proofcheck.base.values import Copy
    from proofcheck.stages import Proof, Work

NEAR, WIDER = 2, 12
FIGURES = ("pages", "characters", "faults", "queries", "true", "planted", "found", "drowned")
PLANTED = 3
"""Changes of each kind on a page."""


class Plant(NamedTuple):
    kind: str
    start: int
    end: int


@dataclass(slots=True)
class Told:
    book: str
    pages: int = 0
    characters: int = 0
    faults: int = 0
    queries: int = 0
    true: int = 0
    """Faults and queries that are listed as true differences; not among those above."""
    planted: int = 0
    found: int = 0
    drowned: int = 0
    kinds: Counter[str] = field(default_factory=Counter)


def planted_in(text: str, rng: random.Random) -> tuple[str, list[Plant]]:
    """The text with changes, each in a line of its own, and where they stand in it."""
    lines = text.rstrip("\n").split("\n")
    free = [k for k, line in enumerate(lines[:-1]) if len(line) > 12]
    rng.shuffle(free)
    taken: set[int] = set()
    jobs: dict[int, str] = {}
    for kind in ("letter", "figure", "dropped", "swapped") * PLANTED:
        for k in free:
            near = {k - 1, k, k + 1, k + 2}
            fits = kind != "figure" or re.search(r"\d", lines[k])
            fits = fits and (kind != "swapped" or len(lines[k + 1]) > 12)
            if fits and not near & taken:
                taken |= near
                jobs[k] = kind
                break
    out, plants, skip = "", [], False
    for k, line in enumerate(lines):
        if skip:
            skip = False
            continue
        start = len(out)
        kind = jobs.get(k, "")
        if kind == "dropped":
            plants.append(Plant(kind, start, start))
            continue
        if kind == "swapped":
            out += f"{lines[k + 1]}\n{line}\n"
            plants.append(Plant(kind, start, len(out) - 1))
            skip = True
            continue
        if kind:
            wanted = r"\d" if kind == "figure" else r"[a-z]"
            places = [found.start() for found in re.finditer(wanted, line)]
            if places:
                at = rng.choice(places)
                held = "0123456789" if kind == "figure" else "aeionrst"
                new = rng.choice([char for char in held if char != line[at]])
                line = f"{line[:at]}{new}{line[at + 1 :]}"  # noqa: PLW2901
                plants.append(Plant(kind, start + at, start + at + 1))
        out += line + "\n"
    return out, plants


def with_text(copy: Copy, text: str) -> Copy:
    """The copy with another text, each line of it a paragraph."""
    end, rows = 0, []
    for row in text.split("\n"):
        rows.append(Span(end, end + len(row)))
        end += len(row) + 1
    return replace(copy, text=text, paragraphs=tuple(row for row in rows if row.start < row.end))


def judged(proof: Proof, work: Work, copy: Copy) -> list[Fault]:
    """What is told of lines read, laid on a copy."""
    laid = lay_on_copy(put_in_order(replace(proof, copy=copy), work), work)
    return list(report(mark(weigh_up(laid, work), work), work).faults)


def true_spans(page: str, text: str) -> list[Span]:
    """Where a page's true differences stand in its text."""
    found = [true.span_in(text) for true in load_true_differences().get(page, [])]
    return [Span(*span) for span in found if span]


def is_listed(place: Span, listed: Sequence[Span]) -> bool:
    """Whether a place is a listed one; what the text leaves out is listed for its gap alone."""
    return any(
        place == span
        or (span.start < span.end and place.start < span.end and place.end > span.start)
        for span in listed
    )


def run_page(
    image: Path, told: Told, rng: random.Random, weights: Path | None, *, show: bool
) -> None:
    copy = load_copy(image.with_suffix(".txt"))
    options = Options(type_too=False, recast=False, unfit=True, weights=weights)
    work, proof = begin(copy, options, AMERICAN, str)
    try:
        proof = read(proof, work, [image])
    except ProofcheckError as error:
        sys.stderr.write(f"{image.stem}: {error}\n")
        return
    said = judged(proof, work, copy)
    true = true_spans(image.stem, copy.text)
    alleged = [fault for fault in said if not is_listed(fault.copy, true)]
    told.true += len(said) - len(alleged)
    told.pages += 1
    told.characters += len(" ".join(copy.text.split()))
    told.faults += sum(fault.status.value == "fault" for fault in alleged)
    told.queries += sum(fault.status.value == "query" for fault in alleged)
    told.kinds.update(f.kind.value for f in alleged if f.status.value == "fault")
    if show:
        for f in alleged:
            sys.stderr.write(
                f"  {image.stem} {f.status.value} {f.kind.value} L{f.line}: {f.proof_text[:50]!r} "
                f"for {f.copy_text[:50]!r} {f.certainty:.2f}\n"
            )
    text, plants = planted_in(copy.text, rng)
    changed = with_text(copy, text)
    told.planted += len(plants)
    spans = [fault.copy for fault in judged(proof, work, changed)]
    for plant in plants:
        met = [s for s in spans if s.start <= plant.end + NEAR and s.end >= plant.start - NEAR]
        size = plant.end - plant.start + WIDER
        near = any(s.end - s.start <= size for s in met)
        told.found += near
        told.drowned += bool(met) and not near
        if show and not met:
            sys.stderr.write(
                f"  {image.stem} missed {plant} {text[plant.start - 20 : plant.end + 20]!r}\n"
            )


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmark.catalogues")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--pages", type=int, default=2, help="at most so many of each")
    parser.add_argument("--books", default="", help="only these, parted by commas")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--weights", type=Path, help="an .onnx file, or a folder of NAME.onnx")
    parser.add_argument("--listed", action="store_true", help="only pages looked at by eye")
    parser.add_argument("--show", action="store_true", help="what is alleged and missed, too")
    given = parser.parse_args()
    held: dict[str, list[Path]] = defaultdict(list)
    listed = load_true_differences()
    for image in sorted(given.folder.glob("*.png")):
        if given.listed and image.stem not in listed:
            continue
        held[image.stem.rsplit("-", 1)[0]].append(image)
    wanted = given.books.split(",") if given.books else sorted(held)
    print(
        "| catalogue | pages | characters | faults | queries | true | planted | found | drowned |"
    )
    print("|---|---|---|---|---|---|---|---|---|")
    whole = Told("all")
    for book in wanted:
        rng = random.Random(f"{given.seed} {book}")
        told = Told(book)
        for image in sorted(rng.sample(held[book], min(given.pages, len(held[book])))):
            weights = given.weights
            if weights is not None and weights.is_dir():
                weights = weights / f"{book}.onnx"
            run_page(image, told, random.Random(image.stem), weights, show=given.show)
        print(_row(told), flush=True)
        for name in FIGURES:
            setattr(whole, name, getattr(whole, name) + getattr(told, name))
        whole.kinds.update(told.kinds)
    print(_row(whole))
    print("\nFaults and queries for 1,000 characters. Faults by kind:",
          ", ".join(f"{kind} {count}" for kind, count in whole.kinds.most_common()))  # fmt: skip


def _row(told: Told) -> str:
    thousands = max(told.characters, 1) / 1000
    return (
        f"| {told.book} | {told.pages} | {told.characters} | {told.faults / thousands:.2f} "
        f"| {told.queries / thousands:.2f} | {told.true} | {told.planted} "
        f"| {told.found} | {told.drowned} |"
    )


if __name__ == "__main__":
    main()
