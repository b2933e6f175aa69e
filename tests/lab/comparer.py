"""The comparer's network, its training, and its file.

    python -m tests.lab.comparer PAIRS_FOLDER OUT [--without b,d] [--epochs 20]

Writes OUT.pt, OUT.onnx and, beside it, OUT.json with its SHA-256. `--without` keeps whole books
out, as pages and as givers of strange letters; what is found of theirs is then printed.
"""

from __future__ import annotations

import argparse
import logging
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import torch
from torch import Tensor, nn
from torch.nn import functional as nnf

from proofcheck.metal.beside import CHANNELS, KINDS
from proofcheck.metal.patches import TALL, WIDE
from tests.lab.export_network import write_network
from tests.lab.page_cut import book_of
from tests.lab.pairs import BROKEN, SOUND, STRANGE

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from numpy.typing import NDArray

__all__ = ["ComparerNet", "export", "train"]

_BATCH = 1024
_RATE = 2e-3
_WARM = 4
"""Epochs before words in another face are left out."""
_OF_KIND = 12
_NEAR, _FEW = 12, 0.25
_MANY = 7
"""Fellows from which a letter can be thought strange with confidence."""
_MAYBE_STRANGE = -2.0
_PLAINLY_NOT = 0.02
"""A lone letter thought sound with less chance than this is likely the printer's own fault."""
_OF_A_PAIR = ("pictures", "kind", "letter", "fellows", "source", "order", "mould", "page")
_BY_FELLOWS = ((7, 99), (4, 6), (2, 3), (1, 1), (0, 0))
"""Numbers of fellows that figures are told for."""
_log = logging.getLogger(__name__)


def _conv(n_in: int, n_out: int, stride: int) -> nn.Sequential:
    return nn.Sequential(
        nn.Conv2d(n_in, n_out, 3, stride, 1, bias=False),
        nn.BatchNorm2d(n_out),
        nn.ReLU(inplace=True),
    )


class ComparerNet(nn.Module):
    """Scores of sound, strange, broken of letters beside their fellows.

    Args of `forward`: pictures (N, CHANNELS, TALL, WIDE) of `beside_fellows`; the letters' numbers
    in `KINDS` (N); how many fellows each has (N). Returns (N, 3).
    """

    def __init__(self) -> None:
        super().__init__()
        self.body = nn.Sequential(
            _conv(CHANNELS + 3, 24, 1),
            _conv(24, 32, 2),
            _conv(32, 48, 1),
            _conv(48, 64, 2),
            _conv(64, 96, 2),
            nn.Flatten(),
            nn.Dropout(0.3),
        )
        self.kind = nn.Embedding(len(KINDS) + 1, _OF_KIND)
        self.head = nn.Sequential(
            nn.Linear(96 * 36 + _OF_KIND, 96), nn.ReLU(inplace=True),
            nn.Dropout(0.2), nn.Linear(96, 3),
        )  # fmt: skip

    def forward(self, pictures: Tensor, kind: Tensor, fellows: Tensor) -> Tensor:
        """The scores."""
        letter, near, mould, spread = (pictures[:, n : n + 1] for n in range(CHANNELS))
        off = (letter - mould) / (spread + 0.15) / 3
        many = torch.log1p(fellows)[:, None, None, None] / 4 + torch.zeros_like(letter)
        shown = torch.cat([pictures, letter - near, off, many], dim=1)
        seen = self.body(shown.contiguous(memory_format=torch.channels_last))
        scores: Tensor = self.head(torch.cat([seen, self.kind(kind)], dim=1))
        return scores


@dataclass(slots=True, eq=False)
class _Pairs:
    """All pairs on the device."""

    pictures: Tensor
    moulds: Tensor
    mould: Tensor
    kind: Tensor
    letter: Tensor
    fellows: Tensor
    source: NDArray[np.str_]
    page: NDArray[np.intp]
    order: NDArray[np.intp]
    """Place among the letters of its page; −1 for letters put there."""

    def batch(self, at: Tensor) -> Tensor:
        both = [self.pictures[at], self.moulds[self.mould[at]]]
        return torch.cat(both, dim=1).float() / 255

    def scores(self, net: ComparerNet, at: Tensor, pictures: Tensor) -> Tensor:
        """What the network says of the letters numbered, shown so."""
        device = self.pictures.device.type
        with torch.autocast(device, torch.bfloat16, enabled=device == "cuda"):
            scores: Tensor = net(pictures, self.letter[at], self.fellows[at].float())
        return scores.float()


