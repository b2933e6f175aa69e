"""What a kind of fault is marked by where a set of marks has nothing of its own for it.

That follows from what the fault is of: matter is put in, taken out or changed, a space put in or
closed up, what is defective in type and rules changed. Those marks are made here, and the parts
that all marks are made of.
"""

from __future__ import annotations

from types import MappingProxyType
from typing import TYPE_CHECKING

from proofcheck.base.found import Cause, Difference, Mark
from proofcheck.base.kinds import KINDS, Group, Kind
from proofcheck.base.visible import visible
from proofcheck.marks.strokes import POINTS
from proofcheck.marks.table import SIGNS
from proofcheck.marks.wording import named, quoted

if TYPE_CHECKING:
    from collections.abc import Mapping

    from proofcheck.marks.practice import Maker

__all__ = [
    "MOST_WORDS",
    "bare",
    "change",
    "of_type",
    "put_in",
    "space_in",
    "space_out",
    "strike",
    "take_out",
    "with_own",
    "written",
]

MOST_WORDS = 4
"""New matter of more words than this is not written in the margin; common practice."""
MOST_CHARACTERS = 26
"""Nor is a piece of more characters than this, however few its words."""


def bare(sign: str, words: str, text: str = "") -> Mark:
    """An instruction without new matter."""
    row = SIGNS[sign]
    return Mark(sign, "", row.margin, text or row.text, words)


def strike(text: str) -> str:
    """How printed matter is struck out: one letter by a stroke, more by a line."""
    return "stroke" if len(text.strip()) <= 1 else "line-through"


def written(matter: str, sign: str, text: str, words: str) -> Mark:
    """An instruction with new matter, or with "out, see copy" where that is too long."""
    matter = " ".join(visible(matter).split())
    if len(matter.split()) > MOST_WORDS or len(matter) > MOST_CHARACTERS:
        return bare("out-see-copy" if "caret" in text else "see-copy", words, text)
    if matter and all(char in POINTS for char in matter):
        margin = " ".join(
            SIGNS[POINTS[char]].margin if char not in "()[]" else f"{char}/" for char in matter
        )
        own = {POINTS[char] for char in matter}
        return Mark(own.pop() if len(own) == 1 else sign, matter, margin, text, words)
    return Mark(sign, matter, f"{matter}/", text, words)


def change(difference: Difference, hand_set: bool) -> Mark:
    """Something else is to stand there; with nothing but space to put, it is taken out."""
    old, new = difference.proof_text, difference.copy_text
    words = f"change {named(old)} to {named(new)}"
    if hand_set and difference.cause is Cause.TURNED_SORT and len(old) == 1:
        # The sort is there and has only to be turned; a slug has no sorts to turn.
        return bare("turn", f"turn the {new}: it prints as {named(old)}")
    sign = "replace" if len(old.strip()) <= 1 else "replace-word"
    if not new.strip():
        return take_out(difference, hand_set)
    return written(new, sign, strike(old), words)


def put_in(difference: Difference, hand_set: bool) -> Mark:  # noqa: ARG001
    """The copy's matter is wanting."""
    new = difference.copy_text
    return written(new, "insert", "caret", f"put in {named(new.strip() or new)}")


def take_out(difference: Difference, hand_set: bool) -> Mark:  # noqa: ARG001
    """What is printed is too much."""
    old = difference.proof_text
    return bare("dele", f"take out {named(old.strip() or old)}", strike(old))


def space_in(difference: Difference, hand_set: bool) -> Mark:  # noqa: ARG001
    """A space is wanting."""
    return bare(
        "space",
        f"put in a space: {quoted(difference.copy_text)}"
        if difference.copy_text.strip()
        else "put in a space",
    )


def space_out(difference: Difference, hand_set: bool) -> Mark:  # noqa: ARG001
    """A space is too much."""
    return bare(
        "close-up",
        f"close up: {quoted(difference.copy_text)}" if difference.copy_text.strip() else "close up",
    )


def of_type(sign: str, words: str = "") -> Maker:
    """A mark for a fault of the type itself; {} in `words` is the letter or matter concerned."""

    def make(difference: Difference, hand_set: bool) -> Mark:  # noqa: ARG001
        matter = difference.copy_text.strip() or difference.proof_text.strip()
        what = named(matter) if matter else "the place marked"
        return bare(sign, (words or f"{_in_words(difference.kind)}: {{}}").format(what))

    return make


def _in_words(kind: Kind) -> str:
    return kind.value.replace("-", " ")


# ------------------------------------------------------------------- by what the fault is of


def _by_matter(difference: Difference, hand_set: bool) -> Mark:
    """Put in what is wanting, take out what is too much, change what is otherwise."""
    if not difference.proof_text.strip():
        return put_in(difference, hand_set)
    return change(difference, hand_set)


def _by_space(difference: Difference, hand_set: bool) -> Mark:
    """Close up a space that is printed; put in one that is not."""
    make = space_out if " " in difference.proof_text else space_in
    return make(difference, hand_set)


def _asked(difference: Difference, hand_set: bool) -> Mark:  # noqa: ARG001
    """What the place is, put as a question: whoever reads the mark has to look at the copy."""
    return bare("query", f"{_in_words(difference.kind)}: see the copy")


_BY_GROUP: Mapping[Group, Maker] = MappingProxyType(
    {
        Group.LETTERS: _by_matter,
        Group.WORDS: _by_matter,
        Group.POINTS: _by_matter,
        Group.SPACES: _by_space,
        Group.LINE_ENDS: _asked,
        Group.LINES: _asked,
        Group.TYPE: of_type("broken"),
        Group.RULES: of_type("mend-rule"),
    }
)


def with_own(own: Mapping[Kind, Maker]) -> Mapping[Kind, Maker]:
    """How each kind is marked: by its own maker, or where it has none as its group is."""
    usual = {kind: _BY_GROUP[row.group] for kind, row in KINDS.items()}
    return MappingProxyType({**usual, **own})
