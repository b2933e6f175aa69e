"""What a copy is changed in to see whether it is told: each kind makes one change, and no more."""

from __future__ import annotations

import pytest
from benchmark.amiss import KINDS, Change, changed, try_job
from collating import copy_of
from PIL import Image
from typesetter import Head, Para, Style, compose, print_proof, pull

TEXT = (
    "Whist Drive, in aid of the band.\n"
    "The Corn-hall doors open at 7.45, carriages at 11; the Master of the house will lead off.\n"
    "Tickets 16d. each, of A. Penn or at the door"
)


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_finds_places_and_changes_nothing_else(kind):
    copy = copy_of(TEXT)
    found = list(KINDS[kind](TEXT))
    assert found
    for at in found:
        new, place = changed(copy, at)
        assert new.text != TEXT
        assert new.text[: at.start] == TEXT[: at.start]
        assert new.text[place.end :] == TEXT[at.end :]
        assert new.text[slice(*place)] == at.new


def test_what_is_changed_in_the_copy_of_a_sound_sheet_is_told(tmp_path):
    head, *text = TEXT.split("\n")
    matter = [Head(head, 14, 4), *(Para(line) for line in text)]
    proof = print_proof(compose(matter, measure_picas=22, style=Style("schola", 11, 2)))
    image = pull(proof, "good", seed=4)
    Image.fromarray(image).save(tmp_path / "card.jpg", dpi=(300, 300), quality=95)
    (tmp_path / "card.txt").write_text(TEXT + "\n", encoding="utf-8")
    told = try_job("card", tmp_path, each=1)
    assert len(told.made) >= len(KINDS) - 2
    assert told.silent.total() == 0, told.words


def test_a_change_that_is_not_told_is_counted(tmp_path, monkeypatch):
    """A space before a semicolon is allowed (`point-space`)."""
    lines = ("The band; it will play.", "Come to the green at six o'clock")
    places = {"a space": lambda text: iter([Change(text.index(";"), text.index(";"), " ")])}
    monkeypatch.setattr("benchmark.amiss.KINDS", places)
    style = Style("schola", 11, 2)
    forme = compose([Para(line) for line in lines], measure_picas=20, style=style)
    image = pull(print_proof(forme), "good", seed=4)
    Image.fromarray(image).save(tmp_path / "card.jpg", dpi=(300, 300), quality=95)
    (tmp_path / "card.txt").write_text("\n".join(lines) + "\n", encoding="utf-8")
    told = try_job("card", tmp_path, each=1)
    assert (told.made.total(), told.silent.total()) == (1, 1), told.words
