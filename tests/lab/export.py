"""Weights to the file the reader loads: ONNX, normalisation folded in, the classes beside it.

python -m tests.lab.export WEIGHTS.pt OUT.onnx
"""

from __future__ import annotations

import hashlib
import json
import sys
import warnings
from pathlib import Path

import torch

from proofcheck.reading.alphabet import CHARACTERS
from tests.lab.network import STRIDE_PX, LetterNet
from tests.lab.train import new_network

__all__ = ["export"]

_OPSET = 17


def export(weights: Path, out: Path) -> None:
    """Write `out` and, beside it, `.json` with the classes and the file's SHA-256."""
    net: LetterNet = new_network()
    net.load_state_dict(torch.load(weights, map_location="cpu", weights_only=True))
    net.eval()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        torch.onnx.export(
            net,
            (torch.zeros(1, 1, 48, 256),),
            str(out),
            opset_version=_OPSET,
            dynamo=False,
            input_names=["strips"],
            output_names=["scores"],
            dynamic_axes={"strips": {0: "lines", 3: "columns"}, "scores": {0: "lines", 1: "steps"}},
        )
    digest = hashlib.sha256(out.read_bytes()).hexdigest()
    facts = {"sha256": digest, "stride_px": STRIDE_PX, "characters": list(CHARACTERS)}
    out.with_suffix(".json").write_text(json.dumps(facts, ensure_ascii=False, indent=0) + "\n")


if __name__ == "__main__":
    export(Path(sys.argv[1]), Path(sys.argv[2]))
