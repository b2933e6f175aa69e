"""Lines out of their place: short, out or in at the left, crooked, ill leaded, ill indented.

A line is judged by the lines round it in its column, so that slanting and bowed scans are no
fault, and only where those agree among themselves: matter set ragged or in verse has no edge.
"""

from __future__ import annotations

from functools import partial
from itertools import islice
from statistics import median
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.kinds import Kind
from proofcheck.base.units import px_to_pt
from proofcheck.base.values import Box, Span
from proofcheck.metal.certain import grown
from proofcheck.metal.finder import Finder

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.values import Line
    from proofcheck.metal.context import Matter
    from proofcheck.metal.findings import MetalFinding
    from proofcheck.metal.judged import Judged

__all__ = ["line_edges"]

REACH = 5
"""Lines to either side that make the edge."""
LEAST_FELLOWS = 4
AGREE_EM = 0.15
"""Most of them must agree within this, or there is no edge to keep to."""
_MOST, _EDGE_STEP, _LEAD_STEP = 0.75, 0.08, 0.15
CROOKED_X = (0.35, 0.04)
"""Rise or fall against its fellows, end to end, in x-heights."""
PARAGRAPH_END_EM = 0.6
"""What a paragraph's first line is indented at least."""
_INDENT_PLAY_EM, _DEEPEST_INDENT_EM = 0.4, 4.0
INDENT_PLAY = 0.3
LEAST_INDENTS, LEAST_INDENT_EM = 4, 0.3
"""First lines a column must have beside one, and the least of an indent: flush lines follow heads,
or begin what the house makes no paragraph."""
LEAST_CERTAINTY = 0.3


def line_edges(judged: Judged) -> list[MetalFinding]:
    """Short, shifted, crooked and ill-leaded lines; the white under a crooked one is its own."""
    matter = judged.matter
    rows = [row for row in range(len(matter.lines)) if matter.is_words(row)]
    shifted = partial(_shifted, indent=_usual_indent_em(matter))
    looks = (_indented, _short, shifted, _crooked, _leaded)
    found: list[MetalFinding] = []
    for place, row in enumerate(rows):
        beside = rows[max(place - REACH, 0) : place + REACH + 1]
        fellows = [other for other in beside if other != row and _alike(matter, row, other)]
        if len(fellows) < LEAST_FELLOWS:
            continue
        told = (look(matter, row, fellows) for look in looks)
        # Each says how sure it is, mostly hardly at all: the first that is sure enough is told.
        sure = (each for each in told if each and each.certainty >= LEAST_CERTAINTY)
        found += islice(sure, 1)
    crooked = {each.line for each in found if each.kind is Kind.CROOKED_LINE and not each.sign}
    return [e for e in found if e.kind is not Kind.UNEVEN_SPACING or e.line - 1 not in crooked]


FINDER = Finder(100, line_edges)


def _alike(matter: Matter, row: int, other: int) -> bool:
    one, two = matter.lines[row], matter.lines[other]
    size = abs(one.x_height_px / two.x_height_px - 1)
    return one.sheet == two.sheet and one.column == two.column and size < 0.1


def _edge(places: Sequence[float], em: float) -> float | None:
    """Where an edge runs by the lines beside; None where they don't agree."""
    middle = float(median(places))
    agreeing = np.mean(np.abs(np.array(places) - middle) < AGREE_EM * em)
    return middle if agreeing >= _MOST else None


def _short(matter: Matter, row: int, fellows: Sequence[int]) -> MetalFinding | None:
    """A line that ends before its fellows and is not the last of its paragraph."""
    line, em = matter.lines[row], matter.em_px(row)
    following = row + 1
    if following >= len(matter.lines) or not _alike(matter, row, following):
        return None
    if not _runs_on(matter, row):
        return None
    ends = [matter.lines[other].box.right for other in fellows if _runs_on(matter, other)]
    edge = _edge(ends, em) if len(ends) >= LEAST_FELLOWS else None
    if edge is None:
        return None
    off = (line.box.right - edge) / em
    certainty = grown(abs(off), matter.settings.edge_em, _EDGE_STEP)
    box = Box(line.box.right, line.box.y, max(round(edge) - line.box.right, 0), line.box.height)
    if off < 0:
        words = f"the line is short of its measure by {-off:.1f} em"
        return _finding(matter, row, Kind.SHORT_MEASURE, box, certainty, words)
    if not _sure_end(matter, row, -1):
        return None
    words = f"the line runs past its measure by {off:.1f} em"
    return _finding(matter, row, Kind.SHORT_MEASURE, box, certainty, words, "align")


