"""Kinds of fault: what to call a difference of letters, points and spaces."""

from __future__ import annotations

from proofcheck.base.kinds import Kind
from proofcheck.collate.same import is_letter
from proofcheck.reading.turned import is_turned, set_right

__all__ = ["kind_of_letters", "kind_of_words_missing"]

_FEW_WORDS = 4
"""More words than this missing together are an out; common practice."""


def kind_of_letters(printed: str, wanted: str) -> Kind:
    """The kind of a difference within a word or at its edge; either side may be empty."""
    if not printed or not wanted:
        missing = (Kind.LETTER_MISSING, Kind.POINT_MISSING, Kind.SPACE_MISSING)
        extra = (Kind.LETTER_EXTRA, Kind.POINT_EXTRA, Kind.SPACE_EXTRA)
        return _by_class(printed or wanted, *(extra if printed else missing))
    if printed == " ":
        return Kind.LETTER_MISSING if is_letter(wanted[0]) else Kind.POINT_MISSING
    if wanted == " ":
        return Kind.LETTER_EXTRA if is_letter(printed[0]) else Kind.POINT_EXTRA
    if is_turned(printed) and set_right(printed) in (wanted, printed):
        return Kind.TURNED_SORT
    if any(is_letter(char) for char in wanted):
        same = len(printed) == len(wanted) and printed.casefold() == wanted.casefold()
        return Kind.CASE if same else Kind.WRONG_LETTER
    return Kind.POINT_WRONG


def _by_class(text: str, letters: Kind, points: Kind, spaces: Kind) -> Kind:
    """One of three kinds, by what the text is of; letters rule where it is mixed."""
    if text.isspace():
        return spaces
    return letters if any(is_letter(char) for char in text) else points


def kind_of_words_missing(wanted: str) -> Kind:
    """The kind of whole words left out within a line."""
    if not any(is_letter(char) for char in wanted):
        return Kind.POINT_MISSING
    return Kind.WORD_MISSING if len(wanted.split()) <= _FEW_WORDS else Kind.MATTER_MISSING
