"""The typesetter's formes pulled, corrected or muddled, and pulled again."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from revise_cases import (
    FOREIGN,
    OTHERWISE,
    pulled,
    recast,
    scanned_otherwise,
    second_scan,
)
from typesetter import (
    Forme,
    Head,
    Para,
    Style,
    compose,
    double_line,
    drop_lines,
    foreign_line,
    misset,
    swap_lines,
    turn_line,
)

from .coming import Coming, counted_by_way, some_way
from .facematter import prose
from .muddledscans import samples_of
from .muddledstone import stone_pulled
from .muddles import Done, Muddle, Result, count_corrections, count_muddles

if TYPE_CHECKING:
    from collections.abc import Iterable

    from proofcheck.results.report import Report

__all__ = ["fit_pulled", "try_pulled"]

_SETS = "".join(map(chr, range(32, 127))) + "“”’‘"
_APART = 4
_STRANGE = (
    FOREIGN,
    "Chisels, socket, firmer, one inch, a shilling each",
    "Twine in balls, brown or white, by the dozen",
    "Lamp glasses for all burners, twopence halfpenny",
    "Whitewash brushes, bound in copper, best bristle",
    "Hinges, cross garnet, ten inch, the pair fivepence",
    "Paraffin by the gallon; cans lent upon deposit",
)
_HOW = ("made", "missed", "missed, recast", "made with a new fault", "half made")


def fit_pulled(seed: int, trial: int, play: float) -> Result:
    """The measures of slugs left alone and cast again, a third of the forme at a time."""
    result, rng = Result(), np.random.default_rng((seed, trial, 0))
    forme = _matter(rng)
    first = _first(result, forme, rng)
    for third in range(3 if first is not None else 0):
        cast = frozenset(range(third, len(forme.slugs), 3))
        again = _recast(forme, rng, (index + 1 for index in cast), play)
        later = _again(result, again, rng, forme.copy)
        if later is not None:
            result.samples += samples_of(first, later, cast)
    return result


def try_pulled(seed: int, trial: int, play: float, *, muddled: bool = True) -> Result:
    """Everything a forme is put through; the same seed and trial give the same."""
    result, rng = Result(), np.random.default_rng((seed, trial, 1))
    forme = _matter(rng)
    where = f"trial {trial}"
    first = _first(result, forme, rng)
    if first is None:
        return result
    result.counts["formes"] += 1
    for made, muddles in _muddled(forme, rng, play) if muddled else ():
        later = _again(result, made, rng, forme.copy)
        if later is not None:
            count_muddles(result, first, later, muddles, where)
    coming = some_way(rng, len(forme.slugs))
    with counted_by_way(result, coming.way) as counted:
        _corrections(counted, forme, rng, play, where, coming)
    way = some_way(rng, 1, OTHERWISE[:-1]).way
    with counted_by_way(result, way) as counted:
        _over_run(counted, rng, play, where, way)
    for _ in range(2):
        coming = some_way(rng, len(forme.slugs))
        with counted_by_way(result, coming.way) as counted:
            stone_pulled(counted, forme, rng, where, coming)
    return result


def _matter(rng: np.random.Generator) -> Forme:
    """Prose between two heads, the first letterspaced."""
    blocks, style, measure = _blocks(rng)
    return compose(blocks, measure_picas=measure, style=style)


def _blocks(rng: np.random.Generator) -> tuple[list, Style, int]:
    family = str(rng.choice(["schola", "old-standard", "goudy"]))
    style = Style(family, float(rng.choice([8, 10, 12])), float(rng.choice([0, 1, 2])))
    texts = prose(int(rng.integers(1e9)), 130, _SETS, italic=False)
    blocks = [
        Head("A BAND IS FORMED", 14, letterspace_pt=1.0),
        *(Para(text) for text in texts),
        Head("THE COMMITTEE", 12, letterspace_pt=1.5),
    ]
    return blocks, style, int(rng.choice([18, 20, 22, 24]))


def _recast(forme: Forme, rng: np.random.Generator, lines: Iterable[int], play: float) -> Forme:
    return recast(forme, rng, list(lines), space_pt=0.15 * play, letter_pt=0.06 * play)


def _first(result: Result, forme: Forme, rng: np.random.Generator) -> Report | None:
    wear = str(rng.choice(["clean", "good", "worn"]))
    return _pulled(result, forme, int(rng.integers(1e9)), wear=wear)


def _again(result: Result, forme: Forme, rng: np.random.Generator, copy: str) -> Report | None:
    return _pulled(result, forme, int(rng.integers(1e9)), copy=copy, **second_scan(rng))


def _coming(
    result: Result, forme: Forme, rng: np.random.Generator, copy: str, coming: Coming
) -> Report | None:
    how = scanned_otherwise(rng, coming.way)
    return _pulled(result, forme, int(rng.integers(1e9)), copy=copy, part=coming.ends, **how)


def _pulled(result: Result, forme: Forme, seed: int, **how) -> Report | None:
    try:
        return pulled(forme, seed, **how)
    except AssertionError:
        result.counts["lines not found one for one"] += 1
        return None


def _muddled(forme: Forme, rng: np.random.Generator, play: float):
    """Formes and what was done to them: nothing; a third cast again; the rest at random."""
    yield forme, []
    last = len(forme.slugs)
    third = int(rng.integers(3))
    lines = range(1 + third, last + 1, 3)
    yield _recast(forme, rng, lines, play), [Muddle("recast", line) for line in lines]
    kinds = rng.permutation(["swapped", "dropped", "doubled", "turned", "foreign"] * 2).tolist()
    spots = range(2 + int(rng.integers(3)), last - 1, _APART + int(rng.integers(2)))
    muddles = [
        Muddle(name, line)
        for name, line in zip(kinds, spots, strict=False)
        if name != "turned" or len(forme.slugs[line - 1].text) > 8
    ]
    made = forme
    for muddle in reversed(muddles):
        made = _done(made, muddle)
    yield made, muddles


def _done(forme: Forme, muddle: Muddle) -> Forme:
    line = muddle.line
    if muddle.name == "swapped":
        return swap_lines(forme, line, line + 1)
    if muddle.name == "foreign":
        return foreign_line(forme, line, _STRANGE[line % len(_STRANGE)])
    way = {"dropped": drop_lines, "doubled": double_line, "turned": turn_line}[muddle.name]
    return way(forme, line)


# ------------------------------------------------------------------ corrections


def _corrections(
    result: Result,
    right: Forme,
    rng: np.random.Generator,
    play: float,
    where: str,
    coming: Coming,
) -> None:
    """Every third slug with a fault on the earlier proof, and something done about each."""
    wrong, now = right, right
    done: dict[int, Done] = {}
    cast = []
    for line in range(2 + int(rng.integers(2)), len(right.slugs), 3):
        how = _HOW[int(rng.integers(len(_HOW)))]
        try:
            spoiled, left, at = _spoiled(right, line, how, rng)
        except ValueError:
            continue  # the line can't be justified with the fault in it
        wrong = _with_line(wrong, spoiled, line)
        now = _with_line(now, spoiled if how.startswith("missed") else left, line)
        cast += [line] if how != "missed" else []
        done[line] = Done(how, at)
    before = _pulled(result, wrong, int(rng.integers(1e9)), sheets=coming.sheets)
    now = _recast(now, rng, cast, play)
    later = _coming(result, now, rng, right.copy, coming)
    if before is not None and later is not None:
        shown = range(coming.first, coming.last + 1)
        count_corrections(result, (before, later), done, where, shown=shown)


def _with_line(forme: Forme, other: Forme, line: int) -> Forme:
    """The forme with one slug of another, which has as many."""
    uid, made = forme.slugs[line - 1].uid, other.slugs[line - 1]
    items = tuple(made if getattr(item, "uid", None) == uid else item for item in forme.items)
    return replace(forme, items=items)


def _spoiled(
    right: Forme, line: int, how: str, rng: np.random.Generator
) -> tuple[Forme, Forme, int]:
    """The forme with a fault in a line; with what the corrector leaves there; and where in the
    copy a letter is left wrong (−1: nowhere).

    Raises:
        ValueError: no such fault can be set there.
    """
    words = [w for w in right.slugs[line - 1].text.split(" ") if w.isalpha() and w.islower()]
    words = [w for w in words if len(w) > 3 and right.slugs[line - 1].text.count(w) == 1]
    if len(words) < 3:
        msg = f"too few words in line {line}"
        raise ValueError(msg)
    first, second = (words[n] for n in sorted(rng.choice(len(words), 2, replace=False)))
    if how == "half made":
        left = _misset(right, line, first, "wrong-letter", rng)
        at = left.planted[-1].copy_at
        return _misset(left, line, second, _any(rng), rng), left, at
    spoiled = _misset(right, line, first, _any(rng), rng)
    if how == "made with a new fault":
        return spoiled, _misset(right, line, second, "wrong-letter", rng), -1
    return spoiled, right, -1


def _any(rng: np.random.Generator) -> str:
    return str(rng.choice(["wrong-letter", "letters-transposed", "word-doubled", "letter-missing"]))


def _misset(forme: Forme, line: int, word: str, kind: str, rng: np.random.Generator) -> Forme:
    at = int(rng.integers(1, len(word) - 1))
    if kind == "word-doubled":
        return misset(forme, line, word, f"{word} {word}", kind)
    if kind == "letter-missing":
        return misset(forme, line, word, word[:at] + word[at + 1 :], kind)
    if kind == "letters-transposed" and word[at] != word[at + 1]:
        return misset(forme, line, word, word[:at] + word[at + 1] + word[at] + word[at + 2 :], kind)
    other = str(rng.choice([c for c in "aeosnurc" if c != word[at]]))
    return misset(forme, line, word, word[:at] + other + word[at + 1 :], "wrong-letter")


def _over_run(result: Result, rng: np.random.Generator, play: float, where: str, way: str) -> None:
    """A word left out on the earlier proof; put in, its paragraph is set anew from there."""
    blocks, style, measure = _blocks(rng)
    at = int(rng.integers(1, len(blocks) - 1))
    text = blocks[at].text
    words = text.split(" ")
    lack = int(rng.integers(2, max(len(words) // 2, 3)))
    if not words[lack].isalpha() or words[lack] in {words[lack - 1], words[lack + 1]}:
        return
    short = Para(" ".join([*words[:lack], *words[lack + 1 :]]))
    earlier = compose([*blocks[:at], short, *blocks[at + 1 :]], measure_picas=measure, style=style)
    right = compose(blocks, measure_picas=measure, style=style)
    old = [slug.text for slug in earlier.slugs]
    new = [slug.text for slug in right.slugs]
    start = next(n for n, pair in enumerate(zip(old, new, strict=False)) if pair[0] != pair[1])
    same = next(n for n, (a, b) in enumerate(zip(old[::-1], new[::-1], strict=False)) if a != b)
    again = frozenset(range(start + 1, len(new) - same + 1))
    later = _recast(right, rng, again, play)
    coming = Coming(way, 1, len(right.slugs))
    seed = int(rng.integers(1e9))
    before = _pulled(result, earlier, seed, copy=right.copy, sheets=coming.sheets)
    after = _coming(result, later, rng, right.copy, coming)
    if before is None or after is None:
        return
    gone = right.copy.index(text) + sum(len(word) + 1 for word in words[:lack])
    lines = {
        fault.line for fault in before.faults if fault.copy.start - 1 <= gone <= fault.copy.end
    }
    done = {line: Done("over-run") for line in lines}
    count_corrections(result, (before, after), done, where, again)
