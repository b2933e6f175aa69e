"""The proof's own letters deciding between reading and copy, and the discriminant they go by."""

from __future__ import annotations

import mmap
from dataclasses import replace

import numpy as np
import pytest
from typesetter import Para, Style, compose, lines_of, print_proof, pull

from proofcheck.base.found import Collation, Difference, Status
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Reading, Scan, Sheet, Span
from proofcheck.faults import make_faults
from proofcheck.reading.letter_reader import LetterReader
from proofcheck.weigh import Witnesses, weigh
from proofcheck.weigh.beyond import AS_THE_FIRST
from proofcheck.weigh.calibration import FEATURES, Calibration, load_calibration
from proofcheck.weigh.discriminant import told_apart
from proofcheck.weigh.evidence import Evidence, disputes_of
from proofcheck.weigh.fellows import Says
from proofcheck.weigh.judging import PAGE_BEARS_OUT, Judge
from proofcheck.weigh.page_letters import PageLetters, page_letters
from proofcheck.weigh.places import Places

MATTER = (
    "The coach came back across the common once each morning, and once more at dusk, when "
    "the constable and his niece cared to come. Nobody once called it quick; the old cob could "
    "cover each mile in nine or ten minutes, and since the lanes were deep in mud in December "
    "the carter counted the ice in each rut aloud. He had his reasons, he said, for the caution, "
    "since the machine cost him much of his savings, and such as the council chose to replace."
)


def read_proof(forme):
    """A proof printed, pulled and read by the letter reader."""
    printed = print_proof(forme, dpi=300, seed=5)
    image = pull(printed, "good", seed=5)
    scan = Scan("made.png", 0, "0" * 64, image.shape[1], image.shape[0])
    sheet = Sheet(image, scan, 0, 300.0, "option", 0, mirrored=False, skew_deg=0.0,
                  to_scan=np.eye(3))  # fmt: skip
    lines = tuple(lines_of(printed))
    reader = LetterReader()
    return reader, sheet, lines, reader.read(sheet, lines)


@pytest.fixture(scope="module")
def proof():
    matter = [Para(MATTER), Para(MATTER[::-1].lower())]
    return read_proof(compose(matter, measure_picas=24, style=Style("old-standard", 11, 2)))


@pytest.fixture(scope="module")
def two_faces():
    """Half of the proof in one face, half in another."""
    halves = [
        compose([Para(MATTER)], measure_picas=24, style=Style(family, 11, 2))
        for family in ("old-standard", "schola")
    ]
    reader, sheet, lines, readings = read_proof(halves[0])
    _, other, more, _ = read_proof(halves[1])
    other = replace(other, number=1)
    more = tuple(replace(line, number=line.number + 100, sheet=1) for line in more)
    return reader, (sheet, other), (*lines, *more), (*readings, *reader.read(other, more))


def places_of(readings, letter: str) -> list[tuple[int, int]]:
    return [
        (row, at)
        for row, reading in enumerate(readings)
        for at, held in enumerate(reading.letters)
        if held.text == letter
    ]


def read_as(readings, places, letter: str):
    """The readings with another letter read at some places."""
    out = []
    for row, reading in enumerate(readings):
        letters = list(reading.letters)
        for at in (at for its, at in places if its == row):
            letters[at] = replace(letters[at], text=letter)
        out.append(Reading(reading.line, tuple(letters)))
    return tuple(out)


def wrong(readings, place: tuple[int, int], wanted: str) -> Difference:
    row, at = place
    read = readings[row].letters[at].text
    return Difference(
        Kind.WRONG_LETTER, readings[row].line, Span(at, at + 1), read, Span(at, at + 1), wanted
    )


def asked(proof, readings, differences):
    """What is said of each difference, in order."""
    reader, sheet, lines, _ = proof
    letters = PageLetters(reader, [sheet], lines, readings, differences)
    disputes = disputes_of(differences, [sheet], lines, readings)
    return [letters.of(disputes[at]) for at in range(len(differences))]


