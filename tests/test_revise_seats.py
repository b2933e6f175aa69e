"""The seats of a slug's letters, and the odds they give, against reference libraries."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import cv2
import numpy as np
import pytest
from benchmark.muddles import Muddle, places
from benchmark.rescan import drop_word, put_letter, swap_words
from revise_cases import notice, pulled, recast, rng_of, second_scan

from proofcheck.revise.odds import USUAL_NOISE, noise_of, recast_odds
from proofcheck.revise.overlay import SAME_ODDS, lay_over
from proofcheck.revise.pairing import pair_slugs
from proofcheck.revise.seats import Seats
from proofcheck.revise.slugs import print_of


@lru_cache(maxsize=1)
def first():
    return pulled(notice(), 1)


@lru_cache(maxsize=1)
def one_print():
    report = first()
    return print_of(report.sheets[0], report.lines[5], x_height_px=report.lines[5].x_height_px)


def moved_by_fourier(ink, start, end, dx):
    """Columns of a picture moved by a part of a pixel, by the shift theorem of the transform."""
    part = np.zeros_like(ink)
    part[:, start:end] = ink[:, start:end]
    ways = np.exp(-2j * np.pi * np.fft.fftfreq(ink.shape[1]) * dx)
    shifted = np.fft.ifft(np.fft.fft(part, axis=1) * ways, axis=1).real
    return np.clip(ink - part + shifted, 0, 1).astype(np.float32)


@pytest.mark.parametrize("dx", [-0.45, 0.2, 0.7])
def test_a_letter_moved_by_part_of_a_pixel_is_measured(dx):
    held = one_print()
    white = np.flatnonzero(held.ink.max(axis=0) < 0.02)
    start = white[white > held.ink.shape[1] // 2][0]
    end = white[white > start + held.x_height_px][0]
    other = replace(held, ink=moved_by_fourier(held.ink, start, end, dx))
    seats = lay_over(held, other).seats
    middle = (start + end) / 2 / held.x_height_px
    inside = np.abs(seats.places - middle) < (end - start) / 2 / held.x_height_px
    assert inside.any()
    assert seats.off[0][inside] * held.x_height_px == pytest.approx(dx, abs=0.06)
    assert np.abs(seats.off[0][~inside] * held.x_height_px).max() < 0.06


def test_heavier_ink_moves_no_letter():
    held = one_print()
    heavier = replace(held, ink=np.clip(cv2.dilate(held.ink, np.ones((3, 3))), 0, 1))
    told = lay_over(held, heavier)
    assert told.same()
    assert np.abs(told.seats.off).max() < 0.01


def test_the_odds_are_those_of_two_normal_laws():
    """Without far letters the odds are a ratio of two densities (SciPy's)."""
    stats = pytest.importorskip("scipy.stats")
    rng = np.random.default_rng(3)
    count = 6  # of one word: order one is taken out along, and one down
    spread = np.full((2, count), 0.005)
    at = np.linspace(0, 5, count)
    off = rng.normal(0, 0.004, (2, count))
    seats = Seats(at, off, spread, np.zeros(count, np.int64))
    basis = np.linalg.svd(np.vander(at, 2).T)[2][2:].T
    same = (USUAL_NOISE * 0.005) ** 2 + 0.0008**2
    expected = 0.0
    for way, play in ((0, 0.012), (1, 0.006)):
        seen = basis.T @ off[way]
        laws = [np.eye(len(seen)) * v for v in (same + play**2, same)]
        one, other = (stats.multivariate_normal(cov=law).logpdf(seen) for law in laws)
        expected += one - other
    assert recast_odds(seats) == pytest.approx(expected, rel=1e-6)


def test_a_longer_line_tells_more_and_one_letter_nothing():
    def odds(count):
        off = np.zeros((2, count))
        off[0] = 0.02 * (-1.0) ** np.arange(count)
        seats = Seats(np.arange(count) * 1.0, off, np.full((2, count), 0.005), np.zeros(count, int))
        return recast_odds(seats)

    assert odds(1) == 0.0
    assert odds(5) < odds(10) < odds(40)


def test_the_noise_is_the_sheets_own():
    """Offsets of a known spread give it back with a margin, a third of the slugs cast again."""
    rng = np.random.default_rng(4)
    spread = np.full((2, 30), 0.005)
    held = [
        Seats(np.arange(30.0), rng.normal(0, size * 0.005, (2, 30)), spread, np.zeros(30, int))
        for size in [0.65] * 10 + [4.0] * 5
    ]
    assert 0.65 < noise_of(held) < 1.5 * 0.65
    assert noise_of(held[:2]) == USUAL_NOISE


def test_slugs_cast_again_part_from_those_that_stood():
    forme, cast = notice(), frozenset(range(2, len(notice().slugs), 3))
    later = pulled(
        recast(forme, rng_of(6), [n + 1 for n in cast]), 5, copy=forme.copy,
        **second_scan(rng_of(8)),
    )  # fmt: skip
    pairing = pair_slugs(first(), later)
    odds = [pairing.overlays[n, n].odds(pairing.noise[0]) for n in range(len(later.lines))]
    assert {n for n, value in enumerate(odds) if value >= SAME_ODDS} == cast


def test_muddles_are_looked_for_where_they_come_to_stand():
    done = [Muddle("dropped", 3), Muddle("foreign", 8), Muddle("swapped", 12)]
    assert [sorted(lines) for _, lines in places(done)] == [[2, 3], [8], [12, 13]]


def test_lines_are_spoiled_in_the_picture_as_in_the_text():
    report = first()
    line, text = report.lines[5], report.readings[5].text
    box = line.box
    band = report.sheets[0].image[box.y - 6 : box.bottom + 6].copy()
    left, right = box.x - 6, box.right + 6
    for way, words in ((swap_words, 0), (drop_word, -1), (put_letter, 0)):
        made = way(band, text, line.x_height_px, rng_of(1))
        assert made is not None
        assert made[1] != text
        assert len(made[1].split(" ")) == len(text.split(" ")) + words
        ink = [int((picture[:, left:right] < 128).sum()) for picture in (band, made[0])]
        assert (ink[1] < 0.95 * ink[0]) is (words == -1)
