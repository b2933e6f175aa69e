"""Which mark answers to which difference.

The conventions are those of the older American table: the mark in the text shows where, the
margin says what. On slugs transposed letters are struck out and written in the right order; the
curve with "tr" is for type set by hand, and for words. Matter too long for a margin is called
for by "out, see copy", or where other matter stands in its place by "see copy".
"""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType
from typing import TYPE_CHECKING

from proofcheck.base.found import Cause, Difference, Mark
from proofcheck.base.kinds import Kind
from proofcheck.base.visible import visible
from proofcheck.marks.practice import Maker, SetOfMarks
from proofcheck.marks.strokes import POINTS
from proofcheck.marks.table import SIGNS
from proofcheck.marks.wording import lines, named, quoted

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = [
    "AMERICAN",
    "MOST_WORDS",
    "asked_mark",
    "mark_for",
    "plain_mark",
    "query_mark",
    "stet_mark",
]

MOST_WORDS = 4
"""New matter of more words than this is not written in the margin; common practice."""
MOST_CHARACTERS = 26
"""Nor is a piece of more characters than this, however few its words."""
_LONGEST_REWRITTEN = 14
"""Characters of a piece in the wrong case that is written again rather than described."""


def mark_for(
    difference: Difference, marks: SetOfMarks | None = None, *, hand_set: bool = False
) -> Mark:
    """The mark for a difference.

    Args:
        difference: what was found; kinds of the text and of the type alike.
        marks: the practice followed; American if not given.
        hand_set: the type is set by hand, so that letters can change places in the stick.
    """
    return (marks or AMERICAN).makers[difference.kind](difference, hand_set)


def query_mark(mark: Mark) -> Mark:
    """The same mark put as a question: ringed in the margin, the instruction asked, not given."""
    inside = mark.matter or ("" if mark.sign == "query" else mark.margin)
    margin = f"({inside} ?)" if inside else "(?)"
    return replace(mark, margin=margin, words=f"query: {mark.words}?")


def plain_mark(mark: Mark) -> Mark:
    """The mark that `query_mark` put as a question, given again as an instruction."""
    words = mark.words.removeprefix("query: ").removesuffix("?")
    if mark.matter:
        return _written(mark.matter, mark.sign, mark.text, words)
    return _bare(mark.sign, words, mark.text)


def asked_mark(words: str) -> Mark:
    """A ring in the text and a question in the margin, where nothing else is said to be wrong."""
    return _bare("query", words)


def stet_mark(mark: Mark) -> Mark:
    """Dots under what is marked and "stet" in the margin: it is let stand."""
    return _bare("stet", f"let it stand (not: {mark.words})")


def _bare(sign: str, words: str, text: str = "") -> Mark:
    """An instruction without new matter."""
    row = SIGNS[sign]
    return Mark(sign, "", row.margin, text or row.text, words)


def _strike(text: str) -> str:
    """How printed matter is struck out: one letter by a stroke, more by a line."""
    return "stroke" if len(text.strip()) <= 1 else "line-through"


def _written(matter: str, sign: str, text: str, words: str) -> Mark:
    """An instruction with new matter, or with "out, see copy" where that is too long."""
    matter = " ".join(visible(matter).split())
    if len(matter.split()) > MOST_WORDS or len(matter) > MOST_CHARACTERS:
        return _bare("out-see-copy" if "caret" in text else "see-copy", words, text)
    if matter and all(char in POINTS for char in matter):
        margin = " ".join(
            SIGNS[POINTS[char]].margin if char not in "()[]" else f"{char}/" for char in matter
        )
        own = {POINTS[char] for char in matter}
        return Mark(own.pop() if len(own) == 1 else sign, matter, margin, text, words)
    return Mark(sign, matter, f"{matter}/", text, words)


def _change(difference: Difference, hand_set: bool) -> Mark:
    old, new = difference.proof_text, difference.copy_text
    words = f"change {named(old)} to {named(new)}"
    if hand_set and difference.cause is Cause.TURNED_SORT and len(old) == 1:
        # The sort is there and has only to be turned; a slug has no sorts to turn.
        return _bare("turn", f"turn the {new}: it prints as {named(old)}")
    sign = "replace" if len(old.strip()) <= 1 else "replace-word"
    if not new.strip():
        return _take_out(difference, hand_set)
    return _written(new, sign, _strike(old), words)


