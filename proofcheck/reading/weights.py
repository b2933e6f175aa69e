"""The letter reader's weights: found, checked against their checksum, opened for the CPU."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from proofcheck.base.errors import WeightsError
from proofcheck.reading.alphabet import CHARACTERS

if TYPE_CHECKING:
    from onnxruntime import InferenceSession

__all__ = ["FEATURES", "OWN_WEIGHTS", "Weights", "open_network", "open_weights"]

FEATURES = "/Add_1_output_0"
"""What the network makes of each column before it names classes, as the export calls it."""

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
    gives_features: bool = False
    """Whether it can be asked for FEATURES too: (lines, features, 1, columns)."""


def open_weights(path: Path = OWN_WEIGHTS) -> Weights:
    """Open weights for reading.

    Args:
        path: the network (ONNX); its checksum and classes lie beside it, suffix `.json`.

    Raises:
        WeightsError: missing, damaged, or made for other classes.
    """
    session, digest, facts = open_network(
        path, f"the letter reader's weights {{}}; {_REMEDY}", also=FEATURES
    )
    if tuple(facts.get("characters", ())) != CHARACTERS:
        msg = f"{path}: weights made for another set of characters; {_REMEDY}"
        raise WeightsError(msg)
    gives = any(output.name == FEATURES for output in session.get_outputs())
    return Weights(session, digest, int(facts["stride_px"]), gives)


def open_network(
    path: Path, trouble: str, also: str = ""
) -> tuple[InferenceSession, str, dict[str, Any]]:
    """Open a network (ONNX) whose checksum lies beside it, suffix `.json`.

    Once a process: it is kept, and given again as long as its files are the same.

    Args:
        path: the network.
        trouble: what to say where it can't be opened, with "{}" for the reason.
        also: a value within it that is to be an output too, where there is one of that name.

    Returns:
        The network, its SHA-256 in hex, and all else that lies beside it.

    Raises:
        WeightsError: missing or damaged.
    """
    beside = path.with_suffix(".json") if path.name else path
    files = _state(path), _state(beside)
    return _opened(path, trouble, also, files)


def _state(path: Path) -> tuple[int, ...]:
    """What tells a file from a later one of the same name; nothing where there is none."""
    try:
        held = path.stat()
    except (OSError, ValueError):
        return ()
    return held.st_dev, held.st_ino, held.st_size, held.st_mtime_ns


@lru_cache(maxsize=4)
def _opened(
    path: Path,
    trouble: str,
    also: str,
    files: tuple[tuple[int, ...], ...],  # noqa: ARG001 - what it is kept by
) -> tuple[InferenceSession, str, dict[str, Any]]:
    facts = _facts(path, trouble)
    try:
        content = path.read_bytes()
    except OSError as error:
        msg = f"{path}: {trouble.format('cannot be read')}"
        raise WeightsError(msg) from error
    digest = hashlib.sha256(content).hexdigest()
    if digest != facts.get("sha256"):
        msg = f"{path}: {trouble.format('are damaged (wrong SHA-256)')}"
        raise WeightsError(msg)
    if also and also.encode() in content:
        content += _output(also)
    return _session(path, content, trouble), digest, facts


def _output(name: str) -> bytes:
    """One more output of floats, to be put after a network (ONNX).

    Messages of protocol buffers that follow one another are merged, lists of theirs joined
    ("Encoding", of its documentation): field 7 of a model is its graph, 12 the graph's outputs.
    """
    of_floats = b"\x12\x04\x0a\x02\x08\x01"
    value = b"\x0a" + bytes([len(name)]) + name.encode() + of_floats
    outputs = b"\x62" + bytes([len(value)]) + value
    return b"\x3a" + bytes([len(outputs)]) + outputs


def _facts(path: Path, trouble: str) -> dict[str, Any]:
    if not path.name:
        msg = f"{path}: {trouble.format('are no file')}"
        raise WeightsError(msg)
    beside = path.with_suffix(".json")
    try:
        facts = json.loads(beside.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        msg = f"{beside}: {trouble.format('lack their description')}"
        raise WeightsError(msg) from error
    return facts if isinstance(facts, dict) else {}


def _session(path: Path, content: bytes, trouble: str) -> InferenceSession:
    import onnxruntime

    options = onnxruntime.SessionOptions()
    # One thread for one batch: its helpers spin while they wait, and cost half as much again.
    options.intra_op_num_threads = 1
    options.inter_op_num_threads = 1
    # A plan of memory for each width of strip that comes is more memory than it saves.
    options.enable_mem_pattern = False
    options.log_severity_level = 3
    try:
        return onnxruntime.InferenceSession(content, options, providers=["CPUExecutionProvider"])
    except Exception as error:
        reason = f"cannot be opened ({type(error).__name__})"
        msg = f"{path}: {trouble.format(reason)}"
        raise WeightsError(msg) from error
