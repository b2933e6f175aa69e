"""Files put away: moved, never lost and never laid over another."""

from __future__ import annotations

import contextlib
import os
import shutil
from typing import TYPE_CHECKING

from proofcheck.base.errors import OutputError
from proofcheck.base.visible import visible
from proofcheck.base.writing import write_whole

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

__all__ = ["put_apart", "put_away"]

WHY = ".why.txt"
_MOST_TRIES = 10_000


def put_away(path: Path, folder: Path) -> Path:
    """Move a file into a folder under its own name, or with a number behind it where one is there.

    Raises:
        OutputError: it can't be moved; it stays where it is.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for number in range(1, _MOST_TRIES):
            name = path.name if number == 1 else f"{path.stem} ({number}){path.suffix}"
            target = folder / name
            if _moved(path, target):
                return target
    except OSError as error:
        why = error.strerror or str(error)
        msg = f"{visible(path.name)} can't be put into {visible(str(folder))} ({why.lower()})"
        raise OutputError(msg) from error
    msg = f"{visible(str(folder))} has too many files called {visible(path.name)}"
    raise OutputError(msg)


def put_apart(paths: Iterable[Path], folder: Path, why: str) -> list[Path]:
    """Move files apart, each with a line beside it that says why."""
    moved = []
    for path in paths:
        target = put_away(path, folder)
        write_whole(target.with_name(target.name + WHY), f"{visible(why)}\n", overwrite=True)
        moved.append(target)
    return moved


def _moved(path: Path, target: Path) -> bool:
    """Whether the file has that name now; False where another has it."""
    try:
        # A link first: it fails where the name is taken, and leaves the file in both places if
        # the program is killed between.
        target.hardlink_to(path)
    except FileExistsError:
        return False
    except OSError:
        return _copied(path, target)
    path.unlink()
    return True


def _copied(path: Path, target: Path) -> bool:
    """For another disk, or one without links: whole there before it goes here."""
    if os.path.lexists(target):
        return False
    with path.open("rb") as source:
        from proofcheck.base.writing import whole_file

        with whole_file(target) as out:
            shutil.copyfileobj(source, out)
    with contextlib.suppress(OSError):
        shutil.copystat(path, target)
    path.unlink()
    return True
