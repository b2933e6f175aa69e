"""Measure how many slugs a correction costs: running on against the plan of fewest slugs.

    python -m tests.benchmark.recasting PATH/TO/texts [--paragraphs 200] [--seed 1]

PATH holds NAME.txt with paragraphs of prose parted by blank lines; nothing of it is kept. Each
paragraph is set with one error in it by the test typesetter's rules, then put right both ways.
Widths are the faces' own; plans may go backwards as well as forwards.
"""

from __future__ import annotations

import argparse
import re
import sys
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from statistics import mean
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).parent.parent))

from typesetter import Para, Style, compose
from typesetter.faces import LIGATURES, family

from proofcheck.base.bands import BANDS
from proofcheck.recast.breaks import lay_out_breaks, matter_of
from proofcheck.recast.justify import Shape, limits_of_bands
from proofcheck.recast.runon import run_on
from proofcheck.recast.search import Kept, fewest_slugs

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from proofcheck.recast.breaks import Matter

SETTINGS = (
    ("8-pt, 13 picas, extra-thin bands", 8.0, 13.0, "extra-thin"),
    ("10-pt, 20 picas, thick bands", 10.0, 20.0, "thick"),
    ("10-pt, 24 picas, wide-range bands", 10.0, 24.0, "wide-range"),
)
FACE = "schola"
_LEAST, _MOST = 300, 1200
"""Characters in a paragraph taken."""
_LETTERS = "etaoinshrdlucmfwypvbgkqj"


@dataclass(slots=True)
class Tally:
    """One row of the table."""

    run_on: list[int] = field(default_factory=list)
    fewest: list[int] = field(default_factory=list)
    hand: int = 0
    """Left out of the means: nothing fits with bands alone."""
    lines_changed: int = 0


def paragraphs(folder: Path, count: int, rng: Random) -> list[str]:
    """Prose that the face can set."""
    roman = family(FACE).roman
    found = []
    for path in sorted(folder.rglob("*.txt")):
        for block in re.split(r"\n\s*\n", path.read_text("utf-8", "replace")):
            text = " ".join(re.sub("[_*^#]", "", block).split()).replace("--", "—")
            fits = _LEAST <= len(text) <= _MOST
            if fits and all(char == " " or roman.has(char) for char in text):
                found.append(text)
    rng.shuffle(found)
    return found[:count]


def _swap(words: list[str], at: int, rng: Random) -> str:
    word = words[at]
    place = rng.randrange(len(word))
    other = rng.choice([char for char in _LETTERS if char != word[place]])
    return word[:place] + other + word[place + 1 :]


def _out(words: list[str], at: int, rng: Random) -> str:
    place = rng.randrange(len(words[at]))
    return words[at][:place] + words[at][place + 1 :]


def _in(words: list[str], at: int, rng: Random) -> str:
    place = rng.randrange(len(words[at]) + 1)
    return words[at][:place] + rng.choice(_LETTERS) + words[at][place:]


ERRORS: dict[str, Callable[[list[str], int, Random], str]] = {
    "letter wrong": _swap,
    "letter missing (put in)": _out,
    "letter too many (take out)": _in,
    "word missing": lambda *_: "",
    "word doubled (take out)": lambda words, at, _: f"{words[at]} {words[at]}",
}


def width_of(body_pt: float) -> Callable[[str], float]:
    """Set widths of the face itself."""
    roman = family(FACE).roman

    def width(unit: str) -> float:
        sign = LIGATURES.get(unit, unit)
        if len(unit) > 1 and not roman.has(sign):
            return sum(width(char) for char in unit)
        return roman.glyph(sign).advance_em * body_pt

    return width


