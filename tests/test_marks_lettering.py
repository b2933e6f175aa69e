"""The written hand: whole, and letters that must not be taken for one another are not."""

import string

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from rapidfuzz.distance.Levenshtein import normalized_similarity as ratio

from proofcheck.base.turned_letters import TURNED
from proofcheck.marks import lettering
from proofcheck.marks.lettering import has_letter, write
from proofcheck.marks.paths import extent, moved
from proofcheck.reading.engine import find_engine, words_in

LATIN_1 = [chr(c) for c in range(0xA1, 0x100) if c not in (0xAD, *b"\xa6\xa8\xaa\xac\xaf")]
JOB_WORK = "‘’“”–—…†‡•œŒ½¼¾⅓⅔⅛£€§¶ŠšŽžČčĀāŁłŐőŞşĄę"


@pytest.mark.parametrize(
    "chars",
    [string.ascii_letters, string.digits, string.punctuation, JOB_WORK],
    ids=["letters", "figures", "points", "job work"],
)
def test_everything_english_job_work_prints_can_be_written(chars):
    assert [char for char in chars if not has_letter(char)] == []


def test_accented_letters_of_western_languages_can_be_written():
    letters = [char for char in LATIN_1 if char.isalpha()]
    assert len(letters) > 55
    assert [char for char in letters if not has_letter(char)] == []


def test_greek_and_cyrillic_letters_can_be_written():
    greek = [chr(c) for c in range(0x386, 0x3CF) if chr(c).isalpha()]
    russian = [chr(c) for c in range(0x410, 0x450)] + ["Ё", "ё"]
    assert [char for char in greek + russian if not has_letter(char)] == []


def _raster(text, width=120):
    """The text 30 px to the x-height, True where there is ink."""
    fine = np.zeros((120, width), np.uint8)
    drawing = moved(write(text), by=(20, 80), scale=30, flip=True)
    for stroke in drawing:
        points = stroke.points.round().astype(np.int32).reshape(-1, 1, 2)
        width = round(4 * stroke.weight)
        if len(points) == 1:
            cv2.circle(fine, tuple(int(v) for v in points[0, 0]), width // 2 + 1, 255, -1)
        else:
            cv2.polylines(fine, [points], isClosed=False, color=255, thickness=width)
    return fine > 0


@pytest.mark.parametrize(
    "pair",
    [
        "nu",
        "l1",
        "lI",
        "I1",
        "O0",
        ".,",
        ";:",
        "-–",
        "–—",
        "5S",
        "2Z",
        "ce",
        "hb",
        "vy",
        "'’",
        "‘’",
        "({",
        "8B",
        "6b",
        "g9",
    ],
)
def test_letters_easily_confused_are_drawn_apart(pair):
    one, other = (_raster(char) for char in pair)
    near = cv2.dilate(other.astype(np.uint8), np.ones((5, 5))) > 0
    far = cv2.dilate(one.astype(np.uint8), np.ones((5, 5))) > 0
    stray = (one & ~near).sum() + (other & ~far).sum()
    assert stray > 0.08 * min(one.sum(), other.sum())


def test_what_the_hand_lacks_is_written_by_its_number():
    assert extent(write("中")) == extent(write("U+4E2D"))
    assert extent(write("ﬁ")) == extent(write("fi"))


@given(st.text(min_size=1, max_size=12))
def test_any_text_at_all_can_be_written(text):
    drawing = write(text)
    assert drawing or text.isspace()
    for stroke in drawing:
        assert np.isfinite(stroke.points).all()
        assert np.abs(stroke.points[:, 1]).max() < 2.5


@given(st.text(string.ascii_letters, min_size=1, max_size=10))
def test_letters_follow_one_another_to_the_right(word):
    widths = [extent(write(word[: k + 1], 0.0)).right for k in range(len(word))]
    assert widths == sorted(widths)
    assert extent(write(word)).left > -0.4


def test_an_ocr_engine_that_never_saw_the_hand_reads_it():
    # An outside check that the hand is legible: tesseract, trained on printed faces.
    written = [
        "the quick brown fox jumps over a lazy dog",
        "Pack my box with five dozen liquor jugs",
        "out, see copy; evening hymn, 8.30 p.m.",
        "Tickets 1s. 6d. and 2347590 for £4 17s.",
    ]
    page = np.vstack([_raster(line, 1300) for line in written])
    image = np.where(np.pad(page, 40), 0, 255).astype(np.uint8)
    found = words_in(find_engine(), image, "eng", layout=6)
    read = " ".join(word for word in found["text"] if word.strip())
    assert ratio(read, " ".join(written)) > 0.97


def test_a_turned_letter_is_drawn_on_its_head_and_never_spelled_by_its_number() -> None:
    """A sort turned in its line is turned by half about the middle of its body."""
    upright, turned = extent(write("h", 0.0)), extent(write(TURNED["h"], 0.0))
    assert (turned.low, turned.high) == pytest.approx((1 - upright.high, 1 - upright.low))
    for letter in TURNED.values():
        assert "U+" not in lettering.in_hand(letter), letter