def _put_in(difference: Difference, hand_set: bool) -> Mark:  # noqa: ARG001
    new = difference.copy_text
    return _written(new, "insert", "caret", f"put in {named(new.strip() or new)}")


def _take_out(difference: Difference, hand_set: bool) -> Mark:  # noqa: ARG001
    old = difference.proof_text
    return _bare("dele", f"take out {named(old.strip() or old)}", _strike(old))


def _doubled_word(difference: Difference, hand_set: bool) -> Mark:  # noqa: ARG001
    old = difference.proof_text
    return _bare("dele", f"take out the second {quoted(old)}", _strike(old))


def _transposed_letters(difference: Difference, hand_set: bool) -> Mark:
    old, new = difference.proof_text, difference.copy_text
    words = f"transposed: {quoted(old)} should be {quoted(new)}"
    if hand_set:
        return _bare("transpose", words)
    return _written(new, "replace", _strike(old), words)


def _transposed_words(difference: Difference, hand_set: bool) -> Mark:  # noqa: ARG001
    old, new = difference.proof_text, difference.copy_text
    words = f"transposed: {quoted(old)} should be {quoted(new)}"
    if " " in old.strip():
        return _bare("transpose", words)
    # The other word stands on another line, out of the curve's reach.
    return _written(new, "replace-word", _strike(old), words)


def _case(difference: Difference, hand_set: bool) -> Mark:
    old, new = difference.proof_text, difference.copy_text
    if new.isupper():
        return _bare("caps", f"capitals: {named(new)}" if len(new) > 1 else f"capital {new}")
    if new.islower() and (old.isupper() or len(new) == 1):
        words = f"lower case {new}" if len(new) == 1 else f"lower case: {quoted(new)}"
        return _bare("lower-case", words, _strike(old))
    if old.isupper() and len(new) > _LONGEST_REWRITTEN:
        return _bare("capitals-lower-case", f"capitals and lower case: {quoted(new)}")
    return _change(difference, hand_set)


def _space_in(difference: Difference, hand_set: bool) -> Mark:  # noqa: ARG001
    return _bare(
        "space",
        f"put in a space: {quoted(difference.copy_text)}"
        if difference.copy_text.strip()
        else "put in a space",
    )


def _space_out(difference: Difference, hand_set: bool) -> Mark:  # noqa: ARG001
    return _bare(
        "close-up",
        f"close up: {quoted(difference.copy_text)}" if difference.copy_text.strip() else "close up",
    )


def _division(difference: Difference, hand_set: bool) -> Mark:  # noqa: ARG001
    return _bare("division", "bad division: divide the word otherwise or take it over whole")


def _paragraph(difference: Difference, hand_set: bool) -> Mark:  # noqa: ARG001
    wanted = _breaks(difference.copy_text) or not _breaks(difference.proof_text)
    if wanted and not (difference.proof_text and not difference.copy_text):
        return _bare("paragraph", "begin a new paragraph")
    return _bare("no-paragraph", "no new paragraph: run on")


def _breaks(text: str) -> bool:
    return "\n" in text or "¶" in text


def _matter_out(difference: Difference, hand_set: bool) -> Mark:  # noqa: ARG001
    return _written(
        difference.copy_text,
        "insert",
        "caret",
        f"out, see copy: {quoted(difference.copy_text)} is wanting here",
    )


def _line_out(difference: Difference, hand_set: bool) -> Mark:  # noqa: ARG001
    place = f"after line {difference.line}" if difference.line else "before line 1"
    text = "caret-under-line" if difference.line else "caret-over-line"
    return _written(
        difference.copy_text,
        "insert",
        text,
        f"a line is wanting {place}: {quoted(difference.copy_text)}",
    )


def _line_doubled(difference: Difference, hand_set: bool) -> Mark:  # noqa: ARG001
    first = f": it is {lines(difference.other_lines)} over again" if difference.other_lines else ""
    return _bare("dele", f"take out line {difference.line}{first}")