def problem(
    right: str, wrong: str, body_pt: float, picas: float, bands: str
) -> tuple[Matter, Shape, list[Kept], list[int]] | None:
    """The paragraph as it should be, with the lines of the wrong one; None if it can not be set."""
    style = Style(family=FACE, body_pt=body_pt, bands=bands)
    try:
        forme = compose([Para(wrong)], measure_picas=picas, style=style)
    except ValueError:
        return None
    head = next((k for k, (a, b) in enumerate(zip(right, wrong, strict=False)) if a != b),
                min(len(right), len(wrong)))  # fmt: skip
    tail = 0
    while tail < min(len(right), len(wrong)) - head and right[-1 - tail] == wrong[-1 - tail]:
        tail += 1
    spans = []
    for slug in forme.slugs:
        held = [(sort.copy, sort.copy + len(sort.text)) for sort in slug.sorts if sort.copy >= 0]
        spans.append((min(start for start, _ in held), max(end for _, end in held)))
    starts = [start for start, _ in spans[1:]]

    def there(at: int) -> int:
        if at <= head:
            return at
        return max(head, at + len(right) - len(wrong))

    ends = [_word(right, there(at)) for at in starts] + [len(right)]
    # Which printed line holds the error, by where the wrong text leaves the right one.
    spoilt = len(wrong) - tail
    bad = {
        k for k, (start, end) in enumerate(spans)
        if start < max(spoilt, head + 1) and head < end + 1
    }  # fmt: skip
    breaks = lay_out_breaks(right, "eng", also=ends)
    matter = matter_of(right, breaks, width_of(body_pt))
    number = {place.next: k for k, place in enumerate(breaks)}
    marks = [number[at] for at in ends]
    kept = [
        Kept(upper, lower, k + 1)
        for k, (upper, lower) in enumerate(zip([0, *marks], marks, strict=False))
        if k not in bad and upper < lower
    ]
    shape = Shape(forme.measure_pt, body_pt)
    return matter, shape, kept, sorted(set(marks))


def _word(text: str, at: int) -> int:
    while at < len(text) and text[at] == " ":
        at += 1
    return at


def measured(texts: Sequence[str], rng: Random) -> Iterator[tuple[str, str, Tally]]:
    """One tally for each setting and error."""
    for setting, body, picas, bands in SETTINGS:
        for name, error in ERRORS.items():
            tally = Tally()
            for text in texts:
                _one(text, (error, rng), (body, picas, bands), tally)
            yield setting, name, tally


def _one(
    text: str,
    slip: tuple[Callable[[list[str], int, Random], str], Random],
    setting: tuple[float, float, str],
    tally: Tally,
) -> None:
    words = text.split(" ")
    at = slip[1].choice([k for k, word in enumerate(words) if k and len(word) > 1])
    changed = slip[0](words, at, slip[1])
    wrong = " ".join(word for word in [*words[:at], changed, *words[at + 1 :]] if word)
    made = problem(text, wrong, *setting)
    if made is None:
        return
    matter, shape, kept, ends = made
    limits = limits_of_bands(BANDS[setting[2]], setting[0])
    found = fewest_slugs(matter, shape, limits, kept, ends)
    if found is None:
        tally.hand += 1
        return
    tally.fewest.append(found.cost.slugs)
    tally.lines_changed += found.gained != 0
    tally.run_on.append(sum(line.kept is None for line in run_on(matter, shape, limits, kept)))


def main() -> None:
    """Print the table as Markdown."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("texts", type=Path)
    parser.add_argument("--paragraphs", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    rng = Random(asked.seed)
    texts = paragraphs(asked.texts, asked.paragraphs, rng)
    print(f"{len(texts)} paragraphs\n")
    print("| Matter | Error | running on | fewest slugs | one slug | depth changes | by hand |")
    print("|---|---|---|---|---|---|---|")
    for setting, name, tally in measured(texts, rng):
        count = max(len(tally.fewest), 1)
        one = sum(slugs == 1 for slugs in tally.fewest) / count
        print(
            f"| {setting} | {name} | {mean(tally.run_on or [0]):.2f} "
            f"| {mean(tally.fewest or [0]):.2f} | {one:.0%} | {tally.lines_changed / count:.0%} "
            f"| {tally.hand / (count + tally.hand):.1%} |"
        )
        sys.stdout.flush()


if __name__ == "__main__":
    main()
