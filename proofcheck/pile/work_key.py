"""What a job was read from, as one hash: the same again need not be read again."""

from __future__ import annotations

import hashlib
import json
from dataclasses import fields
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from proofcheck.base.errors import SettingError
from proofcheck.base.visible import visible
from proofcheck.metal.comparing import OWN_COMPARER
from proofcheck.reading.weights import OWN_WEIGHTS

if TYPE_CHECKING:
    from proofcheck.base.options import Options
    from proofcheck.pile.one_read import Task

__all__ = ["work_key"]


def work_key(task: Task) -> str:
    """SHA-256, in hex, of scans, copy, choices and program: of their bytes, never of a time.

    Raises:
        SettingError: a file that the choices name can't be read.
    """
    said = {
        "scans": [sent.sha256 for sent in task.scans],
        "copy": task.copy.sha256,
        # What kind of copy it is, its name tells where its bytes don't.
        "form": Path(task.copy.source.name).suffix.lower(),
        "proof": task.proof,
        "options": _chosen(task.options),
        "program": task.program,
        "networks": [_file(OWN_WEIGHTS), _file(OWN_COMPARER)],
    }
    return hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()


def _chosen(options: Options) -> dict[str, object]:
    """The choices; of a file that is chosen, what is in it."""
    found = {field.name: getattr(options, field.name) for field in fields(options)}
    return {
        name: _file(value) if isinstance(value, Path) else value for name, value in found.items()
    }


def _file(path: Path) -> str:
    try:
        held = path.stat()
        return _digest(path, held.st_size, held.st_mtime_ns)
    except (OSError, ValueError) as error:
        msg = f"the file {visible(str(path))} of the options can't be read; check its name"
        raise SettingError(msg) from error


@lru_cache(maxsize=64)
def _digest(path: Path, _size: int, _changed: int) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()