@pytest.mark.parametrize(("times", "says"), [(1.3, Says.READING), (1.6, Says.RATHER)])
def test_letters_of_other_sizes_alone_do_not_accuse_one(proof, times, says) -> None:
    """A head in black letter or script lies as it happens among the letters of the text."""
    reader, sheet, lines, readings = proof
    # Nor has its own line two of what the copy has.
    row, at = next(one for one in places_of(readings, "h") if readings[one[0]].text.count("b") < 2)
    difference = wrong(readings, (row, at), "b")
    letters = PageLetters(reader, [sheet], lines, readings, [difference])
    letters._size[lines[row].number] *= times
    (dispute,) = disputes_of([difference], [sheet], lines, readings).values()
    assert letters.of(dispute) == (says, "")


@pytest.mark.parametrize(("stands", "copy"), [("c", "e"), ("e", "c"), ("n", "u"), ("h", "b")])
def test_a_look_alike_is_told_by_its_fellows(proof, stands: str, copy: str) -> None:
    """A c stands where the copy has e, and is read as one: it lies with the page's c's."""
    readings = proof[3]
    for place in places_of(readings, stands)[1:6]:
        (said,) = asked(proof, readings, [wrong(readings, place, copy)])
        assert said == (Says.READING, "")


@pytest.mark.parametrize(("stands", "read"), [("c", "e"), ("e", "c"), ("n", "u"), ("t", "f")])
def test_a_slip_of_the_reading_is_told_by_its_fellows(proof, stands: str, read: str) -> None:
    """A sound c misread as an e lies with the page's c's, which the copy has there."""
    for place in places_of(proof[3], stands)[1:6]:
        readings = read_as(proof[3], [place], read)
        (said,) = asked(proof, readings, [wrong(readings, place, stands)])
        assert said == (Says.COPY, "")


def test_a_letter_read_as_another_time_and_again_has_one_cause(proof) -> None:
    """All sound c's taken for e's: they are unlike the page's e's, and asked about once."""
    places = places_of(proof[3], "c")
    readings = read_as(proof[3], places, "e")
    differences = [wrong(readings, place, "c") for place in places]
    said = asked(proof, readings, differences)
    assert said.count((Says.COPY, "c is read as e")) >= 0.9 * len(places)
    assert Says.READING not in {says for says, _ in said}
    reader, sheet, lines, _ = proof
    letters = PageLetters(reader, [sheet], lines, readings, differences)
    told = weigh(
        Collation((), tuple(differences)),
        [sheet],
        lines,
        readings,
        Witnesses(letters=letters),
        Calibration(-9.0, (0.0,) * len(FEATURES), "set in a test"),
    )
    first = make_faults(told.found)[0]
    assert first.status is Status.QUERY
    assert AS_THE_FIRST in {gone.reason for gone in told.let_go}
    assert any(note.startswith("c is read as e: ") for note in told.notes)


def test_a_page_whose_every_c_is_an_e_is_never_let_go(proof) -> None:
    """E's stand wherever the copy has c, and no c stands anywhere: one cause, but a true one."""
    readings = proof[3]
    bare = read_as(readings, places_of(readings, "c"), "»")
    differences = [wrong(bare, place, "c") for place in places_of(readings, "e")[::2]]
    said = asked(proof, bare, differences)
    assert Says.COPY not in {says for says, _ in said}


def test_a_wrong_letter_among_letters_misread_is_told(proof) -> None:
    """Twenty c's are misread as e's, and at one more place an e does stand for a c."""
    misread = places_of(proof[3], "c")[:20]
    readings = read_as(proof[3], misread, "e")
    real = next(place for place in places_of(proof[3], "e")[5:])
    differences = [wrong(readings, place, "c") for place in [*misread, real]]
    said = asked(proof, readings, differences)
    assert said[-1] == (Says.READING, "")
    assert all(says is Says.COPY for says, _ in said[:-1])


def test_a_letter_taken_for_a_third_is_still_not_the_copys(proof) -> None:
    """A c stands where the copy has e, and the reader takes it for an o."""
    place = places_of(proof[3], "c")[4]
    readings = read_as(proof[3], [place], "o")
    (said,) = asked(proof, readings, [wrong(readings, place, "e")])
    assert said == (Says.READING, "")


