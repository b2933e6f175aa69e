"""The readers who may sit at the desk from other machines: a name and a token each.

They stand in a file beside the docket, `NAME.readers.toml`: each name with the SHA-256 of its
token. The token itself is made here (128 random bits), told once, and kept nowhere.
"""

from __future__ import annotations

import hmac
import json
import re
import secrets
import tomllib
from dataclasses import dataclass
from typing import TYPE_CHECKING

from proofcheck.base.errors import SettingError
from proofcheck.base.visible import visible
from proofcheck.base.writing import write_whole
from proofcheck.docket.canonical import sha256_of
from proofcheck.docket.recording import checked_name

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

__all__ = ["Readers", "add_reader", "load_readers", "readers_path", "remove_reader"]

_HASH = re.compile("[0-9a-f]{64}")
_LARGEST = 1 << 20
_MOST_NAME = 20
"""Signs of a name: initials, as they stand beside each decision."""


@dataclass(frozen=True, slots=True)
class Readers:
    """The readers there are."""

    hashes: Mapping[str, str]
    """The hash of each one's token, by name."""

    def admits(self, name: str, token: str) -> bool:
        """Whether the token is that reader's; takes as long for a name there is not."""
        held = self.hashes.get(name, "0" * 64)
        right = hmac.compare_digest(held, sha256_of(token))
        return right and name in self.hashes


def readers_path(place: Path) -> Path:
    """Where the readers of a docket stand."""
    return place.with_suffix(".readers.toml")


def load_readers(path: Path) -> Readers:
    """The readers in a file; none where there is no file.

    Raises:
        SettingError: it can't be read, or is no list of readers.
    """
    shown = visible(str(path))
    try:
        if path.stat().st_size > _LARGEST:
            msg = f"{shown} is too large for a list of readers"
            raise SettingError(msg)
        held = tomllib.loads(path.read_text("utf-8"))
    except FileNotFoundError:
        return Readers({})
    except OSError as error:
        msg = f"the readers in {shown} can't be read ({error.strerror})"
        raise SettingError(msg) from error
    except (ValueError, RecursionError) as error:
        msg = f"{shown} is no list of readers (not TOML); make it anew with docket reader NAME"
        raise SettingError(msg) from error
    if not all(isinstance(text, str) and _HASH.fullmatch(text) for text in held.values()):
        msg = f"{shown} is no list of readers; each name has the hash of a token"
        raise SettingError(msg)
    return Readers(held)


def add_reader(path: Path, name: str) -> str:
    """Add a reader, or give one a new token; returns the token, which is kept nowhere.

    Raises:
        DocketError: the name can't be used.
        SettingError, OutputError: the file can't be read or written.
    """
    name = checked_name(name, "a reader's name")
    if len(name) > _MOST_NAME:
        msg = f"a reader's name stands beside each decision: no more than {_MOST_NAME} signs"
        raise SettingError(msg)
    token = secrets.token_urlsafe(16)
    _write(path, {**load_readers(path).hashes, name: sha256_of(token)})
    return token


def remove_reader(path: Path, name: str) -> None:
    """Take a reader off. Raises SettingError where there is none of that name."""
    held = dict(load_readers(path).hashes)
    if held.pop(name, None) is None:
        msg = f"there is no reader {visible(name)!r} in {visible(str(path))}"
        raise SettingError(msg)
    _write(path, held)


def _write(path: Path, hashes: Mapping[str, str]) -> None:
    # A name is any text: JSON's quoting is TOML's (basic strings, TOML 1.0).
    lines = [f"{json.dumps(name)} = {json.dumps(text)}" for name, text in sorted(hashes.items())]
    write_whole(path, "\n".join(lines) + "\n", overwrite=True)