def _load(
    folder: Path, device: torch.device, *, books: Collection[str] | None, without: Collection[str]
) -> _Pairs:
    """The pairs of the books named (of all but those without, for None)."""
    held: list[dict[str, NDArray[Any]]] = []
    moulds = 0
    for path in sorted(folder.glob("*.npz")):
        book = book_of(path.stem)
        wanted = book in books if books is not None else book not in without
        if path.name.endswith(".cut.npz") or not wanted:
            continue
        with np.load(path) as each:
            part = {name: each[name] for name in each.files}
        if books is None:
            keep = ~np.isin(part["source"], sorted(without))
        else:
            keep = np.isin(part["source"], ["", *without]) | np.char.startswith(
                part["source"], "atlas"
            )
        part["page"] = np.full(len(part["kind"]), len(held))
        for name in _OF_A_PAIR:
            part[name] = part[name][keep]
        part["mould"] = part["mould"] + moulds
        moulds += len(part["moulds"])
        held.append(part)

    def together(name: str) -> Tensor:
        return torch.from_numpy(np.concatenate([part[name] for part in held])).to(device)

    return _Pairs(
        together("pictures"), together("moulds"), together("mould"),
        together("kind").long(),
        together("letter"), together("fellows"),
        np.concatenate([part["source"] for part in held]),
        np.concatenate([part["page"] for part in held]),
        np.concatenate([part["order"] for part in held]),
    )  # fmt: skip


def _shaken(pictures: Tensor) -> Tensor:
    """Each letter a pixel aside or not, and a little more or less of ink."""
    count = len(pictures)
    device = pictures.device
    moves = torch.randint(-1, 2, (count, 2), device=device)
    moves = moves * (torch.rand(count, 1, device=device) < 0.3)
    rows = (torch.arange(TALL, device=device)[None] + moves[:, :1]).clamp(0, TALL - 1)
    columns = (torch.arange(WIDE, device=device)[None] + moves[:, 1:]).clamp(0, WIDE - 1)
    pick = torch.arange(count, device=device)[:, None, None]
    letter = pictures[pick, 0, rows[:, :, None], columns[:, None, :]]
    gain = torch.exp(0.08 * torch.randn(count, 1, 1, device=device))
    return torch.cat([(letter * gain).clamp(0, 1)[:, None], pictures[:, 1:]], dim=1)