def test_what_reader_and_copy_agree_on_is_told_as_another_letter(proof) -> None:
    """A c stands, copy and reading have e: a reader may see what it expects of the place."""
    place = places_of(proof[3], "c")[4]
    reader, sheet, lines, _ = proof
    readings = read_as(proof[3], [place], "e")
    found = list(PageLetters(reader, [sheet], lines, readings, []).strangers())
    assert [(one.line, one.at, one.is_rather) for one in found] == [
        (readings[place[0]].line, place[1], "c")
    ]
    assert list(PageLetters(reader, [sheet], lines, proof[3], []).strangers()) == []


@pytest.mark.parametrize(("stands", "other"), [("c", "e"), ("n", "u"), ("a", "o")])
def test_two_faces_on_one_proof_accuse_no_letter_and_excuse_none(two_faces, stands, other) -> None:
    reader, sheets, lines, readings = two_faces
    assert list(PageLetters(reader, sheets, lines, readings, []).strangers()) == []
    for place in places_of(readings, stands)[1::6]:
        real = [wrong(readings, place, other)]
        (dispute,) = disputes_of(real, sheets, lines, readings).values()
        assert PageLetters(reader, sheets, lines, readings, real).of(dispute)[0] is Says.READING
        misread = read_as(readings, [place], other)
        slip = [wrong(misread, place, stands)]
        (dispute,) = disputes_of(slip, sheets, lines, misread).values()
        said, _ = PageLetters(reader, sheets, lines, misread, slip).of(dispute)
        assert said in (Says.COPY, Says.NOTHING)


def test_a_paragraph_of_other_copy_excuses_no_letter(proof) -> None:
    """The labels lie: every letter of ten lines is said to be another of the same count."""
    readings = proof[3]
    rng = np.random.default_rng(3)
    differences = [
        wrong(readings, (row, at), str(rng.choice([c for c in "aceinotu" if c != held.text])))
        for row in range(4, 14)
        for at, held in enumerate(readings[row].letters)
        if held.text in "aceinotu"
    ]
    said = [says for says, _ in asked(proof, readings, differences)]
    assert Says.COPY not in said
    assert said.count(Says.READING) > 0.9 * len(said)


def test_twelve_letters_say_nothing(proof) -> None:
    reader, sheet, lines, readings = proof
    short = [Reading(readings[0].line, readings[0].letters[:12])]
    difference = wrong(short, (0, 2), "c")
    letters = PageLetters(reader, [sheet], lines[:1], short, [difference])
    (dispute,) = disputes_of([difference], [sheet], lines, short).values()
    assert letters.of(dispute) == (Says.NOTHING, "")
    assert list(letters.strangers()) == []


def test_a_reader_that_shows_nothing_of_its_letters_leaves_it_to_the_others() -> None:
    class Other:
        name = "other"

        def read(self, sheet, lines):
            return ()

    assert page_letters(Other(), [], [], [], []) is None


def test_letters_borne_out_are_let_go_with_the_reason(proof) -> None:
    place = places_of(proof[3], "u")[2]
    readings = read_as(proof[3], [place], "n")
    difference = wrong(readings, place, "u")
    reader, sheet, lines, _ = proof
    told = weigh(
        Collation((), (difference,)),
        [sheet],
        lines,
        readings,
        Witnesses(letters=PageLetters(reader, [sheet], lines, readings, [difference])),
        Calibration(9.0, (0.0,) * len(FEATURES), "set in a test: all are faults"),
    )
    assert told.found == ()
    assert [gone.reason for gone in told.let_go] == [PAGE_BEARS_OUT]


