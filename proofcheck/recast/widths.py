"""Set widths measured from the proof itself.

A box shows a letter's ink, not its body. But from the left of one letter's ink to the left of the
next one's is what the first has to the right of that edge (r) and what the second has to the left
of it (l), and between words the line's space as well. Thousands of such distances fix r and l of
every letter, up to one length that all r gain and all l lose; the set width r + l is free of it.
The same fit gives the width of the spaces in every line. Distances that don't fit (letters parted
wrongly, another face) lose their weight (Tukey's biweight).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from proofcheck.recast.faces import Face

__all__ = ["SeenLine", "SetWidth", "SetWidths", "fit_widths"]

_SIGMA_PX = 0.45
"""How far a distance between two boxes, cut at whole pixels, is off (common practice)."""
_PRIOR_SHARE = 0.12
"""How far a letter's width strays from that of another face of the same size (seen on three)."""
_LEFT_EM = 0.05
_SPACE_EM = (0.35, 0.35)
_ROUNDS = 7
_HUBER = 1.5
_BIWEIGHT = 4.7
"""Usual constants of the two weights, in deviations."""
_SIGHTINGS = 10
"""A width seen so often is measured; more seldom it leans on the face fallen back on."""


@dataclass(frozen=True, slots=True)
class SeenLine:
    """One printed line as the fit takes it."""

    number: int
    units: tuple[str, ...]
    """Characters and joined letters, " " for a word space; other styles lead with their name."""
    left_pt: tuple[float, ...]
    """Left edge of each one's ink in points (of no meaning for a space)."""


@dataclass(frozen=True, slots=True)
class SetWidth:
    """The set width of one character."""

    width_pt: float
    sure_pt: float
    """Its standard error."""
    seen: int
    """Sightings that bore on it; 0 for one taken from another face."""

    @property
    def measured(self) -> bool:
        """Whether the proof itself shows it well enough."""
        return self.seen >= _SIGHTINGS


@dataclass(frozen=True, slots=True, eq=False)
class SetWidths:
    """Set widths of one size of type on one proof."""

    em_pt: float
    """Points to the em by which the face fallen back on is scaled."""
    face: Face
    """Fallen back on for what was not seen."""
    widths: Mapping[str, SetWidth] = field(default_factory=dict)
    left_pt: Mapping[str, float] = field(default_factory=dict)
    """White to the left of each letter's ink, in points."""
    spaces_pt: Mapping[int, float] = field(default_factory=dict)
    """Width of the word spaces in each line, by its number."""
    covariance: NDArray[np.float64] = field(default_factory=lambda: np.zeros((0, 0)))
    """Of the widths, in their order, square points."""

    def of(self, unit: str) -> SetWidth:
        """The width of a character or of joined letters, seen or fallen back on."""
        found = self.widths.get(unit)
        if found is None:
            width = self.face.width_em(unit) * self.em_pt
            return SetWidth(width, _PRIOR_SHARE * width, 0)
        return found

    def bearing_pt(self, unit: str) -> float:
        """White to the left of a letter's ink."""
        held = self.left_pt.get(unit)
        return self.face.left_em(unit) * self.em_pt if held is None else held

    def error_pt(self, counts: Mapping[str, int]) -> float:
        """Standard error of the length of so many of each character, in points."""
        order = {unit: k for k, unit in enumerate(self.widths)}
        vector = np.zeros(len(order))
        rest = 0.0
        for unit, count in counts.items():
            if unit in order:
                vector[order[unit]] = count
            else:
                rest += (count * self.of(unit).sure_pt) ** 2
        own = float(vector @ self.covariance @ vector) if order else 0.0
        return float(np.sqrt(max(own, 0.0) + rest))


@dataclass(frozen=True, slots=True, eq=False)
class _Distances:
    """From each unit's left edge to the next one's: columns of the fit."""

    first: NDArray[np.int64]
    second: NDArray[np.int64]
    space: NDArray[np.int64]
    """Row of the line whose space lies between, -1 for none."""
    points: NDArray[np.float64]


