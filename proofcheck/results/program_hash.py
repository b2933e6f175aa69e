"""Which program this is, by the hash of all its files: two of one version may well differ."""

from __future__ import annotations

import hashlib
import os
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from proofcheck.reading.readers import version_of
from proofcheck.results.report import Provenance

if TYPE_CHECKING:
    from collections.abc import Iterator

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
        files = sorted(_files(_ROOT))
        for name, path in files:
            with open(path, "rb", buffering=0) as file:  # noqa: PTH123 - hundreds of them
                digest = hashlib.file_digest(file, "sha256").hexdigest()
            told.update(f"{name}\0{digest}\n".encode())
    except OSError:
        return ""
    return told.hexdigest() if files else ""


def _files(folder: Path) -> Iterator[tuple[str, str]]:
    """Names from the folder on, parted by "/", and paths of all files below it but byte code."""
    for place, folders, names in os.walk(folder):
        folders[:] = [name for name in folders if name != "__pycache__"]
        within = Path(place).relative_to(folder).as_posix()
        start = "" if within == "." else f"{within}/"
        for name in names:
            path = os.path.join(place, name)  # noqa: PTH118 - hundreds of them
            if os.path.isfile(path):  # noqa: PTH113
                yield f"{start}{name}", path


def made_with(reader: Reader, options: Options) -> Provenance:
    """With what a proof was read: reader, choices, and this very program."""
    settings, program = options.as_settings(), program_sha256()
    return Provenance(reader.name, version_of(reader), settings=settings, program=program)
