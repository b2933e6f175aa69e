"""The comparer, and the letters made for it.

What a strange or a broken letter is follows from how it was made (a letter with a third of its
ink off is broken): `common practice`. Checksums are SHA-256 (FIPS 180-4), by the standard library.
"""

import shutil

import numpy as np
import pytest

from proofcheck.base.errors import WeightsError
from proofcheck.metal import beside, overlaying
from proofcheck.metal.beside import CHANNELS, beside_fellows
from proofcheck.metal.comparing import OWN_COMPARER, compare
from proofcheck.metal.fount import fount_of
from proofcheck.metal.overlaying import lay_on
from proofcheck.metal.patches import TALL, WIDE
from proofcheck.metal.type_network import open_type_network


@pytest.fixture(scope="module")
def fount():
    from metal_cases import prose_forme, seen

    sheets, lines, readings, collation, _ = seen(prose_forme())
    return fount_of(sheets, lines, readings, collation)


def test_weights_are_held_against_their_checksum(tmp_path):
    shutil.copy(OWN_COMPARER.with_suffix(".json"), tmp_path / "comparer.json")
    damaged = tmp_path / "comparer.onnx"
    damaged.write_bytes(OWN_COMPARER.read_bytes()[:-1] + b"\0\0")
    with pytest.raises(WeightsError, match=r"looking at the type are damaged .*SHA-256"):
        open_type_network(damaged)


def test_weights_that_are_missing_are_told(tmp_path):
    with pytest.raises(WeightsError, match="looking at the type"):
        open_type_network(tmp_path / "none.onnx")


def test_sound_letters_are_neither_strange_nor_broken(fount):
    odds = compare(fount, np.ones(len(fount.text), bool))
    assert (np.maximum(odds.strange, odds.broken) < 3).mean() > 0.99


def test_letters_stand_beside_the_mean_of_their_nearest(fount):
    fellows = fount.fellows["e"]
    who = np.flatnonzero(fount.text == "e")[:3]
    shown = beside_fellows(fount.cut, who, fount.shift[who], fount.nearest[who], fellows)
    assert shown.shape == (len(who), CHANNELS, TALL, WIDE)
    held = {int(n): ink for n, ink in zip(fellows.who, fellows.ink, strict=True)}
    for picture, near in zip(shown, fount.nearest[who], strict=True):
        mean = np.mean([held[int(n)] for n in near if n >= 0], axis=0)
        assert np.allclose(picture[1].ravel(), mean, atol=1e-5)


def test_letters_shown_and_laid_few_at_a_time_are_the_same_as_all_at_once(fount, monkeypatch):
    fellows = fount.fellows["e"]
    who = np.flatnonzero(fount.text == "e")
    asked = fount.cut, who, fount.shift[who], fount.nearest[who], fellows
    whole, laid = beside_fellows(*asked), lay_on(fount.cut, who, fellows)
    monkeypatch.setattr(beside, "_FEW", 5)
    monkeypatch.setattr(overlaying, "_FEW", 3)
    monkeypatch.setattr(overlaying, "_LIKE", 0.0)
    parts = list(beside.beside_in_turn(*asked))
    assert np.array_equal(np.concatenate([numbers for numbers, _ in parts]), who)
    assert np.array_equal(np.concatenate([shown for _, shown in parts]), whole)
    again = lay_on(fount.cut, who, fellows)
    monkeypatch.setattr(overlaying, "_FEW", len(who))
    at_once = lay_on(fount.cut, who, fellows)
    assert np.array_equal(again.unlike, laid.unlike)
    assert at_once.lost.any()
    assert np.array_equal(again.lost, at_once.lost)
    assert np.array_equal(again.added, at_once.added)


class TestMadeLetters:
    """Letters made for training."""

    @pytest.fixture(autouse=True)
    def _needs_the_train_extra(self):
        pytest.importorskip("fontTools")

    def test_a_letter_printed_anew_keeps_its_ink_and_place(self, fount):
        from tests.lab.strange import alone_in, reprinted

        for number in np.flatnonzero(fount.text == "n")[:4]:
            half = float(fount.cut.half_width[number])
            letter = alone_in(fount.cut.ink[number], half)
            again = reprinted(letter, 20.0, np.random.default_rng(int(number)))
            assert again.sum() == pytest.approx(letter.sum(), rel=0.3)
            assert np.corrcoef(again.ravel(), letter.ravel())[0, 1] > 0.85

    def test_a_broken_letter_has_lost_a_fifth_to_a_half(self, fount):
        from tests.lab.strange import alone_in, broken

        for number in np.flatnonzero(fount.text == "n")[:6]:
            half = float(fount.cut.half_width[number])
            whole = alone_in(fount.cut.ink[number], half)
            left = alone_in(
                broken(fount.cut.ink[number], half, np.random.default_rng(int(number))), half
            )
            assert 0.12 < 1 - left.sum() / whole.sum() < 0.55
