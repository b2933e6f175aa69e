"""Kinds of fault: one row each, with all that any room asks of a kind.

To add a kind: its name and its row here, and the module that finds it. It is marked as its group is
where the set of marks (`proofcheck.marks`) has nothing of its own for it. A kind without a row is
refused as the program starts; the report's schema is written from here (`tests.lab.schema_kinds`),
and a test says when it has to be.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum, StrEnum
from types import MappingProxyType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["KINDS", "Cure", "Group", "Kind", "Row", "cured_by", "of_group", "thresholds_of"]


class Kind(StrEnum):
    """Kinds of fault, as named in the report."""

    WRONG_LETTER = "wrong-letter"
    LETTER_MISSING = "letter-missing"
    LETTER_EXTRA = "letter-extra"
    LETTERS_TRANSPOSED = "letters-transposed"
    WRONG_WORD = "wrong-word"
    WORD_MISSING = "word-missing"
    WORD_EXTRA = "word-extra"
    WORD_DOUBLED = "word-doubled"
    WORDS_TRANSPOSED = "words-transposed"
    CASE = "case"
    POINT_WRONG = "point-wrong"
    POINT_MISSING = "point-missing"
    POINT_EXTRA = "point-extra"
    SPACE_MISSING = "space-missing"
    SPACE_EXTRA = "space-extra"
    BAD_DIVISION = "bad-division"
    PARAGRAPH = "paragraph"
    MATTER_MISSING = "matter-missing"
    LINE_MISSING = "line-missing"
    LINE_DOUBLED = "line-doubled"
    LINES_TRANSPOSED = "lines-transposed"
    LINE_FOREIGN = "line-foreign"
    TURNED_SORT = "turned-sort"
    WRONG_FONT = "wrong-font"
    BROKEN_LETTER = "broken-letter"
    WORK_UP = "work-up"
    OFF_LINE = "off-line"
    HAIRLINE = "hairline"
    UNEVEN_SPACING = "uneven-spacing"
    CROOKED_LINE = "crooked-line"
    SHORT_MEASURE = "short-measure"
    WRONG_COLUMN = "wrong-column"
    BROKEN_RULE = "broken-rule"
    OPEN_CORNER = "open-corner"
    CROOKED_RULE = "crooked-rule"
    BORDER_PIECE = "border-piece"


class Group(Enum):
    """What a fault is of."""

    LETTERS = "letters"
    WORDS = "words"
    POINTS = "points"
    SPACES = "spaces"
    LINE_ENDS = "line ends"
    """Where a line or a paragraph ends."""
    LINES = "lines"
    """Whole printed lines; all others lie within one."""
    TYPE = "type"
    """The type and its setting; the text is left as it is."""
    RULES = "rules"
    """Rules and borders: they stand in no line."""


class Cure(Enum):
    """What puts it right."""

    CAST = "cast"
    """The machine: the line is set again."""
    STONE = "stone"
    """A hand at the stone, with no new matter."""
    PUT_IN = "put in"
    """New lines, put in where they are wanting."""
    TAKE_OUT = "take out"
    """Lines to be taken out and not replaced."""
    MOVE = "move"
    """Lines that stand in the wrong place."""


@dataclass(frozen=True, slots=True)
class Row:
    """One kind."""

    kind: Kind
    group: Group
    cure: Cure = Cure.CAST
    whole_line: bool = False
    """Shown on all of its line rather than on letters of it."""
    by_rule: bool = False
    """Settled by whole lines or a rule of the trade, which no picture of a letter can bear out."""
    misread_as: frozenset[Kind] = frozenset()
    """Faults of the text that, at the same place, are this one misread: it takes their place."""
    fault_certainty: float | None = None
    """From this on it is a fault, below a query; None for the threshold of all kinds."""
    query_certainty: float | None = None
    """Below this it is let go; None likewise."""


_ROWS = {
    row.kind: row
    for row in (
        Row(Kind.WRONG_LETTER, Group.LETTERS),
        Row(Kind.LETTER_MISSING, Group.LETTERS),
        Row(Kind.LETTER_EXTRA, Group.LETTERS),
        Row(Kind.LETTERS_TRANSPOSED, Group.LETTERS),
        Row(Kind.WRONG_WORD, Group.WORDS),
        Row(Kind.WORD_MISSING, Group.WORDS),
        Row(Kind.WORD_EXTRA, Group.WORDS),
        Row(Kind.WORD_DOUBLED, Group.WORDS),
        Row(Kind.WORDS_TRANSPOSED, Group.WORDS),
        Row(Kind.CASE, Group.LETTERS),
        Row(Kind.POINT_WRONG, Group.POINTS),
        Row(Kind.POINT_MISSING, Group.POINTS),
        Row(Kind.POINT_EXTRA, Group.POINTS),
        Row(Kind.SPACE_MISSING, Group.SPACES),
        Row(Kind.SPACE_EXTRA, Group.SPACES),
        Row(Kind.BAD_DIVISION, Group.LINE_ENDS, by_rule=True),
        Row(Kind.PARAGRAPH, Group.LINE_ENDS, by_rule=True),
        Row(Kind.MATTER_MISSING, Group.WORDS, cure=Cure.PUT_IN, by_rule=True),
        Row(Kind.LINE_MISSING, Group.LINES, cure=Cure.PUT_IN, by_rule=True),
        Row(Kind.LINE_DOUBLED, Group.LINES, cure=Cure.TAKE_OUT, whole_line=True, by_rule=True),
        Row(Kind.LINES_TRANSPOSED, Group.LINES, cure=Cure.MOVE, whole_line=True, by_rule=True),
        Row(Kind.LINE_FOREIGN, Group.LINES, cure=Cure.TAKE_OUT, whole_line=True, by_rule=True),
        Row(
            Kind.TURNED_SORT,
            Group.LETTERS,
            misread_as=frozenset(
                {Kind.WRONG_LETTER, Kind.POINT_WRONG, Kind.CASE, Kind.TURNED_SORT}
            ),
        ),
        Row(Kind.WRONG_FONT, Group.TYPE),
        Row(
            Kind.BROKEN_LETTER,
            Group.TYPE,
            misread_as=frozenset(
                {Kind.WRONG_LETTER, Kind.POINT_WRONG, Kind.CASE, Kind.TURNED_SORT}
            ),
        ),
        Row(
            Kind.WORK_UP,
            Group.TYPE,
            cure=Cure.STONE,
            misread_as=frozenset(
                {
                    Kind.POINT_EXTRA,
                    Kind.LETTER_EXTRA,
                    Kind.WORD_EXTRA,
                    Kind.POINT_WRONG,
                    Kind.WRONG_LETTER,
                    Kind.SPACE_EXTRA,
                    Kind.SPACE_MISSING,
                }
            ),
        ),
        Row(Kind.OFF_LINE, Group.TYPE),
        Row(Kind.HAIRLINE, Group.TYPE, misread_as=frozenset({Kind.POINT_EXTRA, Kind.LETTER_EXTRA})),
        Row(Kind.UNEVEN_SPACING, Group.TYPE, misread_as=frozenset({Kind.SPACE_EXTRA})),
        Row(Kind.CROOKED_LINE, Group.TYPE, cure=Cure.STONE),
        Row(Kind.SHORT_MEASURE, Group.TYPE),
        Row(Kind.WRONG_COLUMN, Group.TYPE),
        Row(Kind.BROKEN_RULE, Group.RULES, cure=Cure.STONE),
        Row(Kind.OPEN_CORNER, Group.RULES, cure=Cure.STONE),
        Row(Kind.CROOKED_RULE, Group.RULES, cure=Cure.STONE),
        Row(Kind.BORDER_PIECE, Group.RULES, cure=Cure.STONE),
    )
}

if _LACKING := [kind.value for kind in Kind if kind not in _ROWS]:
    _SAID = f"kinds without a row: {', '.join(_LACKING)}"
    raise ValueError(_SAID)

KINDS: Mapping[Kind, Row] = MappingProxyType({kind: _ROWS[kind] for kind in Kind})
"""Every kind's row."""


def of_group(*groups: Group) -> frozenset[Kind]:
    """The kinds of some groups."""
    return frozenset(kind for kind, row in KINDS.items() if row.group in groups)


def cured_by(*cures: Cure) -> frozenset[Kind]:
    """The kinds that are put right in these ways."""
    return frozenset(kind for kind, row in KINDS.items() if row.cure in cures)


def thresholds_of(kind: Kind, fault: float, query: float) -> tuple[float, float]:
    """From which certainty a kind is a fault, and below which it is let go.

    Args:
        kind: the kind.
        fault: the threshold of all kinds that have none of their own.
        query: likewise.
    """
    row = KINDS[kind]
    return (
        fault if row.fault_certainty is None else row.fault_certainty,
        query if row.query_certainty is None else row.query_certainty,
    )
