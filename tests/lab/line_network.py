"""The network that tells a letter of another fount by the letters beside it, and its training.

    python -m tests.lab.line_network FOLDER OUT [--held FOLDER] [--steps N] [--without b,d]

The folder holds what `mixed_lines` made. Lines are put together of it as training goes on: in
capitals, small letters, figures, or mixed; some with one or two letters of other faces, some with a
broken one, some with a stretch in another face, which is a change of type and no fault. Writes
OUT.pt, OUT.onnx and OUT.json with its SHA-256; `--held` is measured on.
"""

from __future__ import annotations

import argparse
import logging
import time
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import torch
from torch import Tensor, nn
from torch.nn import functional as nnf

from proofcheck.metal.beside import KINDS, kind_numbers
from proofcheck.metal.patches import TALL, WIDE
from tests.lab.export_network import write_network
from tests.lab.mixed_lines import BROKEN, OTHER, OWN, MixedPage
from tests.lab.page_cut import book_of

if TYPE_CHECKING:
    from collections.abc import Collection

__all__ = ["LineNet", "train"]

_LINES, _MOST = 512, 24
"""Of a batch; letters of a line."""
_LEAST = 3
_RATE = 1.5e-3
_WIDE, _HEADS, _DEEP, _OF_KIND = 128, 4, 3, 32
_NOTHING = -1
"""Of a place in a line with no letter, or one that teaches nothing."""
_MODES = ("any", "capital", "small", "figure", "high")
_OFTEN = (0.3, 0.3, 0.2, 0.05, 0.15)
"""How often a line is put together of each; of a real page it is always as printed."""
_NONE, _ONE = 0.5, 0.4
"""Lines with no letter of another face, and with one; the rest have two."""
_WITH_BROKEN, _STRETCH, _SMALL_CAPITALS = 0.2, 0.2, 0.08
_log = logging.getLogger(__name__)


