"""Wear a perfect impression into a pulled proof: ink, press, paper, scanner.

The ink is worked on twice as fine as the picture: a letter's edge is where its softened shape
meets a threshold that drifts over the sheet (impression, starved ink) and shivers from place to
place (paper), so edges come out ragged but sharp. Where pressure drives the ink outwards, a
darker rim and a thinner inside remain (common knowledge of letterpress).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from .printing import Proof

__all__ = ["PRESETS", "Wear", "pull", "pull_mapped"]

FINE = 2


@dataclass(frozen=True, slots=True)
class Wear:
    """How a proof was inked, pulled and scanned. Lengths in thousandths of an inch (mil)."""

    spread_mil: float = 0.6
    """How far ink goes past the type's own edge."""
    ragged: float = 0.10
    """Shiver of the edge, as a share of full ink."""
    grain_mil: float = 2.6
    """Size of that shiver."""
    uneven: float = 0.05
    """Drift of the impression over the sheet."""
    rim: float = 0.18
    """How much thinner the ink lies inside a stroke than at its rim."""
    starved: float = 0.10
    """Pinholes where ink is thin."""
    specks: float = 1.0
    """Dark specks to the square inch; a third as many white holes in the ink."""
    ink_level: float = 38.0
    paper_level: float = 236.0
    paper_grain: float = 2.0
    blur_mil: float = 1.9
    """The scanner's."""
    noise: float = 1.5
    """The scanner's, grey levels."""
    skew_deg: float = 0.3
    bilevel: bool = False


PRESETS = {
    "clean": Wear(
        spread_mil=0.3, ragged=0.05, uneven=0.02, rim=0.08, starved=0.02, specks=0.2, noise=0.8,
        skew_deg=0.1,
    ),
    "good": Wear(),
    "worn": Wear(
        spread_mil=0.8, ragged=0.15, grain_mil=3.0, uneven=0.10, rim=0.25, starved=0.30,
        specks=4.0, ink_level=52.0, paper_level=226.0, paper_grain=3.5, blur_mil=2.3, noise=3.0,
        skew_deg=0.7,
    ),
}  # fmt: skip


def pull(proof: Proof, wear: Wear | str = "good", seed: int = 0) -> NDArray[np.uint8]:
    """A worn proof of a perfect impression, same size, grey; the same seed gives the same pull."""
    return pull_mapped(proof, wear, seed)[0]


def pull_mapped(
    proof: Proof, wear: Wear | str = "good", seed: int = 0
) -> tuple[NDArray[np.uint8], NDArray[np.float64]]:
    """A worn proof, and the 3×3 matrix from pixels of `proof.image` to its own."""
    how = PRESETS[wear] if isinstance(wear, str) else wear
    per_mil = proof.dpi / 1000.0
    shape = 1.0 - proof.image.astype(np.float32) / 255.0
    chance, rng = _chance(shape.shape, per_mil, how.grain_mil, seed)
    ink = _print(shape, how, per_mil, chance)
    paper = _paper(shape.shape, how, chance)
    sheet = paper * (1 - ink) + how.ink_level * ink
    sheet = _specks(sheet, how, proof.dpi, rng)
    turned, matrix = _skew(sheet, how, rng)
    return _scan(turned, how, per_mil, rng), matrix


@dataclass(frozen=True, slots=True, eq=False)
class _Chance:
    """What chance does to a sheet before a mark is printed on it; the same for many sheets."""

    ink: tuple[NDArray[np.float32], ...]
    """Shiver of the edge, drift of the impression, mottle; twice as fine as the picture."""
    paper: tuple[NDArray[np.float32], ...]
    """Cloud and fibre, at the picture's own size."""
    lamp: float
    state: dict[str, Any]
    """Of the generator, for what comes after."""

    @property
    def nbytes(self) -> int:
        return sum(field.nbytes for field in (*self.ink, *self.paper))


MOST_HELD = 448 << 20
"""Bytes of noise kept for sheets of the same size and seed, the last used longest: drawing it is
most of the work of a pull, and tests print one forme again and again with one thing wrong. There
is room for two sheets of tickets that take turns, boxed and not."""
_HELD: dict[tuple[Any, ...], _Chance] = {}


def _chance(shape, per_mil: float, grain_mil: float, seed: int):
    """The noise of a sheet of that size, and the generator as it stands after drawing it."""
    key = (shape, per_mil, grain_mil, seed)
    chance = _HELD.pop(key, None) or _drawn(*key)
    _HELD[key] = chance
    while len(_HELD) > 1 and sum(each.nbytes for each in _HELD.values()) > MOST_HELD:
        del _HELD[next(iter(_HELD))]
    rng = np.random.default_rng(seed)
    rng.bit_generator.state = chance.state
    return chance, rng


def _drawn(shape, per_mil: float, grain_mil: float, seed: int) -> _Chance:
    rng = np.random.default_rng(seed)
    fine, mil = (shape[0] * FINE, shape[1] * FINE), per_mil * FINE
    drift = _noise(fine, 500 * mil, rng)
    shiver = _noise(fine, grain_mil * mil, rng)
    mottle = _noise(fine, 1.6 * mil, rng)
    paper = (_noise(shape, 60 * per_mil, rng), _noise(shape, 3.5 * per_mil, rng))
    lamp = float(rng.standard_normal())
    return _Chance((shiver, drift, mottle), paper, lamp, rng.bit_generator.state)


