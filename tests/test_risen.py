"""Spaces that stand up and print, planted as plain bars in the word spaces of set matter.

Oracle: the typesetter knows where every word space stands.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from metal_cases import metal_faults, prose_forme, seen

from proofcheck.base.kinds import Kind

FACES = ("schola", "old-standard", "goudy")


def _gap(lines, readings, row: int):
    """The widest word space of a row: its letters' places and its columns."""
    letters = readings[row].letters
    places = [at for at, letter in enumerate(letters) if letter.text == " "]
    at = max(places, key=lambda n: letters[n + 1].box.x - letters[n - 1].box.right)
    return at, letters[at - 1].box.right, letters[at + 1].box.x


def _with_bars(proof, wide_px: int, head_x: float, foot_x: float, *, touching: bool):
    """The proof with a bar in one word space of every second line; the boxes' lines and columns."""
    (sheet,), lines, readings, collation, copy = proof
    image, bars = sheet.image.copy(), []
    for row in range(1, len(lines), 2):
        line = lines[row]
        _, left, right = _gap(lines, readings, row)
        if right - left < wide_px + 4:
            continue
        start = left if touching else (left + right - wide_px) // 2
        base, size = round(line.baseline[0]), line.x_height_px
        top, bottom = round(base - head_x * size), round(base + foot_x * size)
        image[top:bottom, start : start + wide_px] = np.percentile(image, 1)
        bars.append((line.number, start))
    return ([replace(sheet, image=image)], lines, readings, collation, copy), bars


@pytest.mark.parametrize(
    ("face", "wide_px", "head_x", "foot_x", "touching"),
    [
        ("schola", 4, 1.5, 0.45, False),
        ("old-standard", 5, 1.1, 0.0, False),
        ("goudy", 8, 1.3, 0.2, False),
        ("schola", 6, 1.2, 0.1, True),
        ("old-standard", 4, 1.5, 0.4, True),
    ],
)
def test_a_bar_in_a_word_space_is_a_space_that_prints(face, wide_px, head_x, foot_x, touching):
    proof = seen(prose_forme(family=face))
    faulty, bars = _with_bars(proof, wide_px, head_x, foot_x, touching=touching)
    told = [each for each in metal_faults(*faulty) if each.kind in (Kind.WORK_UP, Kind.HAIRLINE)]
    assert len(bars) >= 5
    assert [(each.line, each.kind) for each in told] == [(line, Kind.WORK_UP) for line, _ in bars]
    for each, (_, start) in zip(told, bars, strict=True):
        assert abs(each.box.x - start) <= 2


@pytest.mark.parametrize("face", FACES)
def test_word_spaces_without_a_bar_have_none(face):
    assert not [each for each in metal_faults(*seen(prose_forme(family=face), seed=5))
                if each.kind is Kind.WORK_UP]  # fmt: skip
