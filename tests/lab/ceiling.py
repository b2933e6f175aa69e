"""How many letters of another book could be told from a page's own, by whoever knew both books.

    python -m tests.lab.ceiling PATH/TO/scans/books [--epochs 8] [--seed 1]

The comparer must tell a letter of a face it has never seen. Here a network of its size learns by
heart, from thousands of small letters on the pages that are for fitting, which of the books a
letter is of; all are printed anew at one resolution, so that shape and weight alone tell. Then it
is asked of the other pages. For each book and each other the table gives what share of the other's
letters it tells where it takes one in 1,000, and one in 2,000, of the book's own for the other's.
A tool that does not know the other face should not be expected to tell more. Needs the `train`
extra.
"""

from __future__ import annotations

import argparse
import string
import sys
import zlib
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import NamedTuple

import cv2
import numpy as np
import torch
from numpy.typing import NDArray
from torch import Tensor, nn
from torch.nn import functional as nnf

from proofcheck.base.errors import ProofcheckError
from proofcheck.base.options import Options
from proofcheck.metal.company import small_in_running
from proofcheck.metal.judged import judge
from proofcheck.metal.patches import TALL, WIDE
from tests.benchmark.pages import Page, is_for_fitting, load_grey, pages_in
from tests.lab.strange import alone_in, reprinted
from tests.lab.typefit import matter_of

_X_HEIGHT_PX = 22.0
"""Of all letters when printed anew: that of the sharpest of the books."""
_BATCH, _RATE = 256, 3e-3
_RATES = (1e-3, 5e-4)
_SMALL = string.ascii_lowercase


class _Letters(NamedTuple):
    """Letters of pages, n of them."""

    pictures: NDArray[np.uint8]
    """(n, TALL, WIDE)"""
    kind: NDArray[np.int64]
    """Place in the alphabet."""
    book: NDArray[np.str_]


def _letters_of(page: Page) -> _Letters:
    """The small letters of running text, less those among italic, and battered words."""
    cv2.setNumThreads(1)
    pictures, kinds = [np.zeros((0, TALL, WIDE), np.uint8)], []
    try:
        matter = matter_of(load_grey(page), page, Options(type_too=False, recast=False))
    except ProofcheckError as error:
        print(f"{page.name}: {error}", file=sys.stderr)
    else:
        sure = small_in_running(matter) & matter.borne_out & matter.cut_true
        sure &= ~judge(matter).among_odd
        rng, cut = np.random.default_rng(zlib.crc32(page.name.encode())), matter.fount.cut
        for number in np.flatnonzero(sure).tolist():
            text = str(matter.fount.text[number])
            if text in _SMALL:
                again = reprinted(
                    alone_in(cut.ink[number], float(cut.half_width[number])), _X_HEIGHT_PX, rng
                )
                pictures.append(np.round(255 * again.clip(0, 1)).astype(np.uint8)[None])
                kinds.append(_SMALL.index(text))
    book = np.full(len(kinds), page.book)
    return _Letters(np.concatenate(pictures), np.array(kinds, np.int64), book)


def _together(parts: list[_Letters]) -> _Letters:
    return _Letters(*(np.concatenate(column) for column in zip(*parts, strict=True)))


class _Knower(nn.Module):
    """Which book a letter is of: pictures (N, 1, TALL, WIDE) and kinds (N) to scores (N, books)."""

    def __init__(self, books: int) -> None:
        super().__init__()
        layers: list[nn.Module] = []
        for before, after, stride in ((1, 16, 2), (16, 32, 1), (32, 48, 2), (48, 64, 2)):
            conv = nn.Conv2d(before, after, 3, stride, 1, bias=False)
            layers += [conv, nn.BatchNorm2d(after), nn.ReLU()]
        self.body = nn.Sequential(*layers, nn.Flatten(), nn.Dropout(0.2))
        self.kind = nn.Embedding(len(_SMALL), 16)
        flat = self.body.eval()(torch.zeros(1, 1, TALL, WIDE)).shape[1]
        self.head = nn.Sequential(
            nn.Linear(flat + 16, 128), nn.ReLU(), nn.Dropout(0.2), nn.Linear(128, books)
        )

    def forward(self, pictures: Tensor, kind: Tensor) -> Tensor:
        """The scores."""
        scores: Tensor = self.head(torch.cat([self.body(pictures), self.kind(kind)], dim=1))
        return scores


