"""The comparer: how likely a letter is of a strange face, or broken, beside its fellows.

A small network sees a letter, its nearest fellows' mean, and the mean and spread of all the others;
it is told what letter it is and how many fellows it has, and nothing of the letters beside it. What
it learnt from is in `weights/CARD.md`.
"""

from __future__ import annotations

from collections import defaultdict
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from proofcheck.metal.beside import (
    CHANNELS,
    beside_fellows,
    beside_in_turn,
    by_themselves,
    kind_numbers,
    others_of,
)
from proofcheck.metal.overlaying import lay_on
from proofcheck.metal.patch_store import blocks
from proofcheck.metal.patches import TALL, WIDE
from proofcheck.metal.type_network import open_type_network

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from numpy.typing import NDArray

    from proofcheck.metal.fount import Fount
    from proofcheck.metal.overlaying import Fellows, Laid
    from proofcheck.metal.patches import Cut

    _Shown = tuple[NDArray[np.float32], NDArray[np.float32]]
    """Pictures (n, CHANNELS, TALL, WIDE), and how many other fellows each letter has."""

__all__ = ["OWN_COMPARER", "Odds", "compare", "compare_alone", "compare_as", "compare_on"]

OWN_COMPARER = Path(__file__).parent / "weights" / "comparer.onnx"
"""The weights that come with the package."""
NEVER = -30.0
"""Log odds of letters that are not looked at."""
_BATCH = 32
"""Letters looked at in one go. More take no less time for each, and 3 MB more of memory for ten."""
_SOUND, _STRANGE, _BROKEN = 0, 1, 2


class Odds(NamedTuple):
    """For each letter of a fount, natural logarithms of odds."""

    strange: NDArray[np.float32]
    """Of another face against sound."""
    broken: NDArray[np.float32]
    """Broken against sound."""


def compare(fount: Fount, look: NDArray[np.bool_], weights: Path = OWN_COMPARER) -> Odds:
    """Look at letters of a fount beside their fellows.

    Args:
        fount: the letters.
        look: which of them to look at; those without fellows are left out.
        weights: of the comparer.

    Raises:
        WeightsError: they are missing or damaged.
    """
    found = Odds(*(np.full(len(fount.text), NEVER, np.float32) for _ in range(2)))
    of_kind: dict[str, list[int]] = defaultdict(list)
    for number in np.flatnonzero(look & np.isfinite(fount.unlike)).tolist():
        of_kind[str(fount.text[number])].append(number)
    who = np.array([number for held in of_kind.values() for number in held], np.intp)
    odds = _asked(fount.text[who].tolist(), _shown(fount, of_kind), weights)
    found.strange[who], found.broken[who] = odds
    return found


def _shown(fount: Fount, of_kind: Mapping[str, Sequence[int]]) -> Iterator[_Shown]:
    """Letters of a fount beside their fellows, kind by kind."""
    for kind, held in of_kind.items():
        its = fount.fellows[kind]
        for mine in blocks(np.array(held)):
            shift, nearest = fount.shift[mine], fount.nearest[mine]
            for few, pictures in beside_in_turn(fount.cut, mine, shift, nearest, its):
                yield pictures, others_of(few, its)


def compare_as(
    character: str,
    cut: Cut,
    number: int,
    laid: Laid,
    fellows: Fellows,
    weights: Path = OWN_COMPARER,
) -> tuple[float, float]:
    """Log odds of strange and of broken against sound, of a letter taken for another.

    Args:
        character: what it is taken for.
        cut: letters.
        number: of the letter in it.
        laid: what came of laying it alone on the other's fellows.
        fellows: of what it may be.
        weights: of the comparer.

    Raises:
        WeightsError: they are missing or damaged.
    """
    odds = _asked_laid(character, cut, np.array([number]), laid, fellows, weights)
    return float(odds.strange[0]), float(odds.broken[0])


def compare_on(
    character: str,
    cut: Cut,
    who: NDArray[np.intp],
    fellows: Fellows,
    weights: Path = OWN_COMPARER,
) -> NDArray[np.float32]:
    """Log odds of strange against sound, of letters held against others than those of their proof.

    Args:
        character: what they are.
        cut: letters.
        who: numbers of those looked at, n of them.
        fellows: under numbers that none of the letters has (`face_known.as_strangers`).
        weights: of the comparer.

    Returns:
        (n,)

    Raises:
        WeightsError: they are missing or damaged.
    """
    return _asked_laid(character, cut, who, lay_on(cut, who, fellows), fellows, weights).strange


def _asked_laid(
    character: str,
    cut: Cut,
    who: NDArray[np.intp],
    laid: Laid,
    fellows: Fellows,
    weights: Path,
) -> Odds:
    """The network's answer on letters taken for one character and laid on its fellows."""
    pictures = beside_fellows(cut, who, laid.shift, laid.nearest, fellows)
    return _asked([character] * len(who), [(pictures, others_of(who, fellows))], weights)


def compare_alone(
    cut: Cut, who: NDArray[np.intp], text: Sequence[str], weights: Path = OWN_COMPARER
) -> Odds:
    """Look at letters that have no fellows, or none of their own style.

    The network was taught of such that no face is strange, so only whether they are broken tells.

    Args:
        cut: letters.
        who: numbers of those looked at.
        text: what each of them is.
        weights: of the comparer.

    Raises:
        WeightsError: they are missing or damaged.
    """
    parts = (who[start : start + _BATCH] for start in range(0, len(who), _BATCH))
    shown = ((by_themselves(cut, part), np.zeros(len(part), np.float32)) for part in parts)
    return _asked(text, shown, weights)


def _asked(text: Sequence[str], shown: Iterable[_Shown], weights: Path) -> Odds:
    """The network's answer on letters shown so, that many fellows each."""
    session, kinds = open_type_network(weights), kind_numbers(text)
    odds = Odds(np.zeros(len(text), np.float32), np.zeros(len(text), np.float32))
    start = 0
    for pictures, fellows in _batches(shown):
        part = slice(start, start + len(fellows))
        given = {"letters": pictures, "kind": kinds[part], "fellows": fellows}
        scores = session.run(None, given)[0]
        odds.strange[part] = scores[:, _STRANGE] - scores[:, _SOUND]
        odds.broken[part] = scores[:, _BROKEN] - scores[:, _SOUND]
        start += len(fellows)
    return odds


def _batches(shown: Iterable[_Shown]) -> Iterator[_Shown]:
    """The same letters in batches of one size, whatever the blocks they come in."""
    pictures = np.zeros((0, CHANNELS, TALL, WIDE), np.float32)
    fellows = np.zeros(0, np.float32)
    for more, their_fellows in shown:
        # A batch is made full first: a block joined to what is left over would be there twice.
        at = min(_BATCH - len(fellows), len(their_fellows)) if len(fellows) else 0
        if at:
            pictures = np.concatenate([pictures, more[:at]])
            fellows = np.concatenate([fellows, their_fellows[:at]])
            if len(fellows) < _BATCH:
                continue
            yield pictures, fellows
        while len(their_fellows) - at >= _BATCH:
            yield more[at : at + _BATCH], their_fellows[at : at + _BATCH]
            at += _BATCH
        pictures, fellows = more[at:].copy(), their_fellows[at:]
    if len(fellows):
        yield pictures, fellows
