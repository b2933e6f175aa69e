"""Sheets that are no proof, or an odd one: each is read for what it holds, or refused in one line.

What shops send by mistake is common practice.
"""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from test_rules import TEXT, TITLE, notice, report_on
from typesetter import garlanded

from proofcheck.base.errors import SheetUnfitError
from proofcheck.results.report import exit_status

COPY = f"{TITLE}\n{TEXT}"


def ends_of(image, axis):
    held = np.flatnonzero((image < 128).any(axis))
    return int(held[0]), int(held[-1])


def drawn_round(image, seed=1):
    """A line drawn by hand round a proof."""
    rng = np.random.default_rng(seed)
    wide = cv2.copyMakeBorder(image, 160, 160, 160, 160, 0, value=255)
    height, width = wide.shape
    corners = [(70, 70), (width - 70, 70), (width - 70, height - 70), (70, height - 70)]
    points = []
    for (x0, y0), (x1, y1) in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        for share in np.linspace(0, 1, 60):
            dx, dy = rng.normal(0, 3, 2) + 9 * np.sin((7 * share, 5 * share))
            points.append((x0 + (x1 - x0) * share + dx, y0 + (y1 - y0) * share + dy))
    cv2.polylines(wide, [np.array(points, np.int32)], True, 0, 5, cv2.LINE_AA)
    return wide


def test_a_border_drawn_by_hand_is_no_matter_and_hides_none(tmp_path):
    report = report_on(tmp_path, drawn_round(notice().image), COPY)
    assert exit_status(report) == 0, report.unread
    assert "border" in " ".join(report.warnings)


def test_what_is_wrong_within_a_border_drawn_by_hand_is_told(tmp_path):
    proof = notice()
    image = proof.image.copy()
    x, y, wide, tall = (round(side) for side in proof.lines[2].box)
    image[y - 4 : y + tall + 4, x + wide - 160 : x + wide + 4] = 255
    report = report_on(tmp_path, drawn_round(image), COPY)
    assert exit_status(report) == 1


@pytest.mark.parametrize("wrong", [False, True])
def test_two_borders_drawn_one_within_the_other_hide_nothing(tmp_path, wrong):
    proof = notice()
    image = proof.image.copy()
    if wrong:
        x, y, wide, tall = (round(side) for side in proof.lines[2].box)
        image[y - 4 : y + tall + 4, x + wide - 160 : x + wide + 4] = 255
    report = report_on(tmp_path, drawn_round(drawn_round(image), seed=2), COPY)
    assert exit_status(report) == wrong, report.unread
    assert "2 borders" in " ".join(report.warnings)


@pytest.mark.parametrize("wrong", [False, True])
def test_tickets_in_drawn_frames_are_read_one_by_one(tmp_path, wrong):
    """Frames with scooped corners are not straight enough for rules, and none goes round all."""
    proof = notice()
    sound = drawn_round(proof.image)
    image = proof.image.copy()
    if wrong:
        x, y, wide, tall = (round(side) for side in proof.lines[2].box)
        image[y - 4 : y + tall + 4, x + wide - 160 : x + wide + 4] = 255
    report = report_on(tmp_path, np.block([[sound, drawn_round(image)], [sound, sound]]), COPY)
    assert exit_status(report) == wrong, report.unread
    assert "4 borders" in " ".join(report.warnings)
    assert "4 tickets" in " ".join(report.warnings)


def test_a_sheet_with_nothing_but_a_border_says_so(tmp_path):
    image = garlanded(notice(), "star").image.copy()
    (left, right), (top, bottom) = ends_of(image, 0), ends_of(image, 1)
    image[top + 60 : bottom - 60, left + 60 : right - 60] = 255
    with pytest.raises(SheetUnfitError, match="nothing but rules or a border"):
        report_on(tmp_path, image, COPY)


def screened():
    rng = np.random.default_rng(2)
    tone = cv2.GaussianBlur(rng.normal(128, 60, (1500, 1200)).astype(np.float32), (0, 0), 25)
    tone = (tone - tone.min()) / (tone.max() - tone.min()) * 255
    y, x = np.mgrid[0:1500, 0:1200]
    return np.where((np.sin(x * 0.7) + np.sin(y * 0.7)) * 64 + 128 > tone, 0, 255).astype(np.uint8)


def in_its_chase():
    """Type as it stands: mirrored, grey metal, its faces hardly lighter than their shoulders."""
    mirrored = cv2.copyMakeBorder(notice().image[:, ::-1], 120, 120, 120, 120, 0, value=255)
    face = 255 - mirrored.astype(np.float32)
    shadow = cv2.GaussianBlur(np.roll(face, (5, 5), (0, 1)), (0, 0), 2)
    grain = np.random.default_rng(3).normal(0, 6, face.shape)
    metal = 95 + 0.25 * (cv2.GaussianBlur(face, (0, 0), 1) - shadow) + grain
    height, width = metal.shape
    cv2.rectangle(metal, (20, 20), (width - 20, height - 20), 40, 40)
    return np.clip(metal, 0, 255).astype(np.uint8)


def test_a_cut_that_fills_the_page_is_refused(tmp_path):
    with pytest.raises(SheetUnfitError, match="no lines of type"):
        report_on(tmp_path, screened(), COPY)


def test_a_picture_of_the_forme_in_its_chase_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr("test_rules.pull", lambda proof, *_, **__: proof.image)
    with pytest.raises(SheetUnfitError, match="no lines of type"):
        report_on(tmp_path, in_its_chase(), COPY)
