"""Which mark answers to which difference.

The conventions are those of the older American table: the mark in the text shows where, the
margin says what. On slugs transposed letters are struck out and written in the right order; the
curve with "tr" is for type set by hand, and for words. Matter too long for a margin is called
for by "out, see copy", or where other matter stands in its place by "see copy".
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from proofcheck.base.found import Cause, Difference, Mark
from proofcheck.base.kinds import Kind
from proofcheck.marks.by_group import (
    bare,
    change,
    of_type,
    put_in,
    space_in,
    space_out,
    strike,
    take_out,
    with_own,
    written,
)
from proofcheck.marks.practice import SetOfMarks
from proofcheck.marks.table import SIGNS
from proofcheck.marks.wording import lines, named, quoted

if TYPE_CHECKING:
    from collections.abc import Mapping

    from proofcheck.marks.practice import Maker

__all__ = [
    "AMERICAN",
    "asked_mark",
    "mark_for",
    "plain_mark",
    "query_mark",
    "stet_mark",
]

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
        return written(mark.matter, mark.sign, mark.text, words)
    return bare(mark.sign, words, mark.text)


def asked_mark(words: str) -> Mark:
    """A ring in the text and a question in the margin, where nothing else is said to be wrong."""
    return bare("query", words)


def stet_mark(mark: Mark) -> Mark:
    """Dots under what is marked and "stet" in the margin: it is let stand."""
    return bare("stet", f"let it stand (not: {mark.words})")


def _doubled_word(difference: Difference, hand_set: bool) -> Mark:  # noqa: ARG001
    old = difference.proof_text
    return bare("dele", f"take out the second {quoted(old)}", strike(old))


def _transposed_letters(difference: Difference, hand_set: bool) -> Mark:
    old, new = difference.proof_text, difference.copy_text
    words = f"transposed: {quoted(old)} should be {quoted(new)}"
    if hand_set:
        return bare("transpose", words)
    return written(new, "replace", strike(old), words)


def _transposed_words(difference: Difference, hand_set: bool) -> Mark:  # noqa: ARG001
    old, new = difference.proof_text, difference.copy_text
    words = f"transposed: {quoted(old)} should be {quoted(new)}"
    if " " in old.strip():
        return bare("transpose", words)
    # The other word stands on another line, out of the curve's reach.
    return written(new, "replace-word", strike(old), words)


def _case(difference: Difference, hand_set: bool) -> Mark:
    if difference.other_lines:
        alone = _case(replace(difference, other_lines=()), hand_set)
        also = (
            f"{lines(difference.other_lines)} {'is' if len(difference.other_lines) < 2 else 'are'}"
        )
        return replace(alone, words=f"{alone.words}; {also} set in capitals too")
    old, new = difference.proof_text, difference.copy_text
    if new.isupper():
        return bare("caps", f"capitals: {named(new)}" if len(new) > 1 else f"capital {new}")
    if new.islower() and (old.isupper() or len(new) == 1):
        words = f"lower case {new}" if len(new) == 1 else f"lower case: {quoted(new)}"
        return bare("lower-case", words, strike(old))
    if old.isupper() and len(new) > _LONGEST_REWRITTEN:
        return bare("capitals-lower-case", f"capitals and lower case: {quoted(new)}")
    return change(difference, hand_set)


def _division(difference: Difference, hand_set: bool) -> Mark:  # noqa: ARG001
    return bare("division", "bad division: divide the word otherwise or take it over whole")


def _paragraph(difference: Difference, hand_set: bool) -> Mark:  # noqa: ARG001
    wanted = _breaks(difference.copy_text) or not _breaks(difference.proof_text)
    if wanted and not (difference.proof_text and not difference.copy_text):
        return bare("paragraph", "begin a new paragraph")
    return bare("no-paragraph", "no new paragraph: run on")


def _breaks(text: str) -> bool:
    return "\n" in text or "¶" in text


def _matter_out(difference: Difference, hand_set: bool) -> Mark:  # noqa: ARG001
    return written(
        difference.copy_text,
        "insert",
        "caret",
        f"out, see copy: {quoted(difference.copy_text)} is wanting here",
    )


def _line_out(difference: Difference, hand_set: bool) -> Mark:  # noqa: ARG001
    place = f"after line {difference.line}" if difference.line else "before line 1"
    text = "caret-under-line" if difference.line else "caret-over-line"
    return written(
        difference.copy_text,
        "insert",
        text,
        f"a line is wanting {place}: {quoted(difference.copy_text)}",
    )


def _line_doubled(difference: Difference, hand_set: bool) -> Mark:  # noqa: ARG001
    first = f": it is {lines(difference.other_lines)} over again" if difference.other_lines else ""
    return bare("dele", f"take out line {difference.line}{first}")


def _lines_moved(difference: Difference, hand_set: bool) -> Mark:  # noqa: ARG001
    concerned = tuple(sorted((difference.line, *difference.other_lines)))
    if difference.follows is None:
        return bare("transpose", f"{lines(concerned)} change places", "swap")
    follows = difference.follows
    where = f"after line {follows}" if follows else "to the head"
    should = f"should follow line {follows}" if follows else "should stand first"
    make_up = f"{difference.make_up}: " if difference.make_up else ""
    mark = bare("transpose", f"{make_up}{lines(concerned)} {should}", "swap")
    return replace(mark, matter=where, margin=f"tr {where}")


def _line_foreign(difference: Difference, hand_set: bool) -> Mark:  # noqa: ARG001
    what = {Cause.RUN_DOWN_LINE: "a run-down line", Cause.OTHER_JOB: "matter of another job"}
    why = what.get(difference.cause, "not in the copy") if difference.cause else "not in the copy"
    return bare("dele", f"take out line {difference.line}: {why}")


_OWN: Mapping[Kind, Maker] = {
    Kind.LETTER_MISSING: put_in,
    Kind.LETTER_EXTRA: take_out,
    Kind.LETTERS_TRANSPOSED: _transposed_letters,
    Kind.WORD_MISSING: put_in,
    Kind.WORD_EXTRA: take_out,
    Kind.WORD_DOUBLED: _doubled_word,
    Kind.WORDS_TRANSPOSED: _transposed_words,
    Kind.CASE: _case,
    Kind.POINT_MISSING: put_in,
    Kind.POINT_EXTRA: take_out,
    Kind.SPACE_MISSING: space_in,
    Kind.SPACE_EXTRA: space_out,
    Kind.BAD_DIVISION: _division,
    Kind.PARAGRAPH: _paragraph,
    Kind.MATTER_MISSING: _matter_out,
    Kind.LINE_MISSING: _line_out,
    Kind.LINE_DOUBLED: _line_doubled,
    Kind.LINES_TRANSPOSED: _lines_moved,
    Kind.LINE_FOREIGN: _line_foreign,
    Kind.TURNED_SORT: of_type("turn", "turn {}: it stands upside down"),
    Kind.WRONG_FONT: of_type("wrong-font", "wrong font: {}"),
    Kind.BROKEN_LETTER: of_type("broken", "broken or battered: {}"),
    Kind.WORK_UP: of_type("push-down", "a space or quad prints at {}"),
    Kind.OFF_LINE: of_type("straighten", "off its line: {}"),
    Kind.HAIRLINE: of_type("broken", "hairline beside {}"),
    Kind.UNEVEN_SPACING: of_type("equal-space", "make the spaces even"),
    Kind.CROOKED_LINE: of_type("straighten", "the line is crooked: straighten it"),
    Kind.SHORT_MEASURE: of_type("move-right", "the line is short of its measure"),
    Kind.WRONG_COLUMN: of_type("move-right", "{} stands in another column"),
    Kind.BROKEN_RULE: of_type("mend-rule", "the rule is broken: join or change it"),
    Kind.OPEN_CORNER: of_type("join-corner", "the rules do not join at the corner"),
    Kind.CROOKED_RULE: of_type("true-rule", "the rule is crooked or off its measure"),
    Kind.BORDER_PIECE: of_type("border-piece", "a piece of the border is wrong"),
}
"""Kinds that are not simply marked as their group is."""

AMERICAN = SetOfMarks("american", SIGNS, with_own(_OWN))
"""American and older English practice (`marks.table` names the sources)."""
