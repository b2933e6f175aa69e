"""Real pages, their lines moved in the picture and scanned again in the computer."""

from __future__ import annotations

import itertools
import zlib
from functools import lru_cache
from operator import eq
from typing import TYPE_CHECKING

import numpy as np
from revise_cases import Pull, report_of, scanned, scanned_otherwise

from proofcheck.revise.pairing import pair_slugs
from proofcheck.sheet.lines import find_lines

from .coming import Coming, counted_by_way, some_way
from .muddledstone import stone_scanned
from .muddles import Done, Muddle, Result, Sample, count_corrections, count_muddles
from .pages import load_grey
from .rescan import (
    bands_of,
    cast_again,
    drop_word,
    places_in,
    put_letter,
    scan_again,
    swap_words,
    widths_in,
)
from .standing import as_sheet

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from proofcheck.base.values import Grey
    from proofcheck.results.report import Report

    from .pages import Page
    from .rescan import Bands

__all__ = ["Scanned", "fit_scanned", "try_scanned"]

_APART = 5
"""Lines from one muddle to the next."""


class Scanned:
    """A page cut into the bands of its lines, each with its text."""

    def __init__(self, page: Page) -> None:
        self.name = page.name
        image = load_grey(page)
        self.texts = [line for line in page.text.splitlines() if line.strip()]
        lines = find_lines(as_sheet(image))
        fits = len(lines) == len(self.texts) >= 8
        self.bands: Bands | None = bands_of(image, lines) if fits else None
        self.size = float(np.median([x.x_height_px for x in lines])) if lines else 0.0
        own = zip(self.bands.lines, self.texts, strict=True) if self.bands else ()
        self._widths = widths_in(list(own), self.size)

    def report(
        self,
        result: Result,
        parts: list[Grey],
        texts: list[str],
        again: np.random.Generator | None,
        coming: Coming | None = None,
    ) -> Report | None:
        """A report of the page with these lines, scanned again or as it is."""
        coming = coming or Coming("", 1, len(texts))
        shown = slice(coming.first - 1, coming.last)
        pulls = self._pulls(parts[shown], texts[shown], again, coming)
        try:
            return report_of(pulls, "\n".join(self.texts), part=coming.part)
        except AssertionError:
            result.counts["lines not found one for one"] += 1
            return None

    def _pulls(
        self,
        parts: list[Grey],
        texts: list[str],
        again: np.random.Generator | None,
        coming: Coming,
    ) -> list[Pull]:
        how = scanned_otherwise(again, coming.way) if again is not None else {}
        heavier = 0.3 if coming.way == "inked heavier" else None
        quarters, dpi = how.get("quarters", 0), how.get("dpi", 300)
        ends = np.linspace(0, len(parts), coming.sheets + 1).round().astype(int).tolist()
        pulls = []
        for start, end in itertools.pairwise(ends):
            image = self.bands.page(parts[start:end])
            if again is not None:
                image = scan_again(image, again, heavier)
            here = zip(parts[start:end], texts[start:end], strict=True)
            places = [self._places(part, text) for part, text in here]
            laid = scanned(image, quarters, dpi)
            pulls.append(Pull(laid, texts[start:end], places, quarters, dpi))
        return pulls

    def _places(self, part: Grey, text: str) -> list[tuple[float, float]] | None:
        """Where a line's letters stand; what hides or breaks one has left it where it was."""
        held = places_in(part, text, self.size, self._widths)
        if held is not None and text not in self.texts:
            return held
        alike = [n for n, own in enumerate(self.texts) if len(own) == len(text)]
        if not alike:
            return None
        same = [sum(map(eq, self.texts[n], text)) for n in alike]
        nearest = alike[int(np.argmax(same))]
        if max(same) < 0.8 * len(text):
            return None
        band = self.bands.lines[nearest]
        return places_in(band, self.texts[nearest], self.size, self._widths)


@lru_cache(maxsize=2)
def _taken_apart(page: Page) -> Scanned:
    return Scanned(page)


def _begun(page: Page, seed: int) -> tuple[Result, Scanned, np.random.Generator, Report | None]:
    result, held = Result(), _taken_apart(page)
    rng = np.random.default_rng((seed, zlib.crc32(page.name.encode())))
    if held.bands is None:
        result.counts["pages passed over"] += 1
        return result, held, rng, None
    first = held.report(result, held.bands.lines, held.texts, None)
    result.counts["pages"] += first is not None
    return result, held, rng, first


