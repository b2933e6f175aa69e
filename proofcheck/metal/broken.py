"""Broken and battered letters: part of the face gone, by the proof's own sound letters.

Old and well-used type has frayed letters everywhere; what counts is plain loss that most of its
fellows do not have. Where letters of one kind have lost the same part it is the mat: every slug
cast from it will have the scar, and it is said once, with all its places.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from typing import TYPE_CHECKING

import cv2
import numpy as np

from proofcheck.base.kinds import Kind
from proofcheck.metal.certain import grown
from proofcheck.metal.finder import Finder
from proofcheck.metal.overlaying import scars
from proofcheck.metal.patches import TALL, WIDE
from proofcheck.metal.rare import broken_alone, rare_letters
from proofcheck.metal.set_apart import is_set_apart
from proofcheck.metal.unsound import EVEN, NEVER, STEP, broken_as

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.metal.context import Matter
    from proofcheck.metal.findings import MetalFinding
    from proofcheck.metal.judged import Judged

__all__ = ["broken_letters", "same_scar"]

STRANGE = 0.15
"""No more unlike the letter it was read as, a letter in dispute is plainly that letter."""
LEAST_CERTAINTY, LEAST_MISREAD = 0.5, 0.35
"""Of a letter read rightly, and of one in dispute: that is told as something in any case."""
_RINGS = frozenset("oO0")
"""A ring that has lost a part is no smaller or narrower one."""
SCAR_ALIKE = 0.4
SCARS = 3
"""So many letters with the same scar are one damaged mat; fewer may be chance."""


def broken_letters(judged: Judged) -> list[MetalFinding]:
    """Letters with part of their face gone; letters with one scar are told as one damaged mat."""
    matter, fount = judged.matter, judged.matter.fount
    found: list[MetalFinding] = []
    marks: list[tuple[str, NDArray[np.bool_]]] = []
    for number, character, odds in _likeliest(judged):
        certainty = grown(odds, EVEN, STEP)
        misread = bool(fount.text[number] != character)
        if certainty < (LEAST_MISREAD if misread else LEAST_CERTAINTY):
            continue
        # What is left of a broken d may be an l in every way; so may an l that stands for a d.
        another = misread and float(fount.unlike[number]) <= STRANGE
        finding = matter.finding_on(
            Kind.BROKEN_LETTER, number, certainty, copy_text=character, gives_way=another
        )
        found.append(finding)
        marks.append((character, _scar(matter, number, character)))
    return same_scar(found, marks)


FINDER = Finder(40, broken_letters)


def _scar(matter: Matter, number: int, character: str) -> NDArray[np.bool_]:
    """Where a letter wants ink; nowhere that is known for one without fellows."""
    fellows = matter.fount.fellows.get(character)
    if fellows is None:
        return np.zeros((TALL, WIDE), bool)
    return scars(matter.fount.cut, number, fellows)


def _likeliest(judged: Judged) -> list[tuple[int, str, float]]:
    """Letters that may be broken, each once: number, what it should be, log odds."""
    found: dict[int, tuple[int, str, float]] = {}
    for each in _compared(judged) + rare_letters(judged.matter) + _misread(judged):
        if each[0] not in found or each[2] > found[each[0]][2]:
            found[each[0]] = each
    return sorted(found.values())


def _compared(judged: Judged) -> list[tuple[int, str, float]]:
    """Letters read rightly that look broken: number, letter, log odds."""
    text = judged.matter.fount.text
    broken = np.flatnonzero((judged.unsound > NEVER) & judged.broken)
    return [(n, str(text[n]), float(judged.unsound[n])) for n in broken.tolist()]


def _misread(judged: Judged) -> list[tuple[int, str, float]]:
    """Letters in dispute that may be the right one broken: number, that letter, log odds."""
    matter, odd = judged.matter, judged.among_odd
    fount = matter.fount
    found = []
    for difference in matter.collation.differences:
        row = matter.row_of.get(difference.line)
        wanted = difference.copy_text
        if row is None or len(difference.proof_text) != 1 or len(wanted) != 1:
            continue
        number = matter.number_at(row, difference.proof.start)
        if number is None or not wanted.isalnum():
            continue
        if wanted.islower() and _among_capitals(matter, row, difference.proof.start):
            continue
        if {wanted, difference.proof_text} <= _RINGS or is_set_apart(matter, row, number):
            continue
        if wanted not in fount.fellows or odd[number]:
            odds = broken_alone(matter, [number], [wanted])[0]
        else:
            odds = broken_as(matter, wanted, fount.cut, number)
        found.append((number, wanted, odds))
    return found


def _among_capitals(matter: Matter, row: int, at: int) -> bool:
    """Whether a letter stands in capitals, which the shop's style may want for small letters."""
    letters = matter.readings[row].letters
    beside = [letters[n].text for n in (at - 1, at + 1) if 0 <= n < len(letters)]
    return any(map(str.isupper, beside)) and not any(map(str.islower, beside))


def same_scar(
    found: Sequence[MetalFinding], marks: Sequence[tuple[str, NDArray[np.bool_]]]
) -> list[MetalFinding]:
    """Findings with one scar brought together as one of a damaged mat.

    Args:
        found: broken letters in order of the proof.
        marks: for each the letter it should be and where its ink is wanting.
    """
    grown_marks = [cv2.dilate(mark.astype(np.uint8), np.ones((3, 3))) > 0 for _, mark in marks]
    groups: dict[int, list[int]] = defaultdict(list)
    for one, (letter, mark) in enumerate(marks):
        home = next(
            (
                first
                for first in groups
                if marks[first][0] == letter
                and _overlap(mark, marks[first][1], grown_marks[one], grown_marks[first])
            ),
            one,
        )
        groups[home].append(one)
    kept = []
    for held in groups.values():
        if len(held) < SCARS:
            kept += [found[one] for one in held]
            continue
        if len({found[one].line for one in held}) == 1:
            continue  # A line in a face of its own.
        best = max(found[one].certainty for one in held)
        first = found[held[0]]
        others = tuple(sorted({found[one].line for one in held} - {first.line}))
        words = f"damaged mat: {first.copy_text} has the same scar {len(held)} times"
        kept.append(replace(first, certainty=best, words=words, other_lines=others))
    return sorted(kept, key=lambda each: (each.line, each.letters.start))


def _overlap(
    one: NDArray[np.bool_],
    other: NDArray[np.bool_],
    one_grown: NDArray[np.bool_],
    other_grown: NDArray[np.bool_],
) -> bool:
    """Whether most of either scar lies on the other."""
    on_other = (one & other_grown).sum() / max(one.sum(), 1)
    on_one = (other & one_grown).sum() / max(other.sum(), 1)
    return bool(min(on_other, on_one) > SCAR_ALIKE)
