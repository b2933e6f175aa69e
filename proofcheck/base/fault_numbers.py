"""How faults are numbered from proof to proof: "2/4" is the fourth fault of the second proof.

On record it is "2/F4", what a revise itself showed "2/R1"; people see and say "2/4" and "2/R1".
"""

from __future__ import annotations

import re
from typing import Final

__all__ = [
    "named_in_full", "names_in_full", "proof_name", "proof_numbered", "shown_number",
    "shown_ref",
]  # fmt: skip

_NAME: Final = re.compile(r"(?:([0-9]{1,6})/)?([A-Z]*)([0-9]{1,6})")
_MOST: Final = 10_000
"""Faults named by one stretch of numbers beyond which a slip of the pen is likelier."""
_ORDINALS: Final = (
    "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth",
)  # fmt: skip


def shown_number(proof: int, name: str) -> str:
    """The number of a fault as people see it: of proof 2, "F4" is "2/4" and "R1" is "2/R1"."""
    return f"{proof}/{name[1:] if re.fullmatch('F[0-9]+', name) else name}"


def shown_ref(ref: str) -> str:
    """A fault named as on record ("2/F4") as people see it ("2/4")."""
    proof, slash, name = ref.partition("/")
    return shown_number(int(proof), name) if slash and proof.isdecimal() else ref


def named_in_full(text: str, latest: int) -> str:
    """A fault as the record names it: "4" and "F4" are of the latest proof, "2/4" is "2/F4"."""
    proof, _, name = text.upper().replace(" ", "").rpartition("/")
    return f"{proof or latest}/{'F' if name.isdecimal() else ''}{name}"


def names_in_full(text: str, latest: int) -> tuple[str, ...]:
    """Several faults, each once: "3, 5", "F1-F5", "2/1-5", "2/1-2/5".

    Raises:
        ValueError: a stretch goes from no number to no number, backwards, or over too many.
    """
    out: list[str] = []
    for part in re.split(r"[,;\s]+", re.sub(r"\s*[-–]\s*", "-", text.strip())):
        if not part:
            continue
        first, dash, last = part.partition("-")
        out += _stretch(first, last, latest) if dash else [named_in_full(part, latest)]
    return tuple(dict.fromkeys(out))


def _stretch(first: str, last: str, latest: int) -> list[str]:
    begin, end = (_NAME.fullmatch(one.upper()) for one in (first, last))
    if begin is None or end is None:
        msg = f"{first}-{last} is no stretch of faults; write it as 1-5 or 2/1-5"
        raise ValueError(msg)
    same = (end[1] or begin[1], end[2] or begin[2]) == (begin[1], begin[2])
    a, b = int(begin[3]), int(end[3])
    if not same or not a <= b < a + _MOST:
        msg = f"{first}-{last} goes from no fault to a later one of the same proof"
        raise ValueError(msg)
    return [named_in_full(f"{begin[1] or latest}/{begin[2]}{n}", latest) for n in range(a, b + 1)]


def proof_name(number: int) -> str:
    """Name of a proof in its series, from 1: first proof, revise, second revise and so on."""
    if number <= 2:
        return "first proof" if number == 1 else "revise"
    place = number - 1
    return f"{_ORDINALS[place - 2]} revise" if place - 2 < len(_ORDINALS) else f"{place}th revise"


def proof_numbered(words: str) -> int:
    """Which proof of its series is meant: "first", "revise", "second revise", "3"; else 1."""
    told = " ".join(words.lower().split())
    if told.isascii() and told.isdigit() and 0 < len(told) < 5:
        return max(1, int(told))
    bare = told.removesuffix(" proof")
    names = {proof_name(number): number for number in range(1, len(_ORDINALS) + 3)}
    return names.get(bare, names.get(f"{bare} proof", 1))
