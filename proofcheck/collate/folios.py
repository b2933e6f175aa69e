"""Page numbers, signatures and running heads: what a page has that no copy need have.

A folio stands by itself at the head or foot of its page, or at the outer end of a running head. A
number that is joined to a line of matter is foreign to it, and one within a frame or set into it is
that of a ticket or a table. Common practice.
"""

from __future__ import annotations

import re
from functools import cached_property
from statistics import median
from typing import TYPE_CHECKING

from rapidfuzz.distance import Indel

from proofcheck.base.kinds import Kind
from proofcheck.reading.alphabet import NO_LETTER

if TYPE_CHECKING:
    from collections.abc import Mapping

    from proofcheck.base.found import Difference
    from proofcheck.base.values import Span
    from proofcheck.collate.setting import Setting

__all__ = ["Folios"]

_ROMAN = "(?=[ivxlc])c{0,3}(?:xc|xl|l?x{0,3})(?:ix|iv|v?i{0,3})"
_NUMBER = rf"\d{{1,3}}|{_ROMAN}|{_ROMAN.upper()}"
_ASIDE = f"—–_{NO_LETTER}-"
"""Dashes beside it, and what is read of rough ones and of ornaments."""
_BEFORE = rf"(?:[\[(]|[{_ASIDE}][ {_ASIDE}]*)?"
_AFTER = rf"(?:[\])]|\.|[ {_ASIDE}]*[{_ASIDE}])?"
_FOLIO = f"{_BEFORE}(?:{_NUMBER}){_AFTER}"
_BARE = re.compile(r"[^\W_]+")
_ALONE = re.compile(_FOLIO)
_ALONE_OF_FOUR = re.compile(rf"{_BEFORE}\d{{4}}{_AFTER}")
_FIRST, _LAST = re.compile(rf"{_FOLIO} +"), re.compile(rf" +{_FOLIO}$")
_SIGNATURE = re.compile(r"([A-IK-UX-Z])\1? ?[2-9*]|([B-HK-NP-UX-Z])\2?|\d{1,2}\*")
"""A letter of the printers' alphabet, which has no J, V or W (from memory), that is no word."""
_FAR_OFF = 4.4
"""A folio beside a head stands two ems from it or more: so many x-heights; common practice."""
_HEAD_APART = 1.15
_OTHER_SIZE = 1.1
_DISPLAY = 1.6
"""A folio or signature is at most so many times as large as the text; common practice."""
_ALIKE = 0.7
"""Likeness of two heads of which one is meant for the other."""


