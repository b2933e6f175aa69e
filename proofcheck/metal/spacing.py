"""Word spaces that are not as they should be: doubled, uneven, too thin, too wide.

Bands follow De Vinne and the handbooks of about 1920: hand-set matter is held between a 5-to-em
space and two 3-to-ems, with little change within one line; slugs only spread, and are held looser.
What a house put after its stops (an en, an em) is its habit and no fault: only spaces after
letters and commas are judged.
"""

from __future__ import annotations

import itertools
import re
from collections import Counter
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Span
from proofcheck.metal.certain import grown
from proofcheck.metal.finder import Finder
from proofcheck.metal.spaces import COMMA, Spaces

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.metal.context import Matter
    from proofcheck.metal.findings import MetalFinding
    from proofcheck.metal.judged import Judged

__all__ = ["word_spacing"]

LEAST_OTHERS = 2
"""Plain spaces a line must have beside one, to judge it by them."""
LEAST_EXCESS_EM = 0.15
WIDEST_DOUBLED_EM = 2.5
"""Wider is no space doubled but white meant: a table, a folio beside its head."""
MOST_TIMES = 4.5
"""So many times the others of its line a space is no two together, but white between columns."""
COLUMNS = 1.7
"""Times the usual space of its line that white in a table has at least."""
COLUMN_EM = 0.7
"""White between two columns at least: wider than two 3-to-ems."""
AT_COLUMN_EM, COLUMN_ROWS, COLUMN_OTHERS = 0.4, 3, 2
"""It begins, or ends, so near the place where such white does in so many others of the lines so far
over and under its own."""
_DOUBLED_STEP = 0.05
UNEVEN = (2.45, 0.12)
"""Second widest over second narrowest space of a line, as likely a fault as not: past a 3-to-em to
two of them, and in more than one place."""
_BANDS = (0.035, 0.02)
"""Step of certainty in ems at the widest and the least space."""
LEAST_CERTAINTY = 0.3
_QUERY_AT_MOST = 0.45
_CLOSE_EM = 0.25
"""A space of good close setting: between a 4-to-em and a 3-to-em (De Vinne)."""
_LEADERS = re.compile(r"\.\s?\.")
_LEFT_OUT = re.compile(r"(?<!\.)(?<!\. )\.(?: \.){2,3}(?= [^\W\d])")
"""Three or four points and then words: matter left out, and the line's spaces are as ever."""


def word_spacing(judged: Judged) -> list[MetalFinding]:
    """Faults of the word spaces of lines of words."""
    matter, spaces = judged.matter, judged.spaces
    if not len(spaces.row):
        return []
    doubled = [each for each in _doubled(matter, spaces) if not _has_leaders(matter, each.line)]
    lines = [each for each in _by_line(matter, spaces) if not _has_leaders(matter, each.line)]
    # One wide space is doubled; several make the line uneven, which is told once.
    count = Counter(each.line for each in doubled)
    uneven = {each.line for each in lines if not each.only_query and count[each.line] != 1}
    doubled = [each for each in doubled if each.line not in uneven]
    lines = [each for each in lines if each.line in uneven or not count[each.line]]
    return sorted([*doubled, *lines], key=lambda each: (each.line, each.letters.start))


FINDER = Finder(90, word_spacing)


def _has_leaders(matter: Matter, line: int) -> bool:
    """Whether leaders or a row of points stand in a line: its white is drawn out to meet them."""
    text = matter.readings[matter.row_of[line]].text
    return bool(_LEADERS.search(_LEFT_OUT.sub("", text)))