def _lines_moved(difference: Difference, hand_set: bool) -> Mark:  # noqa: ARG001
    concerned = tuple(sorted((difference.line, *difference.other_lines)))
    if difference.follows is None:
        return _bare("transpose", f"{lines(concerned)} change places", "swap")
    follows = difference.follows
    where = f"after line {follows}" if follows else "to the head"
    should = f"should follow line {follows}" if follows else "should stand first"
    make_up = f"{difference.make_up}: " if difference.make_up else ""
    mark = _bare("transpose", f"{make_up}{lines(concerned)} {should}", "swap")
    return replace(mark, matter=where, margin=f"tr {where}")


def _line_foreign(difference: Difference, hand_set: bool) -> Mark:  # noqa: ARG001
    what = {Cause.RUN_DOWN_LINE: "a run-down line", Cause.OTHER_JOB: "matter of another job"}
    why = what.get(difference.cause, "not in the copy") if difference.cause else "not in the copy"
    return _bare("dele", f"take out line {difference.line}: {why}")


def _of_type(sign: str, words: str, text: str = "") -> Callable[[Difference, bool], Mark]:
    """A mark for a fault of the type itself; {} in `words` is the letter or matter concerned."""

    def make(difference: Difference, hand_set: bool) -> Mark:  # noqa: ARG001
        matter = difference.copy_text.strip() or difference.proof_text.strip()
        what = named(matter) if matter else "the place marked"
        return _bare(sign, words.format(what), text)

    return make


_MAKERS: dict[Kind, Maker] = {
    Kind.WRONG_LETTER: _change,
    Kind.LETTER_MISSING: _put_in,
    Kind.LETTER_EXTRA: _take_out,
    Kind.LETTERS_TRANSPOSED: _transposed_letters,
    Kind.WRONG_WORD: _change,
    Kind.WORD_MISSING: _put_in,
    Kind.WORD_EXTRA: _take_out,
    Kind.WORD_DOUBLED: _doubled_word,
    Kind.WORDS_TRANSPOSED: _transposed_words,
    Kind.CASE: _case,
    Kind.POINT_WRONG: _change,
    Kind.POINT_MISSING: _put_in,
    Kind.POINT_EXTRA: _take_out,
    Kind.SPACE_MISSING: _space_in,
    Kind.SPACE_EXTRA: _space_out,
    Kind.BAD_DIVISION: _division,
    Kind.PARAGRAPH: _paragraph,
    Kind.MATTER_MISSING: _matter_out,
    Kind.LINE_MISSING: _line_out,
    Kind.LINE_DOUBLED: _line_doubled,
    Kind.LINES_TRANSPOSED: _lines_moved,
    Kind.LINE_FOREIGN: _line_foreign,
    Kind.TURNED_SORT: _of_type("turn", "turn {}: it stands upside down"),
    Kind.WRONG_FONT: _of_type("wrong-font", "wrong font: {}"),
    Kind.BROKEN_LETTER: _of_type("broken", "broken or battered: {}"),
    Kind.WORK_UP: _of_type("push-down", "a space or quad prints at {}"),
    Kind.OFF_LINE: _of_type("straighten", "off its line: {}"),
    Kind.HAIRLINE: _of_type("broken", "hairline beside {}"),
    Kind.UNEVEN_SPACING: _of_type("equal-space", "make the spaces even"),
    Kind.CROOKED_LINE: _of_type("straighten", "the line is crooked: straighten it"),
    Kind.SHORT_MEASURE: _of_type("move-right", "the line is short of its measure"),
    Kind.BROKEN_RULE: _of_type("mend-rule", "the rule is broken: join or change it"),
    Kind.OPEN_CORNER: _of_type("join-corner", "the rules do not join at the corner"),
    Kind.CROOKED_RULE: _of_type("true-rule", "the rule is crooked or off its measure"),
    Kind.BORDER_PIECE: _of_type("border-piece", "a piece of the border is wrong"),
}

AMERICAN = SetOfMarks("american", SIGNS, MappingProxyType(_MAKERS))
"""American and older English practice (`marks.table` names the sources)."""
