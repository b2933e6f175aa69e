"""What a hand at the stone or at the case puts right, on the slugs and lines that stood.

A space that printed is pushed down, a sort on its head turned, a broken or wrong letter changed for
another as wide, two swapped slugs put back; or each is left as it was. What was left is found again
on the revise only by half: the same metal is not made right by being read otherwise.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import cv2
import numpy as np
from revise_cases import pulled, scanned_otherwise
from typesetter import broken_letter, misset, swap_lines, turned_sort, work_up

from proofcheck.base.found import Fault, Mark, Status
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Span
from proofcheck.revise import Made, compare_proofs
from tests.turning import UNCHANGED, as_printed_turned

from .bothlines import both_lines
from .rescan import letters_in, words_in

if TYPE_CHECKING:
    from typesetter import Forme

    from proofcheck.base.values import Grey
    from proofcheck.results.report import Report

    from .coming import Coming
    from .muddledscans import Scanned
    from .muddles import Result

__all__ = ["stone_pulled", "stone_scanned"]

_OF_TYPE = {"space that prints": Kind.WORK_UP, "broken letter": Kind.BROKEN_LETTER}
_TEXT = ("turned sort", "letter changed")
_KINDS = (*_OF_TYPE, *_TEXT)


@dataclass(frozen=True, slots=True)
class _Asked:
    """A fault of the earlier proof, and whether it was put right."""

    name: str
    line: int
    place: int
    """Of the letter or the space in its line."""
    cured: bool


# ------------------------------------------------------------------ on formes of the typesetter


def stone_pulled(
    result: Result, right: Forme, rng: np.random.Generator, where: str, coming: Coming
) -> None:
    """A forme of type from the case pulled with faults, and again with half of them put right."""
    before, after, asked = right, right, []
    for line in range(2 + int(rng.integers(2)), len(right.slugs) - 4, 2):
        name, cured = str(rng.choice(_KINDS)), bool(rng.random() < 0.5)
        try:
            spoil, place = _spoil(right, line, name, rng)
            before = spoil(before)
        except ValueError:
            continue
        after = after if cured else spoil(after)
        asked.append(_Asked(name, line, place, cured))
    last = len(right.slugs) - 2
    swapped = bool(right.slugs[last - 1].text != right.slugs[last].text)
    cured = bool(rng.random() < 0.5)
    if swapped:
        before = swap_lines(before, last, last + 1)
        after = after if cured else swap_lines(after, last, last + 1)
        asked.append(_Asked("slugs swapped", last, -1, cured))
    try:
        seed, how = int(rng.integers(1e9)), scanned_otherwise(rng, coming.way)
        one = pulled(before, int(rng.integers(1e9)), copy=right.copy, sheets=coming.sheets)
        two = pulled(after, seed, copy=right.copy, part=coming.ends, **how)
    except AssertionError:
        result.counts["lines not found one for one"] += 1
        return
    _count(result, one, two, asked, rng, where, coming)


def _spoil(right: Forme, line: int, name: str, rng: np.random.Generator):
    """What puts that fault into a forme, and where in the line it stands.

    Raises:
        ValueError: there is no room for it in that line.
    """
    text = right.slugs[line - 1].text
    if name == "space that prints":
        gaps = [at for at, char in enumerate(text) if char == " "]
        if len(gaps) < 3:
            msg = "too few spaces"
            raise ValueError(msg)
        gap = int(rng.integers(1, len(gaps) - 1))
        return lambda forme: work_up(forme, line, gap + 1), gaps[gap]
    words = [w for w in text.split(" ") if w.isalpha() and w.islower() and len(w) > 3]
    words = [w for w in words if text.count(w) == 1]
    if not words:
        msg = "no word"
        raise ValueError(msg)
    word = str(rng.choice(words))
    spots = [n for n in range(len(word)) if _may(word[n], name)]
    if not spots:
        msg = "no letter"
        raise ValueError(msg)
    at = int(rng.choice(spots))
    place = text.index(word) + at
    if name == "turned sort":
        return lambda forme: turned_sort(forme, line, word, letter=at), place
    if name == "broken letter":
        seed = int(rng.integers(1, 1000))
        return lambda forme: broken_letter(forme, line, word, letter=at, seed=seed), place
    other = _AS_WIDE[word[at]]
    wrong = word[:at] + other + word[at + 1 :]
    return lambda forme: misset(forme, line, word, wrong, "wrong-letter"), place


_AS_WIDE = {"n": "u", "u": "n", "b": "d", "d": "b", "p": "q", "q": "p", "a": "e", "e": "c"}
"""Letters for others about as wide: the case's own confusions."""


