"""A hyphen that the reader did not see is looked for in the ink, and only found where it is.

Oracle: the typesetter knows what it set, and where.
"""

from __future__ import annotations

import string
from dataclasses import replace

import numpy as np
import pytest
from typesetter import Para, Style, compose, lines_of, print_proof, pull, readings_of
from typesetter.wear import PRESETS

from proofcheck.base.found import Difference
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Reading, Scan, Sheet, Span
from proofcheck.weigh.dashes import is_seen
from proofcheck.weigh.evidence import Dispute

LETTERS = string.ascii_letters + string.digits
FACES = ("goudy", "old-standard", "schola")


STRAIGHT = replace(PRESETS["worn"], skew_deg=0.0)
"""Laid true, so that what is set stands where the typesetter says."""


def printed(words: list[str], face: str):
    """A sheet with a word a line, its lines and what is set on them."""
    forme = compose([Para(word) for word in words], measure_picas=5, style=Style(face, 11, 2))
    proof = print_proof(forme, dpi=300, seed=3)
    image = pull(proof, STRAIGHT, seed=3)
    scan = Scan("made.png", 0, "0" * 64, image.shape[1], image.shape[0])
    sheet = Sheet(image, scan, 0, 300.0, "option", 0, mirrored=False, skew_deg=0.0,
                  to_scan=np.eye(3))  # fmt: skip
    return sheet, lines_of(proof), readings_of(proof)


def seen(sheet: Sheet, line, reading: Reading, at: int, wanted: str, read: str = "") -> bool:
    """What is said where `wanted` is missing before letter `at`, or `read` stands for it."""
    size = len(read)
    kind = Kind.POINT_WRONG if read else Kind.POINT_MISSING
    difference = Difference(kind, line.number, Span(at, at + size), read, Span(0, 1), wanted)
    text = reading.text
    copy = text[:at] + wanted + text[at + size :]
    return is_seen(Dispute(difference, sheet, line, reading, text, copy, Span(at, at + 1)))


def unread(reading: Reading, text: str = "-") -> Reading:
    """The reading without a character that is printed."""
    return Reading(reading.line, tuple(one for one in reading.letters if one.text != text))


@pytest.mark.parametrize("face", FACES)
def test_a_hyphen_not_read_is_seen_after_any_letter_at_a_line_end(face: str) -> None:
    proof = printed([f"ban{letter}-" for letter in LETTERS], face)
    unseen = [
        reading.text
        for line, reading in zip(*proof[1:], strict=True)
        if not seen(proof[0], line, unread(reading), 4, "-")
    ]
    assert len(unseen) <= 0.05 * len(LETTERS), unseen


@pytest.mark.parametrize("face", FACES)
def test_no_hyphen_is_seen_where_none_is_printed(face: str) -> None:
    for pattern, at in (("ban{}", 4), ("ban{}nab", 4), ("{}", 1)):
        sheet, lines, readings = printed([pattern.format(letter) for letter in LETTERS], face)
        assert not [
            reading.text
            for line, reading in zip(lines, readings, strict=True)
            if seen(sheet, line, reading, at, "-")
        ]


@pytest.mark.parametrize("face", FACES)
def test_another_point_in_its_place_is_no_hyphen(face: str) -> None:
    points = ".,:;'’!?–—"
    sheet, lines, readings = printed([f"bane{point}" for point in points], face)
    for line, reading in zip(lines, readings, strict=True):
        assert not seen(sheet, line, reading, 4, "-", reading.text[4]), reading.text


@pytest.mark.parametrize("face", FACES)
def test_a_hyphen_read_as_another_point_is_seen(face: str) -> None:
    sheet, (line,), (reading,) = printed(["bane-"], face)
    taken = (*reading.letters[:4], type(reading.letters[4])("'", reading.letters[4].box, 0.3))
    assert seen(sheet, line, Reading(reading.line, taken), 4, "-", "'")
