"""Which program this is, by the hash of all its files: two of one version may well differ."""

from __future__ import annotations

import hashlib
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from proofcheck.reading.readers import version_of
from proofcheck.results.report import Provenance

if TYPE_CHECKING:
    from proofcheck.base.options import Options
    from proofcheck.reading import Reader

__all__ = ["made_with", "program_sha256"]

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


def made_with(reader: Reader, options: Options) -> Provenance:
    """With what a proof was read: reader, choices, and this very program."""
    settings, program = options.as_settings(), program_sha256()
    return Provenance(reader.name, version_of(reader), settings=settings, program=program)
