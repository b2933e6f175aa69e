"""Rules that are broken, stand off their fellows, or do not join at a corner.

Common practice: a break, an open corner, a rule out of true are marked on the proof like a bad
letter. An inked rule is never whole: its own small gaps are the measure of what is a break, and a
frame's sound corners say that the open one was meant to join.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Final

import numpy as np

from proofcheck.base.kinds import Kind
from proofcheck.base.units import mm_to_px
from proofcheck.base.values import Box, Span
from proofcheck.metal.finder import Finder
from proofcheck.metal.findings import MetalFinding
from proofcheck.metal.rule_corners import corner_faults, is_joined
from proofcheck.sheet.lifted import in_box, meet, with_lifted
from proofcheck.sheet.pieces import ink_mask
from proofcheck.sheet.ruling import rules_on, white_at
from proofcheck.sheet.shelf import looked_at

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Line, Sheet
    from proofcheck.metal.judged import Judged
    from proofcheck.sheet.ruling import Rule

__all__ = ["broken_rules", "on_each_sheet", "rule_faults", "rules_at_fault", "told_at"]

_BREAK_MM: Final = 0.36
"""A break that prints narrower is where two lengths of rule meet, or wear; of one of half a
millimetre the ink takes a quarter."""
_AMONG: Final = 3.0
"""… or than so many times the third widest gap of its rule, which is then worn or of dashes."""
_WIDEST_MM: Final = (1.5, 12.0)
"""Wider white parts two rules; a rule that joins others at both ends was meant to be whole."""
_WHOLE_MM: Final = 3.0
"""Rule at either side of a break, at least."""
_PRINTS: Final = 0.75
"""Share of what a rule prints all over that it prints so far to either side: letters in the white
between two rules of one line print less."""
_CLEAR_MM: Final = 0.8
"""So far over and under a break nothing stands: a letter in the rule is meant."""
_WAVER_PX, _LETTERS, _WORD_MM = 3, 0.3, 12.0
"""Ink stands over a rule, which wavers so much, along this share of a stretch no longer than a word
where the feet of letters were taken for it; of a rule that crosses it, along less."""
_CROOKED_MM: Final = 0.8
_CROOKED_SLOPE: Final = 0.006
"""A third of a degree: what a rule may rise against the lines and rules round it …"""
_CROOKED_MOST: Final = 0.06
"""… and three and a half: what rises more is a stroke of a drawing; locked up between furniture
no rule can (common practice)."""
_FELLOWS: Final = 6
_FLAT: Final = 0.004
"""Change of scale over the sheet from which on its picture was not taken straight on."""
_MARK_MM: Final = 0.6
_CERTAIN: Final = 0.9


def rule_faults(judged: Judged) -> list[MetalFinding]:
    """Broken and crooked rules and open corners of all sheets."""
    return on_each_sheet(judged, rules_at_fault)


FINDER = Finder(120, rule_faults)


def on_each_sheet(
    judged: Judged, look: Callable[[Sheet, Sequence[Line]], list[MetalFinding]]
) -> list[MetalFinding]:
    """What a look at each sheet with its lines finds; sheets without lines or picture are none."""
    found: list[MetalFinding] = []
    for sheet in judged.matter.sheets.values():
        lines = [line for line in judged.matter.lines if line.sheet == sheet.number]
        if lines and sheet.pictured:
            found += look(sheet, lines)
    return found


def rules_at_fault(sheet: Sheet, lines: Sequence[Line]) -> list[MetalFinding]:
    """What is wrong with the rules of one sheet.

    Args:
        sheet: the sheet, with what was lifted off it.
        lines: of that sheet; not none.
    """
    looked_at(sheet.image)
    image = with_lifted(sheet)
    # The ground that a picture's figures stand on is no rule.
    pictures = [*sheet.cuts, *(part.box for part in sheet.lifted if part.look == "cut")]
    rules = [
        rule
        for rule in rules_on(image, sheet.dpi)
        if not any(in_box(_box(rule, (rule.start, rule.stop), sheet.dpi), cut) for cut in pictures)
    ]
    if not rules:
        return []
    ink = ink_mask(image)
    breaks = [
        _box(rule, gap, sheet.dpi)
        for rule in rules
        for gap in broken_rules(rule, rules, ink, sheet.dpi)
    ]
    # A black panel that was turned is white here: a rule that goes on behind it is whole.
    turned = [panel.box for panel in sheet.panels]
    breaks = [box for box in breaks if not any(meet(box, one) for one in turned)]
    told = [(Kind.BROKEN_RULE, box, "is broken: join or change it") for box in breaks]
    told += corner_faults(rules, ink, sheet.dpi)
    told += [
        (Kind.CROOKED_RULE, _box(rule, (rule.start, rule.stop), sheet.dpi), "is crooked")
        for rule in rules
        if _is_crooked(rule, rules, lines, sheet)
    ]
    return [told_at(sheet, lines, kind, box, f"rule {{}} {words}") for kind, box, words in told]


def told_at(
    sheet: Sheet, lines: Sequence[Line], kind: Kind, box: Box, words: str, certain: float = _CERTAIN
) -> MetalFinding:
    """A finding that is of no letter, told at the line nearest to it.

    Args:
        sheet: where it is.
        lines: of that sheet; not none.
        kind: what it is.
        box: where, sheet pixels; cut to the sheet.
        words: what is wrong; {} becomes where that line is.
        certain: how sure it is.
    """
    line = min(lines, key=lambda one: _apart(one.box, box))
    middle = box.y + box.height / 2
    where = "beside" if line.box.y < middle < line.box.bottom else ""
    where = where or ("over" if middle <= line.box.y else "under")
    height, width = sheet.image.shape
    x, y = min(max(box.x, 0), width - 2), min(max(box.y, 0), height - 2)
    held = Box(x, y, max(min(box.right, width) - x, 1), max(min(box.bottom, height) - y, 1))
    told = words.format(f"{where} line {line.number}")
    return MetalFinding(kind, line.number, sheet.number, held, Span(0, 0), certain, words=told)


def _apart(one: Box, other: Box) -> float:
    """How far apart two boxes are, height before breadth."""
    down = max(one.y - other.bottom, other.y - one.bottom, 0)
    over = max(one.x - other.right, other.x - one.right, 0)
    return 2.0 * down + over


def _box(rule: Rule, part: tuple[float, float], dpi: float) -> Box:
    """Round a stretch of a rule, with room for a mark."""
    spare = mm_to_px(_MARK_MM, dpi)
    sides = sorted(rule.across(place) for place in part)
    along = (part[0] - spare, part[1] + spare)
    across = (sides[0] - rule.thick_px / 2 - spare, sides[1] + rule.thick_px / 2 + spare)
    (x, right), (y, bottom) = (across, along) if rule.upright else (along, across)
    return Box(int(x), int(y), int(right - x) + 1, int(bottom - y) + 1)


def broken_rules(
    rule: Rule, rules: Sequence[Rule], ink: NDArray[np.uint8], dpi: float
) -> Iterator[tuple[float, float]]:
    """The stretches of a rule that are broken out of it."""
    room, narrow = mm_to_px(_WHOLE_MM, dpi), mm_to_px(_BREAK_MM, dpi)
    gaps = [gap for gap in rule.gaps() if gap[0] > rule.start and gap[1] < rule.stop]
    letters = _in_letters(rule, [gap for gap in gaps if gap[1] - gap[0] >= narrow], ink, dpi)
    gaps = [gap for gap in gaps if gap not in letters]
    sizes = sorted((b - a for a, b in gaps), reverse=True)
    worn = sizes[2] if len(sizes) > 2 else 0.0
    least = max(narrow, _AMONG * worn)
    whole = is_joined(rule, rules, dpi)
    most = mm_to_px(_WIDEST_MM[1 if whole else 0], dpi)
    wide = [gap for gap in gaps if gap[1] - gap[0] >= least]
    ends = [rule.start, *(end for gap in wide for end in gap), rule.stop]
    for at, (first, last) in enumerate(wide):
        before, after = first - ends[2 * at], ends[2 * at + 3] - last
        long = min(before, after) >= max(room, last - first)
        whole_beside = rule.even_at((first, last), room) and _goes_on(rule, (first, last), room)
        if last - first <= most and long and whole_beside:
            clear = mm_to_px(_CLEAR_MM, dpi) + rule.thick_px / 2
            level = rule.across((first + last) / 2)
            along, across = (first + 2, last - 2), (level - clear, level + clear)
            if white_at(ink, *((across, along) if rule.upright else (along, across))):
                yield first, last


def _in_letters(
    rule: Rule, gaps: Sequence[tuple[float, float]], ink: NDArray[np.uint8], dpi: float
) -> set[tuple[float, float]]:
    """The gaps beside letters that stand in a rule, and whose feet were taken for it.

    Such a figure or word lies between two gaps; what else stands over a rule, as a panel's edge,
    may be beside a break.
    """
    lying = ink.T if rule.upright else ink
    found: set[tuple[float, float]] = set()
    for before, after in pairwise(gaps):
        first, last = before[1], after[0]
        if last - first > mm_to_px(_WORD_MM, dpi):
            continue
        level, edge = rule.across((first + last) / 2), rule.thick_px / 2 + _WAVER_PX
        high = edge + mm_to_px(_CLEAR_MM, dpi)
        band = lying[max(round(level - high), 0) : round(level - edge), round(first) : round(last)]
        if band.size and band.any(axis=0).mean() > _LETTERS:
            found |= {before, after}
    return found


def _goes_on(rule: Rule, gap: tuple[float, float], room: float) -> bool:
    """Whether a rule prints on both sides of a gap, so far along, about as it does all over."""
    first, last = (round(place - rule.start) for place in gap)
    sides = (
        rule.inked[max(first - round(room), 0) : first],
        rule.inked[last : last + round(room)],
    )
    return all(side.mean() >= _PRINTS * rule.inked.mean() for side in sides)


def _is_crooked(rule: Rule, rules: Sequence[Rule], lines: Sequence[Line], sheet: Sheet) -> bool:
    """Whether a rule rises against what stands round it; pictures taken aslant can't tell."""
    height, width = sheet.image.shape
    if abs(sheet.to_scan[2, 0]) * width + abs(sheet.to_scan[2, 1]) * height > _FLAT:
        return False
    usual = _usual_slope(rule, rules, lines)
    if usual is None:
        return False
    off = abs(rule.slope - usual)
    return _CROOKED_SLOPE < off < _CROOKED_MOST and off * rule.length > mm_to_px(
        _CROOKED_MM, sheet.dpi
    )


def _usual_slope(rule: Rule, rules: Sequence[Rule], lines: Sequence[Line]) -> float | None:
    """The slope of the lines and rules nearest to a rule, as it would have it; None for too few."""
    others = [r.slope if r.upright == rule.upright else -r.slope for r in rules if r is not rule]
    long = [line for line in lines if line.box.width > 10 * line.x_height_px]
    middle = (rule.start + rule.stop) / 2 if rule.upright else rule.middle
    near = sorted(long, key=lambda line: abs(sum(line.baseline) / 2 - middle))[:_FELLOWS]
    turn = -1.0 if rule.upright else 1.0
    others += [turn * (b - a) / max(line.box.width, 1) for line in near for a, b in [line.baseline]]
    if len(others) < 3:
        return None
    usual = float(np.median(others))
    agree = np.mean(np.abs(np.array(others) - usual) < _CROOKED_SLOPE / 2)
    return usual if agree > 0.7 else None
