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

from proofcheck.metal.certain import grown
from proofcheck.metal.company import running_rows
from proofcheck.metal.comparing import OWN_COMPARER, broken_as
from proofcheck.metal.laying import lay_on, scars
from proofcheck.metal.unsound import EVEN, NEVER, STEP, rather_broken
from proofcheck.values import Kind, Span

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.metal.findings import MetalFinding
    from proofcheck.metal.matter import Matter

__all__ = ["broken_letters", "same_scar"]

LOST_EVEN, LOST_STEP = 0.06, 0.01
"""Share of its fellows' ink wanting at which a letter in dispute is as likely a fault as not."""
WORN = 3.0
"""… and so many times what the proof's most worn letters want (their 99th percentile)."""
ADDED_AT_MOST = 0.03
"""A broken letter has no ink where its fellows have none; another letter has."""
STRANGE = 0.15
"""More unlike the letter it was read as than this, a letter in dispute may be a broken one."""
LEAST_CERTAINTY = 0.35
ODDS_EVEN, ODDS_STEP = 3.0, 0.6
"""The comparer's log odds as likely broken as not: 1 sound letter in 5,000 has as much."""
SCAR_ALIKE = 0.4
SCARS = 3
"""So many letters with the same scar are one damaged mat; fewer may be chance."""


def broken_letters(matter: Matter) -> list[MetalFinding]:
    """Letters with part of their face gone; letters with one scar are told as one damaged mat."""
    fount = matter.fount
    found: list[MetalFinding] = []
    marks: list[tuple[str, NDArray[np.bool_]]] = []
    even = _even_point(matter)
    for number, character, certainty in sorted(_compared(matter) + _misread(matter, even)):
        if certainty < LEAST_CERTAINTY:
            continue
        row, at = int(fount.line[number]), int(fount.at[number])
        letters = Span(at, at + 1)
        found.append(
            matter.finding(
                Kind.BROKEN_LETTER,
                row,
                letters,
                certainty,
                proof_text=str(fount.text[number]),
                copy_text=character,
            )
        )
        marks.append((character, scars(fount.cut, number, fount.fellows[character])))
    return same_scar(found, marks)


def _even_point(matter: Matter) -> float:
    """Loss as likely a fault as not: more on a proof whose letters are all worn."""
    lost = matter.fount.lost[matter.fount.agreed]
    worn = float(np.percentile(lost, 99)) if len(lost) else 0.0
    return max(LOST_EVEN, min(WORN * worn, 0.2))


def _compared(matter: Matter) -> list[tuple[int, str, float]]:
    """Letters read rightly that look broken: number, letter, certainty."""
    broken = np.flatnonzero((matter.unsound > NEVER) & rather_broken(matter))
    return [
        (number, str(matter.fount.text[number]), grown(float(matter.unsound[number]), EVEN, STEP))
        for number in broken.tolist()
    ]


def _misread(matter: Matter, even: float) -> list[tuple[int, str, float]]:
    """Letters in dispute that may be the right one broken: number, that letter, certainty."""
    weights = matter.settings.comparer or OWN_COMPARER
    fount, running = matter.fount, running_rows(matter)
    found = []
    for difference in matter.collation.differences:
        row = matter.row_of.get(difference.line)
        wanted = difference.copy_text
        if row is None or len(difference.proof_text) != 1 or len(wanted) != 1:
            continue
        number = matter.place.get((row, difference.proof.start))
        if number is None or wanted not in fount.fellows:
            continue
        as_read = float(fount.unlike[number])
        laid = lay_on(fount.cut, np.array([number]), fount.fellows[wanted])
        if as_read <= STRANGE or float(laid.added[0]) > ADDED_AT_MOST:
            continue
        if not running[row] and wanted.isupper():
            continue  # Small capitals are no full ones broken.
        if wanted.islower() and _among_capitals(matter, row, difference.proof.start):
            continue
        odds = broken_as(fount, number, wanted, weights)
        by_loss = grown(float(laid.lost[0]), even, LOST_STEP)
        certainty = max(grown(odds, ODDS_EVEN, ODDS_STEP), by_loss)
        found.append((number, wanted, certainty))
    return [each for each in found if each[1].isalnum()]


def _among_capitals(matter: Matter, row: int, at: int) -> bool:
    """Whether a letter stands in capitals, which the shop's style may want for small letters."""
    letters = matter.readings[row].letters
    beside = [letters[n].text for n in (at - 1, at + 1) if 0 <= n < len(letters)]
    return any(text.isupper() for text in beside)


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
