"""The letter reader's weights: found, checked against their checksum, opened for the CPU."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from proofcheck.errors import WeightsError
from proofcheck.reading.alphabet import CHARACTERS

if TYPE_CHECKING:
    from onnxruntime import InferenceSession

__all__ = ["OWN_WEIGHTS", "Weights", "open_weights"]

OWN_WEIGHTS = Path(__file__).parent / "weights" / "letters.onnx"
"""The weights that come with the package."""
_REMEDY = (
    "install proofcheck again (pip install --force-reinstall proofcheck), "
    "or read with the OCR engine alone (--reader tesseract)"
)


@dataclass(frozen=True, slots=True, eq=False)
class Weights:
    """An opened network."""

    session: InferenceSession
    sha256: str
    """Of the weights' file, in hex."""
    stride_px: int
    """Columns of a strip for one column of output."""


def open_weights(path: Path = OWN_WEIGHTS, *, threads: int = 2) -> Weights:
    """Open weights for reading.

    Args:
        path: the network (ONNX); its checksum and classes lie beside it, suffix `.json`.
        threads: CPU threads for one batch.

    Raises:
        WeightsError: missing, damaged, or made for other classes.
    """
    facts = _facts(path)
    try:
        content = path.read_bytes()
    except OSError as error:
        msg = f"{path}: the letter reader's weights can't be read; {_REMEDY}"
        raise WeightsError(msg) from error
    digest = hashlib.sha256(content).hexdigest()
    if digest != facts.get("sha256"):
        msg = f"{path}: the letter reader's weights are damaged (wrong SHA-256); {_REMEDY}"
        raise WeightsError(msg)
    if tuple(facts.get("characters", ())) != CHARACTERS:
        msg = f"{path}: weights made for another set of characters; {_REMEDY}"
        raise WeightsError(msg)
    return Weights(_session(path, content, threads), digest, int(facts["stride_px"]))


def _facts(path: Path) -> dict[str, Any]:
    beside = path.with_suffix(".json")
    try:
        facts = json.loads(beside.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        msg = f"{beside}: the letter reader's weights lack their description; {_REMEDY}"
        raise WeightsError(msg) from error
    return facts if isinstance(facts, dict) else {}


def _session(path: Path, content: bytes, threads: int) -> InferenceSession:
    import onnxruntime

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = threads
    options.inter_op_num_threads = 1
    options.log_severity_level = 3
    try:
        return onnxruntime.InferenceSession(content, options, providers=["CPUExecutionProvider"])
    except Exception as error:
        kind = type(error).__name__
        msg = f"{path}: the letter reader's weights can't be opened ({kind}); {_REMEDY}"
        raise WeightsError(msg) from error
