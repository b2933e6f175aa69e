"""Allowances made while differences are told: spaces round points and dashes, leaders."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.collate.edits import is_dash
from proofcheck.collate.quotes import is_quote
from proofcheck.collate.same import rule_of

if TYPE_CHECKING:
    from collections import Counter

    from proofcheck.collate.aligning import Alignment
    from proofcheck.collate.edits import Edit
    from proofcheck.collate.same import Compared, Rules

__all__ = ["Allowances", "count_spellings"]

_SPACED_BEFORE = frozenset(";:!?…")
_OPENING = frozenset("([{")
_CLOSING = frozenset(")]}")
_LEADERS = frozenset("…_")
_LONGEST_ROW = 90
"""Characters from which on a line of copy is prose, not a row of a table."""
_MOST_WORDS = 3
"""Words that may follow the leaders in a row."""
_MOST_OF_FIGURES = 6
"""The same where figures come first: "6, 7, and 8 a.m."."""
_ROWS, _NEAR = 2, 6
"""Lines with leaders near one, so many lines before or after it, that make it a row of a list:
heads stand between, and rows whose leaders were taken for rules."""
_WHITE = " \t.…_"
_POINTS = re.compile(r"\t|…|\.(?: ?\.){2,}|_{2,}|  +")
_CLOSES = re.compile(r"\w{2,4}\.\t")
"""A word cut short that closes a cell, as "dep." in a timetable: leaders run up to it."""
_FIGURES = re.compile(r"[£$]?\d")


class Allowances:
    """The allowances one copy's differences may have.

    Args:
        copy: the copy's compared form.
        source: the copy's own text.
        rules: which are made.
    """

    def __init__(self, copy: Compared, source: str, rules: Rules) -> None:
        self._copy, self._source, self._rules = copy, source, rules
        self._shaped = _with_shapes(copy, source)

    def rule_for(self, edit: Edit, proof: str) -> str | None:
        """Name of the rule that lets an edit pass, None where it is a difference."""
        copy, rules = self._copy.text, self._rules
        printed, wanted = proof[edit.p0 : edit.p1], copy[edit.c0 : edit.c1]
        if {printed, wanted} == {"", " "}:
            if "…" in proof[max(0, edit.p0 - 1) : edit.p1 + 1] and self._leads(edit, proof):
                return "leaders"
            return self._for_space(edit, proof, extra=bool(printed))
        alone = rules.leaders and not wanted.strip() and _is_row(printed)
        blank = alone and (_is_blank(edit, proof) or self._is_list(edit, proof))
        if not blank and not self._leads(edit, proof):
            return None
        if blank or _swallowed(proof[max(0, edit.p0 - 1) : edit.p1 + 2], printed, wanted):
            return "leaders"
        points = (printed + wanted).replace(" ", "")
        if set(points) & _LEADERS and set(points) <= {*_LEADERS, "."}:
            row = _row(proof, edit.p0, edit.p1) + _row(copy, edit.c0, edit.c1)
            return "leaders" if row > len(points) or len(points) > 1 else None
        return None

    def _leads(self, edit: Edit, proof: str) -> bool:
        """Whether points at a place are leaders: five or more of the copy's, or a table's row."""
        if not self._rules.leaders:
            return False
        around = self._copy.text[max(0, edit.c0 - 2) : edit.c1 + 2]
        if "……" in around or "__" in around:
            return True
        near = proof[max(0, edit.p0 - 2) : edit.p1 + 2] + around
        return bool(_LEADERS & set(near)) and self._in_table(edit)

    def _in_table(self, edit: Edit) -> bool:
        """Whether a place in the copy is before the last cell of a row."""
        held, source = self._copy, self._source
        if not len(held.start):
            return False
        before = int(held.end[edit.c0 - 1]) if edit.c0 else 0
        start, end = _line_round(source, before, before)
        rest = source[before:end].lstrip(_WHITE)
        white = source[start + len(source[start:before].rstrip(_WHITE)) : end - len(rest)]
        if "\t" in white or _CLOSES.match(rest):
            return True
        pointed = bool(_POINTS.search(white))
        if not pointed and _POINTS.search(source, start, end):
            # The row has its leaders, or its white space, elsewhere.
            return False
        if end - start > _LONGEST_ROW or not _ends_row(rest):
            return False
        figures = bool(_FIGURES.match(rest))
        return "  " in white or figures or (pointed and self._rows_beside(start, end))

    def _is_list(self, edit: Edit, proof: str) -> bool:
        """Whether leaders lead over white that a short entry of the copy has nothing to show for.

        So a list is typed without tabs; two printed lines near it have leaders, too.
        """
        held, source = self._copy, self._source
        if not len(held.start):
            return False
        before = int(held.end[edit.c0 - 1]) if edit.c0 else 0
        start, end = _line_round(source, before, before)
        if end - start > _LONGEST_ROW or _POINTS.search(source, start, end):
            return False
        first, last = _line_round(proof, edit.p0, edit.p1)
        near = [
            *proof[:first].split("\n")[-_NEAR - 1 : -1],
            *proof[last:].split("\n")[1 : _NEAR + 1],
        ]
        return sum("……" in row.strip("… ") for row in near) >= _ROWS

    def _rows_beside(self, start: int, end: int) -> bool:
        """Whether the line of copy before or after a line has a row of points, too, or a column."""
        far = 2 * _LONGEST_ROW
        above = self._source[max(0, start - far) : start].rstrip().rpartition("\n")[2]
        below = self._source[end : end + far].lstrip("\n").partition("\n")[0]
        for line in (above, below):
            found = list(_POINTS.finditer(line.strip()))
            if found and len(line) <= _LONGEST_ROW and _ends_row(line.strip()[found[-1].end() :]):
                return True
        return False

    def _for_space(self, edit: Edit, proof: str, *, extra: bool) -> str | None:
        """Rule for a space between two characters that one side has and the other hasn't."""
        copy = self._copy.text
        text, at = (proof, edit.p0) if extra else (copy, edit.c0)
        before, after = text[at - 1 : at], text[at + 1 : at + 2]
        if self._rules.dash_space and any(is_dash(char) for char in (before, after)):
            return "dash-space"
        if not self._rules.point_space:
            return None
        passes = _between_initials(text, at) or before == "…" or _before_point(text, at)
        if extra:
            passes |= before in _OPENING or after in _CLOSING
            # The copy sets the quote close against its word, so the space is inside the quotes.
            passes |= is_quote(self._shaped, edit.c0 - 1, opens=True, like=before)
            passes |= is_quote(self._shaped, edit.c0, opens=False, like=after)
        return "point-space" if passes else None