def _batches(count: int, device: torch.device) -> Iterator[Tensor]:
    order = torch.randperm(count, device=device)
    for start in range(0, count - _BATCH // 2, _BATCH):
        yield order[start : start + _BATCH]


def train(pairs: _Pairs, epochs: int, device: torch.device) -> ComparerNet:
    """Train a network anew."""
    net = ComparerNet().to(device, memory_format=torch.channels_last)  # type: ignore[call-overload]
    best = torch.optim.AdamW(net.parameters(), lr=_RATE, weight_decay=1e-2)
    steps = epochs * (len(pairs.kind) // _BATCH + 1)
    pace = torch.optim.lr_scheduler.OneCycleLR(best, _RATE, total_steps=steps + 1)
    kept = torch.ones(len(pairs.kind), device=device)
    for epoch in range(epochs):
        if epoch >= _WARM and epoch % 3 == _WARM % 3:
            kept = torch.from_numpy(~_in_another_face(net.eval(), pairs)).float().to(device)
            _log.info("left out %d letters of words in another face", int((1 - kept).sum()))
        net.train()
        total = 0.0
        for at in _batches(len(pairs.kind), device):
            kind = pairs.kind[at]
            scores = pairs.scores(net, at, _shaken(pairs.batch(at)))
            loss = nnf.cross_entropy(scores, kind, reduction="none", label_smoothing=0.002)
            loss = loss * kept[at]
            if epoch >= _WARM:
                chance = scores.detach().softmax(dim=1).gather(1, kind[:, None])[:, 0]
                told = (kind == SOUND) & (pairs.fellows[at] >= _MANY)
                loss = loss * (~told | (chance > _PLAINLY_NOT))
            best.zero_grad(set_to_none=True)
            loss.mean().backward()  # type: ignore[no-untyped-call]
            best.step()
            pace.step()
            total += float(loss.detach().mean())
        _log.info("epoch %d loss %.4f", epoch + 1, total / max(len(pairs.kind) // _BATCH, 1))
    net.eval()
    return net


def _in_another_face(net: ComparerNet, pairs: _Pairs) -> NDArray[np.bool_]:
    """Letters as printed that stand among others that look strange: italic, notes, headings.

    They are of their kind by the text, but not by the face, and would teach that strange is sound.
    """
    scores = _scores(net, pairs)
    strange = (scores[:, STRANGE] - scores[:, SOUND]) > _MAYBE_STRANGE
    found = np.zeros(len(strange), bool)
    printed = np.flatnonzero(pairs.order >= 0)
    for page in np.unique(pairs.page):
        mine = printed[pairs.page[printed] == page]
        mine = mine[np.argsort(pairs.order[mine], kind="stable")]
        order, odd = pairs.order[mine], np.concatenate([[0], np.cumsum(strange[mine])])
        low = np.searchsorted(order, order - _NEAR)
        high = np.searchsorted(order, order + _NEAR, side="right")
        others = np.maximum(high - low - 1, 1)
        found[mine] = (odd[high] - odd[low] - strange[mine]) / others > _FEW
    return found


@torch.no_grad()
def _scores(net: ComparerNet, pairs: _Pairs) -> NDArray[np.float32]:
    parts = []
    for start in range(0, len(pairs.kind), 4096):
        at = torch.arange(start, min(start + 4096, len(pairs.kind)), device=pairs.kind.device)
        parts.append(pairs.scores(net, at, pairs.batch(at)).log_softmax(dim=1).cpu().numpy())
    return np.concatenate(parts)


def _tell(net: ComparerNet, pairs: _Pairs) -> None:
    """Print what is found of pages never trained on, at some rates of false alarms."""
    scores, kind = _scores(net, pairs), pairs.kind.cpu().numpy()
    fellows, calm = pairs.fellows.cpu().numpy(), ~_in_another_face(net, pairs)
    sources = {
        "strange, other book": (kind == STRANGE) & ~np.char.startswith(pairs.source, "atlas"),
        "strange, roman": pairs.source == "atlas-roman",
        "strange, italic": pairs.source == "atlas-italic",
        "strange, bold": pairs.source == "atlas-bold",
        "broken": kind == BROKEN,
    }
    for least, most in _BY_FELLOWS:
        some = (fellows >= least) & (fellows <= most)
        sound = some & (kind == SOUND) & calm
        _log.info("%d to %d fellows: %d sound letters", least, most, sound.sum())
        for name, all_of_them in sources.items():
            mine = some & all_of_them & (kind != SOUND)
            if not mine.any() or not sound.any():
                continue
            column = BROKEN if name == "broken" else STRANGE
            margin = scores[:, column] - scores[:, SOUND]
            found = [
                f"{_share_past(margin[mine], margin[sound], rate):.1f} % at {rate}"
                for rate in (1e-2, 1e-3, 3e-4)
            ]
            _log.info("%s (%d): %s", name, mine.sum(), ", ".join(found))


def _share_past(margin: NDArray[np.float32], sound: NDArray[np.float32], rate: float) -> float:
    """Per cent of margins past what so many of the sound letters' have."""
    return 100 * float((margin > np.quantile(sound, 1 - rate)).mean())


def export(net: ComparerNet, out: Path) -> None:
    """Write `out` (ONNX) and, beside it, `.json` with its SHA-256."""
    shown = (
        torch.zeros(1, CHANNELS, TALL, WIDE),
        torch.zeros(1, dtype=torch.int64),
        torch.zeros(1),
    )
    write_network(net, shown, ("letters", "kind", "fellows"), out, {0: "count"})


def main() -> None:
    """Train, tell, write."""
    parser = argparse.ArgumentParser(prog="python -m tests.lab.comparer")
    parser.add_argument("folder", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--without", default="", help="books kept out, parted by commas")
    parser.add_argument("--epochs", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    logging.basicConfig(level=logging.INFO, format=f"{given.out.name}: %(message)s")
    torch.manual_seed(given.seed)
    torch.backends.cudnn.benchmark = True
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    without = sorted(filter(None, given.without.split(",")))
    pairs = _load(given.folder, device, books=None, without=without)
    _log.info("%d pairs", len(pairs.kind))
    net = train(pairs, given.epochs, device)
    del pairs
    if without:
        _tell(net, _load(given.folder, device, books=without, without=without))
    torch.save(net.state_dict(), given.out.with_suffix(".pt"))
    export(net, given.out.with_suffix(".onnx"))


if __name__ == "__main__":
    main()
