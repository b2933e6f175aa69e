"""A line whose letters can't be told apart is said to be not read, and nothing is alleged of it.

That a reader who can't make out a line says so, and doesn't guess at its letters: `common
practice`. Lines and copy are invented.
"""

from __future__ import annotations

import numpy as np
import pytest
from metal_cases import copy_of, sheet_of

from proofcheck.base.found import Found, Status
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Letter, Line, Reading
from proofcheck.collate import collate
from proofcheck.faults import leave_unfollowed
from proofcheck.faults.unfollowed_lines import NOT_FOLLOWED

COPY = "Mrs. Oxenhope at home\non Friday, the tenth of June\nfrom three until seven\nThe Old Mill"
SOUND = COPY.split("\n")
JUNK = "qSdChy uarm eGuyn"


def read(texts, certainty):
    """Lines one under another, and what was read of them with what certainty each."""
    lines, readings = [], []
    for number, (text, sure) in enumerate(zip(texts, certainty, strict=True), 1):
        boxes = [Box(100 + 20 * at, 100 * number, 16, 30) for at in range(len(text))]
        base = (100.0 * number + 30, 100.0 * number + 30)
        box = Box(100, 100 * number, 20 * len(text), 30)
        lines.append(Line(number, 0, 0, box, base, 20.0, 12.0))
        letters = (
            Letter(c, b, 1.0 if c == " " else sure) for c, b in zip(text, boxes, strict=True)
        )
        readings.append(Reading(number, tuple(letters)))
    return lines, readings


def printed(readings, joined):
    """A sheet with a stem for each letter; those of the lines named have a stroke through all."""
    image = np.full((700, 900), 255, np.uint8)
    for reading in readings:
        for letter in reading.letters:
            x, y, width, height = letter.box
            if letter.text != " ":
                image[y : y + height, x + 4 : x + width - 4] = 0
            if reading.line in joined:
                image[y + 20 : y + 24, x : x + 20] = 0
    return [sheet_of(image)]


def followed(texts, certainty, joined=(), approved=COPY):
    lines, readings = read(texts, certainty)
    copy = copy_of(approved)
    collation = collate(copy, readings, lines=lines)
    found = [
        Found(each, 0, Box(100, 100 * max(each.line, 1), 16, 30), 0.9, Status.FAULT)
        for each in collation.differences
    ]
    sheets = printed(readings, joined)
    return leave_unfollowed(found, sheets, lines, readings, collation, copy), found


def kinds(found):
    return [each.difference.kind for each in found]


@pytest.mark.parametrize("at", range(4))
def test_a_line_of_guesswork_is_not_read_and_the_copy_not_missing(at):
    texts = [*SOUND[:at], JUNK, *SOUND[at + 1 :]]
    done, found = followed(texts, [0.5 if n == at else 1.0 for n in range(4)])
    assert found, "the line is nothing like its copy"
    assert done.found == ()
    assert len(done.let_go) == len(found)
    assert {each.reason for each in done.let_go} == {NOT_FOLLOWED}
    (unread,) = done.unread
    assert unread.words.startswith(f"line {at + 1} (")
    assert f"“{SOUND[at]}” of the copy may be it" in unread.words
    assert unread.box.y == 100 * (at + 1)


@pytest.mark.parametrize("at", range(4))
def test_a_line_whose_letters_run_together_is_not_read_however_sure_the_reader(at):
    texts = [*SOUND[:at], JUNK, *SOUND[at + 1 :]]
    done, _ = followed(texts, [1.0] * 4, joined=(at + 1,))
    assert done.found == ()
    (unread,) = done.unread
    assert f"“{SOUND[at]}” of the copy may be it" in unread.words


def test_a_head_of_one_word_that_is_not_read_is_not_missing_either():
    """It is told before the first word of the line under it, not in its own place."""
    head = f"Entertainment\n{COPY}"
    done, found = followed(["EnI0rtȯ1mɘnt", *SOUND], [0.5, *[1.0] * 4], approved=head)
    assert Kind.WORD_MISSING in kinds(found)
    assert done.found == ()
    (unread,) = done.unread
    assert "“Entertainment” of the copy may be it" in unread.words
    # What is missing within the line under it is.
    short = SOUND[0].replace(" Oxenhope", "")
    done, _ = followed(["EnI0rtȯ1mɘnt", short, *SOUND[1:]], [0.5, *[1.0] * 4], approved=head)
    assert kinds(done.found) == [Kind.WORD_MISSING]
    assert done.found[0].difference.copy_text.strip() == "Oxenhope"


@pytest.mark.parametrize(("first", "count"), [(0, 2), (1, 2), (1, 3), (2, 2)])
@pytest.mark.parametrize("joined", [False, True])
def test_lines_under_one_another_that_are_not_read_are_not_missing_either(first, count, joined):
    """What is missing there is told as one, and is as wide as all of them together."""
    longer = [*SOUND, "carriages at midnight, please"]
    lost = range(first, first + count)
    junk = ["qSdChy uarm eGuyn ıkt rul", "wPkC aluy afhnd x", "Ue tkna ɥq ofrun Anlly"]
    texts = [junk[n - first] if n in lost else text for n, text in enumerate(longer)]
    done, found = followed(
        texts,
        [0.5 if n in lost and not joined else 1.0 for n in range(len(texts))],
        joined=[n + 1 for n in lost] if joined else (),
        approved="\n".join(longer),
    )
    assert {Kind.LINE_MISSING, Kind.MATTER_MISSING} & set(kinds(found))
    assert done.found == ()
    wanted = " ".join(longer[n] for n in lost)
    assert [f"“{wanted}” of the copy may be it" in each.words for each in done.unread] == [
        True
    ] * count


