"""The shop's settings, found by themselves where none are given.

Looked for is `proofcheck.toml`, in the folder one works in and upward from there; then among the
user's own settings (`proofcheck/settings.toml` in XDG_CONFIG_HOME or ~/.config, on Windows in
APPDATA). The first found holds alone; the reading says which it was.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from proofcheck.base.options import Options, load_settings

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

__all__ = ["NAME", "settings_file", "settings_for"]

NAME = "proofcheck.toml"


def settings_file(folder: Path, environment: Mapping[str, str]) -> Path | None:
    """The settings that hold for work in a folder; None where there are none."""
    held = folder.resolve()
    for above in (held, *held.parents):
        if (above / NAME).is_file():
            return above / NAME
    for place in _users(environment):
        if place.is_file():
            return place
    return None


def _users(environment: Mapping[str, str]) -> list[Path]:
    out = [Path(environment[n]) for n in ("XDG_CONFIG_HOME", "APPDATA") if environment.get(n)]
    if environment.get("HOME"):
        out.append(Path(environment["HOME"]) / ".config")
    return [place / "proofcheck" / "settings.toml" for place in out]


def settings_for(
    given: Path | None,
    *,
    folder: Path | None = None,
    environment: Mapping[str, str] | None = None,
    tell: Callable[[str], None] = lambda _: None,
) -> Options:
    """The shop's choices from the file given, or from the one found; else the usual ones.

    Args:
        given: a file named on the command line.
        folder: where to begin; the folder one works in if not given.
        environment: the process's own if not given.
        tell: told which file was found, in a few words.

    Raises:
        SettingError: the file can't be used.
    """
    if given is not None:
        return load_settings(given)
    found = settings_file(folder or Path.cwd(), os.environ if environment is None else environment)
    if found is None:
        return Options()
    tell(f"settings: {found}")
    return load_settings(found)
