"""Letters high or low on their line, from worn mats or bad locking.

How high a letter stands is taken from laying it on its fellows, or from the head and foot of its
own ink where it has none, and counted from the letters beside it, so that a crooked scan or a
line's own slope is no fault.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.kinds import Kind
from proofcheck.metal.certain import grown
from proofcheck.metal.finder import Finder
from proofcheck.metal.neighbours import median_beside
from proofcheck.metal.patches import X_HEIGHT

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.metal.context import Matter
    from proofcheck.metal.findings import MetalFinding
    from proofcheck.metal.judged import Judged

__all__ = ["off_line_letters"]

BESIDE = 6
"""Letters to either side whose height is taken for the line's."""
LEAST_BESIDE = 2
LIKE_AT_MOST = 0.2
"""A letter more unlike its fellows than this is no measure of height."""
LIKE_IN_HEAD = 0.1
"""The same in heads, which may be of another face."""
SPREADS = 7.0
"""Times the proof's own spread of heights that plainly stands out."""
_STEP = 0.012
_CAPITALS_MORE = 0.03
"""X-heights more for capitals of running matter: they are few, and some stand lower in one style
than another."""
_BORNE_OUT = 0.4
"""Share of what laying says that the letter's own head or foot must show too: a letter of another
posture lies badly on its fellows, and yet stands on its line."""
_FOOT_OUT = 0.25
"""… and of what stands on the line the foot so much; of what does not, among letters of another
style, both."""
_HANGS_X = 0.35
"""Under the baseline an f of italics reaches farther, and no f of roman off its line."""
_SHORT = frozenset("acemnorsuvwxz")
_TALL = frozenset("bdhklABCDEFGHIKLMNOPRSTUVWXYZ")
_STANDING = _SHORT | _TALL | {"i"}
_SMALL_CAPITAL = 0.85
"""Height of a small capital, as a share of a capital's, at most; common practice."""
_ALIKE_X = 0.1
"""Head and foot must be out alike: a letter of another size is no letter off its line."""
_AGREE = 0.7
"""Share of a kind's letters whose head and foot must be alike, or their ink is no measure."""
LEAST_FELLOWS, LEAST_IN_HEAD = 6, 4
LARGEST_TEXT = 1.3
"""Times the x-height of the proof's body: larger lines are heads."""
LEAST_CERTAINTY = 0.3


def off_line_letters(judged: Judged) -> list[MetalFinding]:
    """Single letters off their line; a whole word or more moves its neighbours' height too."""
    matter = judged.matter
    fount = matter.fount
    if not len(fount.text):
        return []
    height, good, heads = _heights(matter, judged.among_odd)
    if not good.any():
        return []
    rise = _from_beside(fount.line, height, good)
    spread = 1.4826 * float(np.median(np.abs(rise[good])))
    even = max(matter.settings.off_line_x, SPREADS * spread)
    found = []
    for number in np.flatnonzero(good & (np.abs(rise) > even - 3 * _STEP)):
        text = str(fount.text[number])
        more = _CAPITALS_MORE * (text.isupper() and not heads[number])
        certainty = grown(abs(float(rise[number])), even + more, _STEP)
        if certainty < LEAST_CERTAINTY or _with_neighbour(matter, rise, int(number)):
            continue
        if text.isupper() and _among_small_capitals(matter, int(number)):
            continue
        where = "low" if rise[number] > 0 else "high"
        found.append(
            matter.finding_on(
                Kind.OFF_LINE,
                int(number),
                certainty,
                words=f"off its line: {text} stands {where}",
                # Figures of two styles are mixed in old work.
                only_query=text.isdecimal(),
            )
        )
    return found


FINDER = Finder(80, off_line_letters)


def _heights(
    matter: Matter, among_odd: NDArray[np.bool_]
) -> tuple[NDArray[np.float64], NDArray[np.bool_], NDArray[np.bool_]]:
    """How low each letter stands in x-heights; for which this is known; which stand in heads."""
    fount = matter.fount
    heads = ~np.isin(fount.line, _running(matter))
    letters = np.array([text.isalnum() for text in fount.text.tolist()], bool) & fount.agreed
    like = np.where(heads, LIKE_IN_HEAD, LIKE_AT_MOST)
    laid = letters & np.isfinite(fount.unlike) & (fount.unlike < like) & matter.borne_out
    # Figures of two styles are mixed in old work: only laying tells them, and not in heads.
    letters &= np.array([text.isalpha() for text in fount.text.tolist()], bool)
    laid &= letters | ~heads
    height = fount.moved[:, 1].astype(np.float64) / X_HEIGHT
    stand = _stands(matter)
    out = _out(matter, heads, stand)
    laid &= _bear_out(matter, out * np.sign(height)[:, None], np.abs(height), among_odd)
    # Where the f's of a proof are of both styles they are no measure of one that hangs.
    laid &= np.isfinite(out[:, 1]) | (fount.text != "f") | (stand[:, 1] < _HANGS_X)
    alike = np.abs(out[:, 0] - out[:, 1]) < _ALIKE_X
    # A letter far off may be laid half way: its own head and foot say more, where they agree.
    more = laid & letters & alike & (np.abs(out.mean(axis=1)) > np.abs(height))
    by_ink = ~laid & alike & letters & (heads | matter.borne_out)
    height[more | by_ink] = out[more | by_ink].mean(axis=1)
    return height, laid | by_ink, heads


