"""Files within reach: on this machine by their path, elsewhere by an address that fsspec opens."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO, cast

from proofcheck.base.errors import ProofcheckError
from proofcheck.base.visible import visible

if TYPE_CHECKING:
    from proofcheck.pile.piled import Source

__all__ = ["bytes_of", "sha256_of_source"]

_NEEDS = "files named by an address need fsspec: pip install 'proofcheck[cluster]'"


def bytes_of(source: Source) -> bytes:
    """All of a file. Raises ProofcheckError where it can't be read."""
    try:
        with _opened(source) as file:
            return file.read()
    except ProofcheckError:
        raise
    except Exception as error:
        raise ProofcheckError(_why(source, error)) from error


def sha256_of_source(source: Source) -> str:
    """The SHA-256 of a file, in hex. Raises ProofcheckError where it can't be read."""
    digest = hashlib.sha256()
    try:
        with _opened(source) as file:
            while part := file.read(2**20):
                digest.update(part)
    except ProofcheckError:
        raise
    except Exception as error:
        raise ProofcheckError(_why(source, error)) from error
    return digest.hexdigest()


def _opened(source: Source) -> BinaryIO:
    if not source.is_address:
        return Path(source.address).open("rb")
    try:
        import fsspec
    except ImportError as error:
        raise ProofcheckError(_NEEDS) from error
    return cast("BinaryIO", fsspec.open(source.address, "rb").open())


def _why(source: Source, error: Exception) -> str:
    """Any library may be behind an address, with errors of its own."""
    reason = error.strerror if isinstance(error, OSError) and error.strerror else ""
    reason = reason or f"{type(error).__name__}: {error}"
    return f"{source.name} can't be read ({visible(reason)[:160].lower()}); check its name"