def _with_shapes(copy: Compared, source: str) -> str:
    """The compared form with single quotes shaped as the copy has them."""
    out = list(copy.text)
    for at in np.flatnonzero(copy.altered).tolist():
        if out[at] == "'" and source[copy.start[at]] in "‘’‛‚":
            out[at] = source[copy.start[at]]
    return "".join(out)


def _ends_row(text: str) -> bool:
    """Whether a text is short enough to be the last cell of a row."""
    most = _MOST_OF_FIGURES if _FIGURES.match(text.strip()) else _MOST_WORDS
    return 0 < len(text.split()) <= most


def _before_point(text: str, at: int) -> bool:
    """Whether a space stands before a point that may have one; not within a figure (6:30)."""
    figure = text[at - 1 : at].isdigit() and text[at + 2 : at + 3].isdigit()
    return text[at + 1 : at + 2] in _SPACED_BEFORE and not figure


def _between_initials(text: str, at: int) -> bool:
    """Whether a space stands between two initials, each a capital with its point."""
    left, right = text[max(0, at - 3) : at], text[at + 1 : at + 3]
    return (
        all(len(pair) == 2 and pair[0].isupper() and pair[1] == "." for pair in (left[-2:], right))
        and not left[:-2].isalnum()
    )


def _is_row(printed: str) -> bool:
    """Whether five points and more stand at a place, and nothing else."""
    return "……" in printed and set(printed) <= {*"…. "}


def _is_blank(edit: Edit, proof: str) -> bool:
    """Whether points are a blank to write on: they stand at an end of their printed line.

    Another may stand within a line that ends with one; leaders within any other are in no place of
    theirs.
    """
    start, end = _line_round(proof, edit.p0, edit.p1)
    return not proof[start : edit.p0].strip() or proof[start:end].rstrip().endswith("……")


def _line_round(text: str, first: int, last: int) -> tuple[int, int]:
    """Where the line begins and ends that two places stand in."""
    end = text.find("\n", last)
    return text.rfind("\n", 0, first) + 1, end if end >= 0 else len(text)


def _swallowed(around: str, printed: str, wanted: str) -> bool:
    """Whether a point close to leaders is one more of them, or one less.

    It can't be told from theirs where they begin right after it, or it after the word.
    """
    if printed == "." and not wanted.strip():
        return around[-1:] == "…" or around[-2:-1] == "…"
    if wanted != ".":
        return False
    if around[:1] == " ":
        return False
    return set(printed) == {"…"} or (not printed and around[1:2] == "…")


def _row(text: str, start: int, end: int) -> int:
    """How many leader points stand at a place in a row."""
    while start > 0 and text[start - 1] in _LEADERS:
        start -= 1
    while end < len(text) and text[end] in _LEADERS:
        end += 1
    return end - start


def count_spellings(
    alignment: Alignment, copy: Compared, sources: tuple[str, list[str]], waived: Counter[str]
) -> None:
    """Count where the two sides agree in the compared form but not as written.

    Args:
        alignment: what agrees with what.
        copy: the copy's compared form.
        sources: the copy's own text, and the text of each row's reading.
        waived: counts by rule; added to.
    """
    stream = alignment.stream
    for row, part in enumerate(stream.parts):
        start = int(stream.line_start[row])
        at = alignment.copy_at[start : start + len(part.text)]
        held = at >= 0
        odd = np.flatnonzero(held & (part.altered | copy.altered[np.where(held, at, 0)]))
        for k in odd.tolist():
            ours = sources[0][copy.start[at[k]] : copy.end[at[k]]]
            theirs = sources[1][row][part.start[k] : part.end[k]]
            as_capital = part.text[k] != theirs and part.text[k] == theirs.upper()
            rule = "small-caps" if as_capital else rule_of(part.text[k])
            if rule == "leaders" and "……" not in part.text[max(0, k - 1) : k + 2]:
                rule = "code-form"
            if ours != theirs and rule:
                waived[rule] += 1
