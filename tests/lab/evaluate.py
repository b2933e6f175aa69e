"""How well weights read: error rates on made-up lines of faces never trained on.

    python -m tests.lab.evaluate WEIGHTS.onnx HELD_ATLAS.npz WORDS.txt [LINES]

Prints the character error rate for worn and clean print, which characters are taken for which,
and whether the eye is narrow: real words against the same words with their letters shuffled. Then
the rate by style of face, and for accents and Greek.
"""

from __future__ import annotations

import dataclasses
import logging
import sys
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import torch
from rapidfuzz.distance import Levenshtein

from proofcheck.reading import ctc
from proofcheck.reading.alphabet import CHARACTERS
from proofcheck.reading.weights import Weights, open_weights
from tests.lab import atlas as atlases
from tests.lab.matter import Matter
from tests.lab.press import Forme, Press, forme_of
from tests.lab.setting import Setter

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from tests.lab.atlas import Atlas

__all__ = ["Score", "by_kind", "narrow_view", "read_strips", "score_lines"]

_MATTER = ("accented", "greek")
_log = logging.getLogger(__name__)


@dataclass(slots=True)
class Score:
    """Errors of many lines."""

    characters: int = 0
    errors: int = 0
    taken_for: Counter[tuple[str, str]] = field(default_factory=Counter)
    """(true, read), "" for nothing."""
    true: Counter[str] = field(default_factory=Counter)

    @property
    def rate(self) -> float:
        """Character error rate."""
        return self.errors / max(self.characters, 1)

    def add(self, true: str, read: str) -> None:
        """Count one line."""
        self.characters += len(true)
        self.true.update(true)
        for step in Levenshtein.opcodes(true, read):
            a, b, c, d = step.src_start, step.src_end, step.dest_start, step.dest_end
            if step.tag == "equal":
                continue
            self.errors += max(b - a, d - c)
            for at in range(max(b - a, d - c)):
                one = true[a + at] if a + at < b else ""
                other = read[c + at] if c + at < d else ""
                self.taken_for[one, other] += 1


def read_strips(weights: Weights, strips: NDArray[np.float32]) -> list[str]:
    """Read strips (n, 1, 48, W), 1 = ink."""
    read = []
    for start in range(0, len(strips), 16):
        scores = weights.session.run(None, {"strips": strips[start : start + 16]})[0]
        for score in scores:
            score = score - np.logaddexp.reduce(score, axis=1, keepdims=True)  # noqa: PLW2901
            text = "".join(CHARACTERS[number] for number in ctc.greedy(score).classes)
            read.append(" ".join(text.split()))
    return read


def score_lines(
    weights: Weights, setter: Setter, press: Press, count: int, batch: int = 32
) -> Score:
    """Read `count` lines made up by `setter` and printed by `press`."""
    score = Score()
    for _ in range(-(-count // batch)):
        lines = setter.batch(batch)
        with torch.no_grad():
            strips = press.strips(Forme(*forme_of(lines))).numpy()
        for true, read in zip(lines.texts, read_strips(weights, strips), strict=True):
            score.add(true, read)
    return score


class _PlainWords(Matter):
    """Words as they are, or each with its letters shuffled; the same words either way."""

    def __init__(self, words: Sequence[str], seed: int, *, shuffled: bool) -> None:
        super().__init__(words, np.random.default_rng(seed))
        self.shuffled = shuffled
        self.shuffler = np.random.default_rng(seed + 1)

    def _token_text(self, regime: str) -> str:
        word = self._word()
        order = self.shuffler.permutation(len(word))
        return "".join(word[at] for at in order) if self.shuffled else word


def narrow_view(
    weights: Weights, atlas: Atlas, words: Sequence[str], count: int
) -> tuple[Score, Score]:
    """Scores of real words and of the same words shuffled, otherwise set and worn alike."""
    scores = []
    for shuffled in (False, True):
        setter = Setter(atlas, words, np.random.default_rng(5))
        setter.matter = _PlainWords(words, 6, shuffled=shuffled)
        scores.append(score_lines(weights, setter, Press(atlas, torch.device("cpu"), 7), count))
    return scores[0], scores[1]


def by_kind(weights: Weights, atlas: Atlas, words: Sequence[str], count: int) -> dict[str, Score]:
    """Scores of worn lines by style of face, and of accents and Greek in all of them."""
    scores = {}
    usual = (("words", 0.58), ("nonsense", 0.24), ("figures", 0.10), ("odd", 0.08))
    styles = dict.fromkeys(face.style for face in atlas.faces)
    wanted = [(style, usual) for style in styles if style != "ornament"]
    for name, regimes in [
        *wanted,
        ("accented", (("accented", 1.0),)),
        ("greek", (("greek", 1.0),)),
    ]:
        kept = [n for n, face in enumerate(atlas.faces) if face.style == name or name in _MATTER]
        part = dataclasses.replace(
            atlas,
            faces=tuple(atlas.faces[n] for n in kept),
            **{field: getattr(atlas, field)[kept] for field in ("table", "cap_height", "em")},
        )
        setter = Setter(part, words, np.random.default_rng(3), regimes)
        scores[name] = score_lines(weights, setter, Press(part, torch.device("cpu"), 4), count)
    return scores


def _tell(name: str, score: Score) -> None:
    _log.info("%s: %.3f %% of %d characters", name, 100 * score.rate, score.characters)


def _tell_confusions(pairs: Iterable[tuple[tuple[str, str], int]], true: Counter[str]) -> None:
    for (one, other), count in pairs:
        _log.info("  %r read as %r: %d of %d", one, other, count, true[one])


def _main(path: Path, atlas_path: Path, words_path: Path, count: int) -> None:
    weights, atlas = open_weights(path), atlases.load(atlas_path)
    words = words_path.read_text(encoding="utf-8").split()
    for name, wear in (("worn", 1.0), ("clean", 0.0)):
        setter = Setter(atlas, words, np.random.default_rng(3))
        press = Press(atlas, torch.device("cpu"), 4, wear=wear)
        score = score_lines(weights, setter, press, count)
        _tell(name, score)
        _tell_confusions(score.taken_for.most_common(40), score.true)
    plain, shuffled = narrow_view(weights, atlas, words, count)
    _tell("real words", plain)
    _tell("the same, letters shuffled", shuffled)
    for name, score in by_kind(weights, atlas, words, count).items():
        _tell(name, score)


if __name__ == "__main__":
    logging.basicConfig(level=logging.INFO, format="%(message)s")
    given = sys.argv[1:]
    _main(Path(given[0]), Path(given[1]), Path(given[2]), int(given[3]) if given[3:] else 400)