def fit_widths(lines: Sequence[SeenLine], face: Face, *, em_pt: float, px_pt: float) -> SetWidths:
    """Fit the set widths of all characters in these lines, all of one size of type.

    Args:
        lines: the lines.
        face: what is known of such a face beforehand; says little where letters are often seen.
        em_pt: its size as estimated; the fit corrects it.
        px_pt: points to the pixel.
    """
    names = sorted({unit for line in lines for unit in line.units if unit != " "})
    distances = _distances(lines, {name: k for k, name in enumerate(names)})
    if len(distances.points) < 2:
        return SetWidths(em_pt, face)
    em_pt = _size(distances, names, face, em_pt)
    fit = _Fit(distances, names, face, (em_pt, len(lines), _SIGMA_PX * px_pt))
    fit.settle()
    seen = fit.sightings()
    widths, lefts = fit.widths, fit.lefts
    sure = np.sqrt(np.maximum(np.diag(fit.covariance), 0.0))
    return SetWidths(
        em_pt,
        face,
        {
            name: SetWidth(float(widths[k]), float(sure[k]), int(seen[k]))
            for k, name in enumerate(names)
        },
        {name: float(lefts[k]) for k, name in enumerate(names)},
        {line.number: float(fit.spaces[row]) for row, line in enumerate(lines) if fit.spaced[row]},
        fit.covariance,
    )


def _distances(lines: Sequence[SeenLine], number: Mapping[str, int]) -> _Distances:
    rows: list[tuple[int, int, int, float]] = []
    for row, line in enumerate(lines):
        before, between = -1, -1
        for at, unit in enumerate(line.units):
            if unit == " ":
                between = row
                continue
            if before >= 0:
                length = line.left_pt[at] - line.left_pt[before]
                rows.append((number[line.units[before]], number[unit], between, length))
            before, between = at, -1
    table = np.array(rows, dtype=np.float64).reshape(-1, 4)
    whole = table[:, :3].astype(np.int64)
    return _Distances(whole[:, 0], whole[:, 1], whole[:, 2], table[:, 3])


def _size(distances: _Distances, names: Sequence[str], face: Face, em_pt: float) -> float:
    """The em at which the face fallen back on sets as wide as this one."""
    within = distances.space < 0
    widths = np.array([face.width_em(name) for name in names])
    lefts = np.array([face.left_em(name) for name in names])
    first, second = distances.first[within], distances.second[within]
    wanted = widths[first] - lefts[first] + lefts[second]
    good = wanted > 0.15
    if good.sum() < 8:
        return em_pt
    return float(np.median(distances.points[within][good] / wanted[good]))


