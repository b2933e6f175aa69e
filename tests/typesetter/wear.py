"""Wear a perfect impression into a pulled proof: ink, press, paper, scanner.

The ink is worked on twice as fine as the picture: a letter's edge is where its softened shape
meets a threshold that drifts over the sheet (impression, starved ink) and shivers from place to
place (paper), so edges come out ragged but sharp. Where pressure drives the ink outwards, a
darker rim and a thinner inside remain (common knowledge of letterpress).
"""

from __future__ import annotations

from dataclasses import dataclass

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
    rng = np.random.default_rng(seed)
    per_mil = proof.dpi / 1000.0
    shape = 1.0 - proof.image.astype(np.float32) / 255.0
    ink = _print(shape, how, per_mil, rng)
    paper = _paper(shape.shape, how, per_mil, rng)
    sheet = paper * (1 - ink) + how.ink_level * ink
    sheet = _specks(sheet, how, proof.dpi, rng)
    turned, matrix = _skew(sheet, how, rng)
    return _scan(turned, how, per_mil, rng), matrix


def _noise(shape, size_px: float, rng) -> NDArray[np.float32]:
    """Smooth noise of a size, mean 0, standard deviation 1."""
    step = max(int(size_px / 1.5), 1)
    small = (shape[0] // step + 3, shape[1] // step + 3)
    field = rng.standard_normal(small, dtype=np.float32)
    field = cv2.GaussianBlur(field, (0, 0), max(size_px / step, 0.5))
    field = cv2.resize(field, (small[1] * step, small[0] * step), interpolation=cv2.INTER_CUBIC)
    field = field[: shape[0], : shape[1]]
    return (field - field.mean()) / (field.std() + 1e-6)


def _print(shape, how: Wear, per_mil: float, rng) -> NDArray[np.float32]:
    """Share of ink on the paper, 0 to 1, at the picture's own size."""
    size = (shape.shape[1] * FINE, shape.shape[0] * FINE)
    fine = cv2.resize(shape, size, interpolation=cv2.INTER_CUBIC)
    mil = per_mil * FINE
    soft = cv2.GaussianBlur(fine, (0, 0), 1.7 * mil)
    drift = _noise(fine.shape, 500 * mil, rng) * how.uneven
    # No ink without type beneath: the shiver dies out away from it.
    near = np.clip(soft * 5 - 0.35, 0, 1)
    edge = soft + near * (_noise(fine.shape, how.grain_mil * mil, rng) * how.ragged + drift)
    # A blurred straight edge has slope 1 / (sigma √2π): the threshold that lets ink out so far.
    threshold = 0.5 - how.spread_mil / (1.7 * 2.507)
    covered = np.clip((edge - threshold) / 0.22 + 0.5, 0, 1)
    inside = cv2.GaussianBlur(covered, (0, 0), 3.0 * mil) ** 2
    mottle = _noise(fine.shape, 1.6 * mil, rng)
    thin = inside * (how.rim * (0.6 + 0.4 * mottle))
    holes = np.clip((mottle - 2.4 + 2.0 * (how.starved - drift)) / 0.5, 0, 1)
    density = covered * np.clip(1 - thin - holes * min(2 * how.starved, 0.8), 0, 1)
    return cv2.resize(density, shape.shape[::-1], interpolation=cv2.INTER_AREA)


def _paper(shape, how: Wear, per_mil: float, rng) -> NDArray[np.float32]:
    cloud = _noise(shape, 60 * per_mil, rng) * 0.5 * how.paper_grain
    fibre = _noise(shape, 3.5 * per_mil, rng) * how.paper_grain
    lamp = np.linspace(-1, 1, shape[1], dtype=np.float32) * rng.normal(0, how.paper_grain)
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
