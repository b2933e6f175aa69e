"""Foreign lines that are bits of a cut: strokes and dots of a picture that were read as letters.

They stand among the ink that was taken for a cut, reach into it, or stand within the rules round
it, where no line of type stands; and they don't read. That a cut is there is noted with all that
was taken for no type. A cross or a star drawn by itself, far taller than the type, reads as such
a sign: it is an ornament.
"""

from __future__ import annotations

from dataclasses import dataclass
from statistics import median
from typing import TYPE_CHECKING, Final

from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box
from proofcheck.sheet.again import FEW_LETTERS, are_sure
from proofcheck.sheet.lifted import in_box, meet

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from proofcheck.base.found import Found, LetGo
    from proofcheck.base.values import Line, Reading, Sheet

__all__ = ["BIT_OF_CUT", "ORNAMENT", "Apart", "bits_of_cuts"]

BIT_OF_CUT = "it is ink of a cut, and does not read"
ORNAMENT = "it is an ornament, far taller than type with such a sign would be"
_ORNAMENTAL: Final = frozenset("†‡¶§*•★☞✠❦")
"""Signs that ornaments read as. What ends a sentence or is part of a word is none of them."""
_TALL: Final = 3.0
"""An ornament is so many times as tall as the usual x-height of its sheet; of the type itself a
dagger is some twice."""


@dataclass(frozen=True, slots=True, eq=False)
class Apart:
    """What was found of type, and what is of cuts."""

    found: tuple[Found, ...]
    let_go: tuple[LetGo, ...]


def bits_of_cuts(
    found: Sequence[Found],
    sheets: Sequence[Sheet],
    lines: Sequence[Line],
    readings: Sequence[Reading],
) -> Apart:
    """Let foreign lines go that are bits of a cut.

    Args:
        found: what the image bears out.
        sheets: the sheets, with their cuts.
        lines: all lines.
        readings: one a line, in the same order.
    """
    foreign = [each for each in found if each.difference.kind is Kind.LINE_FOREIGN]
    if not foreign:
        return Apart(tuple(found), ())
    held = {line.number: (line, reading) for line, reading in zip(lines, readings, strict=True)}
    cuts = {sheet.number: _bare_cuts(sheet, held) for sheet in sheets if sheet.cuts}
    bits = [each for each in foreign if _are_bits(each, held, cuts.get(each.sheet, ()))]
    drawn = [each for each in foreign if each not in bits and _is_ornament(each, held)]
    kept = tuple(each for each in found if each not in bits and each not in drawn)
    gone = [*(each.let_go(BIT_OF_CUT) for each in bits), *(e.let_go(ORNAMENT) for e in drawn)]
    return Apart(kept, tuple(gone))


def _is_ornament(each: Found, held: Mapping[int, tuple[Line, Reading]]) -> bool:
    """Whether a finding is one sign by itself that is far taller than the type of its sheet."""
    line, reading = held[each.difference.line]
    if each.difference.other_lines or reading.text not in _ORNAMENTAL:
        return False
    usual = median(other.x_height_px for other, _ in held.values() if other.sheet == line.sheet)
    return line.box.height > _TALL * usual


def _are_bits(each: Found, held: Mapping[int, tuple[Line, Reading]], cuts: Sequence[Box]) -> bool:
    """Whether all lines of a finding are in cuts, or reach into them, and don't read."""
    own = [held[number] for number in (each.difference.line, *each.difference.other_lines)]
    return all(
        not are_sure([reading]) and any(meet(line.box, cut) for cut in cuts)
        for line, reading in own
    )


def _bare_cuts(sheet: Sheet, held: Mapping[int, tuple[Line, Reading]]) -> list[Box]:
    """The boxes of a sheet's cuts, with the rules that meet them, where no type stands in them."""
    type_ = [line.box for line, reading in held.values() if _is_type(line, reading, sheet)]
    bare = [cut for cut in sheet.cuts if not any(in_box(box, cut) for box in type_)]
    framed = [_with_rules(cut, sheet) for cut in bare]
    return [
        cut if any(in_box(box, whole) for box in type_) else whole
        for cut, whole in zip(bare, framed, strict=True)
    ]


def _is_type(line: Line, reading: Reading, sheet: Sheet) -> bool:
    letters = sum(each.text.isalnum() for each in reading.letters)
    return line.sheet == sheet.number and letters > FEW_LETTERS and are_sure([reading])


def _with_rules(cut: Box, sheet: Sheet) -> Box:
    """Round a cut and the rules that meet it, straight or one through the other."""
    left = [part.box for part in sheet.lifted]
    whole = cut
    while met := [box for box in left if meet(whole, box)]:
        whole = Box.around([whole, *met])
        left = [box for box in left if box not in met]
    return whole