def _shown(letters: _Letters, at: NDArray[np.intp]) -> tuple[Tensor, Tensor]:
    pictures = torch.from_numpy(letters.pictures[at]).float()[:, None] / 255
    return pictures, torch.from_numpy(letters.kind[at])


def _learnt(letters: _Letters, books: list[str], epochs: int, seed: int) -> _Knower:
    torch.manual_seed(seed)
    rng = np.random.default_rng(seed)
    net, truth = _Knower(len(books)), np.searchsorted(books, letters.book)
    count = np.bincount(truth, minlength=len(books))
    weight = torch.from_numpy(count.mean() / np.maximum(count, 1)).float()
    best = torch.optim.AdamW(net.parameters(), _RATE, weight_decay=1e-3)
    steps = len(truth) // _BATCH
    pace = torch.optim.lr_scheduler.OneCycleLR(best, _RATE, total_steps=epochs * steps + 1)
    net.train()
    for _ in range(epochs):
        order = rng.permutation(len(truth))
        for step in range(steps):
            at = order[step * _BATCH : (step + 1) * _BATCH]
            pictures, kind = _shown(letters, at)
            down, across = rng.integers(-1, 2, 2).tolist()
            scores = net(torch.roll(pictures, (down, across), (2, 3)), kind)
            loss = nnf.cross_entropy(scores, torch.from_numpy(truth[at]), weight=weight)
            best.zero_grad()
            loss.backward()
            best.step()
            pace.step()
    return net.eval()


@torch.no_grad()
def _scores(net: _Knower, letters: _Letters) -> NDArray[np.float32]:
    parts = np.array_split(np.arange(len(letters.kind)), max(len(letters.kind) // 1024, 1))
    return np.concatenate([net(*_shown(letters, at)).numpy() for at in parts])


def _tell(net: _Knower, asked: _Letters, books: list[str]) -> None:
    scores = _scores(net, asked)
    print("| own | other | own letters | " + " | ".join(f"1 in {1 / r:.0f}" for r in _RATES) + " |")
    print("|---" * (3 + len(_RATES)) + "|")
    every = []
    for own, mine in enumerate(books):
        for other, theirs in enumerate(books):
            if own == other:
                continue
            more = scores[:, other] - scores[:, own]
            sound, strange = more[asked.book == mine], more[asked.book == theirs]
            shares = [(strange > np.quantile(sound, 1 - rate)).mean() for rate in _RATES]
            every.append(shares)
            told = " | ".join(f"{100 * share:.0f} %" for share in shares)
            print(f"| {mine} | {theirs} | {len(sound)} | {told} |")
    mean = " | ".join(f"{100 * share:.0f} %" for share in np.mean(every, axis=0))
    print(f"| all | all | | {mean} |")


def main() -> None:
    """Cut, learn, tell."""
    parser = argparse.ArgumentParser(prog="python -m tests.lab.ceiling")
    parser.add_argument("scans", type=Path)
    parser.add_argument("--epochs", type=int, default=8)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    pages = pages_in(given.scans)
    if len({page.book for page in pages}) < 2:
        sys.exit(f"{given.scans}: no pages of two books")
    with ProcessPoolExecutor() as pool:
        letters = list(pool.map(_letters_of, pages))
    fitting = [is_for_fitting(page) for page in pages]
    learn = _together([each for each, fit in zip(letters, fitting, strict=True) if fit])
    asked = _together([each for each, fit in zip(letters, fitting, strict=True) if not fit])
    books = sorted({*learn.book.tolist()} & {*asked.book.tolist()})
    _tell(_learnt(learn, books, given.epochs, given.seed), asked, books)


if __name__ == "__main__":
    main()