class _Block(nn.Module):
    """Each letter sees all others of its line."""

    def __init__(self) -> None:
        super().__init__()
        self.before = nn.LayerNorm(_WIDE)
        self.three = nn.Linear(_WIDE, 3 * _WIDE)
        self.out = nn.Linear(_WIDE, _WIDE)
        self.after = nn.LayerNorm(_WIDE)
        self.more = nn.Sequential(
            nn.Linear(_WIDE, 2 * _WIDE), nn.GELU(), nn.Dropout(0.1), nn.Linear(2 * _WIDE, _WIDE)
        )

    def forward(self, letters: Tensor, blind: Tensor) -> Tensor:
        """(lines, letters, _WIDE) twice; blind is added to what each sees of the others."""
        lines, count, _ = letters.shape
        split = self.three(self.before(letters)).reshape(lines, count, 3, _HEADS, -1)
        asks, has, gives = (split[:, :, n].transpose(1, 2) for n in range(3))
        sees = asks @ has.transpose(2, 3) / (_WIDE // _HEADS) ** 0.5 + blind
        seen = (sees.softmax(dim=3) @ gives).transpose(1, 2).reshape(lines, count, _WIDE)
        letters = letters + self.out(seen)
        return letters + self.more(self.after(letters))


class LineNet(nn.Module):
    """Scores of own, of another fount, broken for each letter of a line.

    Args of `forward`: ink (lines, letters, TALL, WIDE), 0 to 1, nothing beside the letter; the
    letters' numbers in `KINDS` (lines, letters); whether there is one (lines, letters), 0 or 1.
    Returns (lines, letters, 3).
    """

    def __init__(self) -> None:
        super().__init__()
        self.body = nn.Sequential(
            nn.Conv2d(1, 24, 5, 2, 2, bias=False), nn.BatchNorm2d(24), nn.ReLU(inplace=True),
            nn.Conv2d(24, 48, 3, 2, 1, bias=False), nn.BatchNorm2d(48), nn.ReLU(inplace=True),
            nn.Conv2d(48, 96, 3, 2, 1, bias=False), nn.BatchNorm2d(96), nn.ReLU(inplace=True),
            nn.Flatten(), nn.Dropout(0.15),
            nn.Linear(96 * 36, _WIDE),
        )  # fmt: skip
        self.kind = nn.Embedding(len(KINDS) + 1, _OF_KIND)
        self.joined = nn.Linear(_WIDE + _OF_KIND, _WIDE)
        self.place = nn.Parameter(torch.randn(_MOST, _WIDE) * 0.02)
        self.blocks = nn.ModuleList(_Block() for _ in range(_DEEP))
        self.head = nn.Sequential(nn.LayerNorm(_WIDE), nn.Linear(_WIDE, 3))

    def forward(self, ink: Tensor, kind: Tensor, there: Tensor) -> Tensor:
        """The scores."""
        lines, count = kind.shape
        seen = self.body(ink.reshape(lines * count, 1, TALL, WIDE)).reshape(lines, count, _WIDE)
        letters = self.joined(torch.cat([nnf.relu(seen), self.kind(kind)], dim=2))
        letters = letters + self.place[:count]
        blind = (there[:, None, None, :] - 1) * 1e4
        for block in self.blocks:
            letters = block(letters, blind)
        scores: Tensor = self.head(letters)
        return scores


@dataclass(slots=True, eq=False)
class _Sorts:
    """All pages' letters on the device; those of each use and page lie in one run."""

    ink: Tensor
    kind: Tensor
    start: Tensor
    """(what, mode, page): where its letters start in `members`."""
    count: Tensor
    members: Tensor
    made_up: Tensor

    @staticmethod
    def of(pages: list[MixedPage], device: torch.device) -> _Sorts:
        ink = np.concatenate([page.ink for page in pages])
        text = np.concatenate([page.text for page in pages])
        what = np.concatenate([page.what for page in pages])
        owner = np.repeat(np.arange(len(pages)), [len(page.text) for page in pages])
        character = text.tolist()
        capital = np.array([c.isupper() for c in character])
        figure = np.array([c.isdigit() for c in character])
        of_mode = (
            np.ones(len(text), bool), capital, ~capital & ~figure, figure, capital | figure,
        )  # fmt: skip
        starts, counts, members = [], [], []
        at = 0
        for each in (OWN, OTHER, BROKEN):
            for mode in of_mode:
                found = np.flatnonzero((what == each) & mode)
                held = np.bincount(owner[found], minlength=len(pages))
                starts.append(at + np.concatenate([[0], np.cumsum(held)[:-1]]))
                counts.append(held)
                members.append(found)
                at += len(found)
        shape = (3, len(of_mode), len(pages))

        def there(values: list[np.ndarray]) -> Tensor:  # type: ignore[type-arg]
            return torch.from_numpy(np.concatenate(values)).to(device)

        return _Sorts(
            torch.from_numpy(ink).to(device),
            torch.from_numpy(kind_numbers(character)).to(device),
            there(starts).reshape(shape), there(counts).reshape(shape), there(members),
            torch.tensor([page.made_up for page in pages], device=device),
        )  # fmt: skip

    def drawn(self, what: int, mode: Tensor, page: Tensor, wide: int) -> tuple[Tensor, Tensor]:
        """(lines, wide): letters by lot, and whether the page has any such."""
        count = self.count[what, mode, page][:, None]
        lot = torch.rand(len(page), wide, device=page.device)
        at = self.start[what, mode, page][:, None] + (lot * count).long()
        return self.members[at.clamp(max=len(self.members) - 1)], count > 0

    def as_printed(self, page: Tensor, wide: int) -> Tensor:
        """(lines, wide): letters of a page in a row."""
        count = self.count[OWN, 0, page]
        first = (torch.rand(len(page), device=page.device) * (count - wide).clamp(min=1)).long()
        step = torch.arange(wide, device=page.device)[None] % count[:, None].clamp(min=1)
        at = self.start[OWN, 0, page][:, None] + first[:, None] + step
        return self.members[at.clamp(max=len(self.members) - 1)]


@dataclass(frozen=True, slots=True, eq=False)
class _Lines:
    """A batch."""

    ink: Tensor
    kind: Tensor
    there: Tensor
    label: Tensor


def _put_together(sorts: _Sorts, page: Tensor) -> _Lines:
    """Lines of the pages given, one each."""
    lines, device = len(page), page.device
    mode = torch.multinomial(torch.tensor(_OFTEN, device=device), lines, replacement=True)
    real = ~sorts.made_up[page]
    mode = torch.where(real | (sorts.count[OWN, mode, page] < 4), 0, mode)
    who, _ = sorts.drawn(OWN, mode, page, _MOST)
    who = torch.where(real[:, None], sorts.as_printed(page, _MOST), who)
    long = torch.randint(_LEAST, _MOST + 1, (lines,), device=device)
    at = torch.arange(_MOST, device=device)[None]
    there = at < long[:, None]
    label = torch.full((lines, _MOST), OWN, device=device)
    # A stretch of another page of the same mode: a change of type, of three letters or more.
    other_page = torch.randint(sorts.start.shape[2], (lines,), device=device)
    other, has = sorts.drawn(OWN, mode, other_page, _MOST)
    run = torch.randint(3, 9, (lines,), device=device)
    first = (torch.rand(lines, device=device) * (long - run).clamp(min=1)).long()
    taken = (torch.rand(lines, device=device) < _STRETCH) & (run * 2 < long)
    stretch = taken[:, None] & has & (at >= first[:, None]) & (at < (first + run)[:, None])
    who = torch.where(stretch, other, who)
    for what, share in ((OTHER, 1 - _NONE), (OTHER, 1 - _NONE - _ONE), (BROKEN, _WITH_BROKEN)):
        chosen, has = sorts.drawn(what, mode, page, 1)
        place = (torch.rand(lines, device=device) * long).long()
        put = (torch.rand(lines, 1, device=device) < share) & has & (at == place[:, None])
        put = put & ~stretch
        who, label = torch.where(put, chosen, who), torch.where(put, what, label)
    label = torch.where(there, label, _NOTHING)
    ink = _resized(sorts.ink[who], mode, page)
    kind = torch.where(there, sorts.kind[who], len(KINDS))
    return _Lines(ink * there[:, :, None, None], kind, there.float(), label)


def _resized(ink: Tensor, mode: Tensor, page: Tensor) -> Tensor:
    """The line measured a little large or small, off its baseline, and inked more or less."""
    lines, count = ink.shape[:2]
    device = page.device
    size = torch.exp(0.05 * torch.randn(lines, 1, device=device)).repeat(1, count)
    small = (mode == 1) & (torch.rand(lines, device=device) < _SMALL_CAPITALS)
    initial = torch.rand(lines, count, device=device) < 0.2
    size = torch.where(small[:, None] & ~initial, size * 0.78, size)
    down = 0.6 * torch.randn(lines, 1, device=device) + 0.25 * torch.randn(
        lines, count, device=device
    )
    across = 0.25 * torch.randn(lines, count, device=device)
    move = torch.zeros(lines * count, 2, 3, device=device)
    move[:, 0, 0] = move[:, 1, 1] = (1 / size).reshape(-1)
    move[:, 0, 2] = (across * 2 / WIDE).reshape(-1)
    move[:, 1, 2] = (down * 2 / TALL).reshape(-1)
    flat = ink.reshape(lines * count, 1, TALL, WIDE).float() / 255
    grid = nnf.affine_grid(move, list(flat.shape), align_corners=False)
    moved = nnf.grid_sample(flat, grid, align_corners=False).reshape(lines, count, TALL, WIDE)
    gain = torch.exp(0.08 * torch.randn(lines, 1, 1, 1, device=device))
    return (moved * gain).clamp(0, 1)


def train(sorts: _Sorts, steps: int, device: torch.device) -> LineNet:
    """Train a network anew."""
    net = LineNet().to(device)
    best = torch.optim.AdamW(net.parameters(), lr=_RATE, weight_decay=1e-2)
    pace = torch.optim.lr_scheduler.OneCycleLR(best, _RATE, total_steps=steps + 1, pct_start=0.1)
    often = torch.where(sorts.made_up, 1.0, _real_weight(sorts))
    total, started = 0.0, time.monotonic()
    for step in range(1, steps + 1):
        lines = _put_together(sorts, torch.multinomial(often, _LINES, replacement=True))
        scores = _scores(net, lines)
        loss = nnf.cross_entropy(
            scores.reshape(-1, 3), lines.label.reshape(-1), ignore_index=_NOTHING
        )
        best.zero_grad(set_to_none=True)
        loss.backward()  # type: ignore[no-untyped-call]
        nn.utils.clip_grad_norm_(net.parameters(), 1.0)
        best.step()
        pace.step()
        total += float(loss.detach()) if step % 20 == 0 else 0.0
        if step % 1000 == 0:
            _log.info("step %d loss %.4f, %.0f s", step, total / 50, time.monotonic() - started)
            total = 0.0
    return net.eval()


def _real_weight(sorts: _Sorts) -> float:
    """What makes real pages a third of all lines."""
    real = int((~sorts.made_up).sum())
    return len(sorts.made_up) / max(real, 1) / 2


def _scores(net: LineNet, lines: _Lines) -> Tensor:
    device = lines.ink.device.type
    with torch.autocast(device, torch.bfloat16, enabled=device == "cuda"):
        scores: Tensor = net(lines.ink, lines.kind, lines.there)
    return scores.float()


@torch.no_grad()
def _tell(net: LineNet, sorts: _Sorts, device: torch.device) -> None:
    """Print what is found on pages never trained on, at some rates of false alarms."""
    for name, wanted in (("made up", sorts.made_up), ("real", ~sorts.made_up)):
        pages = torch.nonzero(wanted)[:, 0]
        if not len(pages):
            continue
        margin, label, kind, long = [], [], [], []
        for _ in range(60):
            lot = torch.randint(len(pages), (_LINES,), device=device)
            lines = _put_together(sorts, pages[lot])
            score = _scores(net, lines).log_softmax(dim=2)
            margin.append((score[:, :, OTHER] - score[:, :, OWN]).reshape(-1).cpu())
            label.append(lines.label.reshape(-1).cpu())
            kind.append(lines.kind.reshape(-1).cpu())
            length = lines.there.sum(dim=1, keepdim=True).repeat(1, _MOST)
            long.append(length.reshape(-1).cpu())
        odds, what = torch.cat(margin).numpy(), torch.cat(label).numpy()
        letter, length = torch.cat(kind).numpy(), torch.cat(long).numpy()
        for least, most in ((3, 6), (7, 12), (13, 24)):
            some = (length >= least) & (length <= most)
            own = odds[some & (what == OWN)]
            for kinds, mine in (
                ("small", letter < 26), ("capital", (letter >= 26) & (letter < 52)),
                ("figure", (letter >= 52) & (letter < len(KINDS))),
            ):  # fmt: skip
                other = odds[some & mine & (what == OTHER)]
                if len(other) < 20:
                    continue
                found = [
                    f"{100 * float((other > np.quantile(own, 1 - rate)).mean()):.1f} % at {rate}"
                    for rate in (1e-2, 1e-3, 1e-4)
                ]
                _log.info("%s, %d–%d letters, %s: %s", name, least, most, kinds, ", ".join(found))


def _load(folder: Path, device: torch.device, without: Collection[str] = ()) -> _Sorts:
    pages = [
        MixedPage.load(path)
        for path in sorted(folder.glob("*.mixed.npz"))
        if book_of(path.stem) not in without
    ]
    _log.info("%d pages", len(pages))
    return _Sorts.of(pages, device)


def main() -> None:
    """Train, tell, write."""
    parser = argparse.ArgumentParser(prog="python -m tests.lab.line_network")
    parser.add_argument("folder", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--held", type=Path)
    parser.add_argument("--without", default="", help="books kept out, parted by commas")
    parser.add_argument("--steps", type=int, default=12000)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    logging.basicConfig(level=logging.INFO, format=f"{given.out.name}: %(message)s")
    torch.manual_seed(given.seed)
    torch.backends.cudnn.benchmark = True
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    without = set(filter(None, given.without.split(",")))
    net = train(_load(given.folder, device, without), given.steps, device)
    torch.save(net.state_dict(), given.out.with_suffix(".pt"))
    if given.held:
        _tell(net, _load(given.held, device), device)
    write_network(
        net,
        (
            torch.zeros(2, 4, TALL, WIDE), torch.zeros(2, 4, dtype=torch.int64),
            torch.ones(2, 4),
        ),
        ("ink", "kind", "there"),
        given.out,
        free={0: "lines", 1: "letters"},
    )  # fmt: skip


if __name__ == "__main__":
    main()
