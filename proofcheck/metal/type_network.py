"""The networks that look at the type, opened; what to say where one can't be."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from proofcheck.reading.weights import open_network

if TYPE_CHECKING:
    from pathlib import Path

    from onnxruntime import InferenceSession

__all__ = ["open_type_network"]

_TROUBLE = (
    "the weights for looking at the type {}; install proofcheck again "
    "(pip install --force-reinstall proofcheck), or leave the type out (--text-only)"
)


@lru_cache(maxsize=4)
def open_type_network(weights: Path) -> InferenceSession:
    """A network by its file (ONNX), with its checksum beside it.

    Raises:
        WeightsError: missing or damaged.
    """
    return open_network(weights, _TROUBLE)[0]
