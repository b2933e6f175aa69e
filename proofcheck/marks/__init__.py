"""The marks of the trade: their table, the strokes they are drawn with, which fault takes which."""

from proofcheck.marks.assign import AMERICAN, mark_for, query_mark
from proofcheck.marks.compose import margin_drawing
from proofcheck.marks.practice import SetOfMarks
from proofcheck.marks.table import SIGNS, SOURCES, Sign, sign

__all__ = [
    "AMERICAN",
    "SIGNS",
    "SOURCES",
    "SetOfMarks",
    "Sign",
    "margin_drawing",
    "mark_for",
    "query_mark",
    "sign",
]
