"""Folders of papers, one a job: there whole or not at all, and known again by what they are of.

Each is made under a name of its own, brought to disk and then renamed. `done.json` in it says of
what it was made (`work_key`) and what came of it, so that it need not be made again.
"""

from __future__ import annotations

import contextlib
import json
import os
import re
import secrets
import shutil
from typing import TYPE_CHECKING, Any, Self

from proofcheck.base.errors import OutputError
from proofcheck.base.visible import visible
from proofcheck.pile.one_read import Outcome

if TYPE_CHECKING:
    from pathlib import Path

try:
    import fcntl
except ImportError:  # Windows: two batches into one folder are not told there
    fcntl = None  # type: ignore[assignment]

__all__ = ["DONE", "JobFolders"]

DONE = "done.json"
_HELD = ".proofcheck-batch"
_BEGUN = re.compile(r"\.[0-9a-f]{16}\.(part|old)")
_TOLD = ("status", "verdict", "words", "faults", "queries", "unread", "sheets", "seconds")


class JobFolders:
    """Where the papers of a pile go.

    Args:
        folder: of all of them; made where it is not there.
        overwrite: papers of other scans or copy may be replaced.

    Raises:
        OutputError: it can't be made or written to.
    """

    def __init__(self, folder: Path, *, overwrite: bool = False) -> None:
        self.folder, self._overwrite = folder, overwrite
        self._lock = -1
        self.fresh = not (folder / _HELD).is_dir()
        """No pile was read into it before."""
        try:
            folder.mkdir(parents=True, exist_ok=True)
            (folder / _HELD).mkdir(exist_ok=True)
            probe = folder / _HELD / "lock"
            self._lock = os.open(probe, os.O_RDWR | os.O_CREAT, 0o644)
        except OSError as error:
            raise OutputError(_why(folder, error)) from error
        self.scratch = folder / _HELD / "scratch"
        self._hold()
        self._clear()

    def close(self) -> None:
        """Let go of the folder."""
        shutil.rmtree(self.scratch, ignore_errors=True)
        if self._lock >= 0:
            os.close(self._lock)
            self._lock = -1

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def done(self, name: str, key: str) -> Outcome | None:
        """What came of the same work before; None where it was not done.

        Raises:
            OutputError: a folder of that name holds something else, and may not be replaced.
        """
        place = self.folder / name
        told = _done_in(place)
        if told is not None and told["key"] == key and _all_there(place, told):
            found = {each: told[each] for each in _TOLD}
            return Outcome(**found, papers=tuple((p, b"") for p in told["papers"]), lasting=True)
        if os.path.lexists(place):
            self._refuse_taken(place, told, key)
        return None

    def lay(self, name: str, key: str, outcome: Outcome) -> None:
        """Lay the papers of a job down, whole. Raises OutputError where they can't be."""
        begun = self.folder / f".{secrets.token_hex(8)}.part"
        told: dict[str, Any] = {each: getattr(outcome, each) for each in _TOLD}
        told |= {"key": key, "papers": {name: len(data) for name, data in outcome.papers}}
        try:
            begun.mkdir()
            for paper, data in outcome.papers:
                _settled(begun / paper, data)
            _settled(begun / DONE, json.dumps(told, indent=1).encode())
            _settle_folder(begun)
            self._take_name(begun, self.folder / name)
            _settle_folder(self.folder)
        except OSError as error:
            raise OutputError(_why(self.folder, error)) from error
        finally:
            shutil.rmtree(begun, ignore_errors=True)

    def _refuse_taken(self, place: Path, told: dict[str, Any] | None, key: str) -> None:
        """Replace nothing but our own papers, and those only where it was asked for."""
        remedy = "move it away, or say --overwrite"
        if told is None or _others_in(place, told):
            what, remedy = "files that are none of these papers", "move them away"
        elif self._overwrite:
            return
        elif told["key"] == key:
            what = "papers that are not as they were left"
        else:
            what = "papers of another scan, copy or choice"
        msg = f"{visible(str(place))} holds {what}; {remedy}"
        raise OutputError(msg)

    def _take_name(self, begun: Path, place: Path) -> None:
        if os.path.lexists(place):
            if not self._overwrite:
                msg = f"{visible(str(place))} was made meanwhile and left as it is; read again"
                raise OutputError(msg)
            old = self.folder / f".{secrets.token_hex(8)}.old"
            place.rename(old)
            begun.rename(place)
            _removed(old)
        else:
            begun.rename(place)

    def _hold(self) -> None:
        if fcntl is None:
            return
        try:
            fcntl.flock(self._lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as error:
            os.close(self._lock)
            name = visible(str(self.folder))
            msg = f"another batch is at work in {name}; wait for it, or name another folder"
            raise OutputError(msg) from error
        except OSError:  # a file system without locks
            return

    def _clear(self) -> None:
        """Clear away what was begun by one that was killed, and make room to work in."""
        shutil.rmtree(self.scratch, ignore_errors=True)
        try:
            for path in self.folder.iterdir():
                if _BEGUN.fullmatch(path.name):
                    _removed(path)
            self.scratch.mkdir()
        except OSError as error:
            self.close()
            raise OutputError(_why(self.folder, error)) from error


def _done_in(place: Path) -> dict[str, Any] | None:
    try:
        told = json.loads((place / DONE).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    wanted = {*_TOLD, "key", "papers"}
    return told if isinstance(told, dict) and wanted <= told.keys() else None


def _others_in(place: Path, told: dict[str, Any]) -> bool:
    """Whether a person has laid something of his own among the papers."""
    try:
        return any(path.name not in {*told["papers"], DONE} for path in place.iterdir())
    except OSError:
        return True


def _all_there(place: Path, told: dict[str, Any]) -> bool:
    try:
        return all((place / name).stat().st_size == size for name, size in told["papers"].items())
    except OSError:
        return False


def _settled(path: Path, data: bytes) -> None:
    with path.open("xb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def _settle_folder(folder: Path) -> None:
    with contextlib.suppress(OSError, AttributeError):  # not on every system
        held = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(held)
        finally:
            os.close(held)


def _removed(path: Path) -> None:
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path, ignore_errors=True)
    else:
        with contextlib.suppress(OSError):
            path.unlink()


def _why(folder: Path, error: OSError) -> str:
    reason = (error.strerror or str(error)).lower()
    return f"results can't be written to {visible(str(folder))} ({reason}); name another folder"