def _runs_on(matter: Matter, row: int) -> bool:
    """Whether the copy goes on within the paragraph after this line, at once on the next."""
    held = matter.placed[row]
    after = matter.placed[row + 1] if row + 1 < len(matter.lines) else None
    if held is None or after is None or not held.end <= after.start <= held.end + 3:
        return False
    last = matter.copy.text[max(held.end - 1, 0) : after.start + 1]
    within = matter.in_one_paragraph(held.start, after.start + 1)
    indented = (matter.lines[row + 1].box.x - matter.lines[row].box.x) / matter.em_px(row)
    return within and "\n" not in last.strip() and indented < PARAGRAPH_END_EM


def _shifted(
    matter: Matter, row: int, fellows: Sequence[int], indent: float
) -> MetalFinding | None:
    """A line whose left end stands out of the edge though the paragraph runs on into it."""
    if row == 0 or not _runs_on_into(matter, row):
        return None
    line, em = matter.lines[row], matter.em_px(row)
    starts = [matter.lines[other].box.x for other in fellows if _runs_on_into(matter, other)]
    edge = _edge(starts, em) if len(starts) >= LEAST_FELLOWS else None
    if edge is None or not _sure_end(matter, row, 0):
        return None
    off = (line.box.x - edge) / em
    if abs(off) > _DEEPEST_INDENT_EM:
        return None  # Centred, or set in.
    if _beside_initial(matter, row) or _is_verse(matter, row, starts):
        return None
    if abs(off - indent) < _INDENT_PLAY_EM:
        return None  # A paragraph's beginning, whatever the copy says of it.
    certainty = grown(abs(off), matter.settings.edge_em, _EDGE_STEP)
    left = min(line.box.x, round(edge))
    box = Box(left, line.box.y, abs(line.box.x - round(edge)), line.box.height)
    where, sign = ("in", "move-left") if off > 0 else ("out", "move-right")
    words = f"the line stands {where} by {abs(off):.1f} em: make the edge straight"
    return _finding(matter, row, Kind.CROOKED_LINE, box, certainty, words, sign)


def _is_verse(matter: Matter, row: int, starts: Sequence[float]) -> bool:
    """Whether the copy begins a line there and another line begins at the same place, by turns."""
    if not _begins_in_copy(matter, row):
        return False
    x, play = matter.lines[row].box.x, INDENT_PLAY * matter.em_px(row)
    return any(abs(start - x) < play for start in starts)


def _begins_in_copy(matter: Matter, row: int) -> bool:
    """Whether the copy itself begins a line there: verse, whose stanzas are set apart."""
    held, before = matter.placed[row], matter.placed[row - 1]
    if held is None or before is None:
        return False
    return "\n" in matter.copy.text[before.end : held.start]


def _beside_initial(matter: Matter, row: int) -> bool:
    """Whether a line next to it begins at the same place: both stand beside a large initial."""
    x, em = matter.lines[row].box.x, matter.em_px(row)
    beside = [o for o in (row - 1, row + 1) if 0 <= o < len(matter.lines)]
    return any(
        _alike(matter, row, other) and abs(matter.lines[other].box.x - x) < INDENT_PLAY * em
        for other in beside
    )


def _indented(matter: Matter, row: int, _: Sequence[int]) -> MetalFinding | None:
    """A paragraph's first line that stands in more or less than those of its column do."""
    own = _indent_em(matter, row)
    if own is None or not _sure_end(matter, row, 0):
        return None
    others = [
        indent
        for other in matter.on_sheet[matter.lines[row].sheet]
        if other != row
        and _alike(matter, row, other)
        and (indent := _indent_em(matter, other)) is not None
    ]
    edge = _edge(others, 1.0) if len(others) >= LEAST_INDENTS else None
    if edge is None:
        return None
    off = own - edge
    certainty = grown(abs(off), matter.settings.edge_em, _EDGE_STEP)
    line = matter.lines[row]
    wide = max(round(own * matter.em_px(row)), 1)
    box = Box(line.box.x - wide, line.box.y, wide, line.box.height)
    words = f"indent the line {edge:.1f} em, not {own:.1f}"
    sign = "move-left" if off > 0 else "move-right"
    return _finding(matter, row, Kind.CROOKED_LINE, box, certainty, words, sign)


def _indent_em(matter: Matter, row: int) -> float | None:
    """How far a paragraph's first line stands in over its second, in ems; None for no indent."""
    held = matter.placed[row]
    if row + 1 >= len(matter.lines) or held is None or not _alike(matter, row, row + 1):
        return None
    paragraph = matter.paragraph_at(held.start)
    first = paragraph is not None and paragraph.start == held.start
    if not first or not _runs_on_into(matter, row + 1):
        return None
    step = (matter.lines[row].box.x - matter.lines[row + 1].box.x) / matter.em_px(row)
    return step if LEAST_INDENT_EM < step < _DEEPEST_INDENT_EM else None


