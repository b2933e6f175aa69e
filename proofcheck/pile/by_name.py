"""Scans and copies of a folder paired by their names.

307.png goes with 307.txt, and so do 307-1.png, 307-2.png … as its sheets in the order of their
numbers. A folder within it that holds one copy alone, under whatever name, is one job: all scans in
it are its sheets. What can't be paired, or in more than one way, is told and never guessed at.
"""

from __future__ import annotations

import itertools
import os
import re
from collections import defaultdict
from pathlib import Path
from typing import TYPE_CHECKING

from proofcheck.base.errors import SettingError
from proofcheck.base.visible import visible
from proofcheck.pile.piled import LeftOut, Pile, Piled, Source, natural, without_twins

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from proofcheck.base.options import Options

__all__ = ["SCANS", "pile_of_folder"]

SCANS = frozenset(
    (
        *(".png", ".jpg", ".jpeg", ".jpe", ".tif", ".tiff", ".webp", ".pdf"),
        *(".bmp", ".gif", ".pnm", ".pgm", ".pbm", ".ppm"),
    )
)
"""Endings of pictures of a proof."""
COPIES = frozenset([".txt", ".text", ".md", ".markdown", ".docx", ".odt"])
_OWN = re.compile(r"-(marked(-\d+)?\.(png|pdf|html)|corrections\.csv|recast\.pdf)$", re.IGNORECASE)
"""Papers that were drawn of a proof are no scans of one."""
_ROLE = re.compile(r"[-_ .](proof|scan|copy|text)$", re.IGNORECASE)
_SHEET = re.compile(r"(.+)[-_ .](?:sheet|page|p)?[-_ .]?([0-9]{1,4})")


def pile_of_folder(folder: Path, options: Options) -> Pile:
    """Pair what is in a folder and in those within it.

    Raises:
        SettingError: the folder is missing, can't be read, or holds neither scan nor copy.
    """
    jobs: list[Piled] = []
    left: list[LeftOut] = []
    for place, names in _folders(folder, left):
        scans, copies = [], []
        for name in sorted(names, key=natural):
            ending = Path(name).suffix.lower()
            if _OWN.search(name):
                left.append(LeftOut(_called(folder, place / name), "a paper drawn of a proof"))
            elif ending in SCANS:
                scans.append(place / name)
            elif ending in COPIES:
                copies.append(place / name)
            else:
                left.append(LeftOut(_called(folder, place / name), "neither scan nor copy"))
        jobs += _paired(folder, place, scans, copies, options)
    if not jobs:
        msg = (
            f"{visible(str(folder))} holds no scan and no copy; put 307.png beside 307.txt, or "
            "give a table of proofs"
        )
        raise SettingError(msg)
    return Pile(without_twins(sorted(jobs, key=lambda each: natural(each.job))), tuple(left))


def _folders(folder: Path, left: list[LeftOut]) -> Iterator[tuple[Path, list[str]]]:
    """Each folder with the names of its files; what is hidden is passed over."""

    def untold(error: OSError) -> None:
        if Path(error.filename) == folder:
            msg = f"{visible(str(folder))} can't be read ({error.strerror}); check your rights"
            raise SettingError(msg) from error
        name = _called(folder, Path(error.filename))
        left.append(LeftOut(name, f"a folder that can't be read ({error.strerror})"))

    for place, within, names in os.walk(folder, onerror=untold):
        within[:] = sorted((w for w in within if not w.startswith(".")), key=natural)
        yield Path(place), [name for name in names if not name.startswith(".")]


def _paired(
    folder: Path, place: Path, scans: Sequence[Path], copies: Sequence[Path], options: Options
) -> list[Piled]:
    """The jobs of one folder, those that can't be read among them."""
    by_key: dict[str, list[Path]] = defaultdict(list)
    for copy in copies:
        by_key[_key(copy)].append(copy)
    held: dict[str, list[tuple[int | None, Path]]] = defaultdict(list)
    lone = []
    for scan in scans:
        key, sheet = _belongs(scan, by_key)
        if key is None:
            lone.append(scan)
        else:
            held[key].append((sheet, scan))
    inner = "" if place == folder else f"{visible(str(place.relative_to(folder)))}/"
    if inner and len(copies) == 1 and lone and not held:
        numbered: list[tuple[int | None, Path]] = [(n, scan) for n, scan in enumerate(lone, 1)]
        return [_job(folder, inner.rstrip("/"), numbered, copies, options)]
    jobs = [
        _job(folder, inner + visible(_stem(its[0])), held[key], its, options)
        for key, its in by_key.items()
    ]
    return jobs + [_copyless(folder, inner, scan) for scan in lone]


def _job(
    folder: Path,
    name: str,
    sheets: Sequence[tuple[int | None, Path]],
    copies: Sequence[Path],
    options: Options,
) -> Piled:
    ordered = sorted(sheets, key=lambda each: (each[0] or 0, natural(each[1].name)))
    sources = tuple(_source(folder, scan) for _, scan in ordered)
    numbers = [number for number, _ in ordered]
    trouble = _trouble(folder, ordered, copies)
    notes = () if trouble else _gap(numbers)
    return Piled(name, sources, _source(folder, copies[0]), options, trouble, notes)


def _trouble(
    folder: Path, sheets: Sequence[tuple[int | None, Path]], copies: Sequence[Path]
) -> str:
    if len(copies) > 1:
        named = ", ".join(_called(folder, copy) for copy in copies)
        return f"more than one copy has its name: {named}; keep the approved one, or give a table"
    if not sheets:
        return f"no scan goes with the copy {_called(folder, copies[0])}; add it, named like it"
    numbers = [number for number, _ in sheets]
    for (number, scan), (other, second) in itertools.pairwise(sheets):
        if number == other or None in numbers:
            both = f"{_called(folder, scan)} and {_called(folder, second)}"
            return f"two scans may be the same sheet: {both}; keep one of them, or give a table"
    return ""


def _gap(numbers: Sequence[int | None]) -> tuple[str, ...]:
    """A word on sheets whose numbers do not run on."""
    known = [number for number in numbers if number is not None]
    if not known:
        return ()
    first = min(known[0], 1)
    missing = sorted(set(range(first, known[-1])) - set(known))
    if not missing:
        return ()
    shown = ", ".join(map(str, missing[:8])) + (" …" if len(missing) > 8 else "")
    return (f"no scan of sheet {shown}: read without it",)


def _copyless(folder: Path, inner: str, scan: Path) -> Piled:
    name = _called(folder, scan)
    trouble = f"no copy goes with {name}; add it as {visible(_stem(scan))}.txt, or give a table"
    return Piled(inner + visible(scan.name), (_source(folder, scan),), None, trouble=trouble)


def _belongs(scan: Path, copies: dict[str, list[Path]]) -> tuple[str | None, int | None]:
    """Which copy's a scan is, and which sheet of it; its whole name goes before its number."""
    key = _key(scan)
    if key in copies:
        return key, None
    found = _SHEET.fullmatch(key)
    base = _ROLE.sub("", found[1]) if found else ""
    return (base, int(found[2])) if found and base in copies else (None, None)


def _key(path: Path) -> str:
    return _stem(path).casefold()


def _stem(path: Path) -> str:
    """The name without ending, and without "-proof", "-copy" and the like behind it."""
    return _ROLE.sub("", path.stem) or path.stem


def _source(folder: Path, path: Path) -> Source:
    return Source(str(path), _called(folder, path))


def _called(folder: Path, path: Path) -> str:
    return visible(str(path.relative_to(folder)))