def fit_scanned(page: Page, seed: int, play: float) -> Result:
    """The measures of slugs left alone and cast again, a third of the page at a time."""
    result, held, rng, first = _begun(page, seed)
    for third in range(3 if first is not None else 0):
        cast = frozenset(range(third, len(held.texts), 3))
        later = held.report(result, _cast(held, cast, rng, play), held.texts, rng)
        if later is not None:
            result.samples += samples_of(first, later, cast)
    return result


def samples_of(first: Report, later: Report, cast: frozenset[int]) -> list[Sample]:
    """The measures of every slug in its place; `cast` are indices of those cast again."""
    pairing = pair_slugs(first, later)
    out = []
    for index, line in enumerate(later.lines):
        overlay = pairing.overlays.get((index, index))
        if overlay is not None and overlay.seats is not None:
            noise = pairing.noise[line.sheet]
            letters = len(overlay.seats.places)
            odds = overlay.odds(noise)
            out.append(Sample(index in cast, odds, overlay.likeness, letters, noise))
    return out


def try_scanned(page: Page, other: Page, seed: int, play: float, *, muddled: bool = True) -> Result:
    """Everything a page is put through, its first scan read once.

    Args:
        page: the page.
        other: another of the same book, for a slug that is not of the job.
        seed: of all chance.
        play: play of a slug cast again, as a multiple of the usual.
        muddled: lay muddles on it too, not corrections alone.
    """
    result, held, rng, first = _begun(page, seed)
    if first is None:
        return result
    for parts, texts, muddles in _muddled(held, other, rng, play) if muddled else ():
        later = held.report(result, parts, texts, rng)
        if later is not None:
            count_muddles(result, first, later, muddles, page.name)
    for start in range(2):
        coming = some_way(rng, len(held.texts))
        with counted_by_way(result, coming.way) as counted:
            _corrections(counted, held, rng, play, start, coming)
        coming = some_way(rng, len(held.texts))
        with counted_by_way(result, coming.way) as counted:
            stone_scanned(counted, held, rng, coming)
    return result


def _cast(held: Scanned, which: frozenset[int], rng: np.random.Generator, play: float) -> list:
    usual = (0.15 * play, 0.06 * play)
    return [
        cast_again(band, held.size, rng, usual) if index in which else band
        for index, band in enumerate(held.bands.lines)
    ]


def _muddled(
    held: Scanned, other: Page, rng: np.random.Generator, play: float
) -> Iterator[tuple[list, list[str], list[Muddle]]]:
    """Parts, texts and what was done to them: nothing; a third cast again; the rest at random."""
    yield held.bands.lines, held.texts, []
    for third in range(3):
        cast = frozenset(range(third, len(held.texts), 3))
        muddles = [Muddle("recast", index + 1) for index in sorted(cast)]
        yield _cast(held, cast, rng, play), held.texts, muddles
    strange = _taken_apart_other(other, held)
    kinds = ["swapped", "dropped", "doubled", "turned", *(["foreign"] if strange else [])]
    for _ in range(3):
        chosen = _spots(held, rng)
        muddles = [
            Muddle(name, line)
            for name, line in zip(rng.permutation(kinds * 2).tolist(), chosen, strict=False)
            if name != "turned" or len(held.texts[line - 1]) > 8
        ]
        parts, texts, pool = list(held.bands.lines), list(held.texts), list(strange)
        for muddle in sorted(muddles, key=lambda m: -m.line):
            _DONE[muddle.name](parts, texts, muddle.line - 1, held, pool, rng)
        yield parts, texts, muddles


def _spots(held: Scanned, rng: np.random.Generator) -> list[int]:
    """Lines some way apart, each unlike the next."""
    spots, line = [], int(rng.integers(2, 2 + _APART))
    while line < len(held.texts) - 1:
        if held.texts[line - 1] != held.texts[line]:
            spots.append(line)
        line += _APART + int(rng.integers(0, 2))
    return spots


def _taken_apart_other(other: Page, held: Scanned) -> list[tuple[Grey, str]]:
    """Lines of another page, cut or widened to this one's width."""
    strange = Scanned(other)
    if strange.bands is None or strange.name == held.name:
        return []
    width = held.bands.lines[0].shape[1]
    out = []
    for band, text, box in zip(
        strange.bands.lines, strange.texts, strange.bands.boxes, strict=True
    ):
        if box[2] < width - 4 and len(text) > 15:
            row = np.full((band.shape[0], width), 255, np.uint8)
            row[:, : min(width, band.shape[1])] = band[:, :width]
            out.append((row, text))
    return out


