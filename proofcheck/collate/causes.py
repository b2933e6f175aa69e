"""Likely causes of a fault, as the trade knows them: hints, nothing more.

The keyboard is that of a US Navy training book on line-casting machines; the case is the
California job case as drawn in school books (Polk); that letters slide into the box below an
over-full one is Blades's observation. Which letters look alike turned is MacKellar's list.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from proofcheck.base.found import Cause, Difference
from proofcheck.base.kinds import Kind
from proofcheck.reading.turned import LOOKS_LIKE, is_turned

__all__ = [
    "CASE_BOX_ABOVE",
    "KEYBOARD",
    "LOOK_ALIKE",
    "are_neighbour_keys",
    "cause_of",
    "with_cause",
]

KEYBOARD: tuple[tuple[str, ...], ...] = (
    ("e", "s", "c", "v", "x"),
    ("t", "h", "m", "b", "z"),
    ("a", "r", "f", "g", "ﬁ"),
    ("o", "d", "w", "k", "ﬂ"),
    ("i", "l", "y", "q", "ﬀ"),
    ("n", "u", "p", "j", "ﬃ"),
)
"""The black (lower-case) keys, row by row from the top; capitals lie likewise to the right."""

_FIGURES: tuple[tuple[str, ...], ...] = (
    ("?", "", "1", "7"),
    ("", "", "2", "8"),
    ("(", ")", "3", "9"),
    ("|", "·", "4", "0"),
    ("'", "'", "5", "$"),
    ("!", "*", "6", ""),
)
"""Of the blue keys, the columns of figures and the two before them."""

_POINTS: tuple[tuple[str, ...], ...] = ((",",), (".",), (":",), (";",))
"""And the points of the first blue column, from the third row down."""

CASE_BOX_ABOVE: dict[str, str] = {
    "l": "b",
    "v": "l",
    "m": "c",
    "u": "m",
    "n": "d",
    "t": "n",
    "a": "o",
}
"""On the California lay, the letter whose box lies above that of the letter wanted."""

_CASE_TOO: dict[str, str] = {"o": "is", "y": "is", "r": "yp"}
"""Boxes that lie under two others."""

LOOK_ALIKE: tuple[frozenset[str], ...] = tuple(
    frozenset(group.split())
    for group in ("I l 1", "O 0 o", "S 5", "B 8", "G 6", "Z 2", "rn m", "cl d", "c e", "nn m")
)
"""Letters and pairs that are mistaken for one another by eye; common practice."""


def _neighbours(rows: tuple[tuple[str, ...], ...]) -> frozenset[frozenset[str]]:
    """Keys side by side or one above the other."""
    beside = {frozenset(pair) for row in rows for pair in pairwise(row) if all(pair)}
    columns = [
        tuple(row[k] for row in rows if k < len(row)) for k in range(max(len(r) for r in rows))
    ]
    above = {frozenset(pair) for column in columns for pair in pairwise(column) if all(pair)}
    return frozenset(beside | above)


_NEIGHBOURS = (
    _neighbours(KEYBOARD)
    | _neighbours(tuple(tuple(k.upper() for k in row[:5] if len(k) == 1) for row in KEYBOARD))
    | _neighbours(_FIGURES)
    | _neighbours(_POINTS)
)


def are_neighbour_keys(one: str, other: str) -> bool:
    """Whether two characters lie side by side, or one above the other, on the keyboard."""
    return one != other and frozenset((one, other)) in _NEIGHBOURS


def cause_of(
    difference: Difference, *, line_end: bool = False, hand_set: bool = False
) -> Cause | None:
    """The likely cause of a difference of letters; None where the trade knows none.

    Args:
        difference: what was found.
        line_end: it stands at the end of its line.
        hand_set: the type is set by hand from the case, not cast in slugs at a keyboard.
    """
    printed, wanted = difference.proof_text, difference.copy_text
    if difference.kind is Kind.TURNED_SORT:
        return Cause.TURNED_SORT
    if difference.kind in (Kind.WRONG_LETTER, Kind.POINT_WRONG):
        return _in_the_case(printed, wanted) if hand_set else _at_the_keys(printed, wanted)
    return None if hand_set else _of_the_machine(difference, line_end=line_end)


def _of_the_machine(difference: Difference, *, line_end: bool) -> Cause | None:
    """Why a line-casting machine drops or swaps letters rightly called for."""
    kind = difference.kind
    if kind is Kind.LETTERS_TRANSPOSED:
        return Cause.LATE_MAT
    one_letter = kind is Kind.LETTER_MISSING and len(difference.copy_text) == 1
    last_point = kind is Kind.POINT_MISSING and line_end
    return Cause.MAT_NOT_FALLEN if one_letter or last_point else None


def _in_the_case(printed: str, wanted: str) -> Cause | None:
    """Why one letter stands for another in type set by hand."""
    if is_turned(printed) or LOOKS_LIKE.get(wanted) == printed:
        return Cause.TURNED_SORT
    if printed in CASE_BOX_ABOVE.get(wanted, "") + _CASE_TOO.get(wanted, ""):
        return Cause.FOUL_CASE
    return _by_eye(printed, wanted)


def _at_the_keys(printed: str, wanted: str) -> Cause | None:
    """Why one letter stands for another in a slug."""
    if is_turned(printed):
        return Cause.TURNED_SORT
    if are_neighbour_keys(printed, wanted):
        return Cause.NEIGHBOUR_KEY
    turned = LOOKS_LIKE.get(wanted) == printed
    return _by_eye(printed, wanted) or (Cause.TURNED_SORT if turned else None)


def _by_eye(printed: str, wanted: str) -> Cause | None:
    """Whether the two are mistaken for one another by eye."""
    alike = any({printed, wanted} <= group for group in LOOK_ALIKE)
    return Cause.LOOK_ALIKE if alike else None


def with_cause(difference: Difference, text: str, *, hand_set: bool = False) -> Difference:
    """The difference with its likely cause, if it has none yet.

    Args:
        difference: what was found.
        text: the printed line's text.
        hand_set: as for `cause_of`.
    """
    if difference.cause is not None:
        return difference
    start, end = difference.proof
    if difference.kind is Kind.LETTER_EXTRA and not hand_set:
        doubled = end - start == 1 and text[start - 1 : start] == difference.proof_text
        return replace(difference, cause=Cause.DOUBLED_KEY) if doubled else difference
    cause = cause_of(difference, line_end=end >= len(text), hand_set=hand_set)
    return replace(difference, cause=cause) if cause else difference
