"""Quotes told from apostrophes, in the compared form."""

from __future__ import annotations

from proofcheck.collate.edits import is_dash

__all__ = ["is_quote"]

_DOUBLE = frozenset('"“”„«»')
_POINTED = frozenset("«»")
_SINGLE = frozenset("'‘’‛‚")
_BEFORE_OPENING = frozenset("([{\n ") | _DOUBLE | _SINGLE
_AFTER_CLOSING = frozenset(")]}\n .,;:!?…") | _DOUBLE | _SINGLE
_FAR = 400
"""Characters over which the partner of a single quote is looked for."""


def is_quote(text: str, at: int, *, opens: bool, like: str) -> bool:
    """Whether the character at a place is a quote that opens (or closes) there.

    A single one must have its partner, or it is an apostrophe ('tis, the boys').

    Args:
        text: the copy's compared form, its single quotes shaped as there.
        at: where in it; out of its range is no quote.
        opens: asked of one that opens, else of one that closes.
        like: the printed character, which must be a quote of the same weight.
    """
    if like in _POINTED:
        # Set off by a space in some languages, on either side of the word.
        return True
    if not 0 <= at < len(text) or not like:
        return False
    if text[at] in _DOUBLE and like in _DOUBLE:
        return (_opens if opens else _closes)(text, at)
    if text[at] not in _SINGLE or like not in _SINGLE:
        return False
    if opens:
        later = range(at + 1, min(len(text), at + _FAR))
        return _opens(text, at) and any(_is_single(text, k) and _closes(text, k) for k in later)
    earlier = range(max(0, at - _FAR), at)
    opened = sum(_is_single(text, k) and _opens(text, k) for k in earlier)
    closed = sum(_is_single(text, k) and _closes(text, k) for k in earlier)
    return _closes(text, at) and opened > closed


def _is_single(text: str, at: int) -> bool:
    return text[at] in _SINGLE


def _opens(text: str, at: int) -> bool:
    """Whether a quote stands where one opens: before a word, after white or a bracket or a dash."""
    before, after = text[at - 1 : at] if at else "", text[at + 1 : at + 2]
    outside = not before or before in _BEFORE_OPENING or is_dash(before)
    # What curls like a closing one before a word is an apostrophe.
    return outside and bool(after.strip()) and text[at] != "’"


def _closes(text: str, at: int) -> bool:
    """Whether a quote stands where one closes: after a word, before white or a point."""
    before, after = text[at - 1 : at] if at else "", text[at + 1 : at + 2]
    outside = not after or after in _AFTER_CLOSING or is_dash(after)
    return outside and bool(before.strip()) and before not in _BEFORE_OPENING