def _may(letter: str, name: str) -> bool:
    if name == "turned sort":
        return letter not in UNCHANGED and as_printed_turned(letter) != letter
    return letter in _AS_WIDE if name == "letter changed" else letter in "aeghkmnbdpqu"


# ------------------------------------------------------------------ on real pages


def stone_scanned(result: Result, held: Scanned, rng: np.random.Generator, coming: Coming) -> None:
    """A real page with faults put into its picture, and again with half of them put right."""
    wrong, read = list(held.bands.lines), list(held.texts)
    now, reads = list(held.bands.lines), list(held.texts)
    asked = []
    for at in range(1 + int(rng.integers(2)), len(held.texts) - 1, 2):
        name, cured = str(rng.choice(_KINDS)), bool(rng.random() < 0.5)
        spoiled = _spoiled(held, at, name, rng)
        if spoiled is None:
            continue
        wrong[at], read[at], place = spoiled
        if not cured:
            now[at], reads[at] = wrong[at], read[at]
        asked.append(_Asked(name, at + 1, place, cured))
    one = held.report(result, wrong, read, None, coming.before(len(read)))
    two = held.report(result, now, reads, rng, coming)
    if one is not None and two is not None:
        _count(result, one, two, asked, rng, held.name, coming)


def _spoiled(
    held: Scanned, at: int, name: str, rng: np.random.Generator
) -> tuple[Grey, str, int] | None:
    band, text, size = held.bands.lines[at].copy(), held.texts[at], held.size
    if name == "space that prints":
        return _risen(band, text, held.bands.boxes[at], size, rng)
    letters = [(n, cell) for n, cell in letters_in(band, text, size) if _may(text[n], name)]
    if not letters:
        return None
    place, (start, stop) = letters[int(rng.integers(len(letters)))]
    cell = band[:, start:stop].copy()
    rows = np.flatnonzero((cell < 128).any(axis=1))
    top, bottom = int(rows[0]), int(rows[-1]) + 1
    if name == "turned sort":
        band[top:bottom, start:stop] = cell[top:bottom][::-1, ::-1]
        return band, text[:place] + as_printed_turned(text[place]) + text[place + 1 :], place
    if name == "broken letter":
        share = int(0.35 * (bottom - top))
        low = top if rng.random() < 0.5 else bottom - share
        band[low : low + share, start:stop] = 255
        return band, text, place
    for other, (left, right) in letters_in(band, text, size):
        if text[other] != text[place] and abs((right - left) - (stop - start)) <= 2:
            band[:, start - 1 : stop + 1] = 255
            middle = (start + stop - right + left) // 2
            band[:, middle : middle + right - left] = held.bands.lines[at][:, left:right]
            return band, text[:place] + text[other] + text[place + 1 :], place
    return None


def _risen(band: Grey, text: str, box, size: float, rng) -> tuple[Grey, str, int] | None:
    words = words_in(band, text, size)
    if len(words) < 4:
        return None
    gap = int(rng.integers(1, len(words) - 1))
    left, right = words[gap - 1][1] + 2, words[gap][0] - 2
    if right - left < 3:
        return None
    cv2.rectangle(band, (left, max(box[1], 0)), (right - 1, box[3] - 1), 20, -1)
    place = sum(len(w) + 1 for w in text.split(" ")[:gap]) - 1
    return band, text, place


