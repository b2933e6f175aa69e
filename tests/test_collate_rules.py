"""The rules of collation one by one, on texts and lines made by hand.

Letters set against letters are held against the distance of optimal string alignment as
`rapidfuzz` has it; words that changed places and the like against what a reader would mark.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from itertools import product
from random import Random

import pytest
from collating import copy_of, readings_of
from rapidfuzz.distance import OSA
from test_collate_layout import laid, line

from proofcheck.base.found import Cause
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Letter, Reading, Span
from proofcheck.collate import allow, collate
from proofcheck.collate.arranging import arrange, with_reordered
from proofcheck.collate.edits import Edit, How
from proofcheck.collate.folios import Folios
from proofcheck.collate.lacking import lacking
from proofcheck.collate.letters import align_letters
from proofcheck.collate.place import loose
from proofcheck.collate.quotes import is_quote
from proofcheck.collate.region import swapped, swapped_round
from proofcheck.collate.same import USUAL, compared
from proofcheck.collate.several_up import collate_tickets
from proofcheck.collate.sheets_apart import _otherwise
from proofcheck.collate.spaced import with_initials, without_letterspace
from proofcheck.collate.stray import foreign_lines, is_run_down
from proofcheck.collate.stream import Word, copy_words, proof_words, stream_of
from proofcheck.collate.tickets import gangs
from proofcheck.collate.words import align_words

# --- letters --------------------------------------------------------------------------------------

SHORT = ["".join(word) for size in range(4) for word in product("ab", repeat=size)]


@pytest.mark.parametrize("copy", SHORT)
def test_letters_are_set_against_letters_by_the_fewest_steps(copy):
    for proof in SHORT:
        edits, pairs = align_letters(copy, proof)
        assert all(copy[c] == proof[p] for c, p in pairs)
        assert pairs == sorted(pairs)
        # Put in as told, they make the copy of the proof.
        out, at = "", 0
        for edit in edits:
            out += proof[at : edit.p0] + copy[edit.c0 : edit.c1]
            at = edit.p1
        assert out + proof[at:] == copy
        assert [e.p0 for e in edits] == sorted(e.p0 for e in edits)
        swaps = sum(edit.how is How.TRANSPOSED for edit in edits)
        steps = sum(max(e.c1 - e.c0, e.p1 - e.p0) for e in edits) - swaps
        assert steps == OSA.distance(copy, proof), (copy, proof)


@pytest.mark.parametrize(
    ("copy", "proof", "edits"),
    [
        ("from", "form", [Edit(1, 3, 1, 3, How.TRANSPOSED)]),
        # The second of two alike is the one that is missing or too many.
        ("committee", "comittee", [Edit(3, 4, 3, 3)]),
        ("comittee", "committee", [Edit(3, 3, 3, 4)]),
        ("modern", "modem", [Edit(4, 6, 4, 5)]),
        ("band", "bnad", [Edit(1, 3, 1, 3, How.TRANSPOSED)]),
        # Two letters each wrong are two faults, two missing together one.
        ("band", "bxyd", [Edit(1, 2, 1, 2), Edit(2, 3, 2, 3)]),
        ("band", "bd", [Edit(1, 3, 1, 1)]),
        ("bd", "band", [Edit(1, 1, 1, 3)]),
        # A letter and a point missing side by side are two.
        ("ends.", "end", [Edit(3, 4, 3, 3), Edit(4, 5, 3, 3)]),
        # A line end is the copy's space; in a word it breaks it; with a hyphen it divides it.
        ("a b", "a\nb", []),
        ("ab", "a\nb", [Edit(1, 1, 1, 2, How.BROKEN)]),
        ("ab", "a-\nb", [Edit(1, 1, 1, 3, How.DIVISION)]),
        ("a-b", "a-\nb", []),
        ("a-b", "a\nb", [Edit(1, 2, 1, 2)]),
        ("a—b", "a\nb", [Edit(1, 2, 1, 2)]),
        ("a—b", "a—\nb", []),
        ("a—b", "a\n—b", []),
        # A hyphen too many before a line end that is a space.
        ("a b", "a-\nb", [Edit(1, 1, 1, 2)]),
        ("same", "same", []),
        ("", "", []),
    ],
)
def test_what_letters_come_to_side_by_side(copy, proof, edits):
    assert align_letters(copy, proof)[0] == edits


@pytest.mark.parametrize(
    ("copy", "proof", "edits"),
    [
        ("tea … 3d", "te… 3d", [Edit(2, 3, 2, 2), Edit(3, 4, 2, 2)]),
        ("tea …", "tea…", [Edit(3, 4, 3, 3)]),
        ("te …", "tea …", [Edit(2, 2, 2, 3)]),
    ],
)
def test_what_is_missing_where_leaders_begin_is_set_before_them(copy, proof, edits):
    assert align_letters(copy, proof)[0] == edits


# --- words that have changed places ---------------------------------------------------------------


@pytest.mark.parametrize(
    ("copy", "proof", "are"),
    [
        (("rug", "cushion"), ("cushion", "rug"), True),
        (("rug,", "cushion"), ("cushion,", "rug"), True),
        (("rug", "cushion,"), ("cushion", "rug,"), True),
        (("rug,", "cushion"), ("cushion", "rug,"), True),
        (("(rug", "cushion)"), ("(cushion", "rug)"), True),
        (("rug,", "cushion"), ("cushion.", "rug"), False),
        (("rug", "rug"), ("rug", "rug"), False),
        (("rug", "rug,"), ("rug,", "rug"), False),
        (("rug", "cushion"), ("rug", "cushion"), False),
        (("rug", "cushion"), ("cushion", "rag"), False),
        (("rug", "cushion"), ("cushions", "rug"), False),
        (("rug", "—"), ("—", "rug"), False),
    ],
)
def test_two_words_the_wrong_way_round_keep_their_points_or_take_them_along(copy, proof, are):
    assert swapped(*copy, *proof) is are
    middle = [Word(4, 6, "or")]
    ours = [Word(0, 3, copy[0]), *middle, Word(7, 9, copy[1])]
    theirs = [Word(0, 3, proof[0]), *middle, Word(7, 9, proof[1])]
    assert swapped_round(ours, theirs) is are
    assert not swapped_round(ours, [theirs[0], Word(4, 6, "of"), theirs[2]])
    assert not swapped_round(ours[:2], theirs[:2])
    assert not swapped_round(ours, theirs[:2])


# --- words of copy and proof ----------------------------------------------------------------------


def words(text, breaks=frozenset()):
    return [word.text for word in copy_words(text, 0, len(text), breaks)]


def test_a_dash_holds_what_stands_on_either_side_and_a_point_what_it_follows():
    assert words("he came—and went") == ["he", "came—and", "went"]
    assert words("he came — and went") == ["he", "came—and", "went"]
    assert words("he came – and") == ["he", "came–and"]
    assert words("well - kept") == ["well", "-", "kept"]
    assert words("what ? no ; yes !") == ["what?", "no;", "yes!"]
    assert words("tea …… 3d") == ["tea", "3d"]
    # Between paragraphs a dash holds nothing.
    assert words("tea — coffee", {3}) == ["tea", "—coffee"]
    assert words("tea — coffee", {5}) == ["tea—", "coffee"]
    (tea, _) = copy_words("tea …… 3d", 0, 9)
    assert (tea.start, tea.end) == (0, 6)


def printed(lines, known):
    every = [compared(one, USUAL) for one in lines]
    stream = stream_of(every, range(len(every)))
    return [
        (word.text, word.leads, word.opens, word.closes)
        for word in proof_words(stream, 0, len(every), known)
    ]


def test_a_word_divided_at_a_line_end_is_one_where_the_copy_has_it():
    assert printed(["the school-", "room"], {"schoolroom"}) == [
        ("the", False, False, False), ("schoolroom", False, False, False),
    ]  # fmt: skip
    assert printed(["a well-", "kept"], {"well-kept"})[1][0] == "well-kept"
    # Where it has not, each half is known for one.
    assert printed(["the school-", "room"], {"school"})[1:] == [
        ("school-", False, False, True), ("room", True, True, False),
    ]  # fmt: skip
    assert printed(["the school", "room"], {"schoolroom"})[1:] == [
        ("school", False, False, False), ("room", True, False, False),
    ]  # fmt: skip
    # At the very end nothing follows; a hyphen by itself divides nothing.
    assert printed(["the school-"], {"school"})[1] == ("school-", False, False, True)
    assert printed(["the -", "room"], {"room"})[1:] == [
        ("-", False, False, False), ("room", True, False, False),
    ]  # fmt: skip
    # A dash at a line end, or before one, joins what the copy joins.
    assert printed(["he came—", "and"], {"came—and"})[1][0] == "came—and"
    assert printed(["he came", "—and"], {"came—and"})[1][0] == "came—and"
    assert [each[0] for each in printed(["he came—", "and"], {"came"})] == ["he", "came—", "and"]


def test_points_spaced_off_from_a_word_go_with_it_where_the_copy_has_them_so():
    assert [w[0] for w in printed(["“ what ” ?"], {'"what"?'})] == ['"what"?']
    assert [w[0] for w in printed(["what ? no"], {"what?"})] == ["what?", "no"]
    assert [w[0] for w in printed(["what ? no"], {"what"})] == ["what", "?", "no"]
    # Never over a line end, and one word with letters to each.
    assert [w[0] for w in printed(["what", "? no"], {"what?"})] == ["what", "?", "no"]
    assert [w[0] for w in printed(["what no"], {"whatno"})] == ["what", "no"]


def blocks(copy, lines):
    """Which words of the copy answer to which printed ones; `=` before those that are the same."""
    ours = copy_words(copy, 0, len(copy))
    every = [compared(one, USUAL) for one in lines]
    theirs = proof_words(
        stream_of(every, range(len(every))), 0, len(every), {word.text for word in ours}
    )
    found = align_words(ours, theirs)
    # They cover both sides in order.
    at = 0, 0
    for block in found:
        assert (block.ci, block.pi) == at
        at = block.cj, block.pj
    assert at == (len(ours), len(theirs))
    said = []
    for block in found:
        copy_has = " ".join(word.text for word in ours[block.ci : block.cj])
        printed_so = " ".join(word.text for word in theirs[block.pi : block.pj])
        assert not block.equal or copy_has == printed_so
        said.append(f"={copy_has}" if block.equal else f"{copy_has}>{printed_so}")
    return said


@pytest.mark.parametrize(
    ("copy", "lines", "wanted"),
    [
        ("the band plays", ["the band plays"], ["=the", "=band", "=plays"]),
        # The second of two alike is the one too many, or the one left out.
        ("the band plays", ["the the band plays"], ["=the", ">the", "=band", "=plays"]),
        ("the the band", ["the band"], ["=the", "the>", "=band"]),
        ("so and so and so it was", ["so and so it was"],
         ["=so", "=and", "=so", "and so>", "=it", "=was"]),
        # What is left out begins where a printed line does, if it may as well: a slug is out.
        ("a b c a b d", ["a", "b d"], ["=a", "b c a>", "=b", "=d"]),
        ("a b c a b d", ["a b", "d"], ["=a", "=b", "c a b>", "=d"]),
        ("a b c a b d", ["a b d"], ["=a", "=b", "c a b>", "=d"]),
        ("the grass is damp", ["the is grass damp"], ["=the", "grass is>is grass", "=damp"]),
        ("a rug or cushion", ["a cushion or rug"], ["=a", "rug or cushion>cushion or rug"]),
        ("the band plays", ["the ba nd plays"], ["=the", "band>ba nd", "=plays"]),
        ("the band plays", ["theband plays"], ["the band>theband", "=plays"]),
        ("in June and in May", ["in May and in June"],
         ["=in", "June>May", "=and", "=in", "May>June"]),
        ("the cat sat on the mat", ["the mat"], ["=the", "cat sat on the>", "=mat"]),
        ("the mat", ["the cat sat on the mat"], ["=the", ">cat sat on the", "=mat"]),
        ("", ["a b"], [">a b"]), ("a b", [""], ["a b>"]),
        ("The school room", ["The school-", "room"], ["=The", "school>school-", "=room"]),
    ],
)  # fmt: skip
def test_words_are_set_against_words_as_a_reader_would(copy, lines, wanted):
    assert blocks(copy, lines) == wanted


def test_of_matter_that_has_nothing_in_common_only_equal_words_are_matched():
    # Past 60,000 pairs it is hardly the same matter: the words are not tried letter by letter.
    for count, whole in ((244, False), (246, True)):
        ours = " ".join(f"a{k}x" for k in range(count))
        theirs = " ".join(f"b{k}x" for k in range(count))
        found = blocks(ours, [theirs])
        assert (found == [f"{ours}>", f">{theirs}"]) is whole
    ours = " ".join(f"a{k}x" for k in range(260))
    assert blocks(
        f"{ours} same {ours}", [ours.replace("a", "b") + " same " + ours.replace("a", "c")]
    )[1:3] == [f">{ours.replace('a', 'b')}", "=same"]


# --- quotes ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "at", "like", "opens", "closes"),
    [
        ('say "yes" now', 4, '"', True, False), ('say "yes" now', 8, '"', False, True),
        ('"yes"', 0, '"', True, False), ('"yes"', 4, '"', False, True),
        ('("yes")', 1, '"', True, False), ('("yes")', 5, '"', False, True),
        ('—"yes"—', 1, '"', True, False), ('—"yes"—', 5, '"', False, True),
        ('in"side', 2, '"', False, False), ('a " b', 2, '"', False, False),
        # A single one needs its partner, or it is an apostrophe.
        ("say 'yes' now", 4, "'", True, False), ("say 'yes' now", 8, "'", False, True),
        ("the boys' now", 8, "'", False, False), ("say 'tis so", 4, "'", False, False),
        ("say ’tis so’", 4, "'", False, False), ("'a' 'b", 4, "'", False, False),
        ("'a' b'", 5, "'", False, False),
        # Of another weight than what is printed it is none.
        ('say "yes" now', 4, "'", False, False), ("say 'yes' now", 4, '"', False, False),
        ('say "yes" now', 4, "", False, False), ('say "yes" now', 5, '"', False, False),
        ('"', -1, '"', False, False), ('"', 9, '"', False, False),
        # Pointed ones are set off from their word in some languages.
        ("x", 0, "«", True, True), ("x", 9, "»", True, True),
    ],
)  # fmt: skip
def test_a_quote_opens_before_a_word_and_closes_after_one(text, at, like, opens, closes):
    assert is_quote(text, at, opens=True, like=like) is opens
    assert is_quote(text, at, opens=False, like=like) is closes


def test_the_partner_of_a_single_quote_is_looked_for_over_a_few_lines():
    for far, found in ((398, True), (399, False)):
        text = f"'{'a' * far}'"
        assert is_quote(text, 0, opens=True, like="'") is found
    for far, found in ((399, True), (400, False)):
        text = f"'{'a' * far}'"
        assert is_quote(text, len(text) - 1, opens=False, like="'") is found


# --- letterspacing and large initials -------------------------------------------------------------


def spaced(printed_line, copy):
    form = compared(copy, USUAL)
    out = without_letterspace([compared(printed_line, USUAL)], form, {0: (0, len(form.text))})
    return out[0].text if out else None


@pytest.mark.parametrize(
    ("printed_line", "copy", "text"),
    [
        ("C O N C E R T", "CONCERT", "CONCERT"),
        ("A G R A N D C O N C E R T", "A GRAND CONCERT", "A GRAND CONCERT"),
        ("C O N C E T", "CONCERT", "CONCET"),
        ("P R O GRA M ME. O F M U SIC.", "PROGRAMME. OF MUSIC.", "PROGRAMME. OF MUSIC."),
        # Fewer than four words are no letterspacing, nor where four in ten are whole words,
        ("A B C", "ABC", None), ("A B C D", "ABCD", "ABCD"),
        ("A B C D E F two or it", "ABCDEF two or it", "ABCDEF two or it"),
        ("A B C D two or it", "ABCD two or it", None),
        # nor letters and figures that stand apart in the copy, but for one.
        ("a 1 b 2 c 3", "a 1 b 2 c3", None), ("a 1 b 2 c 3", "a1 b2 c3", "a1 b2 c3"),
    ],
)  # fmt: skip
def test_spaces_of_a_letterspaced_line_are_the_copy_s(printed_line, copy, text):
    assert spaced(printed_line, copy) == text


def initial(text, copy, tall, *, place=None):
    """The line, its first letter so many times as tall as the others; None where it is left."""
    letters = tuple(
        Letter(c, Box(10 * k, 0, 8, round(tall * 10) if not k else 10), 1.0)
        for k, c in enumerate(text)
    )
    form = compared(copy, USUAL)
    out = with_initials(
        [compared(text, USUAL)], [Reading(1, letters)], form, {0: place or (0, len(form.text))}
    )
    return out[0].text if out else None


def test_a_large_initial_stands_off_from_a_word_that_the_copy_has_in_one():
    assert initial("T HE band", "The band", 2.0) == "THE band"
    assert initial("T HE band", "The band", 1.6) == "THE band"
    assert initial("T HE band", "The band", 1.5) is None
    assert initial("T HE band", "T he band", 2.0) is None
    assert initial("t HE band", "The band", 2.0) is None
    assert initial("TT HE band", "TThe band", 2.0) is None
    assert initial("THE", "THE", 2.0) is None
    assert initial("T . band", "T. band", 2.0) is None
    # The copy is looked over forty characters about the line's place.
    far = "x" * 36 + " "
    assert initial("T HE band", f"The {far}", 2.0, place=(40, 41)) == "THE band"
    assert initial("T HE band", f"The {far}x", 2.0, place=(42, 42)) is None


# --- lines too many -------------------------------------------------------------------------------


def test_lines_not_in_the_copy_that_follow_one_another_are_told_once():
    setting = laid([line(n) for n in range(1, 7)], dict.fromkeys(range(1, 7), "one two three four"))
    gaps = {k: 10 * k for k in range(6)}
    one, two = foreign_lines([0, 1, 3], frozenset(), setting, gaps)
    assert (one.line, one.other_lines, two.line, two.other_lines) == (1, (2,), 4, ())
    assert (one.copy, two.copy, one.kind) == (Span(0, 0), Span(30, 30), Kind.LINE_FOREIGN)
    assert (one.proof, one.proof_text, one.copy_text) == (Span(0, 18), "one two three four", "")
    # Ten words of more than one line are matter of another job.
    assert one.cause is None
    (three,) = foreign_lines([0, 1, 2], frozenset(), setting, gaps)
    assert three.cause is Cause.OTHER_JOB
    long = laid([line(1), line(2)], {1: "one two three four five six", 2: "one two three four"})
    assert foreign_lines([0, 1], frozenset(), long, gaps)[0].cause is Cause.OTHER_JOB
    assert foreign_lines([0], frozenset(), laid([line(1)], {1: "x " * 20}), gaps)[0].cause is None
    # A run-down line is always told by itself.
    parts = foreign_lines([0, 1, 2], frozenset({1}), setting, gaps)
    assert [(each.line, each.other_lines) for each in parts] == [(1, ()), (2, ()), (3, ())]
    assert [each.cause for each in parts] == [None, Cause.RUN_DOWN_LINE, None]


@pytest.mark.parametrize(
    ("text", "is_it"),
    [("etaoin shrdlu", True), ("ETAOIN", True), ("e t a o i n", True), ("shrdlu cmfwyp", True),
     ("etaoi", False), ("shrdl", False), ("the band", False)],
)  # fmt: skip
def test_a_run_down_line_has_the_first_columns_of_the_keyboard(text, is_it):
    assert is_run_down(text) is is_it


# --- page numbers ---------------------------------------------------------------------------------


def folio(text, *, above=60, sheets=(), framed=False, size=10.0, beside=False, at_foot=True):
    """Whether a line is a page number, so far under the last of five lines, or over the first."""
    rows = [line(n) for n in range(1, 6)]
    y = 196 + above if at_foot else 100 - above
    rows.append(line(6, y=y, x=180, width=20, size=size))
    texts = dict.fromkeys(range(1, 6), "matter") | {6: text}
    if beside:
        rows.append(line(7, y=y, x=600, width=20))
        texts[7] = "word"
    number = 8
    for sheet, own in enumerate(sheets, 1):
        rows += [line(number, sheet=sheet, y=100), line(number + 1, sheet=sheet, y=160, width=20)]
        texts |= {number: "matter", number + 1: own}
        number += 2
    return Folios(laid(rows, texts), frozenset({6}) if framed else frozenset()).is_folio(5)


@pytest.mark.parametrize(
    "text", ["1", "12", "123", "iv", "XII", "[12]", "(3)", "12.", "— 12 —", "- 5 -", "xcix"]
)
def test_a_number_by_itself_at_the_foot_or_head_is_a_page_s(text):
    assert folio(text)
    assert folio(text, at_foot=False)
    assert not folio(text, beside=True)
    assert not folio(text, framed=True)
    assert not folio(text, above=24)
    assert not folio(text, size=17.0)
    assert folio(text, size=16.0)


@pytest.mark.parametrize("text", ["1874", "12345", "3d", "word", "1s. 6d.", "IIII"])
def test_a_year_a_price_and_a_word_are_none(text):
    assert not folio(text)


def test_page_numbers_run_on_from_sheet_to_sheet():
    # Two others that agree with one another and not with this one say that it is wrong.
    assert folio("5", sheets=("6", "7"))
    assert not folio("4", sheets=("6", "7"))
    assert folio("4", sheets=("6",))
    assert folio("4", sheets=("6", "9"))
    assert folio("6", sheets=("7", "9"))
    # One of four figures is a year, unless another page bears it out.
    assert folio("1874", sheets=("1875",))
    assert not folio("1874", sheets=("1876",))
    assert folio("iv", sheets=("6", "7"))


def test_a_signature_stands_at_the_foot_alone():
    # A letter of the printers' alphabet, which has no J, V or W (from memory).
    for text in ("B", "C2", "D*", "BB", "2*"):
        assert folio(text)
        assert not folio(text, at_foot=False)
    for text in ("J", "W", "A", "BC", "B1", "BBB"):
        assert not folio(text)


# --- what a reader has no character for -----------------------------------------------------------


def test_what_the_reader_lacks_is_named_and_its_places_counted():
    assert lacking("abc", None).notes == ()
    assert lacking("abc", "abc").notes == ()
    one = lacking("abř", "ab")
    assert one.characters == {"ř"}
    (note,) = one.notes
    assert note.startswith("the reader can't read ř: 1 place of the copy is judged by the picture ")
    two = lacking("abřřň", "ab")
    assert two.characters == {"ř", "ň"}
    assert "can't read ř and ň: 3 places of the copy are judged" in two.notes[0]
    twelve = lacking("ďěňřťůžščĺľŕ", "ab")
    assert "more" not in twelve.notes[0]
    assert twelve.notes[0].count(",") == 10
    thirteen = lacking("ďěňřťůžščĺľŕż", "ab")
    assert "ŕ and 1 more: 13 places" in thirteen.notes[0]


def test_letters_that_get_longer_in_small_are_one_letter_still():
    # U+0130 is two code points in small letters (Unicode Character Database, SpecialCasing).
    held = loose("İb 1,")
    assert [chr(code) for code in held.codes] == ["İ", "b", "1"]
    assert held.at.tolist() == [0, 1, 3]
    assert [chr(code) for code in loose("A.b").codes] == ["a", "b"]


# --- several up -----------------------------------------------------------------------------------


def tickets(texts, *, across=2, gutter=100, pitch=120):
    """Lines and readings of tickets, each of rows of text, row by row on one sheet."""
    lines, readings = [], []
    for at, rows in enumerate(texts):
        column, band = at % across, at // across
        for row, text in enumerate(rows):
            number = len(lines) + 1
            x, y = 100 + column * (200 + gutter), 100 + pitch * band + 24 * row
            lines.append(line(number, x=x, y=y))
            letters = tuple(Letter(c, Box(x + 8 * k, y, 7, 14), 1.0) for k, c in enumerate(text))
            readings.append(Reading(number, letters))
    return lines, readings


def read_across(lines, readings):
    """The same as a reader takes them that knows nothing of tickets: row by row over the sheet."""
    order = sorted(range(len(lines)), key=lambda k: (lines[k].box.y, lines[k].box.x))
    numbered = list(enumerate(order, 1))
    return (
        [replace(lines[k], number=n) for n, k in numbered],
        [replace(readings[k], line=n) for n, k in numbered],
    )


def ticket(number, first="Grand village concert"):
    return [first, f"Admit one, No. {number}"]


def told_of(copy, texts, *, up=0, rules=USUAL, across=2, boxed=False):
    """The tickets found, and what is told of them."""
    lines, readings = read_across(*tickets(texts, across=across))
    given = copy_of(copy)
    arranged = arrange(given, lines, readings, rules, up=up)
    if arranged.gang is None:
        return arranged, None
    found = collate_tickets(
        arranged.gang, arranged.readings, arranged.lines, rules, language="eng", hand_set=False
    )
    return arranged, found


ONE = "Grand village concert\nAdmit one, No. 1201"
OTHER_ROWS = ["The quick brown fox jumps", "over all the lazy dogs"]


def test_tickets_are_read_each_against_the_whole_copy_and_their_numbers_run_on():
    arranged, found = told_of(ONE, [ticket(1201 + k) for k in range(4)])
    assert arranged.notes == ("several up: 4 tickets, each read against the whole copy",)
    assert found.differences == ()
    assert found.waived["numbering"] == 3
    assert found.agreement == pytest.approx(1.0)
    assert [one.ticket for one in arranged.lines] == [1, 1, 2, 2, 3, 3, 4, 4]
    assert not found.mismatch
    wrong = [ticket(1201), ticket(1202), ticket(1204), ticket(1204)]
    _, found = told_of(ONE, wrong)
    (one,) = found.differences
    assert (one.line, one.proof_text, one.copy_text) == (6, "4", "3")


def test_a_ticket_that_is_not_there_is_missing_whole():
    arranged, found = told_of(ONE, [ticket(1201), ticket(1202), ticket(1203)], up=4)
    assert arranged.notes[1] == "4 tickets were asked for, and 3 are there"
    (one,) = found.differences
    assert (one.kind, one.line) == (Kind.MATTER_MISSING, 6)
    assert one.copy_text == "Grand village concert Admit one, No. 1204"
    assert one.proof == Span(len("Admit one, No. 1203"), len("Admit one, No. 1203"))
    assert arranged.gang.home(one.copy) == Span(0, len(ONE))


def test_a_ticket_of_another_copy_is_foreign_and_the_copy_wanting_there():
    other = ["The quick brown fox jumps", "over all the lazy dogs"]
    _, found = told_of(ONE, [ticket(1201), ticket(1202), other, ticket(1204)], up=4)
    kinds = Counter(one.kind for one in found.differences)
    assert kinds[Kind.LINE_FOREIGN] == 1
    assert kinds[Kind.MATTER_MISSING] == 1
    foreign = next(one for one in found.differences if one.kind is Kind.LINE_FOREIGN)
    assert (foreign.line, foreign.other_lines) == (5, (6,))
    missing = next(one for one in found.differences if one.kind is Kind.MATTER_MISSING)
    assert missing.copy_text == "Grand village concert Admit one, No. 1203"
    assert not found.mismatch
    # All of another copy, the proof as a whole is.
    _, found = told_of(ONE, [other] * 4, up=4)
    assert found.mismatch
    assert found.differences == ()
    assert all(placing.copy is None for placing in found.placings)


def test_what_was_not_asked_for_is_found_where_most_tickets_are_plainly_of_the_copy():
    assert told_of(ONE, [ticket(1201), ticket(1202)])[0].gang is not None
    # Not where the copy is long beside what is printed, or one ticket alone is like it.
    assert told_of(f"{ONE}\n" + "and more of other matter here\n" * 9, [ticket(1201)] * 2)[
        0
    ].gang is None  # fmt: skip
    other = OTHER_ROWS
    assert told_of(ONE, [ticket(1201), other, other, other])[0].gang is None
    assert told_of(ONE, [ticket(1201)], up=1)[0].gang is None


@pytest.mark.parametrize(("rows", "several"), [(ticket(1202), True), (OTHER_ROWS, False)])
def test_tickets_that_nothing_but_their_matter_parts_are_known_if_each_is_the_copy(rows, several):
    """The white between them is hardly wider than that between their lines."""
    proof = read_across(*tickets([ticket(1201), rows, rows, rows], pitch=49))
    found = [gang for gang in gangs(proof[0], range(8)) if len(gang.places) == 4]
    assert not any(gang.plain for gang in found)
    assert (arrange(copy_of(ONE), *proof, USUAL).gang is not None) is several


def test_copy_that_has_all_tickets_says_in_which_order_they_are_read():
    numbers = (1201, 1202, 1203, 1204)
    for down in (False, True):
        own = [numbers[k] for k in ((0, 2, 1, 3) if down else (0, 1, 2, 3))]
        copy = "\n".join("\n".join(ticket(n)) for n in numbers)
        arranged, _ = told_of(copy, [ticket(n) for n in own])
        assert arranged.gang is None
        texts = [one.text for one in arranged.readings]
        assert texts == [row for n in numbers for row in ticket(n)]
        assert [one.ticket for one in arranged.lines] == [1, 1, 2, 2, 3, 3, 4, 4]
        assert [one.number for one in arranged.lines] == [*range(1, 9)]


def test_a_proof_of_part_of_the_copy_is_never_several_up():
    lines, readings = read_across(*tickets([ticket(1201), ticket(1202)]))
    assert arrange(copy_of(ONE), lines, readings, USUAL, part=True).gang is None
    assert arrange(copy_of(ONE), [], [], USUAL).lines == ()


def test_sheets_read_in_another_order_are_counted():
    found = collate(copy_of("the band"), readings_of(["the band"]))
    assert with_reordered(found, 0) is found
    assert with_reordered(found, 2).waived == {"reading-order": 2}


# --- what passes ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("around", "printed", "wanted", "is_theirs"),
    [
        # A point too many before leaders, close or a space off; not by itself.
        ("a.…", ".", "", True), ("a. …", ".", " ", True), ("a.…b", ".", "", True),
        ("a.b", ".", "", False), ("a. b", ".", "", False), ("….b", ".", "", False),
        # A point wanting that the leaders may have taken in; not where a space stands before it.
        ("a…", "", ".", True), ("a….", "…", ".", True), ("a…", "……", ".", True),
        (" …", "", ".", False), ("ab", "", ".", False), ("a…", "", ",", False),
        ("a….", "…,", ".", False), ("a…", "", "..", False),
    ],
)  # fmt: skip
def test_a_point_close_to_leaders_is_one_more_of_theirs_or_one_less(
    around, printed, wanted, is_theirs
):
    assert allow._swallowed(around, printed, wanted) is is_theirs


@pytest.mark.parametrize(
    ("text", "at", "are"),
    [
        ("J. B. Clark", 2, True), ("J. Bell", 2, False), ("St. B. Clark", 3, False),
        ("J B. Clark", 1, False), ("j. B. Clark", 2, False), ("J. b. Clark", 2, False),
        ("x J. B. C", 4, True), ("J.", 2, False),
    ],
)  # fmt: skip
def test_a_space_between_initials_stands_between_two_capitals_with_their_points(text, at, are):
    assert allow._between_initials(text, at) is are


@pytest.mark.parametrize(
    ("text", "at", "may"),
    [("what ?", 4, True), ("no ; yes", 2, True), ("so : 7", 2, True), ("6 :30", 1, False),
     ("6 : a", 1, True), ("a :30", 1, True), ("what .", 4, False), ("what ,", 4, False)],
)  # fmt: skip
def test_some_points_may_have_a_space_before_them_but_not_within_a_figure(text, at, may):
    assert allow._before_point(text, at) is may


@pytest.mark.parametrize(
    ("text", "ends"),
    [("", False), ("  ", False), ("3d.", True), ("6, 7, and 8 a.m.", True),
     ("6, 7, 8, 9 and 10 a.m. sharp", False)],
)  # fmt: skip
def test_the_last_cell_of_a_row_is_short(text, ends):
    assert allow._ends_row(text) is ends


def test_points_of_a_row_are_counted_to_either_side():
    assert allow._row("a……b", 1, 3) == 2
    assert allow._row("a……b", 2, 2) == 2
    assert allow._row("……", 1, 1) == 2
    assert allow._row("ab", 1, 1) == 0
    assert allow._row("a…b…c", 1, 2) == 1


def test_a_division_is_judged_in_the_language_of_the_copy():
    copy, readings = (
        copy_of("Please handle with care"),
        readings_of(["Please han-", "dle with care"]),
    )
    assert collate(copy, readings, language="eng").differences == ()
    (asked,) = collate(copy, readings, language="deu").differences
    assert (asked.kind, asked.only_query) == (Kind.BAD_DIVISION, True)


def test_a_line_is_placed_with_the_words_it_lacks():
    # What is missing at a line's end is of its stretch of the copy; of no other's.
    copy = copy_of("The band plays on the green tonight at seven by the old mill.")
    found = collate(copy, readings_of(["The band plays on the green", "at seven by the old mill."]))
    spans = {placing.line: placing.copy for placing in found.placings}
    assert copy.text[slice(*spans[2])] == "at seven by the old mill."
    assert copy.text[slice(*spans[1])].startswith("The band plays on the green")
    found = collate(
        copy, readings_of(["The band on the green tonight", "at seven by the old mill."])
    )
    spans = {placing.line: placing.copy for placing in found.placings}
    assert copy.text[slice(*spans[1])] == "The band plays on the green tonight"
    # A line of which no letter is the copy's has no place.
    found = collate(copy, readings_of([copy.text, "qqq zzz"]))
    assert [placing.copy is None for placing in found.placings] == [False, True]


def test_a_line_whose_only_letter_is_wrong_has_the_place_of_the_one_it_should_be():
    text = "Tea and buns\n7\nCoffee and cake"
    found = collate(copy_of(text), readings_of(["Tea and buns", "8", "Coffee and cake"]))
    assert [text[slice(*placing.copy)] for placing in found.placings] == text.split("\n")
    assert [(d.line, d.proof_text, d.copy_text) for d in found.differences] == [(2, "8", "7")]


def test_spellings_let_pass_are_counted_from_the_very_first_letter():
    found = collate(copy_of("“Yes,” he said"), readings_of(['"Yes," he said']))
    assert (found.differences, found.waived) == ((), {"quote-shape": 2})


def test_numbers_may_run_down_the_sheet():
    down = [ticket(1201), ticket(1203), ticket(1202), ticket(1204)]
    arranged, found = told_of(ONE, down)
    assert found.differences == ()
    assert arranged.gang.numbers.down
    assert [one.text for one in arranged.readings[1::2]] == [
        f"Admit one, No. {n}" for n in range(1201, 1205)
    ]
    assert [(one.box.x, one.box.y) for one in arranged.lines[::2]] == [
        (100, 100), (100, 220), (400, 100), (400, 220),
    ]  # fmt: skip


def test_where_a_second_scan_parts_from_the_first_and_from_the_copy_is_told():
    copy = "the band plays on the green tonight"
    kept = "the band plays on the green tonight"
    assert _otherwise(kept, kept, copy) == ""
    assert _otherwise(kept, kept.replace("green", "lawn"), copy) == "“lawn” in place of “green”"
    assert _otherwise(kept, kept.replace(" green", ""), copy) == "nothing in place of “green”"
    assert _otherwise(kept, kept.replace("green", "green old"), copy) == (
        "“old” in place of nothing"
    )
    # What the second has as the copy has it hides nothing.
    assert _otherwise(kept.replace("green", "gren"), kept, copy) == ""
    assert _otherwise(kept.replace("tonight", "tonite"), kept, copy) == ""
    assert _otherwise("a " + kept, kept, copy) == ""


def strange_lines(count, rng):
    """Lines of six words that are of no language, none like another."""

    def word():
        return "".join(rng.choices("abcdefghiklmnoprstuwy", k=rng.randint(3, 8)))

    return [" ".join(word() for _ in range(6)) for _ in range(count)]


def test_much_copy_that_is_out_between_two_lines_is_one_fault_wherever_it_stands():
    rows = strange_lines(140, Random(5))
    copy = copy_of("\n".join(rows))
    for kept in ((3, 137), (40, 80), (3, 60)):
        # From so many lines on all is out, up to those at the end that are printed.
        first, last = kept
        proof = [*rows[:first], *rows[last:]]
        found = collate(copy, readings_of(proof))
        (one,) = found.differences
        assert (one.kind, one.line) == (Kind.MATTER_MISSING, first)
        assert one.copy_text.split() == " ".join(rows[first:last]).split()
        texts = [copy.text[slice(*placing.copy)] for placing in found.placings]
        assert texts == proof


def test_of_two_stretches_out_each_is_told_where_it_is():
    rows = strange_lines(190, Random(6))
    proof = [*rows[:2], *rows[90:92], *rows[188:]]
    found = collate(copy_of("\n".join(rows)), readings_of(proof))
    assert [(d.kind, d.line) for d in found.differences] == [
        (Kind.MATTER_MISSING, 2), (Kind.MATTER_MISSING, 4),
    ]  # fmt: skip
    assert [len(d.copy_text.split()) for d in found.differences] == [88 * 6, 96 * 6]
