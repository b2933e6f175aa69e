"""One case: files in a folder and the arguments to read them with, all from two numbers."""

from __future__ import annotations

import json
from dataclasses import dataclass
from random import Random
from typing import TYPE_CHECKING

from proofcheck.results.sealing import laid_out, sealed

from .mutate import (
    ODD_WORDS,
    spoilt_bytes,
    spoilt_json,
    spoilt_pack,
    spoilt_sheet,
    spoilt_toml,
    spoilt_words,
)
from .samples import COPY, samples

if TYPE_CHECKING:
    from pathlib import Path

KINDS = {
    "copy": 28, "settings": 20, "scan": 14, "sheet": 8, "report": 9, "record": 7, "words": 8,
    "options": 6,
}  # fmt: skip
"""Kinds of case, and how many in a hundred there are of each."""

_ENCODINGS = ("utf-8", "utf-8", "utf-8", "latin-1", "cp1252", "ascii")
_NAMES = ("a", "\x1b[31ma", "a\nb", "a" * 240, "-a", "ä", "a\u202eb", "a b", "\udcff")
_OPTIONS = (
    *("dpi", "measure", "language", "encoding", "reader", "enforce", "allow", "bands"),
    *("out", "order", "settings", "weights", "job", "proof", "json", "nothing"),
)


@dataclass(frozen=True)
class Case:
    """What to run."""

    kind: str
    arguments: list[str]
    encoding: str


def make_case(seed: int, number: int, folder: Path) -> Case:
    """Write the files of case `number` into `folder`."""
    rng = Random(f"{seed} {number}")
    kind = rng.choices(list(KINDS), list(KINDS.values()))[0]
    arguments = _MAKERS[kind](folder, rng)
    return Case(kind, arguments, rng.choice(_ENCODINGS))


def _put(folder: Path, name: str, data: bytes) -> str:
    (folder / name).write_bytes(data)
    return name


def _sound(folder: Path) -> tuple[str, str]:
    held = samples()
    settings = b"second_look = false\nunfit = true\n"
    _put(folder, "quick.toml", settings)
    return _put(folder, "sound.png", held.scans["a.png"]), _put(folder, "sound.txt", COPY.encode())


def _quick(rng: Random) -> list[str]:
    """The usual end of a command: nothing written, the second witness only now and then."""
    how = ["--list"] if rng.random() < 0.8 else ["--json", "-"]
    settings = [] if rng.random() < 0.05 else ["--settings", "quick.toml"]
    return [*settings, *how, *(["--text-only"] if rng.random() < 0.5 else [])]


def _copy_case(folder: Path, rng: Random) -> list[str]:
    """Copy of every form; most are read against no scan at all, which is quick."""
    scan, _ = _sound(folder)
    name, data = rng.choice(list(samples().copies.items()))
    packed = data.startswith(b"PK") and rng.random() < 0.85
    _put(folder, name, spoilt_pack(data, rng) if packed else spoilt_bytes(data, rng))
    against = scan if rng.random() < 0.08 else "none.png"
    return ["read", against, "--copy", name, *_quick(rng)]


def _words_case(folder: Path, rng: Random) -> list[str]:
    """Odd words in plain copy, read against the sound proof now and then."""
    scan, _ = _sound(folder)
    name = rng.choice(("a.txt", "a.md"))
    _put(folder, name, spoilt_words(samples().copies[name], rng))
    against = scan if rng.random() < 0.3 else "none.png"
    return ["read", against, "--copy", name, *_quick(rng)]


def _scan_case(folder: Path, rng: Random) -> list[str]:
    """A picture or PDF with its bytes spoilt."""
    _, copy = _sound(folder)
    held = samples().scans
    name = rng.choice([*held, "drawn.pdf", "scan.pdf"])
    data = held[name]
    _put(folder, name, spoilt_bytes(data, rng))
    return ["read", name, "--copy", copy, *_quick(rng)]


def _sheet_case(folder: Path, rng: Random) -> list[str]:
    """A sound file with pixels no proof has."""
    _, copy = _sound(folder)
    name = _put(folder, "odd.png", spoilt_sheet(samples().sheet, rng))
    ends = _quick(rng)
    if rng.random() < 0.15:
        ends = [*ends[:2], "--out", "."]
    return ["read", name, "--copy", copy, *ends]


def _settings_case(folder: Path, rng: Random) -> list[str]:
    """Settings, bills of type and faces."""
    scan, copy = _sound(folder)
    name, data = rng.choice(list(samples().settings.items()))
    _put(folder, name, spoilt_toml(data, rng) if name.endswith("toml") else spoilt_bytes(data, rng))
    if name != "shop.toml":
        key = "bill" if name.startswith("bill") else "face"
        _put(folder, "shop.toml", f'{key} = "{name}"\nsecond_look = false\n'.encode())
    against = scan if rng.random() < 0.05 else "none.png"
    return ["read", against, "--copy", copy, "--settings", "shop.toml", "--list"]


def _report_case(folder: Path, rng: Random) -> list[str]:
    """A report of another program's making, handed to the docket."""
    from proofcheck.copytext import load_copy
    from proofcheck.docket import open_docket, open_job, take_copy
    from proofcheck.docket.originals import Original

    scan, copy = _sound(folder)
    held = open_docket(str(folder / "docket.db"), create=True)
    open_job(held, "214", {}, by="ab")
    take_copy(held, "214", load_copy(str(folder / copy)), Original.of(folder / copy), by="ab")
    data = samples().reports["a.json"]
    _put(folder, "a.json", _spoilt_report(data, rng))
    return ["docket", "pull", "214", scan, "--report", "a.json", "--by", "ab"]


def _spoilt_report(data: bytes, rng: Random) -> bytes:
    """Spoilt, and mostly sealed anew: what is spoilt behind a sound seal must be seen as well."""
    if rng.random() < 0.15:
        return spoilt_bytes(data, rng)
    bad = spoilt_json(data, rng)
    try:
        return laid_out(sealed(json.loads(bad))).encode() if rng.random() < 0.8 else bad
    except (ValueError, TypeError):  # what no JSON can hold, or no group of values
        return bad


def _record_case(folder: Path, rng: Random) -> list[str]:
    """A record of another program's making, to be drawn."""
    scan, _ = _sound(folder)
    _put(folder, "a.json", _spoilt_report(samples().reports["a.json"], rng))
    return ["draw", "a.json", *rng.choice((["--scan", scan], [], ["--list"]))]


def _options_case(folder: Path, rng: Random) -> list[str]:
    """Odd names of files and odd values of options."""
    _, copy = _sound(folder)
    name = rng.choice(_NAMES)
    values = (*ODD_WORDS, "0", "1e308", "150", "utf-8", "eng+xyz", "\x1b[2J", "a\nb")
    given = [f"--{rng.choice(_OPTIONS)}", rng.choice(values)[:300]]
    if rng.random() < 0.3:
        return [rng.choice(("clear", "docket", "marks", "revise", "read", name)), name, *given]
    return ["read", f"{name}.png", "--copy", copy, *given, "--list"]


_MAKERS = {
    "copy": _copy_case,
    "words": _words_case,
    "scan": _scan_case,
    "sheet": _sheet_case,
    "settings": _settings_case,
    "report": _report_case,
    "record": _record_case,
    "options": _options_case,
}
