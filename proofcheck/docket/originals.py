"""The copy, the scans and the sheets themselves, kept by the SHA-256 of their bytes."""

from __future__ import annotations

import contextlib
import os
import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from proofcheck.base.visible import visible
from proofcheck.base.writing import whole_file
from proofcheck.docket.canonical import Data, file_sha256, sha256_of
from proofcheck.docket.docket_errors import DocketError

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

__all__ = ["Original", "Originals"]

_NAME = re.compile("[0-9a-f]{64}")
_FOLDER = 2
"""Signs of a hash that its folder is named by."""


@dataclass(frozen=True, slots=True)
class Original:
    """One file as it came."""

    name: str
    """Its name, without folders."""
    data: bytes

    @classmethod
    def of(cls, path: Path | str) -> Original:
        """The file at a path. Raises DocketError where it can't be read."""
        path = Path(path)
        try:
            return cls(path.name, path.read_bytes())
        except OSError as error:
            msg = f"{visible(str(path))} can't be read ({error.strerror}); check the path"
            raise DocketError(msg) from error

    def reference(self) -> Data:
        """What an entry says of it."""
        return {
            "sha256": sha256_of(self.data),
            "name": self.name.encode("utf-8", "replace").decode("utf-8"),
            "bytes": len(self.data),
        }


@dataclass(frozen=True, slots=True)
class Originals:
    """A folder of originals, each under its own hash."""

    folder: Path

    def path(self, sha256: str) -> Path:
        """Where the original of that hash lies, whether or not it is there."""
        return self.folder / sha256[:2] / sha256

    def keep(self, originals: Iterable[Original]) -> list[Data]:
        """Store originals safely on disk; returns what an entry says of each.

        Raises:
            OutputError: the disk is full, or the folder can't be written to.
        """
        return [self._keep(original) for original in originals]

    def read(self, sha256: str) -> bytes:
        """The bytes of an original. Raises DocketError where it is gone or has been changed."""
        trouble = self.trouble(sha256)
        if trouble:
            msg = f"the original {sha256[:12]}… {trouble}; run verify, and go back to a kept copy"
            raise DocketError(msg)
        return self.path(sha256).read_bytes()

    def held(self) -> Iterator[str]:
        """Hashes of all originals there, by their names."""
        with contextlib.suppress(FileNotFoundError, NotADirectoryError):
            # Names alone: a long docket has thousands.
            for name in os.listdir(self.folder):  # noqa: PTH208
                if len(name) == _FOLDER:
                    yield from self.held_in(name)

    def held_in(self, name: str) -> list[str]:
        """Hashes of the originals in one folder of them."""
        try:
            names = os.listdir(self.folder / name)  # noqa: PTH208 - names alone
        except OSError:
            return []
        return [held for held in names if _NAME.fullmatch(held) and held.startswith(name)]

    def trouble(self, sha256: str) -> str:
        """What is wrong with the original of that hash; "" if nothing is."""
        path = self.path(sha256)
        try:
            found = file_sha256(path)
        except FileNotFoundError:
            return "is missing"
        except OSError as error:
            return f"can't be read ({error.strerror})"
        return "" if found == sha256 else "has been changed"

    def _keep(self, original: Original) -> Data:
        reference = original.reference()
        path = self.path(str(reference["sha256"]))
        if not self.trouble(str(reference["sha256"])):
            return reference
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            msg = (
                f"originals can't be kept in {visible(str(self.folder))} ({error.strerror}); "
                "nothing was recorded"
            )
            raise DocketError(msg) from error
        with whole_file(path, overwrite=True) as out:
            out.write(original.data)
        for folder in (path.parent, self.folder, self.folder.resolve().parent):
            _settle_folder(folder)
        return reference


def _settle_folder(folder: Path) -> None:
    """See the folder itself onto the disk, where the system lets one."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