# ------------------------------------------------------------------ counted


def _count(
    result: Result,
    one: Report,
    two: Report,
    asked: list[_Asked],
    rng: np.random.Generator,
    where: str,
    coming: Coming,
) -> None:
    """Lay the revise on the proof and count what was told of each."""
    before, ids = _with_faults(one, asked)
    again = [a for a in asked if not a.cured and rng.random() < 0.5]
    later, seen = _with_faults(two, [a for a in again if coming.shows(a.line)], coming.shift)
    keep = set(seen)
    # Of what was left, the half not found again is read otherwise this time.
    later = replace(later, faults=tuple(f for f in later.faults if f.id in keep))
    before, later = (
        replace(r, provenance=replace(r.provenance, settings={"hand_set": True, "part": part}))
        for r, part in ((before, False), (later, coming.part))
    )
    told = compare_proofs(before, later, list(ids))
    for correction in told.corrections:
        what = ids[correction.fault]
        due = Made.MADE if what.cured else Made.MISSED
        name = f"correction, {what.name}, {'cured' if what.cured else 'left'}"
        if not coming.shows(what.line):
            due, name = Made.UNSEEN, "correction not on the part"
        right = correction.made is due
        result.outcome(name, right=right)
        result.outcome("corrections", right=right)
        result.counts["untouched told as made"] += not what.cured and correction.made is Made.MADE
        if not right:
            said = f"{correction.made}: {correction.why}"
            note = f"{where}: {name}: line {what.line}, letter {what.place}: {said}"
            result.notes.append(note)
            result.pictures.append((note, both_lines(one, two, what.line, coming.shift)))
    known = {a.line for a in asked} | {a.line + 1 for a in asked if a.place < 0}
    known = {line - coming.shift for line in known}
    loose = [f for f in told.findings if not (f.fault and f.line in known)]
    result.counts["findings at the stone that are none"] += len(loose)
    result.notes += [f"{where}: no finding: {f.kind.value} {f.line}: {f.words}" for f in loose]


def _with_faults(
    report: Report, asked: list[_Asked], shift: int = 0
) -> tuple[Report, dict[str, _Asked]]:
    """The report with the faults of the type put in, and which fault is which."""
    faults, ids = list(report.faults), {}
    for number, told in enumerate(asked):
        one = replace(told, line=told.line - shift)
        if one.name in _OF_TYPE:
            made = _type_fault(f"T{number}", report, one)
            faults.append(made)
            ids[made.id] = told
            continue
        for fault in report.faults:
            # Swapped slugs may be told as what is missing after one and too much after another.
            lines = {one.line, one.line + 1, one.line - 1} if one.place < 0 else {one.line}
            # How the typesetter divides a word is nobody's to put right.
            of_it = fault.kind is not Kind.BAD_DIVISION
            if of_it and lines & {fault.line, *fault.other_lines}:
                ids[fault.id] = told
    return replace(report, faults=tuple(faults)), ids


def _type_fault(name: str, report: Report, one: _Asked) -> Fault:
    line, reading = report.line(one.line), report.reading(one.line)
    box = reading.letters[one.place].box
    if one.name == "space that prints":
        low = round(line.baseline[0]) - line.box.y
        box = Box(box.x + 1, line.box.y, max(box.width - 2, 3), low)
    held = report.placed(one.line)
    at = held.start + one.place if held is not None else 0
    kind = _OF_TYPE[one.name]
    char = "" if kind is Kind.WORK_UP else reading.text[one.place]
    return Fault(
        name, kind, one.line, line.sheet, box, Span(at, at + 1), char, char,
        Mark(kind.value, "", "×", "ring", one.name), 0.97, Status.FAULT,
    )  # fmt: skip