class Folios:
    """What is no matter of the copy on the pages of one proof.

    Args:
        setting: the printed lines.
        framed: numbers of those within a frame or a border.
    """

    def __init__(self, setting: Setting, framed: frozenset[int] = frozenset()) -> None:
        self.setting = setting
        self._framed = framed

    def is_folio(self, at: int) -> bool:
        """Whether a whole line is a page number at head or foot, or a signature at the foot."""
        setting, text = self.setting, self.setting.readings[at].text
        if _SIGNATURE.fullmatch(text) and self._in_place(at) and not setting.at_head(at):
            return True
        if not self._is_number(at):
            return False
        number = _as_number(text)
        if number is None:
            return True
        return self._borne_out(at, number, asked=bool(_ALONE_OF_FOUR.fullmatch(text)))

    def _is_number(self, at: int) -> bool:
        """Whether a line is a number and nothing else, in a folio's place."""
        text = self.setting.readings[at].text
        if not (_ALONE.fullmatch(text) or _ALONE_OF_FOUR.fullmatch(text)):
            return False
        return self._in_place(at)

    def _in_place(self, at: int) -> bool:
        """Whether a line stands where a folio or a signature does.

        That is alone in its row, with a white line between it and the text, or where text does not
        begin: over it well in from its edge, under it in its right half.
        """
        setting = self.setting
        if setting.readings[at].line in self._framed:
            return False
        if not setting.alone_in_row(at) or self._is_display(at):
            return False
        if setting.at_head(at) and setting.well_in(at):
            return True
        if setting.at_foot(at) and setting.towards_right(at):
            return True
        return (setting.at_head(at) or setting.at_foot(at)) and setting.stands_apart(at)

    def _is_display(self, at: int) -> bool:
        """Whether a line is set far larger than the text of its sheet, as no folio is."""
        line = self.setting.line(at)
        if line is None:
            return False
        sizes = [one.x_height_px for one in self.setting.lines.values() if one.sheet == line.sheet]
        return line.x_height_px > _DISPLAY * median(sizes)

    @cached_property
    def _numbers(self) -> dict[int, int]:
        """The page number of each sheet that has one, in figures."""
        out: dict[int, int] = {}
        for at, reading in enumerate(self.setting.readings):
            line = self.setting.line(at)
            if line is None or (number := _as_number(reading.text)) is None:
                continue
            if self._is_number(at):
                out[line.sheet] = number
        return out

    def _borne_out(self, at: int, number: int, *, asked: bool) -> bool:
        """Whether the other pages' numbers run on to this one; none need be, unless asked."""
        line = self.setting.line(at)
        sheet = line.sheet if line else 0
        others = [n - s for s, n in self._numbers.items() if s != sheet]
        here = number - sheet
        if asked:
            return here in others
        # Two that agree with one another, and not with this one, say that it is wrong.
        return here in others or len(others) < 2 or len(set(others)) > 1

    def is_joined(self, difference: Difference) -> bool:
        """Whether words too many are a page number at the outer end of a running head.

        It stands far off from the head, or the same head on another page has the number that goes
        with that.
        """
        setting, at = self.setting, self.setting.place[difference.line]
        reading, text = setting.readings[at], difference.proof_text.strip()
        start, end = difference.proof
        line = setting.line(at)
        if line is None or not self.is_outer(difference) or not setting.at_head(at):
            return False
        if line.number in self._framed:
            return False
        space = reading.letters[end - 1 if start == 0 else start]
        if space.text == " " and space.box.width >= _FAR_OFF * line.x_height_px:
            return True
        rest = reading.text[end:] if start == 0 else reading.text[:start]
        return self._goes_with(line.sheet, rest.strip(), _as_number(text))

    def is_outer(self, difference: Difference) -> bool:
        """Whether words too many are a number at either end of their line."""
        start, end = difference.proof
        size = len(self.setting.readings[self.setting.place[difference.line]].letters)
        alone = _ALONE.fullmatch(difference.proof_text.strip())
        extra = difference.kind is Kind.WORD_EXTRA
        return extra and bool(alone) and (start == 0 or end == size)

    def _goes_with(self, sheet: int, head: str, number: int | None) -> bool:
        """Whether another sheet has the same head with the number that goes with this one's."""
        for at in self.setting.first_rows:
            other = self.setting.lines[self.setting.readings[at].line].sheet
            text = self.setting.readings[at].text
            for cut in (_FIRST.match(text), _LAST.search(text)):
                if other == sheet or cut is None or number is None:
                    continue
                its = _as_number(cut.group().strip())
                if its == number + other - sheet and text.replace(cut.group(), "") == head:
                    return True
        return False

    def repeats(self, at: int, spans: Mapping[int, Span], copy: str) -> int | None:
        """The head of another sheet that a line is meant to be over again; None for none.

        Of heads that are not in the copy at all the first is told, and the others repeat it.

        Args:
            at: place of the line in the proof.
            spans: each placed line's stretch of copy.
            copy: the copy's text.
        """
        mine = self._bare_heads.get(at, "")
        best, twin = _ALIKE, None
        for k in self.setting.other_heads(at):
            if k > at if k not in spans else not _is_whole_line(spans[k], copy):
                continue
            likeness = Indel.normalized_similarity(mine, self._bare_heads[k])
            if likeness > best:
                best, twin = likeness, k
        return twin if twin is not None and self._looks_like_head(at) else None

    @cached_property
    def _bare_heads(self) -> dict[int, str]:
        """The first rows of the sheets, in small letters, without a page number at either end."""
        texts = {at: self.setting.readings[at].text for at in self.setting.first_rows}
        bare = {at: _LAST.sub("", _FIRST.sub("", text, count=1)) for at, text in texts.items()}
        return {at: text.casefold() for at, text in bare.items()}

    def _looks_like_head(self, at: int) -> bool:
        """Whether a line at the head of a sheet is no line of its text."""
        setting, text = self.setting, self.setting.readings[at].text
        line = setting.line(at)
        if line is None or not any(map(str.islower, text)):
            return True
        others = [o.x_height_px for o in setting.on_sheet(line.sheet) if o is not line]
        usual = median(others) if others else line.x_height_px
        sizes = sorted((usual, line.x_height_px))
        return setting.stands_apart(at, _HEAD_APART) or sizes[1] >= _OTHER_SIZE * sizes[0]


def _as_number(text: str) -> int | None:
    """The figure a folio has; None for roman ones."""
    found = _BARE.search(text)
    plain = found is not None and found.group().isascii() and found.group().isdigit()
    whole = _ALONE.fullmatch(text) or _ALONE_OF_FOUR.fullmatch(text)
    return int(found.group()) if found and plain and whole else None


def _is_whole_line(span: Span, copy: str) -> bool:
    """Whether a stretch of copy is all of a line of it."""
    start = copy.rfind("\n", 0, span.start) + 1
    end = found if (found := copy.find("\n", span.end)) >= 0 else len(copy)
    return not (copy[start : span.start] + copy[span.end : end]).strip()