def _noise(shape, size_px: float, rng) -> NDArray[np.float32]:
    """Smooth noise of a size, mean 0, standard deviation 1."""
    step = max(int(size_px / 1.5), 1)
    small = (shape[0] // step + 3, shape[1] // step + 3)
    field = rng.standard_normal(small, dtype=np.float32)
    field = cv2.GaussianBlur(field, (0, 0), max(size_px / step, 0.5))
    field = cv2.resize(field, (small[1] * step, small[0] * step), interpolation=cv2.INTER_CUBIC)
    field = field[: shape[0], : shape[1]]
    field -= field.mean()
    field /= field.std() + 1e-6
    return field


def _print(shape, how: Wear, per_mil: float, chance: _Chance) -> NDArray[np.float32]:
    """Share of ink on the paper, 0 to 1, at the picture's own size."""
    mil = per_mil * FINE
    whole = np.zeros_like(shape)
    part = _inked(shape, reach=math.ceil(4 * (1.7 + 3.0) * per_mil) + 3)
    within = shape[part]
    if not within.size:
        return whole
    fine_part = tuple(slice(s.start * FINE, s.stop * FINE) for s in part)
    shiver, drift, mottle = (field[fine_part] for field in chance.ink)
    size = (within.shape[1] * FINE, within.shape[0] * FINE)
    fine = cv2.resize(within, size, interpolation=cv2.INTER_CUBIC)
    soft = cv2.GaussianBlur(fine, (0, 0), 1.7 * mil)
    drift = drift * how.uneven
    # No ink without type beneath: the shiver dies out away from it.
    near = soft * 5
    near -= 0.35
    np.clip(near, 0, 1, out=near)
    edge = shiver * how.ragged
    edge += drift
    edge *= near
    edge += soft
    # A blurred straight edge has slope 1 / (sigma √2π): the threshold that lets ink out so far.
    covered = edge
    covered -= 0.5 - how.spread_mil / (1.7 * 2.507)
    covered /= 0.22
    covered += 0.5
    np.clip(covered, 0, 1, out=covered)
    thin = cv2.GaussianBlur(covered, (0, 0), 3.0 * mil)
    thin *= thin
    thin *= how.rim * (0.6 + 0.4 * mottle)
    # What is left of the ink, worked out in place: these are the largest pictures there are.
    holes = drift
    np.subtract(how.starved, drift, out=holes)
    holes *= 2.0
    holes += mottle - 2.4
    holes /= 0.5
    np.clip(holes, 0, 1, out=holes)
    holes *= min(2 * how.starved, 0.8)
    left = np.subtract(1, thin, out=thin)
    left -= holes
    np.clip(left, 0, 1, out=left)
    left *= covered
    whole[part] = cv2.resize(left, within.shape[::-1], interpolation=cv2.INTER_AREA)
    return whole


def _inked(shape, reach: int) -> tuple[slice, slice]:
    """Where there is ink, and so far around it: elsewhere none can come on the paper."""
    spans = []
    for axis in (1, 0):
        inked = np.flatnonzero(shape.any(axis=axis))
        ends = (inked[0] - reach, inked[-1] + 1 + reach) if inked.size else (0, 0)
        spans.append(slice(max(int(ends[0]), 0), min(int(ends[1]), shape.shape[1 - axis])))
    return spans[0], spans[1]


def _paper(shape, how: Wear, chance: _Chance) -> NDArray[np.float32]:
    cloud = chance.paper[0] * 0.5 * how.paper_grain
    fibre = chance.paper[1] * how.paper_grain
    lamp = np.linspace(-1, 1, shape[1], dtype=np.float32) * (how.paper_grain * chance.lamp)
    return how.paper_level + cloud + fibre + lamp


def _specks(sheet, how: Wear, dpi: float, rng):
    area = sheet.shape[0] * sheet.shape[1] / dpi**2
    out = sheet.copy()
    for level, share in ((how.ink_level + 30, 1.0), (how.paper_level, 0.33)):
        for _ in range(rng.poisson(how.specks * share * area)):
            x, y = (int(rng.integers(0, n)) for n in (out.shape[1], out.shape[0]))
            radius = float(min(rng.exponential(1.1) + 0.5, 4.0)) * dpi / 1000
            axes = (max(round(radius * 16), 4), max(round(radius * rng.uniform(0.4, 1) * 16), 4))
            _blot(out, (x, y), axes, float(level), rng)
    return out


def _blot(out, at, axes, level: float, rng) -> None:
    size = max(axes) // 16 + 3
    y0, x0 = max(at[1] - size, 0), max(at[0] - size, 0)
    part = out[y0 : at[1] + size, x0 : at[0] + size]
    mask = np.zeros(part.shape, np.uint8)
    centre = ((at[0] - x0) * 16, (at[1] - y0) * 16)
    turn = float(rng.uniform(0, 180))
    cv2.ellipse(mask, centre, axes, turn, 0, 360, 255, -1, cv2.LINE_AA, 4)
    share = mask.astype(np.float32) / 255.0 * rng.uniform(0.5, 1.0)
    part[...] = part * (1 - share) + level * share


def _skew(sheet, how: Wear, rng):
    angle = how.skew_deg * float(rng.choice((-1, 1))) * float(rng.uniform(0.6, 1.0))
    height, width = sheet.shape
    matrix = np.eye(3)
    matrix[:2] = cv2.getRotationMatrix2D((width / 2, height / 2), -angle, 1.0)
    turned = cv2.warpAffine(
        sheet, matrix[:2], (width, height), flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REFLECT
    )
    return turned, matrix


def _scan(sheet, how: Wear, per_mil: float, rng) -> NDArray[np.uint8]:
    seen = cv2.GaussianBlur(sheet, (0, 0), max(how.blur_mil * per_mil, 0.3))
    seen += rng.standard_normal(seen.shape, dtype=np.float32) * how.noise
    if how.bilevel:
        cut = (how.ink_level + how.paper_level) / 2
        return np.where(seen < cut, 0, 255).astype(np.uint8)
    return np.clip(np.round(seen), 0, 255).astype(np.uint8)