def _ratios(spaces: Spaces) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Each space over the median and over the widest of the plain ones beside it in its line.

    NaN where there are too few.
    """
    usual, widest = (np.full(len(spaces.row), np.nan) for _ in range(2))
    for row in np.unique(spaces.row):
        mine = np.flatnonzero(spaces.row == row)
        plain = mine[spaces.after[mine] <= COMMA]
        plain = plain[np.argsort(spaces.wide_px[plain])]
        place = {one: at for at, one in enumerate(plain.tolist())}
        by_size = spaces.wide_px[plain].tolist()
        for one in mine.tolist():
            at = place.get(one)
            others = by_size if at is None else [*by_size[:at], *by_size[at + 1 :]]
            if len(others) >= LEAST_OTHERS:
                wide, half = float(spaces.wide_px[one]), len(others) // 2
                usual[one] = wide / max((others[(len(others) - 1) // 2] + others[half]) / 2, 1)
                widest[one] = wide / max(others[-1], 1)
    return usual, widest


def _doubled(matter: Matter, spaces: Spaces) -> list[MetalFinding]:
    """Single spaces that are two standing together.

    Where a line has spaces of two kinds, as hand-set lines have, its wide ones come near to two
    thin ones: so a space must stand out from the widest too. The measure is its ratio to the usual
    times the root of that to the widest.
    """
    usual, widest = _ratios(spaces)
    ratio = usual * np.sqrt(np.maximum(widest, 0))
    excess = spaces.wide_em * (1 - 1 / np.maximum(usual, 1e-3))
    wide = np.isfinite(ratio) & (excess > LEAST_EXCESS_EM) & (spaces.wide_em < WIDEST_DOUBLED_EM)
    wide &= np.nan_to_num(usual) < MOST_TIMES
    wide &= (spaces.after <= COMMA) & ~spaces.figures
    found = []
    for one in np.flatnonzero(wide):
        certainty = grown(float(ratio[one]), matter.settings.doubled, _DOUBLED_STEP)
        if certainty < LEAST_CERTAINTY:
            continue
        if _in_table(matter, spaces, usual, int(one)) or _opens(matter, spaces, int(one)):
            continue
        words = f"reduce the space: it is {usual[one]:.1f} times the others of its line"
        found.append(_at_space(matter, spaces, int(one), certainty, words))
    return found


def _in_table(matter: Matter, spaces: Spaces, usual: NDArray[np.float64], one: int) -> bool:
    """Whether the white ends where other white does in a line next to it: then it makes columns."""
    end = spaces.left[one] + spaces.wide_px[one]
    near = (np.abs(spaces.row - spaces.row[one]) == 1) & (spaces.after <= COMMA)
    near &= usual > COLUMNS
    ends = spaces.left[near] + spaces.wide_px[near]
    return bool((np.abs(ends - end) < 0.4 * matter.em_px(int(spaces.row[one]))).any())


def _opens(matter: Matter, spaces: Spaces, one: int) -> bool:
    """Whether what follows a comma begins as a sentence or an entry does: a stop ill read."""
    after = matter.readings[int(spaces.row[one])].letters[int(spaces.at[one]) + 1].text
    return bool(spaces.after[one] == COMMA and not after.islower())


def _at_space(
    matter: Matter, spaces: Spaces, one: int, certainty: float, words: str
) -> MetalFinding:
    row, at = int(spaces.row[one]), int(spaces.at[one])
    after, left = matter.readings[row].letters[at + 1].box, int(spaces.left[one])
    tall = round(matter.lines[row].x_height_px)
    box = Box(left, round(matter.baseline(row, left)) - tall, max(after.x - left, 1), tall)
    letters, kind = Span(at, at + 1), Kind.UNEVEN_SPACING
    return matter.finding(kind, row, letters, certainty, box, words=words, sign="less-space")


def _by_line(matter: Matter, spaces: Spaces) -> list[MetalFinding]:
    """Lines uneven in themselves, or spaced too thin or too wide as a whole."""
    found = []
    single = (spaces.after <= COMMA) & (spaces.wide_em < WIDEST_DOUBLED_EM)
    single &= ~_between_columns(matter, spaces)
    for row in np.unique(spaces.row):
        mine = np.flatnonzero((spaces.row == row) & single)
        if len(mine) < LEAST_OTHERS + 2:
            continue
        judged = _judged(
            matter, spaces.wide_em[mine], could_close=_could_close(matter, spaces, row)
        )
        if judged is None:
            continue
        certainty, words, doubtful = judged
        letters = Span(int(spaces.at[mine[0]]), int(spaces.at[mine[-1]]) + 1)
        box, kind = matter.lines[row].box, Kind.UNEVEN_SPACING
        finding = matter.finding(
            kind, int(row), letters, certainty, box, words=words, only_query=doubtful
        )
        found.append(finding)
    return found


def _between_columns(matter: Matter, spaces: Spaces) -> NDArray[np.bool_]:
    """For each space whether it is the white of a table typed without tabs.

    Such white is far wider than the narrowest space of its line, and stands under other such.
    """
    least = np.full(len(matter.lines), np.inf)
    np.minimum.at(least, spaces.row, spaces.wide_em)
    wide = spaces.wide_em > np.maximum(COLUMN_EM, UNEVEN[0] * least[spaces.row])
    found = np.zeros(len(wide), bool)
    who = np.flatnonzero(wide)
    row, left = spaces.row[who], spaces.left[who]
    end = left + spaces.wide_px[who]
    for one, mine in enumerate(row.tolist()):
        near = AT_COLUMN_EM * matter.em_px(mine)
        under = (np.abs(row - mine) <= COLUMN_ROWS) & (row != mine)
        under &= (np.abs(left - left[one]) < near) | (np.abs(end - end[one]) < near)
        found[who[one]] = len(np.unique(row[under])) >= COLUMN_OTHERS
    return found


def _could_close(matter: Matter, spaces: Spaces, row: int) -> bool:
    """Whether a line spaced wide could have been set closer: the next line's first word would fit.

    Where it would not, narrow measure leaves a compositor nothing but wide spaces.
    """
    line, after = matter.lines[row], row + 1
    if after >= len(matter.lines):
        return True
    following = matter.lines[after]
    if (line.sheet, line.column) != (following.sheet, following.column):
        return True
    word = list(itertools.takewhile(lambda x: not x.text.isspace(), matter.readings[after].letters))
    if not word:
        return True
    em = matter.em_px(row)
    mine = spaces.wide_px[spaces.row == row]
    room = float(np.maximum(mine - _CLOSE_EM * em, 0).sum())
    return room >= word[-1].box.right - word[0].box.x + _CLOSE_EM * em


def _judged(
    matter: Matter, wide_em: NDArray[np.float64], *, could_close: bool
) -> tuple[float, str, bool] | None:
    """Certainty, words, and whether only a query, for the plain spaces of one line."""
    settings = matter.settings
    middle = float(np.median(wide_em))
    ranked = np.sort(wide_em)
    uneven = grown(float(ranked[-2] / max(ranked[1], 0.05)), *UNEVEN)
    wide = grown(middle, settings.widest_em, _BANDS[0]) if could_close else 0.0
    thin = grown(settings.least_space_em, middle, _BANDS[1])
    best = max(uneven, wide, thin)
    if best < 0.5:
        return None
    if best == uneven:
        words = f"make the spaces even: {ranked[1]:.2f} to {ranked[-2]:.2f} em"
        return uneven, words, False
    size = f"its spaces are {middle:.2f} em"
    words = f"spaced too wide: {size}" if best == wide else f"spaced too thin: {size}"
    return min(best, _QUERY_AT_MOST), words, True
