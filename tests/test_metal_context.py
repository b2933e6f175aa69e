"""What is known of a proof's letters, each told by a plain loop beside it."""

from statistics import median

import pytest
from metal_cases import matter_of, prose_forme

from proofcheck.metal.fount import LEAST_FELLOWS


@pytest.fixture(scope="module")
def matter():
    return matter_of(prose_forme(18))


def test_each_letter_has_its_number_and_its_word(matter):
    number, word = 0, 0
    for row, reading in enumerate(matter.readings):
        word += 1
        for at, letter in enumerate(reading.letters):
            if letter.text.isspace():
                word += 1
                assert matter.number_at(row, at) is None
                continue
            assert matter.number_at(row, at) == number
            assert matter.letter(number) is letter
            assert matter.word[number] == word
            number += 1
        assert matter.number_at(row, -1) is None
        assert matter.number_at(row, len(reading.letters)) is None
    assert number == len(matter.fount.text)
    assert matter.number_at(len(matter.lines), 0) is None


def test_the_usual_size_is_that_of_the_middle_letter_where_there_are_enough(matter):
    held = {}
    for number, text in enumerate(matter.fount.text.tolist()):
        if matter.fount.agreed[number]:
            line = matter.lines[int(matter.fount.line[number])]
            box = matter.letter(number).box
            size = box.width / line.x_height_px, box.height / line.x_height_px
            held.setdefault(text, []).append(size)
    told = {text: sizes for text, sizes in held.items() if len(sizes) >= LEAST_FELLOWS}
    assert 0 < len(told) < len(held)
    assert matter.usual_size.keys() == told.keys()
    for text, sizes in told.items():
        wide, high = matter.usual_size[text]
        assert wide == pytest.approx(median(w for w, _ in sizes))
        assert high == pytest.approx(median(h for _, h in sizes))