@pytest.mark.parametrize("look", [-1.0, -0.5])
def test_the_engine_lets_no_letter_go(proof, look: float) -> None:
    """What the reader saw plainly stays a query, though the engine guesses the copy's word."""
    _, sheet, lines, readings = proof
    difference = wrong(readings, places_of(readings, "c")[0], "e")
    (dispute,) = disputes_of([difference], [sheet], lines, readings).values()
    judge = Judge(load_calibration("letters"), Places(lines, readings), None, _NoLetters())
    seen = Evidence(7.0, None, None, 0.97)
    assert judge.of(0, difference, dispute, seen).certainty >= 0.02
    doubted = judge.of(0, difference, dispute, replace(seen, second_look=look))
    assert doubted.reason == ""
    assert doubted.certainty >= 0.02


class _Always:
    """Says one thing of every difference."""

    def __init__(self, says, *, doubting: bool = False) -> None:
        self.says, self.doubting = says, doubting

    def of(self, dispute):
        return self.says

    def doubts(self, dispute) -> bool:
        return self.doubting


ONE_SHAPE = "c and C can't be told apart in this face"


@pytest.mark.parametrize(
    ("ink", "letters", "doubted", "reason", "fault"),
    [
        (Says.NOTHING, Says.READING, True, "", True),
        (Says.COPY, Says.READING, True, "", False),
        (Says.ALIKE, Says.READING, True, "", False),
        (Says.ALIKE, Says.NOTHING, True, "", False),
        (Says.ALIKE, Says.NOTHING, False, ONE_SHAPE, False),
        (Says.COPY, Says.NOTHING, False, PAGE_BEARS_OUT, False),
        (Says.NOTHING, Says.COPY, False, "", False),
    ],
)
def test_case_is_settled_where_nothing_speaks_against_it(
    proof, ink, letters, doubted, reason, fault
) -> None:
    """A letter's own ink, laid on its fellows, and what was made of it with its neighbours."""
    _, sheet, lines, readings = proof
    difference = wrong(readings, places_of(readings, "c")[0], "C")
    (dispute,) = disputes_of([difference], [sheet], lines, readings).values()
    seldom = Calibration(-9.0, (0.0,) * len(FEATURES), "set in a test: all are slips")
    page = _Always((letters, ""), doubting=doubted)
    judge = Judge(seldom, Places(lines, readings), _Always(ink), _NoLetters(), page)
    judged = judge.of(0, difference, dispute, Evidence())
    assert judged.reason == reason
    assert (judged.certainty >= 0.5) is fault
    assert reason or judged.certainty >= 0.02


@pytest.mark.parametrize("doubted", [True, False])
def test_what_is_doubted_is_a_query_though_the_picture_bears_out_the_copy(proof, doubted) -> None:
    _, sheet, lines, readings = proof
    difference = wrong(readings, places_of(readings, "c")[0], "e")
    (dispute,) = disputes_of([difference], [sheet], lines, readings).values()
    seldom = Calibration(-9.0, (0.0,) * len(FEATURES), "set in a test: all are slips")
    page = _Always((Says.NOTHING, ""), doubting=doubted)
    judge = Judge(seldom, Places(lines, readings), None, _NoLetters(), page)
    judged = judge.of(0, difference, dispute, Evidence())
    assert (judged.reason == "" and judged.certainty >= 0.02) is doubted


def test_a_letter_off_the_copys_is_doubted_though_like_no_other(proof) -> None:
    readings = proof[3]
    reader, sheet, lines, _ = proof
    for stands, copy, doubted in (("c", "e", True), ("c", "c", False)):
        place = places_of(readings, stands)[3]
        given = readings if doubted else read_as(readings, [place], "e")
        difference = wrong(given, place, copy)
        (dispute,) = disputes_of([difference], [sheet], lines, given).values()
        assert PageLetters(reader, [sheet], lines, given, [difference]).doubts(dispute) is doubted


class _NoLetters:
    unknown: frozenset[str] = frozenset()

    def concerns(self, difference: Difference) -> bool:
        return False


def two_classes(apart: float, count: int, size: int, seed: int = 3):
    """Two normal classes, one unit of spread, their means so far apart."""
    rng = np.random.default_rng(seed)
    features = rng.normal(size=(2 * count, size)).astype(np.float32)
    features[count:, 0] += apart
    return features, ["a"] * count + ["b"] * count


