"""What lies in the folder of a scanner: which files are whole, and which make up one proof."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from proofcheck.base.errors import ScanError
from proofcheck.base.visible import visible
from proofcheck.pile.by_name import SCANS
from proofcheck.pile.piled import natural
from proofcheck.pile.slips import Run, runs_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from pathlib import Path

__all__ = ["Group", "Lying", "Parting", "Settling", "groups_of"]

_SHEET = re.compile(r"(.+)[-_ .]([0-9]{1,4})")


@dataclass(frozen=True, slots=True)
class Lying:
    """A file that has been still for a while."""

    path: Path
    size: int
    changed_ns: int
    since: float
    """Since when it has been still, on the clock of `Settling`."""

    @property
    def unchanged(self) -> bool:
        """Whether it is still the file that was seen: a scanner may write another in its place."""
        try:
            held = self.path.stat()
        except OSError:
            return False
        return (held.st_size, held.st_mtime_ns) == (self.size, self.changed_ns)


@dataclass(slots=True)
class Group:
    """Files that make up one proof, or one that makes up several or none."""

    job: str = ""
    files: list[tuple[int | None, Lying]] = field(default_factory=list)
    """Each with the number of its sheet."""
    slip: Lying | None = None
    runs: tuple[Run, ...] = ()
    """Where one file holds the proofs of several jobs, its parts."""
    trouble: str = ""
    whole: bool = False
    """No sheet can come that would belong to it."""

    @property
    def since(self) -> float:
        """Since when all of it has been still."""
        slip = [self.slip] if self.slip else []
        return max(each.since for each in [*(lying for _, lying in self.files), *slip])

    @property
    def all(self) -> tuple[Lying, ...]:
        """Every file of it, the slip first."""
        return (*((self.slip,) if self.slip else ()), *(lying for _, lying in self.files))


class Settling:
    """Looks at a folder again and again, and says which scans in it have been still.

    Args:
        folder: the scanner's.
        settle_s: for how long a file's size and time must not have changed.
    """

    def __init__(self, folder: Path, settle_s: float) -> None:
        self._folder, self._settle_s = folder, settle_s
        self._seen: dict[str, Lying] = {}

    def look(self, now: float) -> tuple[list[Lying], bool]:
        """The scans that are whole, in the order they came, and whether others are on their way.

        Raises:
            OSError: the folder can't be looked at.
        """
        seen: dict[str, Lying] = {}
        for path in self._folder.iterdir():
            if path.name.startswith(".") or path.suffix.lower() not in SCANS:
                continue
            try:
                held = path.stat()
            except OSError:  # gone meanwhile
                continue
            if not path.is_file():
                continue
            before = self._seen.get(path.name)
            same = before is not None and (before.size, before.changed_ns) == (
                held.st_size, held.st_mtime_ns,
            )  # fmt: skip
            since = before.since if same and before is not None else now
            seen[path.name] = Lying(path, held.st_size, held.st_mtime_ns, since)
        self._seen = seen
        still = [each for each in seen.values() if now - each.since >= self._settle_s]
        still.sort(key=lambda each: (each.changed_ns, natural(each.path.name)))
        return still, len(still) < len(seen)


class Parting:
    """Says of each file by its name or its slips what it is; once a file, since it takes a look."""

    def __init__(
        self, known: Callable[[str], str], *, codes: bool, all_: Callable[[], Iterable[str]] = tuple
    ) -> None:
        self._known, self._codes, self._all = known, codes, all_
        self._told: dict[tuple[str, int, int], tuple[Run, ...] | str] = {}

    def by_name(self, path: Path) -> tuple[str, int | None]:
        """The job and the sheet that a name says; "" where it names no job there is."""
        job = self._known(path.stem)
        found = _SHEET.fullmatch(path.stem)
        if job or not found:
            return job, None
        return self._known(found[1]), int(found[2])

    def by_slips(self, lying: Lying) -> tuple[Run, ...] | str:
        """Its parts, or why it can't be looked at."""
        key = lying.path.name, lying.size, lying.changed_ns
        if key not in self._told:
            self._told[key] = self._look(lying.path)
        return self._told[key]

    def job_of_slip(self, text: str) -> str:
        """The job a slip names, or what stands on it where there is none such.

        Code 39 has capitals alone, so that case is passed over where one job alone is meant.
        """
        if self._known(text):
            return self._known(text)
        alike = [number for number in self._all() if number.casefold() == text.casefold()]
        return alike[0] if len(alike) == 1 else text

    def _look(self, path: Path) -> tuple[Run, ...] | str:
        if not self._codes:
            return (Run("", (0,)),)
        try:
            return runs_of(path)
        except ScanError as error:
            return str(error)


def groups_of(still: Iterable[Lying], parting: Parting) -> list[Group]:
    """Files that belong together: sheets by their names, or those after a slip till the next."""
    named: dict[str, Group] = {}
    found: list[Group] = []
    after: Group | None = None
    for lying in still:
        job, sheet = parting.by_name(lying.path)
        if not job:
            after = _by_slip(lying, parting, found, after)
        elif sheet is not None and job in named:
            named[job].files.append((sheet, lying))
        else:
            found.append(Group(job, [(sheet, lying)], whole=sheet is None))
            if sheet is not None:
                named[job] = found[-1]
    for group in found:
        group.files.sort(key=lambda each: each[0] or 0)
        group.trouble = group.trouble or _sheets_trouble(group)
    return found


def _by_slip(
    lying: Lying, parting: Parting, found: list[Group], after: Group | None
) -> Group | None:
    """Put a file whose name says no job where it belongs; the group of the last slip then."""
    runs = parting.by_slips(lying)
    if isinstance(runs, str):
        found.append(Group(files=[(None, lying)], trouble=runs, whole=True))
    elif len(runs) == 1 and runs[0].job and not runs[0].pages:
        if after is not None:
            after.whole = True
        after = Group(parting.job_of_slip(runs[0].job), slip=lying)
        found.append(after)
    elif any(run.job for run in runs):
        found.append(Group(files=[(None, lying)], runs=runs, whole=True))
    elif after is not None:
        after.files.append((None, lying))
    else:
        found.append(_jobless(lying))
    return after


def _jobless(lying: Lying) -> Group:
    words = (
        f"{visible(lying.path.name)} names no job on the docket, and no slip lay before it; "
        "name it by its job (307.png, 307-1.png …), or scan the job's slip first"
    )
    return Group(files=[(None, lying)], trouble=words, whole=True)


def _sheets_trouble(group: Group) -> str:
    numbers = [number for number, _ in group.files if number is not None]
    if len(set(numbers)) < len(numbers):
        names = ", ".join(visible(lying.path.name) for _, lying in group.files)
        return f"two scans are the same sheet of job {visible(group.job)}: {names}; keep one"
    missing = set(range(numbers[0], numbers[-1])) - set(numbers) if numbers else set()
    if missing:
        shown = ", ".join(map(str, sorted(missing)[:8]))
        return f"sheet {shown} of job {visible(group.job)} has not come; scan it with the others"
    return ""
