"""The shop's book of faces: learnt from sound proofs, known again, and letters told by it."""

from __future__ import annotations

import json
import shutil
import zipfile
from dataclasses import replace

import numpy as np
import pytest
from metal_cases import PROSE, matter_of, metal_faults, seen
from typesetter import Para, Style, compose, wrong_font

from proofcheck.base.errors import OutputError
from proofcheck.base.kinds import Kind
from proofcheck.metal import MetalSettings, look_at_type
from proofcheck.metal.by_face import PARTED, _coarse, _told_apart
from proofcheck.metal.face import MOST_OF_A_KIND, Taught
from proofcheck.metal.face_book import (
    FaceBook,
    FaceBookError,
    load_faces,
    save_faces,
)
from proofcheck.metal.face_known import LEAST_KEPT, face_fellows, known_faces
from proofcheck.metal.face_learning import learn, lettering_of
from proofcheck.metal.overlaying import laid_true
from proofcheck.results.face_specimen import specimen_page, write_specimen

CAPITALS = (
    "Basil Barker and Bridget Bell of Burford, Simon Salter and Susan Smith of Stow, Robert Reed "
    "and Rose Rudd of Ripon, with Peter Penn and Polly Pike of Pinner, sang Songs by the Brook, "
    "Some Roads, Stars and Pipes, Bells in the Rain and Red Poppies before the Parson and Sir "
    "Roger Brand; the Squire gave Prizes of Silver, Bread and Roses to Pupils and Singers."
)
ONCE = "before the children left the hall they sang for old Barker, who had been ill since may"


def _forme(*texts, family="schola"):
    return compose([Para(text) for text in texts], measure_picas=24, style=Style(family=family))


def _taught(job, number=1):
    return Taught(job, number, job * 4, "2026-05-04", 0)


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    """A book of two faces in a file: Schola of two proofs, Goudy of one."""
    held = FaceBook()
    proofs = (
        ("101", "schola", (CAPITALS, *PROSE[:2]), 3),
        ("102", "schola", (PROSE[2], CAPITALS), 4),
        ("103", "goudy", (CAPITALS, *PROSE), 5),
    )
    for job, family, texts, seed in proofs:
        matter = matter_of(_forme(*texts, family=family), seed=seed)
        held = learn(held, matter, frozenset(), _taught(job), family.title()).book
    path = tmp_path_factory.mktemp("shop") / "docket.faces"
    save_faces(path, held)
    return path


@pytest.fixture(scope="module")
def faulty():
    """A proof of Schola whose only B is of Goudy."""
    forme = _forme(ONCE, PROSE[2].lower())
    line = next(n for n, slug in enumerate(forme.slugs, 1) if "Barker" in slug.text)
    return seen(wrong_font(forme, line, "Barker", other="goudy"), seed=9)


def test_each_face_is_learnt_once_and_known_again(book):
    first, second = load_faces(book).faces
    assert (first.name, second.name) == ("Schola", "Goudy")
    assert [taught.job for taught in first.proofs] == ["101", "102"]
    assert first.letters.body_pt == pytest.approx(10, rel=0.15)  # As both were set.
    known = known_faces(matter_of(_forme(*PROSE), seed=8), [first, second])
    assert [each.face.number for each in known if each.sure] == [first.number]


def test_a_proof_in_a_face_that_the_book_has_not_is_in_none(book):
    goudy = load_faces(book).faces[1]
    schola = matter_of(_forme(*PROSE), seed=8)
    assert not [each for each in known_faces(schola, [goudy]) if each.sure]
    assert learn(FaceBook((goudy,), 3), schola, frozenset(), _taught("104")).face.number == 3


def test_of_a_page_in_two_faces_each_is_known_on_its_own_lines(book):
    style = Style(family="goudy")
    forme = compose([Para(PROSE[0]), Para(PROSE[1], style=style)], measure_picas=24)
    goudy = {n for n, slug in enumerate(forme.slugs) if slug.sorts[0].family == "goudy"}
    known = known_faces(matter_of(forme, seed=8), load_faces(book).faces)
    rows = {each.face.name: set(np.flatnonzero(each.rows).tolist()) for each in known if each.sure}
    assert set(rows) == {"Schola", "Goudy"}
    assert rows["Goudy"] <= goudy
    assert not rows["Schola"] & goudy


def test_one_design_in_two_sizes_is_two_faces_and_tells_nothing(tmp_path):
    held = FaceBook()
    for body_pt, seed in ((10, 3), (12, 5)):
        forme = compose(
            [Para(text) for text in PROSE], measure_picas=24, style=Style(body_pt=body_pt)
        )
        taught = _taught(str(body_pt))
        held = learn(held, matter_of(forme, seed=seed), frozenset(), taught).book
    assert [round(face.letters.body_pt) for face in held.faces] == [10, 12]
    ten, twelve = held.faces
    kinds = set(ten.letters.text.tolist()) & set(twelve.letters.text.tolist())
    fellows = face_fellows(ten)
    apart = []
    for kind in kinds & fellows.keys():
        theirs = np.flatnonzero(twelve.letters.text == kind)
        if len(theirs) >= LEAST_KEPT:
            strange = _coarse(laid_true(twelve.cut().ink[theirs], fellows[kind]))
            apart.append(_told_apart(_coarse(fellows[kind].ink), strange))
    assert len(apart) > 15
    assert max(apart) < PARTED


def test_the_only_capital_of_its_kind_is_told_by_the_book_alone(book, faulty):
    def strange(**more):
        found = metal_faults(*faulty, settings=MetalSettings(**more))
        return [each for each in found if each.kind is Kind.WRONG_FONT]

    assert not strange()
    (told,) = strange(faces=book)
    assert told.copy_text == "B"
    assert told.only_query
    assert told.words == "wrong font: B, more like face 2 (Goudy)"


