"""Lines cast on another body or in another face than their paragraph's.

A correction slug may come from a machine with another size or another face in it. The size is
judged by the heights of the letters' ink against those of the same letters of the proof, the face
by how far most letters of the line stand out from their kinds; and both only where the other lines
of the paragraph agree among themselves. On a sheet several up a line must stand out from the same
line of the other tickets too.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.kinds import Kind
from proofcheck.base.values import Span
from proofcheck.metal.certain import grown
from proofcheck.metal.finder import Finder
from proofcheck.metal.posture import ITALIC
from proofcheck.metal.slope import slopes_of
from proofcheck.metal.twin_bodies import unlike_bodies
from proofcheck.metal.twins import as_twins, twins_of, unlike_twins

if TYPE_CHECKING:
    from proofcheck.metal.context import Matter
    from proofcheck.metal.findings import MetalFinding, Told
    from proofcheck.metal.judged import Judged

__all__ = ["miscast_lines", "sizes_of_lines"]

REACH = 6
"""Lines to either side that are looked at."""
LEAST_FELLOWS, LEAST_LETTERS, LEAST_OF_KIND = 3, 12, 6
SIZE = (0.056, 0.006)
"""Share of its height by which a line's letters are larger or smaller, as likely a fault as not: a
point more or less is 0.067 to 0.13 in 10-point, 0.056 in 18-point; 99 in 100 lines of old books
are within 0.02 of their paragraph."""
EVEN_SIZE = 0.02
FACE = (2.0, 0.15)
"""How odd the letters of a line are at the 30th of 100, in their kinds' own spreads: other faces
give 2.1 to 3.4; in old books only lines in italic or in small capitals come over 1.5."""
EVEN_FACE = 1.0
_BODY = "cast on the wrong body? its letters are {:+.0f} % in height"
_BESIDE = " beside the same line of the other tickets"
_FACE = "the line is of another face than its fellows"
_SHARE = 30
_AGREE = 0.74
_MOST = 0.9


def sizes_of_lines(matter: Matter) -> dict[int, float]:
    """How much larger each row's letters are than those of the same kinds, as a logarithm."""
    fount = matter.fount
    tall = np.array([box.height for box in matter.boxes], np.float64)
    more = np.full(len(tall), np.nan)
    for character in fount.fellows:
        mine = fount.text == character
        usual = tall[mine & fount.agreed]
        if character.isalpha() and len(usual) >= LEAST_OF_KIND:
            more[mine] = np.log(np.maximum(tall[mine], 1) / np.median(usual))
    found = {}
    for row in range(len(matter.lines)):
        held = np.sort(more[matter.of_row(row)])
        held = held[np.isfinite(held)]
        if len(held) >= LEAST_LETTERS:
            part = len(held) // 5
            found[row] = float(held[part:-part].mean())
    return found


def miscast_lines(judged: Judged) -> list[MetalFinding]:
    """Lines of running matter in another size or face than the rest of their paragraph.

    Or than the same line of the other tickets, where the paragraph does not say.
    """
    matter = judged.matter
    sizes, twins = sizes_of_lines(matter), twins_of(matter)
    odd = _oddness_of_lines(matter, sizes)
    found: dict[int, MetalFinding] = {}
    for row, size in sizes.items():
        fellows = _fellows(matter, row, sizes)
        off = _beside_fellows(row, fellows, sizes)
        off = unlike_twins(off, size, twins.get(row, ()), sizes)
        certainty, words = grown(abs(off), *SIZE), _BODY.format(100 * np.expm1(off))
        if certainty < 0.5:
            certainty, words = grown(odd[row], *FACE), _FACE
            others = fellows if len(fellows) >= LEAST_FELLOWS else twins.get(row, ())
            if not _is_face_alone(matter, row, [odd.get(other, np.inf) for other in others]):
                continue
            if as_twins(twins.get(row, ()), odd, EVEN_FACE):
                continue
        if certainty >= 0.5:
            found[row] = _told(matter, row, certainty, words)
    for row, unlike in unlike_bodies(matter, SIZE[0]).items():
        words = _BODY.format(100 * np.expm1(unlike.off)) + _BESIDE
        certainty = grown(abs(unlike.off), *SIZE)
        found.setdefault(row, _told(matter, row, certainty, words, only_query=unlike.tied))
    return list(found.values())


def _told(
    matter: Matter, row: int, certainty: float, words: str, *, only_query: bool = False
) -> MetalFinding:
    letters, box = Span(0, len(matter.readings[row].letters)), matter.lines[row].box
    sure = min(certainty, _MOST)
    told: Told = {"words": words, "only_query": only_query}
    return matter.finding(Kind.WRONG_FONT, row, letters, sure, box, **told)


def _beside_fellows(row: int, fellows: list[int], sizes: dict[int, float]) -> float:
    """How far a row's size is off that of its paragraph; 0 where that does not say."""
    if len(fellows) < LEAST_FELLOWS:
        return 0.0
    size = sizes[row]
    if any(abs(sizes.get(other, np.inf) - size) < EVEN_SIZE for other in (row - 1, row + 1)):
        return 0.0  # Several lines together are matter set smaller, verse or a quotation.
    return _apart(size, [sizes[other] for other in fellows], EVEN_SIZE)


def _is_face_alone(matter: Matter, row: int, others: list[float]) -> bool:
    """Whether none of the lines it is held to stands out from its kinds, and it is not italic."""
    return bool(others) and max(others) <= EVEN_FACE and not _is_italic(matter, row)


FINDER = Finder(95, miscast_lines)


def _oddness_of_lines(matter: Matter, sizes: dict[int, float]) -> dict[int, float]:
    told = np.isfinite(matter.fount.unlike)
    rows = {row: matter.of_row(row) for row in sizes}
    return {
        row: float(np.percentile(matter.oddness[mine][told[mine]], _SHARE))
        for row, mine in rows.items()
    }


def _fellows(matter: Matter, row: int, sizes: dict[int, float]) -> list[int]:
    """Other lines of its paragraph near it, in its column."""
    held, line = matter.placed[row], matter.lines[row]
    if held is None:
        return []
    paragraph = matter.paragraph_at(held.start)
    if paragraph is None or held.end > paragraph.end:
        return []
    found = []
    for other in range(max(row - REACH, 0), min(row + REACH + 1, len(matter.lines))):
        there, beside = matter.placed[other], matter.lines[other]
        if other == row or other not in sizes or there is None:
            continue
        same = (beside.sheet, beside.column) == (line.sheet, line.column)
        if same and paragraph.start <= there.start and there.end <= paragraph.end:
            found.append(other)
    return found


def _apart(one: float, others: list[float], even: float) -> float:
    """From the median of the others; 0 where they don't agree among themselves."""
    middle = float(np.median(others))
    agreeing = float(np.mean(np.abs(np.array(others) - middle) < even))
    return one - middle if agreeing > _AGREE else 0.0


def _is_italic(matter: Matter, row: int) -> bool:
    """Whether most of a line leans: titles in italic, of which plain copy says nothing."""
    mine = np.arange(len(matter.fount.text))[matter.of_row(row)]
    return bool(np.median(slopes_of(matter.fount.cut, mine)) > ITALIC)
