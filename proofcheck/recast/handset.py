"""Type from the case: the spaces that fill a gap, and the sorts a job wants against its font.

The sixtieths of an em that the spaces of the case make together: table of Stewart, *Typesetting*
(1919). The bill of a 15A 30a job font of 12-point: Stewart, *Type* (1918).
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from itertools import combinations_with_replacement
from types import MappingProxyType
from typing import TYPE_CHECKING

from proofcheck.base.errors import SettingError
from proofcheck.base.toml_file import toml_table
from proofcheck.base.visible import visible
from proofcheck.recast.keyed import LIGATURES, units_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

    from proofcheck.recast.change import Change

__all__ = ["SPACES", "SortsWanted", "load_bill", "sorts_wanted", "spaces_for"]

SPACES: Mapping[str, int] = MappingProxyType(
    {"5-to-em": 12, "4-to-em": 15, "3-to-em": 20, "en": 30, "em": 60}
)
"""Spaces of the case in sixtieths of an em."""

_MOST_SPACES = 4


@dataclass(frozen=True, slots=True)
class SortsWanted:
    """What changing the lines asks of the case."""

    put_in: Mapping[str, int]
    """Sorts that go in beyond those that come out of the same lines."""
    short: tuple[tuple[str, int, int], ...]
    """Sorts of which the whole page wants more than the font holds: sort, wanted, held."""
    in_galley: tuple[int, ...]
    """Lines that can be put right in the galley: only a sort turned, swapped or changed for one
    as wide; any other change of spacing goes back into the stick (Stewart 1919)."""


def spaces_for(width_em: float) -> tuple[str, ...]:
    """The spaces of the case nearest to a gap of this width, widest first; the fewer the better.

    ValueError for a width that is not positive.
    """
    if not width_em > 0:
        msg = f"a gap of {width_em} em takes no space"
        raise ValueError(msg)
    wanted = 60 * width_em
    ways = (
        way
        for count in range(1, _MOST_SPACES + 1)
        for way in combinations_with_replacement(SPACES, count)
    )
    best = min(ways, key=lambda way: (abs(sum(SPACES[s] for s in way) - wanted), len(way)))
    return tuple(sorted(best, key=lambda name: -SPACES[name]))


def load_bill(path: Path) -> dict[str, int]:
    """A font's bill from a TOML file: `[sorts]` with `a = 30`; SettingError for a bad one."""
    try:
        table = toml_table(path).get("sorts", {})
        bill = {str(sort): int(count) for sort, count in dict(table).items()}
    except (OSError, ValueError, TypeError, ArithmeticError) as error:
        msg = f"bill of type {visible(str(path))} can't be used: {visible(str(error))}"
        raise SettingError(msg) from error
    if not bill or min(bill.values()) < 0:
        msg = f"bill of type {visible(str(path))} holds no [sorts] with counts of 0 or more"
        raise SettingError(msg)
    return bill


def sorts_wanted(
    changes: Iterable[Change], printed: Mapping[int, str], bill: Mapping[str, int] | None
) -> SortsWanted:
    """Count the sorts of a plan, and those of the whole matter once put right.

    Args:
        changes: the plan's.
        printed: every printed line as read.
        bill: what the font holds; None where it is not known.
    """
    put_in: Counter[str] = Counter()
    taken: set[int] = set()
    whole: Counter[str] = Counter()
    in_galley = []
    for change in changes:
        new = sum((_sorts(slug.text) for slug in change.slugs), Counter())
        old = sum((_sorts(printed.get(line, "")) for line in change.lines), Counter())
        put_in += new - old
        whole += new
        taken.update(change.lines)
        if len(change.lines) == len(change.slugs) == 1 and new == old:
            in_galley.append(change.lines[0])
    whole += sum((_sorts(text) for line, text in printed.items() if line not in taken), Counter())
    short: tuple[tuple[str, int, int], ...] = ()
    if bill is not None:
        short = tuple(
            (sort, count, bill.get(sort, 0))
            for sort, count in sorted(_parted(whole, bill).items())
            if count > bill.get(sort, 0)
        )
    return SortsWanted(dict(sorted(put_in.items())), short, tuple(in_galley))


def _sorts(text: str) -> Counter[str]:
    return Counter(unit for unit in units_of(text) if not unit.isspace())


def _parted(counts: Counter[str], bill: Mapping[str, int]) -> Counter[str]:
    """Joined letters beyond what the font holds of them are set as single ones."""
    out = Counter({sort: count for sort, count in counts.items() if sort not in LIGATURES})
    for joined in LIGATURES:
        count, held = counts.get(joined, 0), bill.get(joined, 0)
        if min(count, held):
            out[joined] = min(count, held)
        for _ in range(max(0, count - held)):
            out.update(joined)
    return out