def test_of_a_sound_proof_nothing_is_alleged_and_the_note_says_what_it_was_held_against(book):
    held = seen(_forme(ONCE, *PROSE), seed=12)
    said = look_at_type(*held, settings=MetalSettings(faces=book))
    assert not [each for each in said.findings if each.kind is Kind.WRONG_FONT]
    assert [note for note in said.notes if "face 1 (Schola) of the shop's book" in note]


def test_what_the_proof_itself_tells_stays_told(book):
    forme = _forme(*PROSE)
    for line in (2, 5, 8):
        word = max(forme.slugs[line - 1].text.split(), key=lambda each: len(each) * each.isalpha())
        forme = wrong_font(forme, line, word, letter=1, other="goudy")
    held = seen(forme, seed=9)

    def places(**more):
        found = metal_faults(*held, settings=MetalSettings(**more))
        return {(each.line, each.letters) for each in found}

    assert places()
    assert places() <= places(faces=book)


def test_letters_that_a_fault_or_decision_touched_are_never_learnt():
    matter = matter_of(_forme(*PROSE), seed=3)
    touched = {
        (int(row), int(at))
        for row, at, text in zip(matter.fount.line, matter.fount.at, matter.fount.text, strict=True)
        if text == "e" or row == 2
    }
    every, rest = lettering_of(matter, frozenset()), lettering_of(matter, touched)
    assert "e" in every.text
    assert "e" not in rest.text
    assert len(rest.text) < (every.text != "e").sum()


def test_a_face_keeps_so_many_of_a_kind_of_all_its_proofs_and_one_proof_of_a_job(book):
    face = load_faces(book).faces[0]
    _, counts = np.unique(face.letters.text, return_counts=True)
    assert counts.max() == MOST_OF_A_KIND
    assert set(face.proof[face.letters.text == "e"]) == {0, 1}
    letters = lettering_of(matter_of(_forme(*PROSE), seed=3), frozenset())
    again = face.with_proof(letters, _taught("101", 2))
    assert [(taught.job, taught.proof) for taught in again.proofs] == [("102", 1), ("101", 2)]
    assert not len(face.without("101").without("102").letters.text)


def test_too_few_letters_teach_nothing():
    lesson = learn(FaceBook(), matter_of(_forme(ONCE)), frozenset(), _taught("105"))
    assert lesson.face is None
    assert lesson.words.startswith("nothing learnt: fewer than 150")


def test_the_book_comes_back_from_its_file_as_it_was_written(book, tmp_path):
    held = load_faces(book)
    save_faces(tmp_path / "again.faces", held)
    again = load_faces(tmp_path / "again.faces")
    assert [face.proofs for face in again.faces] == [face.proofs for face in held.faces]
    for one, other in zip(held.faces, again.faces, strict=True):
        assert np.array_equal(one.letters.ink, other.letters.ink)
        assert np.array_equal(one.letters.text, other.letters.text)
    assert load_faces(tmp_path / "none.faces") == FaceBook()


def test_a_flipped_byte_of_the_book_is_told_or_harmless(book, tmp_path):
    data, path = bytearray(book.read_bytes()), tmp_path / "flipped.faces"
    whole, told = load_faces(book), 0
    for place in np.random.default_rng(5).choice(len(data), 60, replace=False).tolist():
        data[place] ^= 255
        path.write_bytes(data)
        try:
            read = load_faces(path)
        except FaceBookError:
            told += 1
        else:  # What a zip file says twice, or of its times, may differ and nothing be lost.
            assert [face.proofs for face in read.faces] == [face.proofs for face in whole.faces]
        data[place] ^= 255
    assert told > 40  # Of the letters themselves none can be another and not be noticed.
    for short in (0, 10, len(data) // 2):
        path.write_bytes(data[:short])
        with pytest.raises(FaceBookError, match="damaged, or no book of faces; put a kept copy"):
            load_faces(path)


def test_with_a_damaged_book_the_type_is_looked_at_without_it_and_that_is_said(
    book, faulty, tmp_path
):
    path = tmp_path / "bad.faces"
    path.write_bytes(book.read_bytes()[:5000])
    without = look_at_type(*faulty)
    said = look_at_type(*faulty, settings=MetalSettings(faces=path))
    assert said.findings == without.findings
    (note,) = set(said.notes) - set(without.notes)
    assert note.startswith("the type was looked at without the book of faces: the book of faces")


def test_a_book_of_another_version_is_told_by_its_version(book, tmp_path):
    path = tmp_path / "later.faces"
    with zipfile.ZipFile(book) as old, zipfile.ZipFile(path, "w") as new:
        about = json.loads(old.read("about.json")) | {"schema": 7}
        new.writestr("about.json", json.dumps(about))
    with pytest.raises(FaceBookError, match="is of version 7, and this program reads 1"):
        load_faces(path)


def test_a_specimen_shows_every_kind_and_is_written_as_pdf_or_png(book, tmp_path):
    face = load_faces(book).faces[0]
    page = specimen_page(face)
    assert (page.image < 128).any(axis=1).sum() > 500
    for name, sign in (("face.pdf", b"%PDF"), ("face.png", b"\x89PNG")):
        assert write_specimen(face, tmp_path / name).read_bytes().startswith(sign)
    with pytest.raises(OutputError, match=r"drawn as \.pdf or \.png"):
        write_specimen(face, tmp_path / "face.gif")
    many = replace(face, name="A name much too long for the head of one sheet " * 5)
    assert specimen_page(many).labels


def test_a_book_put_back_from_a_copy_is_the_copy(book, tmp_path):
    copy = shutil.copy(book, tmp_path / "copy.faces")
    assert load_faces(copy).next_number == load_faces(book).next_number == 3