def _bear_out(
    matter: Matter,
    out: NDArray[np.float64],
    height: NDArray[np.float64],
    among_odd: NDArray[np.bool_],
) -> NDArray[np.bool_]:
    """For each letter whether its head and foot bear out what laying says.

    A letter of another size has its head out, and stands on the line all the same. An f among
    italics hangs under the line, and its head is where it should be.

    Args:
        matter: the proof.
        out: how far each end is out (`_out`), to the side that laying says above 0.
        height: how far off laying says that the letter is.
        among_odd: whether those beside it look odd too (`Judged.among_odd`).
    """
    stands = np.array([text in _STANDING for text in matter.fount.text.tolist()], bool)
    shown = np.nanmax(np.where(np.isfinite(out), out, -np.inf), axis=1)
    least = np.where(stands, out[:, 1], np.where(among_odd, out.min(axis=1), np.inf))
    found = (shown >= _BORNE_OUT * height) | ~np.isfinite(shown)
    found &= (least >= _FOOT_OUT * height) | ~np.isfinite(least)
    return np.asarray(found)


def _running(matter: Matter) -> list[int]:
    """Rows of the proof's text, its short last lines too, but no heads and no capitals."""
    sizes = [line.x_height_px / matter.body_x_height for line in matter.lines]
    return [
        row for row, size in enumerate(sizes) if size < LARGEST_TEXT and matter.is_mostly_small(row)
    ]


def _with_neighbour(matter: Matter, rise: NDArray[np.float64], number: int) -> bool:
    """Whether a letter beside it stands as far off: then it is the word, or the scan."""
    beside = [n for n in (number - 1, number + 1) if 0 <= n < len(rise)]
    return any(
        matter.word[n] == matter.word[number] and rise[n] * rise[number] > 0.5 * rise[number] ** 2
        for n in beside
    )


def _among_small_capitals(matter: Matter, number: int) -> bool:
    """Whether a capital's word has capitals of two heights: they stand on one line all the same."""
    held = np.flatnonzero(matter.word == matter.word[number]).tolist()
    texts = matter.fount.text
    tall = [matter.letter(n).box.height for n in held if str(texts[n]) in _TALL]
    return len(tall) > 1 and min(tall) < _SMALL_CAPITAL * max(tall)


def _out(
    matter: Matter, heads: NDArray[np.bool_], stand: NDArray[np.float64]
) -> NDArray[np.float64]:
    """(n, 2): how low the head and the foot of each letter's ink stand against the usual.

    The usual is that of its character in running matter, or of all as tall; in a head that of the
    capitals of its line; for the foot, failing these, of what stands on the line beside it. In
    x-heights; NaN where there are too few.
    """
    fount = matter.fount
    out = np.full_like(stand, np.nan)
    texts = fount.text.tolist()
    short = np.array([text in _SHORT for text in texts], bool)
    tall = np.array([text in _TALL for text in texts], bool)
    text = ~heads & fount.agreed
    for shape in (short & text, tall & text):
        if shape.sum() >= LEAST_FELLOWS:
            out[shape] = stand[shape] - np.median(stand[shape], axis=0)
    for character in fount.fellows:
        mine = text & (fount.text == character)
        if mine.sum() >= LEAST_FELLOWS:
            apart = stand[mine] - np.median(stand[mine], axis=0)
            # Where stems are taken for a neighbour's, half of the i's are their dots alone.
            agree = (np.abs(apart) < _ALIKE_X).all(axis=1).mean() >= _AGREE
            out[mine] = apart if agree else np.nan
    for row in np.unique(fount.line[heads]):
        own = matter.of_row(int(row))
        mine = own.start + np.flatnonzero(tall[own] & fount.agreed[own])
        if len(mine) < LEAST_IN_HEAD:
            continue
        usual = np.median(stand[mine], axis=0)
        out[mine] = stand[mine] - usual
    # Of a letter without such fellows those beside it say where its foot should stand.
    mine = np.flatnonzero(fount.agreed & [text in _STANDING for text in texts])
    beside = median_beside(stand[mine, 1], fount.line[mine], BESIDE, LEAST_BESIDE)
    out[mine, 1] = np.where(np.isnan(out[mine, 1]), stand[mine, 1] - beside, out[mine, 1])
    return out


def _stands(matter: Matter) -> NDArray[np.float64]:
    """(n, 2): head and foot of each letter's ink under its line's baseline, in x-heights."""
    found = np.zeros((len(matter.fount.text), 2))
    for number, row in enumerate(matter.fount.line.tolist()):
        box, size = matter.boxes[number], max(matter.lines[row].x_height_px, 1.0)
        base = matter.baseline(row, box.x + box.width / 2)
        found[number] = (box.y - base) / size, (box.bottom - base) / size
    return found


def _from_beside(
    line: NDArray[np.intp], height: NDArray[np.float64], good: NDArray[np.bool_]
) -> NDArray[np.float64]:
    """Each letter's height less the median of the good letters beside it on its line."""
    rise, mine = np.zeros(len(height)), np.flatnonzero(good)
    beside = median_beside(height[mine], line[mine], BESIDE, LEAST_BESIDE)
    rise[mine] = np.nan_to_num(height[mine] - beside)
    return rise
