"""Allowances made while differences are told: spaces round points and dashes, leaders."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from proofcheck.collate.edits import is_dash
from proofcheck.same import rule_of

if TYPE_CHECKING:
    from collections import Counter

    from proofcheck.collate.edits import Edit
    from proofcheck.collate.lay import Alignment
    from proofcheck.same import Compared, Rules

__all__ = ["allowance_for", "count_spellings"]

_SPACED_BEFORE = frozenset(";:!?…")
_QUOTES = frozenset("'\"“”‘’«»")
_OPENING = frozenset("([{")
_CLOSING = frozenset(")]}")


def allowance_for(edit: Edit, proof: str, copy: str, rules: Rules) -> str | None:
    """Name of the rule that lets an edit pass, None where it is a difference."""
    printed, wanted = proof[edit.p0 : edit.p1], copy[edit.c0 : edit.c1]
    if {printed, wanted} == {"", " "}:
        if rules.leaders and "…" in proof[max(0, edit.p0 - 1) : edit.p1 + 1]:
            return "leaders"
        text, at = (proof, edit.p0) if printed else (copy, edit.c0)
        if rules.point_space and _between_initials(text, at):
            return "point-space"
        return _for_space(text[at - 1 : at], text[at + 1 : at + 2], rules, extra=bool(printed))
    if rules.leaders and _swallowed(proof[edit.p0 - 1 : edit.p1 + 2], printed, wanted):
        return "leaders"
    points = (printed + wanted).replace(" ", "")
    if rules.leaders and points and set(points) <= {"…", "_"}:
        row = _row(proof, edit.p0, edit.p1) + _row(copy, edit.c0, edit.c1)
        return "leaders" if row > len(points) or len(points) > 1 else None
    return None


def _between_initials(text: str, at: int) -> bool:
    """Whether a space stands between two initials, each a capital with its point."""
    left, right = text[max(0, at - 3) : at], text[at + 1 : at + 3]
    return (
        all(len(pair) == 2 and pair[0].isupper() and pair[1] == "." for pair in (left[-2:], right))
        and not left[:-2].isalnum()
    )


def _swallowed(around: str, printed: str, wanted: str) -> bool:
    """Whether a point close to leaders is one more of them, or one less.

    It can't be told from theirs where they begin right after it, or it after the word.
    """
    if printed == ".":
        return around[-1:] == "…" or around[-2:-1] == "…"
    if wanted != ".":
        return False
    if around[:1] == " ":
        return False
    return set(printed) == {"…"} or (not printed and around[1:2] == "…")


def _row(text: str, start: int, end: int) -> int:
    """How many leader points stand at a place in a row."""
    while start > 0 and text[start - 1] in "…_":
        start -= 1
    while end < len(text) and text[end] in "…_":
        end += 1
    return end - start


def _for_space(before: str, after: str, rules: Rules, *, extra: bool) -> str | None:
    """Rule for a space between two characters that one side has and the other hasn't."""
    beside = (before, after)
    if rules.dash_space and any(is_dash(char) for char in beside):
        return "dash-space"
    if not rules.point_space:
        return None
    if after in _SPACED_BEFORE or before == "…":
        return "point-space"
    if extra and (before in _OPENING or after in _CLOSING):
        return "point-space"
    # The copy sets the quote close against its word, so the space is inside the quotes.
    if extra and (before in _QUOTES or after in _QUOTES):
        return "point-space"
    return None


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
            if ours != theirs and rule:
                waived[rule] += 1
