"""Characters of the copy that a reader has none for: said before anything is read."""

from __future__ import annotations

import unicodedata
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from proofcheck.collate.same import USUAL, Rules, compared
from proofcheck.reading.alphabet import in_classes

if TYPE_CHECKING:
    from collections.abc import Collection

__all__ = ["Lacking", "lacking"]

_NAMED = 12
"""So many characters are named; more make a line nobody reads."""


@dataclass(frozen=True, slots=True)
class Lacking:
    """What a reader can't read of a copy."""

    characters: frozenset[str] = frozenset()
    notes: tuple[str, ...] = ()
    """One line that names them and counts their places; none where it can read all."""


def lacking(text: str, known: Collection[str] | None, rules: Rules = USUAL) -> Lacking:
    """The characters of a copy that a reader can't read.

    Args:
        text: the copy.
        known: the characters the reader tells apart; None where that can't be known.
        rules: the allowances made; what they make the same needs no character of its own.
    """
    if known is None:
        return Lacking()
    held = Counter(compared(text, rules, typed=True).text)
    missed = {char: count for char, count in held.items() if not _reads(char, known)}
    if not missed:
        return Lacking()
    named = [_shown(char) for char in missed]
    if len(named) > _NAMED:
        named = [*named[:_NAMED], f"{len(named) - _NAMED} more"]
    names = named[0] if len(named) == 1 else f"{', '.join(named[:-1])} and {named[-1]}"
    count = sum(missed.values())
    places = "1 place of the copy is" if count == 1 else f"{count} places of the copy are"
    note = f"the reader can't read {names}: {places} judged by the picture alone or put as queries"
    return Lacking(frozenset(missed), (note,))


def _reads(char: str, known: Collection[str]) -> bool:
    """Whether a reader has the character, or what it is written as in its own."""
    return char.isspace() or char in known or all(part in known for part in in_classes(char))


def _shown(char: str) -> str:
    """A character that can be seen, or its code point."""
    seen = unicodedata.category(char)[0] in "LNPS"
    return char if seen else f"U+{ord(char):04X}"