def _swap(parts, texts, at, *_) -> None:
    for held in (parts, texts):
        held[at], held[at + 1] = held[at + 1], held[at]


def _drop(parts, texts, at, *_) -> None:
    del parts[at], texts[at]


def _double(parts, texts, at, *_) -> None:
    parts.insert(at, parts[at])
    texts.insert(at, texts[at])


def _turn(parts, texts, at, held: Scanned, *_) -> None:
    x, y, right, bottom = held.bands.boxes[at]
    turned = parts[at].copy()
    y, bottom = max(y, 0), min(bottom, turned.shape[0])
    turned[y:bottom, x:right] = turned[y:bottom, x:right][::-1, ::-1]
    parts[at], texts[at] = turned, texts[at][::-1]


def _strange(parts, texts, at, _, strange, rng) -> None:
    band, text = strange.pop(int(rng.integers(len(strange))))
    parts.insert(at + 1, band)
    texts.insert(at + 1, text)


_DONE: dict[str, Callable] = {
    "swapped": _swap,
    "dropped": _drop,
    "doubled": _double,
    "turned": _turn,
    "foreign": _strange,
}

# ------------------------------------------------------------------ corrections

_HOW = ("made", "missed", "missed, recast", "made with a new fault", "half made")


def _corrections(
    result: Result,
    held: Scanned,
    rng: np.random.Generator,
    play: float,
    start: int,
    coming: Coming,
) -> None:
    """Every third line with a fault on the earlier proof, and something done about each."""
    wrong, read = list(held.bands.lines), list(held.texts)
    right, reads = list(held.bands.lines), list(held.texts)
    done: dict[int, Done] = {}
    usual = (0.15 * play, 0.06 * play)
    for at in range(1 + start, len(held.texts) - 1, 3):
        how = _HOW[int(rng.integers(len(_HOW)))]
        spoiled = _spoiled(held, at, how, rng)
        if spoiled is None:
            continue
        (wrong[at], read[at]), (band, reads[at]) = spoiled
        right[at] = band if how == "missed" else cast_again(band, held.size, rng, usual)
        left = -1
        if how == "half made":
            differs = [a != b for a, b in zip(held.texts[at], reads[at], strict=True)]
            left = sum(len(text) + 1 for text in held.texts[:at]) + differs.index(True)
        done[at + 1] = Done(how, left)
    before = held.report(result, wrong, read, None, coming.before(len(read)))
    later = held.report(result, right, reads, rng, coming)
    if before is not None and later is not None:
        shown = range(coming.first, coming.last + 1)
        count_corrections(result, (before, later), done, held.name, shown=shown)


def _spoiled(
    held: Scanned, at: int, how: str, rng: np.random.Generator
) -> tuple[tuple[Grey, str], tuple[Grey, str]] | None:
    """The line with its fault, and as the corrector leaves it."""
    band, text, size = held.bands.lines[at], held.texts[at], held.size
    if how == "half made":
        letter = put_letter(band, text, size, rng)
        both = swap_words(*letter, size, rng) if letter else None
        return (both, letter) if both and _apart(text, letter[1], both[1]) else None
    ways = [swap_words, put_letter, *([drop_word] if how != "made with a new fault" else [])]
    wrong = ways[int(rng.integers(len(ways)))](band, text, size, rng)
    if wrong is None or how == "made":
        return (wrong, (band, text)) if wrong else None
    if how == "made with a new fault":
        other = put_letter(band, text, size, rng)
        return (wrong, other) if other and _apart(text, wrong[1], other[1]) else None
    return wrong, wrong


def _apart(text: str, one: str, other: str) -> bool:
    """Whether two faulty readings differ in other words, with a word between at least."""
    words, first, second = (s.split(" ") for s in (text, one, other))
    wrong = {n for n, pair in enumerate(zip(words, first, strict=True)) if pair[0] != pair[1]}
    also = {n for n, pair in enumerate(zip(words, second, strict=True)) if pair[0] != pair[1]}
    also -= wrong
    return bool(also) and all(abs(a - b) > 1 for a in wrong for b in also)
