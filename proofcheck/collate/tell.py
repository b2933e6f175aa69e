"""Tell edits as a proofreader would: kinds of fault, each tied to a printed line."""

from __future__ import annotations

from bisect import bisect_right
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from proofcheck.base.found import Difference
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Span
from proofcheck.collate.allow import Allowances
from proofcheck.collate.capitals import only_capitals, with_stretched_case
from proofcheck.collate.edits import Edit, How
from proofcheck.collate.naming import kind_of_letters, kind_of_words_missing
from proofcheck.collate.region import core_of
from proofcheck.collate.same import Compared, Rules, is_letter

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from proofcheck.base.values import Reading
    from proofcheck.collate.aligning import Alignment

__all__ = ["Teller", "Told"]

_WORDS_OF_A_LINE = 3
_ABOUT_A_LINE = (0.5, 1.4)
"""Missing matter from the lower to the upper of these times the lines round it is one line."""


class Told(NamedTuple):
    """A difference, and the name of the allowance by which it passes, if any."""

    difference: Difference
    rule: str | None = None


class Teller:
    """Tells the edits of one alignment.

    Args:
        alignment: the lines laid on the copy.
        copy: the copy's compared form.
        source: the copy's own text.
        readings: one a printed line.
        rules: the allowances made.
    """

    def __init__(
        self,
        alignment: Alignment,
        copy: Compared,
        source: str,
        readings: Sequence[Reading],
        rules: Rules,
    ) -> None:
        self.alignment, self.copy = alignment, copy
        self.allowances = Allowances(copy, source, rules)
        self.proof = alignment.stream.text
        self.stream = alignment.stream
        self.readings = readings
        self._styled: list[Edit] = []

    def told(self) -> list[Told]:
        """All differences of letters, words and matter, in order of the stream."""
        edits = with_stretched_case(list(self.alignment.edits), self.proof, self.copy.text)
        self._styled = [e for e in edits if e.how is How.CASE and e.p1 - e.p0 > 1]
        out: list[Told] = []
        for edit in edits:
            if edit.how is How.DIVISION:
                continue
            for piece in self._pieces(edit):
                difference = self._told(piece)
                rule = self.allowances.rule_for(piece, self.proof)
                out.append(Told(difference, rule))
        return out

    def _pieces(self, edit: Edit) -> Iterator[Edit]:
        """The edit, or its part on each line where it goes over a line end."""
        text = self.proof[edit.p0 : edit.p1]
        if "\n" not in text.strip("\n") or edit.how is How.BROKEN:
            yield edit
        elif edit.how is How.SWAPPED:
            yield from self._swap_pieces(edit)
        else:
            at = edit.p0
            for part in text.split("\n"):
                if part:
                    yield Edit(edit.c1, edit.c1, at, at + len(part), edit.how)
                at += len(part) + 1

    def _swap_pieces(self, edit: Edit) -> Iterator[Edit]:
        """Two words swapped over a line end: on either line the other word is wanted."""
        cut = self.proof.index("\n", edit.p0, edit.p1)
        words = self.proof[edit.p0 : cut].split(" ")
        if self.copy.text.count(" ", edit.c0, edit.c1) < len(words):
            # Letters of the two have run together: no word of the copy is the second line's.
            yield Edit(edit.c0, edit.c1, edit.p0, cut, How.WORD)
            yield Edit(edit.c1, edit.c1, cut + 1, edit.p1, How.WORDS)
            return
        space = edit.c0 - 1
        for _ in words:
            space = self.copy.text.index(" ", space + 1, edit.c1)
        yield Edit(edit.c0, space, edit.p0, cut, How.SWAPPED)
        yield Edit(space + 1, edit.c1, cut + 1, edit.p1, How.SWAPPED)

    def _told(self, edit: Edit) -> Difference:
        """One edit within one line as a difference."""
        if edit.how is How.WORDS and edit.p0 == edit.p1:
            return self._words_missing(edit)
        if edit.how is How.WORDS:
            return self._words_extra(edit)
        printed = self.proof[edit.p0 : edit.p1]
        wanted = self.copy.text[edit.c0 : edit.c1]
        if edit.how is How.BROKEN or (printed == "\n" and wanted):
            return self._without_hyphen(edit, printed, wanted or "-")
        if edit.how is How.CASE:
            style = edit.p1 - edit.p0 > 1
            return self._difference(edit, Kind.CASE, only_query=style)
        if edit.how is How.SWAPPED:
            return self._difference(edit, Kind.WORDS_TRANSPOSED, other=self._partner(edit))
        kind = _kind(edit.how, printed, wanted)
        return self._difference(edit, kind, wanted=self._in_style(edit, wanted))

    def _without_hyphen(self, edit: Edit, printed: str, wanted: str) -> Difference:
        """A line end, or a point before one, that stands where a hyphen or dash is wanted."""
        if printed.strip():
            return self._difference(edit, Kind.POINT_WRONG, wanted=wanted)
        gap = Edit(edit.c0, edit.c1, edit.p0, edit.p0)
        return self._difference(gap, Kind.POINT_MISSING, wanted=wanted)

    def _in_style(self, edit: Edit, wanted: str) -> str:
        """The copy's letters as capitals, where the printed word is set in capitals throughout."""
        start = max(self.proof.rfind(char, 0, edit.p0) for char in " \n") + 1
        ends = [at for char in " \n" if (at := self.proof.find(char, edit.p1)) >= 0]
        end = min(ends, default=len(self.proof))
        after = bisect_right(self._styled, start, key=_end_of)
        styled = any(e.p0 < end for e in self._styled[after : after + 1])
        mixed = not only_capitals(self.proof[start : edit.p0] + self.proof[edit.p1 : end])
        return wanted.upper() if styled and not mixed and wanted.upper().isupper() else wanted

    def _partner(self, edit: Edit) -> tuple[int, ...]:
        """The line that holds the other of two words swapped over a line end."""
        if " " in self.proof[edit.p0 : edit.p1]:
            return ()
        row = self.stream.row(edit.p0)
        first = int(self.stream.line_start[row]) == edit.p0
        other = row - 1 if first else row + 1
        return (self._number(other),)

    def _number(self, row: int) -> int:
        """The printed line's own number."""
        return self.readings[self.stream.order[row]].line

    def _words_missing(self, edit: Edit) -> Difference:
        """Words left out: with the space that goes with them, or whole lines."""
        kind = self._kind_missing(edit)
        c0, c1 = edit.c0, edit.c1
        if kind is Kind.LINE_MISSING or self._before_all(edit):
            return self._difference(edit, kind)
        within = self.copy.text[c1 : c1 + 1].strip()
        if c0 > 0 and self.copy.text[c0 - 1] == " " and edit.p0 > 0 and not within:
            c0 -= 1
        elif self.copy.text[c1 : c1 + 1] == " " and edit.p0 == 0:
            c1 += 1
        return self._difference(Edit(c0, c1, edit.p0, edit.p0), kind)

    def _before_all(self, edit: Edit) -> bool:
        """Whether the matter is out before the first printed line."""
        return edit.p0 == 0 and self._kind_missing(edit) is Kind.MATTER_MISSING

    def _kind_missing(self, edit: Edit) -> Kind:
        """A line, an out, or a few words."""
        kind = kind_of_words_missing(self.copy.text[edit.c0 : edit.c1])
        if not self._between_lines(edit.p0):
            return kind
        row = self.stream.row(edit.p0)
        near = self.stream.line_start[max(0, row - 2) : row + 4]
        usual = float(np.max(np.diff(near))) if len(near) > 1 else 0.0
        low, high = (k * usual for k in _ABOUT_A_LINE)
        words = self.copy.text.count(" ", edit.c0, edit.c1) + 1
        if low <= edit.c1 - edit.c0 + 1 <= high and words >= _WORDS_OF_A_LINE:
            return Kind.LINE_MISSING
        return kind

    def _between_lines(self, at: int) -> bool:
        """Whether a gap in the stream lies between two lines."""
        here = self.proof[at : at + 2]
        return at == 0 or here[:1] in ("\n", "") or here == "-\n" or self.proof[at - 1] == "\n"

    def _words_extra(self, edit: Edit) -> Difference:
        """Words too many, with the space that goes with them."""
        printed = self.proof[edit.p0 : edit.p1]
        if not any(is_letter(char) for char in printed):
            kind = Kind.POINT_EXTRA
        elif self._doubled(edit):
            kind = Kind.WORD_DOUBLED
        else:
            kind = Kind.WORD_EXTRA
        p0, p1 = edit.p0, edit.p1
        if p0 > 0 and self.proof[p0 - 1] == " ":
            p0 -= 1
        elif self.proof[p1 : p1 + 1] == " ":
            p1 += 1
        return self._difference(Edit(edit.c0, edit.c0, p0, p1), kind)

    def _doubled(self, edit: Edit) -> bool:
        """Whether the words are those just before them over again."""
        words = _bare(self.proof[edit.p0 : edit.p1])
        size = 2 * (edit.p1 - edit.p0) + 8
        before = _bare(self.proof[max(0, edit.p0 - size) : edit.p0])
        once_more = bool(before) and set(words) == {before[-1]}
        return once_more or before[-len(words) :] == words

    def _difference(
        self,
        edit: Edit,
        kind: Kind,
        *,
        wanted: str | None = None,
        other: tuple[int, ...] = (),
        only_query: bool = False,
    ) -> Difference:
        """The edit in the terms of the reading and the copy as loaded."""
        ahead = edit.p0 == edit.p1 == 0 and kind in (Kind.LINE_MISSING, Kind.MATTER_MISSING)
        row = self.stream.row(edit.p0)
        line_start = int(self.stream.line_start[row])
        part = self.stream.parts[row]
        proof = part.span(edit.p0 - line_start, edit.p1 - line_start)
        text = self.readings[self.stream.order[row]].text
        return Difference(
            kind=kind,
            line=0 if ahead else self._number(row),
            proof=Span(0, 0) if ahead else proof,
            proof_text=text[proof.start : proof.end],
            copy=self.copy.span(edit.c0, edit.c1),
            copy_text=self.copy.text[edit.c0 : edit.c1] if wanted is None else wanted,
            other_lines=other,
            only_query=only_query,
        )


def _end_of(edit: Edit) -> int:
    """Where an edit ends in the proof."""
    return edit.p1


def _bare(text: str) -> list[str]:
    """Words without their points, in small letters."""
    words = text.casefold().split()
    return [w[slice(*core_of(w))] or w for w in words]


def _kind(how: How, printed: str, wanted: str) -> Kind:
    """The kind of a difference within a word."""
    if how is How.TRANSPOSED and any(map(is_letter, printed)):
        return Kind.LETTERS_TRANSPOSED
    # Half of a divided word may have nothing printed, or nothing wanted.
    if how is How.WORD and printed and wanted:
        return Kind.WRONG_WORD
    return kind_of_letters(printed, wanted)
