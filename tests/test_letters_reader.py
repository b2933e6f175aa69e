"""The letter reader on lines set here in a free face, and on lines fit for nothing."""

import json
import shutil
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFont

from proofcheck.base.errors import WeightsError
from proofcheck.base.values import Box, Line, Scan, Sheet
from proofcheck.reading import ctc
from proofcheck.reading.alphabet import CHARACTERS
from proofcheck.reading.letter_reader import LetterReader, log_likelihood_ratio
from proofcheck.reading.weights import OWN_WEIGHTS, open_weights

BASE, SIZE = 60, 40
FACES = Path(__file__).parent / "faces"
# A face the reader was never trained on.
UNSEEN = "GoudyBookletter1911.otf"


@pytest.fixture(scope="module")
def reader():
    return LetterReader()


def sheet_of(image):
    scan = Scan("made", 0, "", image.shape[1], image.shape[0])
    return Sheet(image, scan, 0, 300, "option", 0, False, 0.0, np.eye(3))


def line_of(box, x_height=18.0, number=1):
    return Line(number, 0, 0, box, (BASE, BASE), x_height, 10)


@pytest.fixture(scope="module")
def set_line():
    def made(text, face=UNSEEN):
        font = ImageFont.truetype(str(FACES / face), SIZE)
        x_height = -font.getbbox("x", anchor="ls")[1]
        picture = Image.new("L", (round(font.getlength(text)) + 40, 100), 255)
        ImageDraw.Draw(picture).text((20, BASE), text, 0, font, anchor="ls")
        image = np.asarray(picture)
        rows, columns = np.nonzero(image < 128)
        box = Box(
            int(columns.min()),
            int(rows.min()),
            int(np.ptp(columns)) + 1,
            int(np.ptp(rows)) + 1,
        )
        return sheet_of(image), line_of(box, x_height)

    return made


@pytest.mark.parametrize(
    ("text", "face"),
    [
        ("The band will play in the square;", UNSEEN),
        ("qeuckly jompud tbe fiox", UNSEEN),
        ("Rondo—Adagio (new) &c., No. 24", UNSEEN),
        ("Tickets, £1 10s. 6d. and 7½d.", "texgyreschola-regular.otf"),
    ],
)
def test_reads_what_is_set(reader, set_line, text, face):
    sheet, line = set_line(text, face)
    (reading,) = reader.read(sheet, [line])
    assert reading.line == line.number
    assert reading.text == text
    at = [letter.box.x + letter.box.right for letter in reading.letters]
    assert at == sorted(at)
    assert all(0 <= letter.certainty <= 1.0001 for letter in reading.letters)


def test_a_turned_sort_is_read_as_turned(reader, set_line):
    sheet, line = set_line("a penny each")
    image = sheet.image.copy()
    (reading,) = reader.read(sheet, [line])
    box = reading.letters[3].box
    assert reading.letters[3].text == "e"
    part = image[box.y : box.bottom, box.x : box.right]
    image[box.y : box.bottom, box.x : box.right] = cv2.rotate(part, cv2.ROTATE_180)
    assert reader.read(sheet_of(image), [line])[0].text == "a pǝnny each"


def test_evidence_weighs_two_readings(reader, set_line):
    sheet, line = set_line("The cornet solo")
    (seen,) = reader.evidence(sheet, [line])
    read = "".join(CHARACTERS[number] for number in ctc.greedy(seen.log_probs).classes)
    assert " ".join(read.split()) == "The cornet solo"
    assert seen.log_probs.shape[0] == len(seen.x_of_column)
    assert np.exp(seen.log_probs).sum(axis=1) == pytest.approx(1, abs=1e-4)
    assert (np.diff(seen.x_of_column) > 0).all()
    assert log_likelihood_ratio(seen, "The cornet solo", "The comet solo") > 6
    assert log_likelihood_ratio(seen, "The comet solo", "The cornet solo") < -6
    assert log_likelihood_ratio(seen, "The cornet solo", "The cornet solo") == 0
    assert abs(log_likelihood_ratio(seen, "The cornet solo", "The cornet solЖ")) < 3


def test_the_same_lines_read_the_same_twice(reader, set_line):
    sheet, line = set_line("March of the millers")
    one, other = reader.evidence(sheet, [line]), reader.evidence(sheet, [line])
    assert (one[0].log_probs == other[0].log_probs).all()


@pytest.mark.parametrize("grey", [0, 255])
@pytest.mark.parametrize("width", [3, 400, 10_000])
def test_lines_without_letters_read_as_nothing(reader, grey, width):
    sheet = sheet_of(np.full((100, width), grey, np.uint8))
    line = line_of(Box(0, 40, width, 22))
    (reading,), (seen,) = reader.read_with_evidence(sheet, [line])
    assert reading.text == ""
    assert log_likelihood_ratio(seen, "", "a") >= 0


def test_a_line_of_ten_thousand_pixels(reader, set_line):
    sheet, line = set_line("Overture and selection. " * 25)
    assert sheet.image.shape[1] > 9_000
    (reading,) = reader.read(sheet, [line])
    assert reading.text == ("Overture and selection. " * 25).strip()


def test_no_lines(reader):
    assert reader.read(sheet_of(np.full((9, 9), 255, np.uint8)), []) == ()


@pytest.mark.parametrize("place", [".", "/", ""])
def test_a_folder_is_no_weights(place):
    with pytest.raises(WeightsError, match="are no file"):
        open_weights(Path(place))


def test_missing_weights(tmp_path):
    with pytest.raises(WeightsError, match="install proofcheck again"):
        open_weights(tmp_path / "none.onnx")


@pytest.mark.parametrize("harm", ["file", "classes", "gone"])
def test_damaged_weights(tmp_path, harm):
    path = tmp_path / "letters.onnx"
    shutil.copy(OWN_WEIGHTS, path)
    facts = json.loads(OWN_WEIGHTS.with_suffix(".json").read_text(encoding="utf-8"))
    if harm == "file":
        path.write_bytes(path.read_bytes()[:-1000])
    elif harm == "gone":
        path.unlink()
    else:
        facts["characters"] = facts["characters"][:-1]
    path.with_suffix(".json").write_text(json.dumps(facts), encoding="utf-8")
    with pytest.raises(WeightsError) as caught:
        open_weights(path)
    assert "\n" not in str(caught.value)
