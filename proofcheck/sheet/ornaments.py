"""Borders made of one type ornament many times over, round all that a sheet holds.

Such a border is known by its place and its measure together: a ring of ink with white inside it,
and on each of its four sides the same form at even pitch. Lettering has neither. Ink in the ring
that does not come again at that pitch is left where it is: it may be lettering.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from proofcheck.base.units import pt_to_px
from proofcheck.base.values import Box

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

__all__ = ["Border", "find_border", "pitch_of"]

_REDUCED: Final = 4
_JOINED_PT: Final = (1.2, 2.5, 5.0, 9.0)
"""Half the white that is bridged between two ornaments, the least first; at last that of one that
is missing."""
_LEAST_PT: Final = 72.0
"""A border is at least so wide and high."""
_BAND_PT: Final = (2.0, 60.0)
"""How thick it may be."""
_HOLLOW: Final = 0.5
"""Share of its box that is white inside it, at least."""
_SQUARE: Final = 0.85
"""Share of its own box that the white inside fills."""
_RAGGED: Final = 0.1
_PITCH: Final = (0.4, 4.0)
"""Pitch of its ornaments, in its thickness."""
_LEAST_UNITS: Final = 3
_LIKE: Final = 0.5
"""Correlation of a side with itself, one pitch on; lettering comes to a third of it."""
_CLEAR: Final = 0.2
"""… and how much less it is between; a plain rule is like itself everywhere."""
_SAME: Final = 0.93
"""Cosine between an ornament and the one at a pitch or two from it, at two places: worn ornaments
have 0.95 and more, letters beside ornaments or their like 0.9 at most."""
_MATCHED: Final = 0.75
_INSIDE: Final = 0.9
"""Shares of a piece's ink that come again so, and that are in the border's band."""
_PLAY: Final = 0.06
"""How far an ornament may be off its place, in pitches."""
_CORNER: Final = 0.85
"""Cosine between a corner and another one a quarter turned, or an ornament of a side: lettering
at the corners stands upright in all."""
_FORM_PX: Final = 24


@dataclass(frozen=True, slots=True, eq=False)
class Border:
    """A border's own ink, and the boxes of its four sides."""

    mask: NDArray[np.uint8]
    sides: tuple[Box, ...]


@dataclass(frozen=True, slots=True)
class _Ring:
    """A ring of ink: its box, and that of the white inside."""

    outer: Box
    inner: Box


def find_border(ink: NDArray[np.uint8], labels: NDArray[np.int32], dpi: float) -> Border | None:
    """The outermost border of ornaments on a sheet, or None.

    Args:
        ink: the sheet, 1 = ink.
        labels: the map of its pieces.
        dpi: pixels an inch.
    """
    for ring in _rings(ink, dpi):
        found = _as_border(ink, labels, ring)
        if found is not None:
            return found
    return None