def _usual_indent_em(matter: Matter) -> float:
    """How far the first lines of paragraphs commonly stand in, in ems."""
    found = []
    for row in range(1, len(matter.lines) - 1):
        if matter.is_words(row) and _alike(matter, row, row + 1):
            step = (matter.lines[row].box.x - matter.lines[row + 1].box.x) / matter.em_px(row)
            if PARAGRAPH_END_EM < step < _DEEPEST_INDENT_EM:
                found.append(step)
    return float(np.median(found)) if found else 1.0


def _runs_on_into(matter: Matter, row: int) -> bool:
    """Whether a line goes on from the one before, within the paragraph and the column."""
    if row == 0 or not _alike(matter, row, row - 1):
        return False
    held, before = matter.placed[row], matter.placed[row - 1]
    if held is None or before is None or not before.end <= held.start <= before.end + 3:
        return False
    return matter.in_one_paragraph(min(before.end, held.start - 1), held.start + 1)


def _sure_end(matter: Matter, row: int, at: int) -> bool:
    """Whether the line's first or last letter is one the copy bears out, cut alone, and no point.

    Points and quotes may hang in the margin, and dirt beside the line is read as either.
    """
    letters = matter.readings[row].letters
    number = matter.number_at(row, at % len(letters)) if letters else None
    if number is None:
        return False
    sure = bool(matter.borne_out[number] and matter.cut_true[number])
    return sure and str(matter.fount.text[number]).isalnum()


def _crooked(matter: Matter, row: int, fellows: Sequence[int]) -> MetalFinding | None:
    line = matter.lines[row]
    usual = median([_slope(matter.lines[other]) for other in fellows])
    wide = line.box.width / line.x_height_px
    off = (_slope(line) - usual) * wide
    spread = median(abs(_slope(matter.lines[other]) - usual) for other in fellows)
    even = max(CROOKED_X[0], 5 * spread * wide)
    certainty = grown(abs(off), even, CROOKED_X[1])
    words = f"the line is crooked, low at the {'right' if off > 0 else 'left'}: straighten it"
    return _finding(matter, row, Kind.CROOKED_LINE, line.box, certainty, words)


def _slope(line: Line) -> float:
    return (line.baseline[1] - line.baseline[0]) / max(line.box.width, 1)


def _leaded(matter: Matter, row: int, fellows: Sequence[int]) -> MetalFinding | None:
    """A line nearer to or farther from the one before than is the rule within the paragraph."""
    if not _runs_on_into(matter, row) or _begins_in_copy(matter, row):
        return None
    steps = [_step_pt(matter, other) for other in fellows if _runs_on_into(matter, other)]
    if len(steps) < LEAST_FELLOWS:
        return None
    usual = float(np.median(steps))
    off = _step_pt(matter, row) - usual
    line, before = matter.lines[row], matter.lines[row - 1]
    set_in = before.box.x - line.box.x > PARAGRAPH_END_EM * matter.em_px(row)
    if off > usual or (set_in and _beside_initial(matter, row - 1)):
        return None  # White of a line is meant, or holds a cut; an initial ends where it ends.
    spread = float(np.median(np.abs(np.array(steps) - usual)))
    even = max(matter.settings.lead_pt, 6 * spread)
    certainty = grown(abs(off), even, _LEAD_STEP)
    top = round(before.baseline[0])
    tall = max(round(line.baseline[0] - line.x_height_px) - top, 1)
    box = Box(line.box.x, top, line.box.width, tall)
    much, sign = ("much", "lead-out") if off > 0 else ("little", "lead")
    words = f"{abs(off):.1f} pt too {much} white over line {line.number}"
    return _finding(matter, row, Kind.UNEVEN_SPACING, box, certainty, words, sign)


def _step_pt(matter: Matter, row: int) -> float:
    """From the baseline before to this one, in points, midway along the line."""
    line = matter.lines[row]
    middle = line.box.x + line.box.width / 2
    down = matter.baseline(row, middle) - matter.baseline(row - 1, middle)
    return px_to_pt(down, matter.sheets[line.sheet].dpi)


def _finding(
    matter: Matter, row: int, kind: Kind, box: Box, certainty: float, words: str, sign: str = ""
) -> MetalFinding:
    count = len(matter.readings[row].letters)
    at = count if kind is Kind.SHORT_MEASURE else 0
    letters = Span(at, at) if kind is not Kind.CROOKED_LINE or sign else Span(0, count)
    return matter.finding(kind, row, letters, certainty, box, words=words, sign=sign)
