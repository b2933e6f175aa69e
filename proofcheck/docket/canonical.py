"""One way to write a value down, so that its hash is always the same.

JSON with sorted keys, no white space and nothing but ASCII. Floats are refused: figures that
must hash alike everywhere are whole numbers or text.
"""

from __future__ import annotations

import hashlib
import json
from typing import TYPE_CHECKING, Any, TypeAlias

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["Data", "canonical", "file_sha256", "sha256_of"]

Data: TypeAlias = dict[str, Any]
"""A JSON object without floats."""

_CHUNK = 1 << 20


def canonical(value: Data) -> bytes:
    """The value in canonical form. Raises TypeError for a float, ValueError for odd values."""
    _refuse_floats(value)
    return json.dumps(
        value, sort_keys=True, separators=(",", ":"), ensure_ascii=True, allow_nan=False
    ).encode("ascii")


def sha256_of(data: bytes | str) -> str:
    """SHA-256 in hex; text is taken as UTF-8, damaged text as the bytes it was read from."""
    if isinstance(data, str):
        data = data.encode("utf-8", "surrogateescape")
    return hashlib.sha256(data).hexdigest()


def file_sha256(path: Path) -> str:
    """SHA-256 of a file's bytes, in hex. OSError where it can't be read."""
    digest = hashlib.sha256()
    with path.open("rb") as held:
        while chunk := held.read(_CHUNK):
            digest.update(chunk)
    return digest.hexdigest()


def _refuse_floats(value: object) -> None:
    if isinstance(value, float):
        msg = f"{value!r} is a float, whose digits are not the same everywhere"
        raise TypeError(msg)
    if isinstance(value, dict):
        for held in value.values():
            _refuse_floats(held)
    elif isinstance(value, list | tuple):
        for held in value:
            _refuse_floats(held)
