"""A trained network written as ONNX, with the SHA-256 that the product asks of it."""

from __future__ import annotations

import hashlib
import json
import warnings
from typing import TYPE_CHECKING

import torch

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from torch import Tensor, nn

__all__ = ["write_network"]

_OPSET = 17


def write_network(
    net: nn.Module,
    shown: tuple[Tensor, ...],
    names: Sequence[str],
    out: Path,
    free: Mapping[int, str],
) -> None:
    """Write `out` with the suffix .onnx and, beside it, .json.

    Args:
        net: the network; is brought to the CPU.
        shown: what it takes, of any size along the free axes.
        names: of what it takes; what it gives is called scores.
        out: the file.
        free: axes that may be of any length, and what they are called.
    """
    path = out.with_suffix(".onnx")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        torch.onnx.export(
            net.cpu().eval(),
            shown,
            str(path),
            opset_version=_OPSET,
            dynamo=False,
            input_names=list(names),
            output_names=["scores"],
            dynamic_axes={name: dict(free) for name in (*names, "scores")},
        )
    digest = hashlib.sha256(path.read_bytes()).hexdigest()
    path.with_suffix(".json").write_text(json.dumps({"sha256": digest}) + "\n", encoding="utf-8")