class _Fit:
    """Weighted least squares, the spaces of the lines eliminated, solved again as weights settle.

    Unknowns: r of every unit, then l of every unit, then the space of every line.
    """

    def __init__(
        self,
        distances: _Distances,
        names: Sequence[str],
        face: Face,
        scale: tuple[float, int, float],
    ) -> None:
        self._d = distances
        em_pt, self._lines, self._sigma = scale
        self._count = len(names)
        self._prior_width = np.array([face.width_em(name) * em_pt for name in names])
        self._prior_left = np.array([face.left_em(name) * em_pt for name in names])
        self._em_pt = em_pt
        self._weights = np.ones(len(distances.points))
        self.spaces = np.full(self._lines, _SPACE_EM[0] * em_pt)
        self.spaced = np.bincount(distances.space[distances.space >= 0], minlength=self._lines) > 0
        self._unknown = np.concatenate([self._prior_width - self._prior_left, self._prior_left])
        self.covariance = np.zeros((self._count, self._count))

    @property
    def widths(self) -> NDArray[np.float64]:
        both: NDArray[np.float64] = self._unknown[: self._count] + self._unknown[self._count :]
        return both

    @property
    def lefts(self) -> NDArray[np.float64]:
        return self._unknown[self._count :]

    def sightings(self) -> NDArray[np.int64]:
        """How often each unit was seen as first or as second of a distance that counts."""
        held = self._weights > 0.2
        as_first = np.bincount(self._d.first[held], minlength=self._count)
        as_second = np.bincount(self._d.second[held], minlength=self._count)
        seen = np.minimum(as_first, as_second)
        return np.asarray(seen + np.abs(as_first - as_second) // 4, dtype=np.int64)

    def settle(self) -> None:
        """Solve until the weights hold still."""
        for turn in range(_ROUNDS):
            inverse = self._solve()
            residual = self._d.points - self._foretold()
            spread = max(1.4826 * float(np.median(np.abs(residual))), 0.3 * self._sigma)
            away = np.abs(residual) / spread
            if turn < 3:
                self._weights = np.minimum(1.0, _HUBER / np.maximum(away, 1e-9))
            else:
                self._weights = np.clip(1 - (away / _BIWEIGHT) ** 2, 0, 1) ** 2
        n = self._count
        blocks = inverse[:n, :n] + inverse[n:, n:] + inverse[:n, n:] + inverse[n:, :n]
        self.covariance = blocks * max(spread, self._sigma * 0.6) ** 2

    def _foretold(self) -> NDArray[np.float64]:
        n, d = self._count, self._d
        told: NDArray[np.float64] = self._unknown[d.first] + self._unknown[n + d.second]
        spaces: NDArray[np.float64] = np.where(d.space >= 0, self.spaces[d.space], 0.0)
        return told + spaces

    def _solve(self) -> NDArray[np.float64]:
        n, d, w = self._count, self._d, self._weights
        size = 2 * n
        first, second = d.first, n + d.second
        normal: NDArray[np.float64] = np.zeros(size * size)
        for a, b in ((first, first), (first, second), (second, first), (second, second)):
            normal += np.bincount(a * size + b, w, size * size)
        matrix = normal.reshape(size, size)
        right = np.bincount(first, w * d.points, size).astype(np.float64)
        right = right + np.bincount(second, w * d.points, size)
        self._add_prior(matrix, right)
        spaced = d.space >= 0
        line, weight = d.space[spaced], w[spaced]
        across = np.bincount(first[spaced] * self._lines + line, weight, size * self._lines)
        across += np.bincount(second[spaced] * self._lines + line, weight, size * self._lines)
        across = across.reshape(size, self._lines)
        loose = (self._sigma / (_SPACE_EM[1] * self._em_pt)) ** 2
        depth = np.bincount(line, weight, self._lines).astype(np.float64) + loose
        held = np.bincount(line, weight * d.points[spaced], self._lines).astype(np.float64)
        held = held + loose * _SPACE_EM[0] * self._em_pt
        reduced = np.asarray(matrix - (across / depth) @ across.T, dtype=np.float64)
        inverse = np.asarray(np.linalg.inv(reduced), dtype=np.float64)
        self._unknown = np.asarray(inverse @ (right - across @ (held / depth)), dtype=np.float64)
        self.spaces = np.asarray((held - self._unknown @ across) / depth, dtype=np.float64)
        return inverse

    def _add_prior(self, matrix: NDArray[np.float64], right: NDArray[np.float64]) -> None:
        n = self._count
        at = np.arange(n)
        by_width = (self._sigma / (_PRIOR_SHARE * np.maximum(self._prior_width, 0.1))) ** 2
        by_left = (self._sigma / (_LEFT_EM * self._em_pt)) ** 2
        for a, b in ((at, at), (at, n + at), (n + at, at), (n + at, n + at)):
            matrix[a, b] += by_width
        matrix[n + at, n + at] += by_left
        right[:n] += by_width * self._prior_width
        right[n:] += by_width * self._prior_width + by_left * self._prior_left
