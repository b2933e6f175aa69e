"""From evidence to a certainty that means what it says.

A logistic model over the evidence, fitted on planted faults and honest misreadings of pages
whose text is known (`tests.lab.calibrate`), one set of weights for each combination of
witnesses. Of the faults given 0.95, 19 in 20 should be real; the README has the table.
"""

from __future__ import annotations

import json
import math
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import TYPE_CHECKING

from proofcheck.base.errors import WeightsError
from proofcheck.base.kinds import Group, Kind, of_group

if TYPE_CHECKING:
    from proofcheck.base.found import Difference, Fault
    from proofcheck.weigh.evidence import Evidence

__all__ = ["FEATURES", "Calibration", "features_of", "load_calibration"]

RATIO_LEAST, RATIO_MOST = -10.0, 30.0
"""Beyond these nats the letter reader's ratio says nothing more."""

_POINTS = of_group(Group.POINTS)
_SPACES = of_group(Group.SPACES)

FEATURES = (
    "ratio",
    "ratio-strong",
    "second-look",
    "own-letters",
    "own-letters-spoke",
    "certainty-read",
    "point",
    "space",
    "case",
)


def features_of(difference: Difference | Fault, evidence: Evidence) -> tuple[float, ...]:
    """The evidence as the model takes it: one number for each name in FEATURES."""
    ratio = evidence.ratio or 0.0
    bounded = min(max(ratio, RATIO_LEAST), RATIO_MOST)
    return (
        bounded / 10,
        # Most of what a ratio can say is said by the time it passes a few nats.
        math.tanh(bounded / 6),
        # The engine knows no turned sorts and takes each for some letter that stands upright.
        0.0 if difference.kind is Kind.TURNED_SORT else evidence.second_look or 0.0,
        evidence.own_letters or 0.0,
        # They speak of one letter for another only; silent, they say nothing either way.
        float(evidence.own_letters is not None),
        evidence.certainty_read,
        float(difference.kind in _POINTS),
        float(difference.kind in _SPACES),
        float(difference.kind is Kind.CASE),
    )


@dataclass(frozen=True, slots=True)
class Calibration:
    """One fitted model."""

    bias: float
    weights: tuple[float, ...]
    """One for each name in FEATURES."""
    fitted_on: str
    """What it was fitted on, in words."""

    def certainty(self, features: tuple[float, ...]) -> float:
        """Chance that the difference is in the type, 0 to 1."""
        score = self.bias + sum(w * f for w, f in zip(self.weights, features, strict=True))
        return 1 / (1 + math.exp(-max(min(score, 40.0), -40.0)))


@lru_cache(maxsize=8)
def load_calibration(name: str) -> Calibration:
    """The calibration for one reader ("letters", "tesseract").

    Raises:
        WeightsError: the file that came with the package is missing or damaged.
    """
    try:
        held = json.loads(resources.files(__package__).joinpath("calibration.json").read_text())
        model = held[name]
        weights = tuple(float(model["weights"][feature]) for feature in FEATURES)
        return Calibration(float(model["bias"]), weights, str(model["fitted_on"]))
    except (OSError, ValueError, KeyError, TypeError) as error:
        msg = f"the calibration of {name!r} is missing or damaged; install proofcheck again"
        raise WeightsError(msg) from error