def test_matter_longer_than_what_is_not_read_is_missing():
    longer = [*SOUND[:1], "x " * 60 + SOUND[1], *SOUND[2:]]
    done, _ = followed(
        [SOUND[0], JUNK, *SOUND[2:]], [1.0, 0.5, 1.0, 1.0], approved="\n".join(longer)
    )
    assert {Kind.LINE_MISSING, Kind.MATTER_MISSING} & set(kinds(done.found))


@pytest.mark.parametrize("sure", [0.5, 1.0])
def test_a_word_that_the_line_not_read_may_begin_with_is_not_missing(sure):
    """The line before it ends with the words that are left: common practice of justified lines."""
    texts = [*SOUND[:2], "fʀorn t̵hcc un?il s3ven", SOUND[3]]
    approved = COPY.replace("June\nfrom", "June at the hall from")
    done, found = followed(texts, [1.0, 1.0, sure, 1.0], approved=approved)
    assert Kind.WORD_MISSING in kinds(found)
    if sure == 1.0:
        assert Kind.WORD_MISSING in kinds(done.found)
        return
    assert done.found == ()
    (unread,) = done.unread
    assert "at the hall from three until seven" in unread.words


def test_a_word_missing_within_a_line_is_told_beside_one_that_is_not_read():
    short = SOUND[1].replace(" the tenth", "")
    done, _ = followed([SOUND[0], short, JUNK, SOUND[3]], [1.0, 1.0, 0.5, 1.0])
    assert Kind.WORD_MISSING in kinds(done.found)


def test_letters_set_far_apart_do_not_run_together():
    texts = [SOUND[0], "W   a   n   t   e   d", SOUND[2], SOUND[3]]
    done, found = followed(texts, [1.0] * 4)
    assert done.found == tuple(found)


def test_words_missing_within_a_line_are_told_where_their_place_is_white():
    short = SOUND[1].replace(" the tenth", "")
    done, found = followed([SOUND[0], short, SOUND[2], SOUND[3]], [1.0] * 4)
    assert found
    assert done.found == tuple(found)


def test_a_foreign_line_that_runs_together_is_told_where_no_copy_is_missing():
    done, found = followed([*SOUND[:2], JUNK, *SOUND[2:]], [1.0] * 5, joined=(1, 2, 3, 4, 5))
    assert kinds(done.found) == kinds(found) == [Kind.LINE_FOREIGN]


def test_a_line_that_runs_together_and_is_like_its_copy_keeps_its_fault():
    wrong = SOUND[1].replace("tenth", "tanth")
    done, found = followed([SOUND[0], wrong, *SOUND[2:]], [1.0] * 4, joined=(2,))
    assert kinds(done.found) == kinds(found) == [Kind.WRONG_LETTER]


def test_a_short_line_in_place_of_a_long_one_is_no_line_that_ran_together():
    """Three words of other matter are foreign, however much copy is missing there."""
    short = "Wet paint"
    done, found = followed([SOUND[0], short, SOUND[2], SOUND[3]], [1.0] * 4)
    assert done.found == tuple(found)
    assert {Kind.LINE_FOREIGN, Kind.LINE_MISSING} <= set(kinds(found))


def test_a_line_that_was_read_for_sure_is_alleged_whatever_it_says():
    done, found = followed([*SOUND[:2], JUNK, SOUND[3]], [1.0] * 4)
    assert done.found == tuple(found)
    assert done.let_go == done.unread == ()


def test_a_fault_on_a_line_hardly_legible_that_is_like_its_copy_is_kept():
    wrong = SOUND[1].replace("tenth", "tanth")
    done, found = followed([SOUND[0], wrong, *SOUND[2:]], [1.0, 0.6, 1.0, 1.0])
    assert kinds(done.found) == kinds(found) == [Kind.WRONG_LETTER]
    assert done.unread == ()


def test_capitals_taken_for_small_letters_do_not_make_a_line_unlike_its_copy():
    wrong = SOUND[1].replace("tenth", "tanth").swapcase()
    done, found = followed([SOUND[0], wrong, *SOUND[2:]], [1.0, 0.6, 1.0, 1.0])
    assert done.found == tuple(found)
    assert done.unread == ()


def test_a_line_missing_elsewhere_is_told_beside_one_that_is_not_read():
    done, _ = followed([SOUND[0], JUNK, SOUND[2]], [1.0, 0.5, 1.0])
    assert kinds(done.found) == [Kind.LINE_MISSING]
    assert done.found[0].difference.copy_text.split() == SOUND[3].split()
    assert [each.words.split(";")[-1] for each in done.unread] == [
        f" “{SOUND[1]}” of the copy may be it"
    ]


def test_of_a_folio_or_a_few_letters_nothing_is_said():
    done, found = followed([*SOUND, "qS4"], [1.0] * 4 + [0.5])
    assert done.found == tuple(found)
    assert done.unread == ()
