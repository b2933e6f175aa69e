"""Breaks planted in rules printed in the computer: how many are told, and how many sound rules.

    PYTHONPATH=tests:. python -m benchmark.rulebreaks [--seeds 10-13]

Each sheet has 28 rules of one to four pixels at 300 dpi, pulled at the usual and at hard wear;
every second one has a break of 0.4 to 1 mm.
"""

from __future__ import annotations

import argparse
from collections import Counter
from dataclasses import replace

import numpy as np
from typesetter import PRESETS, Proof, pull

from proofcheck.metal.rule_faults import broken_rules
from proofcheck.sheet.pieces import ink_mask
from proofcheck.sheet.ruling import rules_on

DPI, APART = 300.0, 50
SIZES_MM = (0.4, 0.5, 0.6, 0.8, 1.0)


def sheet_of_rules(rng: np.random.Generator) -> tuple[np.ndarray, list[tuple[int, float]]]:
    """A sheet of rules, and of each its height and the size of its break; 0 for a sound one."""
    image, planned = np.full((1500, 1400), 255, np.uint8), []
    for place in range(28):
        y, size = 60 + place * APART, 0.0
        image[y : y + 1 + place % 4, 100:1300] = 0
        if place // 2 % 2:
            size = float(rng.choice(SIZES_MM))
            x = int(rng.integers(250, 1100))
            image[y - 5 : y + 10, x : x + round(size / 25.4 * DPI)] = 255
        planned.append((y, size))
    return image, planned


def main() -> None:
    """Count and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", default="10-13")
    first, last = map(int, parser.parse_args().seeds.split("-"))
    planted, told = Counter(), Counter()
    for wear in ("good", "worn"):
        for seed in range(first, last + 1):
            image, planned = sheet_of_rules(np.random.default_rng(seed))
            how = replace(PRESETS[wear], skew_deg=0.0)
            pulled = pull(Proof(image, (), DPI, "", ()), how, seed=seed)
            rules, ink = rules_on(pulled, DPI), ink_mask(pulled)
            for y, size in planned:
                mine = [rule for rule in rules if abs(rule.middle - y) < APART / 4]
                found = any(any(broken_rules(rule, rules, ink, DPI)) for rule in mine)
                planted[size] += 1
                told[size] += found
    for size in sorted(planted):
        what = f"breaks of {size:.1f} mm" if size else "sound rules"
        print(f"{what}: {told[size]} of {planted[size]} told")


if __name__ == "__main__":
    main()
