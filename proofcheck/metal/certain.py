"""How sure a measure makes us: one curve for every kind."""

from __future__ import annotations

import math

__all__ = ["grown"]


def grown(measure: float, even: float, step: float) -> float:
    """Certainty that grows with a measure: 0.5 at `even`, 0.73 a `step` past it, 0.95 three past.

    The logistic curve; never quite 0 or 1, because a picture is not the type.
    """
    return 1.0 / (1.0 + math.exp(-max(-30.0, min(30.0, (measure - even) / step))))
