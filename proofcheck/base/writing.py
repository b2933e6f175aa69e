"""Results are written whole or not at all, and nothing is overwritten unless asked.

A result is written to a temporary file in the folder it belongs in and takes its name only when
it is complete, so that a full disk or a stopped program leaves either the old file or none. What
a program that was killed left behind is cleared away by the next that writes into the folder.
"""

from __future__ import annotations

import contextlib
import errno
import os
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from proofcheck.base.errors import OutputError
from proofcheck.base.leavings import begin_file, clear_leavings
from proofcheck.base.visible import visible

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

__all__ = ["check_free", "make_folder", "whole_file", "write_whole"]

_NO_HARD_LINKS = {errno.EPERM, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS, errno.EMLINK}
_REMEDIES = {
    errno.EACCES: "may not be written to; name another folder for it",
    errno.EPERM: "may not be written to; name another folder for it",
    errno.EROFS: "is read-only; name another folder for it",
    errno.ENOENT: "does not exist; make it first or name another",
    errno.ENOTDIR: "is not a folder; name another",
}
"""What is wrong with the folder, by the system's error number, and what to do."""

_FULL = {errno.ENOSPC, errno.EDQUOT}


def check_free(paths: Iterable[Path | str], *, overwrite: bool = False) -> None:
    """Refuse results that could not be written, before the work that makes them is begun.

    Raises:
        OutputError: two results have one name, a file exists already and `overwrite` is off, a
            name is a folder's, or its folder is missing or may not be written to.
    """
    seen: set[Path] = set()
    for given in paths:
        path = _as_path(given)
        with _clear_errors(path):
            place = path.resolve()
            if place in seen and not _is_stream(path):
                msg = f"two results would be written to {_name(path)}; give each a name of its own"
                raise OutputError(msg)
            seen.add(place)
            _refuse_taken(path, overwrite=overwrite)
            _refuse_folder(path)


def write_whole(path: Path | str, data: bytes | str, *, overwrite: bool = False) -> Path:
    """Write a result whole; text goes out as UTF-8 with the line ends it has.

    Raises:
        OutputError: as for `whole_file`.
    """
    with whole_file(path, overwrite=overwrite) as out:
        out.write(data.encode("utf-8") if isinstance(data, str) else data)
    return Path(path)


def make_folder(folder: Path | None) -> None:
    """Make the folder results were asked to go to, where it is not there yet.

    Raises:
        OutputError: it can't be made.
    """
    if folder is None:
        return
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or "no name a folder can have"
        msg = f"can't make the folder {visible(str(folder))} ({why}); name another"
        raise OutputError(msg) from error


@contextmanager
def whole_file(path: Path | str, *, overwrite: bool = False) -> Iterator[BinaryIO]:
    """Open a result for writing bytes; it takes its name when the block ends without error.

    A symbolic link is followed, an existing file's permissions are kept, and a device or pipe
    (/dev/stdout) is written to as it is.

    Raises:
        OutputError: the file exists already and `overwrite` is off; it names a folder; its
            folder is missing, read-only or not to be written to; the disk is full. The text
            says which and what to do. Other errors raised in the block pass through.
    """
    named = _as_path(path)
    with _clear_errors(named):
        _refuse_taken(named, overwrite=overwrite)
        target = named.resolve()
        if _is_stream(target):
            with _clear_errors(named, writes_only=True), target.open("wb") as handle:
                yield handle
            return
        clear_leavings(target.parent)
        begun = begin_file(target.parent)
    try:
        with _clear_errors(named, writes_only=True), begun.handle as handle:
            yield handle
            handle.flush()
            os.fsync(handle.fileno())
        with _clear_errors(named):
            _take_name(begun.path, target, overwrite=overwrite)
    finally:
        begun.end()


def _take_name(temporary: Path, target: Path, *, overwrite: bool) -> None:
    """Give the finished file its name; without `overwrite` never over another, even in a race."""
    if overwrite:
        with contextlib.suppress(FileNotFoundError):
            temporary.chmod(target.stat().st_mode & 0o7777)
        temporary.replace(target)
        return
    try:
        target.hardlink_to(temporary)
    except FileExistsError:
        raise OutputError(_taken(target)) from None
    except OSError as error:
        if error.errno not in _NO_HARD_LINKS:
            raise
        # A file system without hard links: the look-then-rename leaves a moment's gap.
        _refuse_taken(target, overwrite=False)
        temporary.replace(target)


def _as_path(path: Path | str) -> Path:
    if not str(path) or "\0" in str(path):
        msg = f"a result can't be written to “{visible(str(path))}”: that is no file name"
        raise OutputError(msg)
    return Path(path)


def _is_stream(path: Path) -> bool:
    """Whether the path is there and is neither file nor folder (a device, a pipe)."""
    return path.exists() and not path.is_file() and not path.is_dir()


def _refuse_taken(path: Path, *, overwrite: bool) -> None:
    if path.is_dir():
        msg = f"{_name(path)} is a folder; give the name of a file in it"
        raise OutputError(msg)
    if path.is_file() and not overwrite:
        raise OutputError(_taken(path))


def _refuse_folder(path: Path) -> None:
    folder = path.resolve().parent
    if not folder.exists():
        raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT), str(path))
    if not folder.is_dir():
        raise NotADirectoryError(errno.ENOTDIR, os.strerror(errno.ENOTDIR), str(path))
    if not _is_stream(path) and not _may_write(folder):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(path))


def _may_write(folder: Path) -> bool:
    effective = os.access in os.supports_effective_ids
    return os.access(folder, os.W_OK | os.X_OK, effective_ids=effective)


def _taken(path: Path) -> str:
    remedy = "name another, or say --overwrite to replace it"
    return f"{_name(path)} exists already and was left as it is; {remedy}"


def _name(path: Path) -> str:
    return visible(str(path))


@contextmanager
def _clear_errors(path: Path, *, writes_only: bool = False) -> Iterator[None]:
    """Turn the system's errors about this file into one clear line.

    With `writes_only`, errors that name a file pass: a failed write to an open file names none,
    so those are a caller's troubles with files of its own.
    """
    try:
        yield
    except BrokenPipeError:
        raise
    except OSError as error:
        if writes_only and error.filename is not None:
            raise
        raise OutputError(_explained(path, error)) from error


def _explained(path: Path, error: OSError) -> str:
    if error.errno in _FULL:
        return f"can't write {_name(path)}: the disk is full; make room or name another folder"
    if error.errno == errno.ENAMETOOLONG:
        return f"can't write {_name(path)[:60]}…: the name is too long; give a shorter one"
    if error.errno in _REMEDIES:
        folder = _name(path.parent)
        return f"can't write {_name(path)}: the folder {folder} {_REMEDIES[error.errno]}"
    return f"can't write {_name(path)}: {error.strerror or error}; name another place for it"
