"""Letters of one proof told apart by what the reader saw of them, the copy's words as their labels.

A linear discriminant (Fisher 1936) with the pooled spread within the classes, shrunk towards a
round one (as of Ledoit and Wolf 2004, the share by the count alone), whose data set is one proof:
all but a few of its letters are what the copy says. No letter bears witness for itself: spread and
directions are those of the other letters' parts of the proof, and its own class's mean is that of
the others. How far letters usually lie from their own class is measured the same way, so that a
proof sets its own bar. The idea of finding wrong labels so: Northcutt, Jiang and Chuang,
"Confident Learning" (2021), from memory.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from statistics import median
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Matrix = NDArray[np.float64]

__all__ = ["Discriminant", "Lean", "told_apart"]

NEAREST = 3
PARTS = 4
"""The letters are taken in so many parts, each judged by what the others show."""
DIRECTIONS = 40
"""In which classes differ most; what lies in others is noise."""
LEAST_LETTERS = 40
"""A proof of fewer letters shows no spread."""
LEAST_SPREAD = 0.08
"""No class keeps so close that a letter further off by a few times this were a stranger."""


@dataclass(frozen=True, slots=True)
class Lean:
    """Where a letter lies between two classes."""

    at: float
    """-1 = as the one class (the copy's) usually is, 1 = as the other."""
    from_copy: float
    """How many usual spreads of the copy's class it lies off that, towards the other."""
    from_other: float
    """How many of the other's it falls short of that."""
    copies: int
    """Letters of the copy's class, besides itself."""
    others: int
    """Letters of the other class, besides itself."""
    beside_copies: float
    """How far off the middle of the copy's class it lies, whichever way; 1 = as the furthest tenth
    of that class's letters begins."""
    beside_others: float
    """The same for the other class."""


@dataclass(frozen=True, slots=True, eq=False)
class Discriminant:
    """The letters of a proof laid out so that classes lie apart."""

    classes: tuple[str, ...]
    labels: NDArray[np.intp]
    """(letters,): the class of each by the copy; -1 for none."""
    part: NDArray[np.intp]
    """(letters,): which part each is in."""
    laid: NDArray[np.float32]
    """(parts, letters, directions): each letter where the directions put it that the other parts
    show."""
    places: Matrix
    """(letters, directions): each as its own part has it."""
    means: Matrix
    """(parts, classes, directions): of all letters of a class, in each part's directions."""
    counts: NDArray[np.intp]
    """(classes,): letters of each."""

    def lean(self, letter: int, copy: str, other: str) -> Lean | None:
        """Where a letter lies between what the copy has and another; None if none can be had."""
        if copy not in self.classes or other not in self.classes or copy == other:
            return None
        one, two = self.classes.index(copy), self.classes.index(other)
        mine = self.labels[letter]
        held = self.counts[one] - (mine == one), self.counts[two] - (mine == two)
        if min(held) < 1:
            return None
        at = float(self._leans(np.array([letter]), one, two)[0])
        usual_copy, spread_copy = self._usual(letter, one, one, two)
        usual_other, spread_other = self._usual(letter, two, one, two)
        return Lean(
            at,
            (at - usual_copy) / spread_copy,
            (usual_other - at) / spread_other,
            int(held[0]),
            int(held[1]),
            self._beside(letter, one),
            self._beside(letter, two),
        )

    def nearest(self) -> NDArray[np.intp]:
        """The class that each letter is nearest to, itself left out of its own."""
        letters = np.arange(len(self.labels))
        apart = np.stack([self._apart(letters, k) for k in range(len(self.classes))], axis=1)
        return np.asarray(apart.argmin(axis=1))

    def nearest_of(self, letter: int) -> str:
        """The same of one letter, by name: of all classes at once."""
        means, own = self.means[self.part[letter]], self.labels[letter]
        far = ((self.places[letter] - means) ** 2).sum(axis=1)
        if own >= 0:
            far[own] = self._apart(np.array([letter]), own)[0]
        return self.classes[int(far.argmin())]

    def nearer(self, letter: int, copy: str, other: str) -> float:
        """How far the other class's nearest letters lie, as a share of how far the copy's.

        A class may hold two styles, and its mean lie with neither.
        """
        far = [self._to_nearest(letter, self.classes.index(label)) for label in (other, copy)]
        return far[0] / max(far[1], 1e-9)

    def _beside(self, letter: int, k: int) -> float:
        members = np.flatnonzero(self.labels == k)
        members = members[members != letter]
        far = np.sqrt(self._apart(np.append(members, letter), k))
        usual = float(np.percentile(far[:-1], 90)) if len(members) > 1 else float("inf")
        # Of few letters the furthest is not far: in so many directions they lie off by their root.
        return float(far[-1]) / max(usual, float(np.sqrt(self.laid.shape[2])))

    def _to_nearest(self, letter: int, k: int) -> float:
        """How far a letter lies from the three of a class that are nearest to it."""
        members = np.flatnonzero(self.labels == k)
        laid = self.laid[self.part[letter]]
        off = np.linalg.norm(laid[members[members != letter]] - laid[letter], axis=1)
        return float(np.sort(off)[:NEAREST].mean()) if len(off) else np.inf

    def _means_for(self, letters: NDArray[np.intp], k: int) -> Matrix:
        """(letters, directions): a class's mean for each letter, less the letter itself."""
        means = self.means[self.part[letters], k]
        own, count = self.labels[letters] == k, self.counts[k]
        if count > 1:
            without = (count * means - self.places[letters]) / (count - 1)
            means = np.where(own[:, None], without, means)
        return np.asarray(means)

    def _apart(self, letters: NDArray[np.intp], k: int) -> Matrix:
        far = ((self.places[letters] - self._means_for(letters, k)) ** 2).sum(axis=1)
        alone = (self.labels[letters] == k) & (self.counts[k] < 2)
        return np.where(alone, np.inf, far)

    def _leans(self, letters: NDArray[np.intp], one: int, two: int) -> Matrix:
        """-1 at the mean of the one class, 1 at that of the other."""
        from_, to = self._means_for(letters, one), self._means_for(letters, two)
        way = to - from_
        off = self.places[letters] - (from_ + to) / 2
        return np.asarray(2 * (off * way).sum(axis=1) / np.maximum((way**2).sum(axis=1), 1e-9))

    def _usual(self, letter: int, k: int, one: int, two: int) -> tuple[float, float]:
        """The middling lean of a class's other letters, and their usual spread about it."""
        members = np.flatnonzero(self.labels == k)
        members = members[members != letter]
        ideal = -1.0 if k == one else 1.0
        if len(members) < 2:
            return ideal, 2 * self._least(letter, one, two)
        leans = self._leans(members, one, two)
        middle = float(median(leans.tolist()))
        # Of few letters the spread is guessed: as of four more at the bar no class goes under.
        least = self._least(letter, one, two)
        spread = 1.4826 * float(median(np.abs(leans - middle).tolist()))
        few = 4 / (len(members) + 4)
        return middle, max(least, (1 - few) * spread + few * 2 * least)

    def _least(self, letter: int, one: int, two: int) -> float:
        """The spread that letters have everywhere, as a share of the way between two classes."""
        part = self.part[letter]
        way = float(np.linalg.norm(self.means[part, one] - self.means[part, two]))
        return max(LEAST_SPREAD, 2 / max(way, 1e-9))


def told_apart(features: NDArray[np.float32], labels: Sequence[str]) -> Discriminant | None:
    """Lay out the letters of a proof.

    Args:
        features: (letters, features): what the reader saw of each.
        labels: what the copy has at each; "" where that can't be known.

    Returns:
        None where there are too few letters, or all of one class.
    """
    counted = Counter(label for label in labels if label)
    classes = tuple(counted)
    if sum(counted.values()) < LEAST_LETTERS or len(classes) < 2:
        return None
    number = {label: k for k, label in enumerate(classes)}
    of = np.array([number.get(label, -1) for label in labels])
    part = _parts(of)
    counts = np.array([counted[label] for label in classes])
    # Near their middle, where squares of 32-bit numbers keep their figures.
    centred = features - features.mean(axis=0)
    sums = [_sums(centred[part == one], of[part == one], len(classes)) for one in range(PARTS)]
    directions = min(DIRECTIONS, len(classes) - 1)
    every = np.zeros((PARTS, len(of), directions), np.float32)
    means = np.zeros((PARTS, len(classes), directions))
    for one in range(PARTS):
        ways = _directions([held for k, held in enumerate(sums) if k != one], directions)
        every[one] = centred @ ways.astype(np.float32)
        means[one] = sum(held.of_class for held in sums) @ ways / counts[:, None]
    places = every[part, np.arange(len(of))].astype(np.float64)
    return Discriminant(classes, of, part, every, places, means, counts)


@dataclass(frozen=True, slots=True, eq=False)
class _Sums:
    """What is summed over the letters of one part."""

    squares: Matrix
    """(features, features): of products."""
    of_class: Matrix
    """(classes, features): of the features of each class."""
    counts: NDArray[np.intp]
    """(classes,)."""


def _sums(features: NDArray[np.float32], of: NDArray[np.intp], classes: int) -> _Sums:
    held, which = features[of >= 0], of[of >= 0]
    one_hot = np.zeros((classes, len(which)), np.float32)
    one_hot[which, np.arange(len(which))] = 1
    return _Sums(
        (held.T @ held).astype(np.float64),
        (one_hot @ held).astype(np.float64),
        np.bincount(which, minlength=classes),
    )


def _parts(of: NDArray[np.intp]) -> NDArray[np.intp]:
    """Each class dealt out in turn, so that every part has its share of it."""
    part = np.zeros(len(of), np.intp)
    for k in np.unique(of):
        at = np.flatnonzero(of == k)
        part[at] = (np.arange(len(at)) + k) % PARTS
    return part


def _directions(sums: Sequence[_Sums], count: int) -> Matrix:
    """(features, count): along which classes differ most, one unit the usual spread in a class."""
    held = np.sum([each.counts for each in sums], axis=0).astype(float)
    of_class = np.sum([each.of_class for each in sums], axis=0)
    means = of_class / np.maximum(held, 1)[:, None]
    within = np.sum([each.squares for each in sums], axis=0) - of_class.T @ means
    free = max(held.sum() - (held > 0).sum(), 1.0)
    size = len(within)
    share = size / (size + 2 * free)
    spread = (1 - share) * within / free
    spread[np.diag_indices(size)] += share * np.trace(within) / free / size + 1e-6
    lower = np.linalg.cholesky(spread)
    middle = of_class.sum(axis=0) / held.sum()
    between = np.sqrt(held)[:, None] * (means - middle)
    white = np.linalg.solve(lower, between.T)
    _, ways = np.linalg.eigh(white.T @ white)
    first = white @ ways[:, ::-1][:, :count]
    first /= np.maximum(np.linalg.norm(first, axis=0), 1e-9)
    return np.asarray(np.linalg.solve(lower.T, first))
