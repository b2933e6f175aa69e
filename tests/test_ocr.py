"""The OCR engine as a reader: words tied to our lines, letters to their own ink."""

from __future__ import annotations

import numpy as np
import pytest
from rapidfuzz.distance import Levenshtein
from typesetter import Columns, Head, Para, Style, box_of, compose, lines_of, print_proof, pull

from proofcheck.base.errors import EngineError
from proofcheck.base.values import Scan, Sheet
from proofcheck.reading.engine import Engine, find_engine, words_in
from proofcheck.reading.ocr import OcrReader, read_strips

MATTER = (
    "Every lantern in the yard was trimmed before the quarter struck, and the journeymen who "
    "had waited by the gate went up the stair in their stocking feet."
)


def sheet_of(image) -> Sheet:
    return Sheet(
        image,
        Scan("made.png", 0, "0" * 64, image.shape[1], image.shape[0]),
        0,
        300.0,
        "option",
        0,
        False,
        0.0,
        np.eye(3),
    )


@pytest.fixture(scope="module")
def proof():
    column = (Para(MATTER), Para(MATTER))
    forme = compose(
        [Head("EVENING CLASSES", body_pt=18), Columns(column, column)],
        measure_picas=36,
        style=Style("schola", 10, 2),
    )
    printed = print_proof(forme, dpi=300, seed=1)
    return printed, sheet_of(pull(printed, "good", seed=1))


def test_lines_of_two_columns_are_read_as_they_stand(proof) -> None:
    """Oracle: the typesetter's own text of each line."""
    printed, sheet = proof
    lines = lines_of(printed)
    readings = OcrReader("eng").read(sheet, lines)
    assert [reading.line for reading in readings] == [line.number for line in lines]
    wrong = sum(
        Levenshtein.distance(reading.text, line.text)
        for reading, line in zip(readings, printed.lines, strict=True)
    )
    assert wrong / sum(len(line.text) for line in printed.lines) < 0.02


def test_letters_lie_on_their_own_ink(proof) -> None:
    """The engine's character boxes miss their letter one time in twenty; ours must not."""
    printed, sheet = proof
    lines = lines_of(printed)
    readings = OcrReader("eng").read(sheet, lines)
    on, total = 0, 0
    for reading, line in zip(readings, printed.lines, strict=True):
        if reading.text != line.text:
            continue
        for letter, set_letter in zip(reading.letters, line.letters, strict=True):
            if set_letter.text == " ":
                continue
            total += 1
            box = box_of(set_letter.box)
            middle = letter.box.x + letter.box.width / 2
            on += box.x <= middle <= box.right
    assert total > 200
    assert on / total > 0.99


def test_no_lines_need_no_engine() -> None:
    assert OcrReader("eng").read(sheet_of(np.full((50, 50), 255, np.uint8)), []) == ()


@pytest.mark.parametrize("shade", [0, 255])
def test_strips_without_letters_give_no_words(shade: int) -> None:
    strips = [np.full((80, 300), shade, np.uint8), np.full((80, 3), shade, np.uint8)]
    seen = read_strips(find_engine(), strips, "eng")
    assert len(seen) == 2
    assert sum(len(word.text) for line in seen for word in line) <= 4


def test_unknown_language_names_those_there_are() -> None:
    with pytest.raises(EngineError, match=r"no language 'xxx' \(it has: .*eng"):
        OcrReader("xxx")


def test_an_engine_that_fails_says_so(tmp_path) -> None:
    broken = tmp_path / "engine"
    broken.write_text("#!/bin/sh\necho out of order >&2\nexit 3\n")
    broken.chmod(0o755)
    engine = Engine(str(broken), None, frozenset({"eng"}))
    with pytest.raises(EngineError, match="engine failed"):
        words_in(engine, np.full((50, 50), 255, np.uint8), "eng", layout=6)
    find_engine()  # leaves the true engine in place for the next test
