"""How long collation takes: a galley of 300 lines against copy of 100,000 words.

    python tests/benchmark/collation.py [TEXT]

TEXT is any long plain text to take the copy from; without it the copy is made of nonsense words
with the lengths of English ones. Times are of the processor, so that other work on the machine
doesn't count.
"""

from __future__ import annotations

import random
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from collating import copy_of, readings_of, set_in_lines

from proofcheck.collate import collate

WORDS = 100_000
LINES = 300
MEASURE = 52


def nonsense(rng: random.Random) -> str:
    """Words of a vocabulary of 12,000 made-up words, common ones oftener."""
    letters = "eeeeetttaaaooiinnsshhrrddllucmfwypvbgk"
    sizes = (1, 2, 2, 3, 3, 3, 4, 4, 4, 5, 5, 6, 7, 8, 9, 11)
    made = ["".join(rng.choices(letters, k=rng.choice(sizes))) for _ in range(12_000)]
    weights = [1 / (k + 3) for k in range(len(made))]
    words = rng.choices(made, weights, k=WORDS)
    for k in range(0, WORDS, rng.randrange(9, 15)):
        words[k] += rng.choice([".", ",", ";", "!"])
    return " ".join(words)


def worn(lines: list[str], rate: float, rng: random.Random) -> list[str]:
    """The lines with so many of their letters misread."""
    out = []
    for line in lines:
        letters = [
            rng.choice(["", rng.choice("etaoinshrdlu"), c + c])
            if c != " " and rng.random() < rate
            else c
            for c in line
        ]
        out.append(" ".join("".join(letters).split()))
    return out


def main() -> None:
    """Print one row for each share of misread letters."""
    rng = random.Random(1)
    if len(sys.argv) > 1:
        words = Path(sys.argv[1]).read_text(encoding="utf-8", errors="replace").split()
        text = " ".join((words * (WORDS // len(words) + 1))[:WORDS])
    else:
        text = nonsense(rng)
    middle = text.index(" ", len(text) // 2) + 1
    galley = set_in_lines(text[middle : middle + LINES * (MEASURE + 8)], MEASURE, rng)[:LINES]
    print(f"copy {len(text):,} characters, galley {len(galley)} lines")
    for rate in (0.0, 0.01, 0.03):
        readings = readings_of(worn(galley, rate, rng))
        began = time.process_time()
        collation = collate(copy_of(text), readings, part=True)
        spent = time.process_time() - began
        print(
            f"{rate:4.0%} misread: {spent:.2f} s, {len(collation.differences)} differences, "
            f"agreement {collation.agreement:.3f}"
        )


if __name__ == "__main__":
    main()