def _rings(ink: NDArray[np.uint8], dpi: float) -> Iterator[_Ring]:
    """Rings of ink with white inside, ornaments near each other taken as one."""
    height, width = (side // _REDUCED for side in ink.shape)
    if min(height, width) < 16:
        return
    small = cv2.resize(ink * np.uint8(255), (width, height), interpolation=cv2.INTER_AREA)
    dark = np.asarray(small > 40, np.uint8)
    least = pt_to_px(_LEAST_PT, dpi) / _REDUCED
    band = [pt_to_px(size, dpi) for size in _BAND_PT]
    for reach in _JOINED_PT:
        half = max(round(pt_to_px(reach, dpi) / _REDUCED), 1)
        joined = cv2.dilate(dark, np.ones((2 * half + 1,) * 2, np.uint8))
        outlines, nesting = cv2.findContours(joined, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_SIMPLE)
        for each, place in zip(outlines, nesting[0] if len(outlines) else (), strict=True):
            if place[3] < 0:
                continue
            x, y, wide, high = cv2.boundingRect(outlines[place[3]])
            if min(wide, high) < least or cv2.contourArea(each) < _HOLLOW * wide * high:
                continue
            inner = cv2.boundingRect(each)
            if cv2.contourArea(each) < _SQUARE * inner[2] * inner[3]:
                continue
            hollow = cv2.drawContours(np.zeros_like(dark), [each], -1, 1, cv2.FILLED)
            # A little of the white inside is the border's too: some ornaments reach farther in.
            ring = _Ring(
                _grown(Box(x, y, wide, high), -half),
                _grown(_clear(np.asarray(hollow, np.uint8)), half - 1),
            )
            thick = _thickness(ring)
            if band[0] < min(thick) and max(thick) < band[1]:
                yield ring


def _clear(hollow: NDArray[np.uint8]) -> Box:
    """The box inside a ring that its ornaments stay out of, but for one in ten."""
    x, y, wide, high = cv2.boundingRect(hollow)
    part = hollow[y : y + high, x : x + wide]
    first, last = 100 * _RAGGED, 100 * (1 - _RAGGED)

    def ends(lines: NDArray[np.uint8]) -> tuple[int, int]:
        held = lines[len(lines) // 10 : len(lines) - len(lines) // 10]
        starts, stops = held.argmax(axis=1), held.shape[1] - held[:, ::-1].argmax(axis=1)
        return int(np.percentile(starts, last)), int(np.percentile(stops, first))

    left, right = ends(part)
    top, bottom = ends(np.ascontiguousarray(part.T))
    return Box(x + left, y + top, max(right - left, 1), max(bottom - top, 1))


def _grown(box: Box, by: int) -> Box:
    """A box of the reduced picture in pixels of the whole one, larger (or smaller) all round."""
    x, y = (box.x - by) * _REDUCED, (box.y - by) * _REDUCED
    return Box(x, y, (box.width + 2 * by) * _REDUCED, (box.height + 2 * by) * _REDUCED)


def _thickness(ring: _Ring) -> tuple[int, int, int, int]:
    """Of the head, the foot, the left and the right side."""
    outer, inner = ring.outer, ring.inner
    return (
        inner.y - outer.y,
        outer.bottom - inner.bottom,
        inner.x - outer.x,
        outer.right - inner.right,
    )


def _sides(ring: _Ring, shape: tuple[int, ...]) -> list[tuple[slice, slice]]:
    """Head, foot, left and right side, corners in each."""
    outer, inner = ring.outer, ring.inner
    top, bottom = max(outer.y, 0), min(outer.bottom, shape[0])
    left, right = max(outer.x, 0), min(outer.right, shape[1])
    across, down = slice(left, right), slice(top, bottom)
    return [
        (slice(top, inner.y), across),
        (slice(inner.bottom, bottom), across),
        (down, slice(left, inner.x)),
        (down, slice(inner.right, right)),
    ]


def _as_border(ink: NDArray[np.uint8], labels: NDArray[np.int32], ring: _Ring) -> Border | None:
    """The ring's ink that comes again at even pitch, if all four sides do."""
    again, band = np.zeros_like(ink), np.zeros_like(ink)
    sides = _sides(ring, ink.shape)
    units = []
    for place, window in enumerate(sides):
        side = ink[window] if place < 2 else ink[window].T
        pitch = pitch_of(side)
        if pitch is None:
            return None
        same = _comes_again(side, pitch)
        matched = side & same
        again[window] |= matched if place < 2 else matched.T
        band[window] = 1
        units += _unit(side, same, pitch)
    for window in _like_corners(ink, ring, units):
        again[window] |= ink[window]
    count = int(labels.max(initial=0)) + 1
    area = np.bincount(labels[ink > 0], minlength=count)
    within = np.bincount(labels[(ink & band) > 0], minlength=count)
    repeated = np.bincount(labels[again > 0], minlength=count)
    whole = (within > _INSIDE * area) & (repeated > _MATCHED * area) & (area > 0)
    whole[0] = False
    mask = whole.astype(np.uint8)[labels]
    boxes = tuple(
        Box(w[1].start, w[0].start, w[1].stop - w[1].start, w[0].stop - w[0].start) for w in sides
    )
    return Border(mask, boxes)


def pitch_of(side: NDArray[np.uint8]) -> int | None:
    """At what pitch, in pixels, a level side (1 = ink) repeats itself; None if at none."""
    thick, long = side.shape
    soft = _softened(side, thick / 25)
    soft -= np.float32(soft.mean())
    first, last = max(int(_PITCH[0] * thick), 4), int(min(_PITCH[1] * thick, long / _LEAST_UNITS))
    if last <= first + 2:
        return None
    lags = np.arange(first // 2, last)
    alike = np.array([_alike(soft[:, :-lag], soft[:, lag:]) for lag in lags])
    lowest = np.minimum.accumulate(alike)
    for at in range(1, len(lags) - 1):
        peak = alike[at] >= alike[at - 1] and alike[at] >= alike[at + 1]
        if lags[at] >= first and peak and alike[at] > max(_LIKE, lowest[at] + _CLEAR):
            return int(lags[at])
    return None


def _softened(side: NDArray[np.uint8], by: float) -> NDArray[np.float32]:
    soft = cv2.GaussianBlur(side.astype(np.float32), (0, 0), max(by, 1.0))
    return np.asarray(soft, np.float32)


def _alike(one: NDArray[np.float32], other: NDArray[np.float32]) -> float:
    return float((one * other).sum() / max(np.sqrt((one**2).sum() * (other**2).sum()), 1e-6))


def _comes_again(side: NDArray[np.uint8], pitch: int) -> NDArray[np.uint8]:
    """Places along a level side (1 there) where the same form stands at two places near.

    Near is one or two pitches on or back.
    """
    soft = _softened(side, 0.04 * pitch)
    over = np.ones(pitch, np.float32)
    own = np.convolve((soft**2).sum(axis=0), over, "same")
    play, long = max(round(_PLAY * pitch), 1), side.shape[1]
    found = np.zeros((4, long), np.float32)
    for row, steps in enumerate((-2, -1, 1, 2)):
        for off in range(-play, play + 1, max(play // 2, 1)):
            by = steps * pitch + off
            if abs(by) >= long:
                continue
            first, last = max(by, 0), long + min(by, 0)
            for aslant in (-1, 0, 1):
                there = np.roll(np.roll(soft, by, axis=1), aslant, axis=0)
                both = np.convolve((soft * there).sum(axis=0), over, "same")
                other = np.convolve((there**2).sum(axis=0), over, "same")
                like = both / np.sqrt(np.maximum(own * other, 1e-3))
                found[row, first:last] = np.maximum(found[row, first:last], like[first:last])
    same = np.sort(found, axis=0)[-2] > _SAME
    return np.asarray(np.broadcast_to(same, side.shape), np.uint8)


def _unit(
    side: NDArray[np.uint8], same: NDArray[np.uint8], pitch: int
) -> list[NDArray[np.float32]]:
    """Forms of an ornament of a side, as they fall in a pitch's length at some places."""
    held = np.flatnonzero(same[0])
    held = held[(held > pitch) & (held < side.shape[1] - 2 * pitch)]
    if not len(held):
        return []
    middle = int(held[len(held) // 2])
    return [_form(side[:, middle + at : middle + at + pitch]) for at in range(0, pitch, 4)]


def _form(part: NDArray[np.uint8]) -> NDArray[np.float32]:
    """A part cut to its ink, in one size."""
    x, y, wide, high = cv2.boundingRect(part)
    if not wide or not high:
        return np.zeros((_FORM_PX, _FORM_PX), np.float32)
    grey = cv2.resize(
        part[y : y + high, x : x + wide] * np.uint8(255), (_FORM_PX, _FORM_PX),
        interpolation=cv2.INTER_AREA,
    )  # fmt: skip
    return _softened(np.asarray(grey, np.uint8), 1.0)


def _like_corners(
    ink: NDArray[np.uint8], ring: _Ring, units: list[NDArray[np.float32]]
) -> list[tuple[slice, slice]]:
    """Corners that are another one a quarter turned, or an ornament of a side turned as may be."""
    head, foot, left, right = _sides(ring, ink.shape)
    windows = [(rows[0], columns[1]) for rows in (head, foot) for columns in (left, right)]
    forms = [_form(np.ascontiguousarray(ink[window])) for window in windows]
    found = []
    for place, window in enumerate(windows):
        quarter = [np.rot90(forms[place], turn) for turn in (1, 3)]
        likes = [
            _alike(form, other) for form in quarter for at, other in enumerate(forms) if at != place
        ]
        ways = [np.rot90(forms[place], turn) for turn in range(4)]
        ways += [form[:, ::-1] for form in ways]
        likes += [_alike(form, unit) for form in ways for unit in units]
        if max(likes) > _CORNER:
            found.append(window)
    return found