def test_usual_spread_is_what_theory_has() -> None:
    """Along Fisher's direction normal classes a Mahalanobis distance D apart spread by 1 / D.

    (Mardia, Kent and Bibby, "Multivariate Analysis", 1979, on two normal populations; from
    memory.) With -1 and 1 at the means, the way between them is 2 long, so the spread is 2 / D.
    """
    apart = 8.0
    features, labels = two_classes(apart, 1500, 6)
    laid = told_apart(features, labels)
    leans = [laid.lean(at, "a", "b").at for at in range(1500)]
    assert np.mean(leans) == pytest.approx(-1, abs=0.02)
    assert np.std(leans) == pytest.approx(2 / apart, rel=0.08)


def test_no_letter_bears_witness_for_itself() -> None:
    """More features than letters: a rule fitted on a letter would bear out any label it has."""
    features, labels = two_classes(14.0, 40, 300)
    labels[0], labels[41] = "b", "a"
    laid = told_apart(features, labels)
    assert laid.lean(0, "b", "a").at > 0.2
    assert laid.lean(41, "a", "b").at > 0.2
    assert laid.lean(5, "a", "b").at < -0.2


@pytest.mark.parametrize("seed", range(4))
def test_letters_of_one_kind_under_two_names_are_not_told_apart(seed: int) -> None:
    """Labels at random: nothing lies plainly with either."""
    rng = np.random.default_rng(seed)
    features = rng.normal(size=(200, 120)).astype(np.float32)
    labels = [str(name) for name in rng.choice(["a", "b"], 200)]
    laid = told_apart(features, labels)
    for at in range(0, 200, 7):
        lean = laid.lean(at, labels[at], "b" if labels[at] == "a" else "a")
        assert lean.from_copy < 4
        assert lean.from_other < 4


def test_too_few_letters_or_one_class_are_not_laid_out() -> None:
    features, labels = two_classes(5.0, 10, 4)
    assert told_apart(features, labels) is None
    features, _ = two_classes(5.0, 100, 4)
    assert told_apart(features, ["a"] * 200) is None
    assert told_apart(features, [""] * 200) is None


def test_a_class_of_one_letter_is_no_measure() -> None:
    features, labels = two_classes(9.0, 60, 5)
    laid = told_apart(features, [*labels[:-1], "z"])
    assert laid.lean(119, "z", "a") is None
    assert laid.lean(3, "a", "z") is not None
    assert laid.lean(3, "a", "q") is None


def test_what_was_made_of_the_letters_is_theirs(proof) -> None:
    """One row a letter; the same letter's rows are more alike than those of two letters."""
    reader, sheet, lines, readings = proof
    rows = reader.letters_seen(sheet, lines)
    assert [len(seen) for seen in rows] == [len(reading.letters) for reading in readings]
    seen = {
        letter: np.array([rows[row][at] for row, at in places_of(readings, letter)], np.float32)
        for letter in "ceno"
    }
    for one, its in seen.items():
        within = np.linalg.norm(its - its.mean(axis=0), axis=1).mean()
        for other in set(seen) - {one}:
            across = np.linalg.norm(seen[other] - its.mean(axis=0), axis=1).mean()
            assert across > 1.3 * within


def test_what_was_made_of_other_letters_is_not_handed_out(proof) -> None:
    reader, sheet, lines, _ = proof
    other = replace(sheet, to_scan=np.eye(3))
    assert all(len(seen) == 0 for seen in reader.letters_seen(other, lines))
    moved = replace(lines[0], box=lines[0].box._replace(x=lines[0].box.x + 3))
    assert len(reader.letters_seen(sheet, [moved])[0]) == 0


def test_letters_of_later_sheets_are_kept_on_disk(proof) -> None:
    _, sheet, lines, readings = proof
    reader = LetterReader()
    late = replace(sheet, number=7)
    reader.read(late, lines[:2])
    first, _ = reader.letters_seen(late, lines[:2])
    assert len(first) == len(readings[0].letters)
    held: object = first
    while isinstance(held, np.ndarray):
        held = held.base
    assert isinstance(held, memoryview)
    assert isinstance(held.obj, mmap.mmap)
