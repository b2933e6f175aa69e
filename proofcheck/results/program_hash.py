"""Which program this is, by the hash of all its files: two of one version may well differ."""

from __future__ import annotations

import hashlib
from functools import lru_cache
from pathlib import Path

__all__ = ["program_sha256"]

_ROOT = Path(__file__).resolve().parents[1]


@lru_cache(maxsize=1)
def program_sha256() -> str:
    """SHA-256 over the names and bytes of all files of the package, in the order of their names.

    "" where its files can't be read as files.
    """
    told = hashlib.sha256()
    try:
        files = sorted(
            (path.relative_to(_ROOT).as_posix(), path)
            for path in _ROOT.rglob("*")
            if path.is_file() and "__pycache__" not in path.parts
        )
        for name, path in files:
            told.update(f"{name}\0{hashlib.sha256(path.read_bytes()).hexdigest()}\n".encode())
    except OSError:
        return ""
    return told.hexdigest() if files else ""
