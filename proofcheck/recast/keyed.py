"""Copy as it is to be keyed: one line's characters as type has them, each with its place in copy.

What a typewriter could not write is written as the trade sets it: two hyphens are a dash, straight
quotes are turned to open and close, any white is one space. Nothing else is changed.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from dataclasses import dataclass

__all__ = ["LIGATURES", "Keyed", "keyed", "units_of"]

LIGATURES = ("ffi", "ffl", "ff", "fi", "fl")
"""Joined letters that a case or a magazine holds as one, longest first."""

_DASHES = re.compile(r"\s*(?<!-)-{2,3}(?!-)\s*")
_NOTHING = re.compile("[\xad\u200b\u200c\u200d\u2060\ufeff\u200e\u200f\u202a-\u202e\u2066-\u2069]+")
_JOINED = {"\ufb00": "ff", "\ufb01": "fi", "\ufb02": "fl", "\ufb03": "ffi", "\ufb04": "ffl"}
_OPENS_AFTER = " ([{—–-“‘"
_UNITS = re.compile("|".join((*LIGATURES, ".")), re.DOTALL)
_PIECES = re.compile(f"{_DASHES.pattern}|{_NOTHING.pattern}|\\s+|.", re.DOTALL)


@dataclass(frozen=True, slots=True)
class Keyed:
    """Matter to be keyed."""

    text: str
    at: tuple[int, ...]
    """Where in the copy each character comes from, rising; as long as `text`."""

    def index(self, copy_at: int) -> int:
        """The first character that comes from this place of the copy or a later one."""
        return bisect_left(self.at, copy_at)


def keyed(copy: str, start: int, end: int) -> Keyed:
    """The stretch of copy from `start` to `end` as it is to be keyed."""
    chars: list[str] = []
    places: list[int] = []
    for found in _PIECES.finditer(copy, start, end):
        for char in _written(found.group(), chars):
            chars.append(char)
            places.append(found.start())
    while chars and chars[-1] == " ":
        chars.pop()
        places.pop()
    return Keyed("".join(chars), tuple(places))


def _written(piece: str, before: list[str]) -> str:
    """One piece of copy as type, after what stands before it."""
    if piece.isspace():
        return " " if before and before[-1] != " " else ""
    if _NOTHING.fullmatch(piece):
        return ""
    if len(piece) > 1:
        return "—"
    if piece in "'\"":
        opens = not before or before[-1] in _OPENS_AFTER
        return {"'": "’‘", '"': "”“"}[piece][opens]
    return _JOINED.get(piece, piece)


def units_of(text: str, *, ligatures: bool = True) -> list[str]:
    """The text cut into what is set as one: a character, or joined letters."""
    if not ligatures or "f" not in text:
        return list(text)
    return _UNITS.findall(text)
