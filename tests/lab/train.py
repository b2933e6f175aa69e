r"""Training: a wall-clock budget, as many GPUs as there are, a checkpoint every minute.

    torchrun --standalone --nproc-per-node 2 -m tests.lab.train \\
        --atlas train.npz --words words.txt --out OUT --minutes 9

Without torchrun it uses one GPU, or the CPU. The learning rate follows the clock, so a run always
comes to its end; lines are made on the fly and none is seen twice.
"""

from __future__ import annotations

import argparse
import copy
import json
import logging
import math
import os
import time
from dataclasses import dataclass, fields
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import torch
from torch import Tensor, distributed, multiprocessing, nn
from torch.nn import functional as nnf
from torch.utils.data import DataLoader, IterableDataset, get_worker_info

from proofcheck.reading.alphabet import CHARACTERS
from tests.lab import atlas as atlases
from tests.lab.network import LetterNet
from tests.lab.press import Forme, Press, forme_of
from tests.lab.real import RealStream, wear_again
from tests.lab.setting import Setter

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["WIDTHS", "Plan", "new_network", "train"]

WIDTHS = (32, 64, 144, 256, 320)
"""Channels of the network, stage by stage."""
_log = logging.getLogger("training")


@dataclass(frozen=True, slots=True)
class Plan:
    """What a run is to do."""

    atlas: Path
    words: Path
    out: Path
    minutes: float
    batch: int = 512
    workers: int = 14
    rate: float = 3e-3
    seed: int = 1
    start: Path | None = None
    """Weights to begin from."""
    real: Path | None = None
    """Lines of real pages to mix in (`real`)."""
    hold: str = ""
    """Books of those never to be seen, their letters."""
    real_batch: tuple[int, int] = (96, 128)
    """Real lines as they are, and reset, in each step."""
    name: str = "letters"


class _SetLinesStream(IterableDataset[tuple[Tensor, ...]]):
    """Formes without end; each worker has its own chance."""

    def __init__(self, plan: Plan, rank: int) -> None:
        self.plan, self.rank = plan, rank

    def __iter__(self) -> Iterator[tuple[Tensor, ...]]:
        torch.set_num_threads(1)
        info = get_worker_info()
        seed = [self.plan.seed, self.rank, info.id if info else 0]
        words = self.plan.words.read_text().split()
        atlas = atlases.load(self.plan.atlas, pixels=False)
        setter = Setter(atlas, words, np.random.default_rng(seed))
        while True:
            yield forme_of(setter.batch(self.plan.batch))


def new_network() -> LetterNet:
    """The network untrained."""
    return LetterNet(len(CHARACTERS), WIDTHS)


def _to_device(parts: tuple[Tensor, ...], device: torch.device) -> Forme:
    names = [f.name for f in fields(Forme)]
    kept = {"bars", "lengths"}  # read by the host
    moved = (
        part if name in kept else part.to(device, non_blocking=True)
        for name, part in zip(names, parts, strict=True)
    )
    return Forme(*moved)


def ctc_loss(scores: Tensor, labels: Tensor, lengths: Tensor, columns: Tensor | None) -> Tensor:
    """Mean loss a line; `columns` is each line's width in output columns (all, if None)."""
    logp = nnf.log_softmax(scores.float(), -1).transpose(0, 1)
    if columns is None:
        columns = torch.full((scores.shape[0],), scores.shape[1], dtype=torch.long)
    loss = nnf.ctc_loss(
        logp, labels.long(), columns, lengths.long(), reduction="none", zero_infinity=True
    )
    return loss.mean()


class _Run:
    """One process of a run."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.rank = int(os.environ.get("RANK", "0"))
        self.world = int(os.environ.get("WORLD_SIZE", "1"))
        gpu = torch.cuda.is_available()
        self.device = torch.device(f"cuda:{os.environ.get('LOCAL_RANK', '0')}" if gpu else "cpu")
        if gpu:
            torch.cuda.set_device(self.device)
            torch.backends.cuda.matmul.allow_tf32 = True
            torch.backends.cudnn.allow_tf32 = True
            torch.backends.cudnn.benchmark = True
        torch.manual_seed(plan.seed)
        net = new_network()
        if plan.start:
            net.load_state_dict(torch.load(plan.start, map_location="cpu", weights_only=True))
        self.net = net.to(self.device)
        self.mean = copy.deepcopy(self.net).eval()
        self.model: nn.Module = self.net
        if self.world > 1:
            distributed.init_process_group("nccl")
            self.model = nn.parallel.DistributedDataParallel(self.net, broadcast_buffers=False)
        self.optimiser = torch.optim.AdamW(self.net.parameters(), plan.rate, weight_decay=0.02)
        atlas = atlases.load(plan.atlas)
        self.press = Press(atlas, self.device, plan.seed * 1000 + self.rank)
        stream = _SetLinesStream(plan, self.rank)
        options: dict[str, Any] = {"prefetch_factor": 3} if plan.workers else {}
        self.lines = iter(
            DataLoader(stream, batch_size=None, num_workers=plan.workers, pin_memory=gpu, **options)
        )
        self.real: Iterator[tuple[Tensor, ...]] | None = None
        self.gen = torch.Generator(self.device).manual_seed(plan.seed * 77 + self.rank)
        if plan.real:
            seed = [plan.seed, self.rank, 99]
            mixed = RealStream(plan.real, plan.hold, seed, plan.real_batch)
            workers = min(4, plan.workers)
            self.real = iter(
                DataLoader(mixed, batch_size=None, num_workers=workers, pin_memory=gpu)
            )
        self.began = time.monotonic()
        self.done = 0.0
        self.steps = 0
        self.waited = 0.0

    def _progress(self) -> float:
        """Share of the time that is gone, the same in all processes."""
        gone = (time.monotonic() - self.began) / (self.plan.minutes * 60)
        if self.world > 1:
            told = torch.tensor([gone], device=self.device)
            distributed.broadcast(told, 0)
            gone = float(told)
        return gone

    def _set_rate(self) -> None:
        warm = min(1.0, (self.steps + 1) / 150)
        ease = 0.5 * (1 + math.cos(math.pi * min(1.0, self.done)))
        for group in self.optimiser.param_groups:
            group["lr"] = self.plan.rate * (warm * ease + 0.002)

    def _loss(self) -> Tensor:
        before = time.monotonic()
        parts = next(self.lines)
        self.waited += time.monotonic() - before
        forme = _to_device(parts, self.device)
        with torch.no_grad():
            strips = self.press.strips(forme)
        loss = self._forward(strips, forme.labels, forme.lengths, None)
        if self.real is not None:
            parts = next(self.real)
            for strips, labels, lengths, columns in (parts[:4], parts[4:]):
                worn = wear_again(strips.to(self.device, non_blocking=True), self.gen)
                labels_here = labels.to(self.device, non_blocking=True)
                loss = loss + 0.5 * self._forward(worn, labels_here, lengths, columns)
        return loss

    def _forward(
        self, strips: Tensor, labels: Tensor, lengths: Tensor, columns: Tensor | None
    ) -> Tensor:
        strips = strips.contiguous(memory_format=torch.channels_last)
        with torch.autocast(self.device.type, torch.bfloat16):
            scores = self.model(strips)
        return ctc_loss(scores, labels, lengths, columns)

    def _step(self) -> Tensor:
        self._set_rate()
        loss = self._loss()
        self.optimiser.zero_grad(set_to_none=True)
        loss.backward()  # type: ignore[no-untyped-call]
        nn.utils.clip_grad_norm_(self.net.parameters(), 2.0)
        self.optimiser.step()
        self.steps += 1
        self._average()
        return loss.detach()

    @torch.no_grad()
    def _average(self) -> None:
        keep = min(0.9995, 1 - 10 / (10 + self.steps))
        mine, seen = list(self.mean.state_dict().values()), list(self.net.state_dict().values())
        pairs = [(m, s) for m, s in zip(mine, seen, strict=True) if m.is_floating_point()]
        torch._foreach_lerp_([m for m, _ in pairs], [s for _, s in pairs], 1 - keep)

    def save(self) -> Path:
        path = self.plan.out / f"{self.plan.name}.pt"
        if self.rank == 0:
            half = {k: v.cpu() for k, v in self.mean.state_dict().items()}
            torch.save(half, path.with_suffix(".tmp"))
            path.with_suffix(".tmp").replace(path)
        return path

    def go(self) -> Path:
        told = saved = self.began
        losses: list[Tensor] = []
        while True:
            if self.steps % 10 == 0:
                self.done = self._progress()
                if self.done >= 1:
                    break
            losses.append(self._step())
            now = time.monotonic()
            if now - told > 10 and self.rank == 0:
                told = now
                self._tell(losses)
                losses = []
            if now - saved > 60:
                saved = now
                self.save()
        return self.save()

    def _tell(self, losses: list[Tensor]) -> None:
        seconds = time.monotonic() - self.began
        seen = self.steps * self.plan.batch * self.world
        _log.info(
            "%4.0f s  step %6d  lines %9d  %6.0f/s  loss %.4f  waiting %.0f %%",
            seconds, self.steps, seen, seen / seconds, float(torch.stack(losses).mean()),
            100 * self.waited / seconds,
        )  # fmt: skip


def train(plan: Plan) -> Path:
    """Carry out a plan; returns the weights (a state dict), written under `plan.out`."""
    # Workers that hand lines over by open files end a long run where few files may be open.
    multiprocessing.set_sharing_strategy("file_system")
    plan.out.mkdir(parents=True, exist_ok=True)
    run = _Run(plan)
    path = run.go()
    if run.rank == 0:
        seen = run.steps * plan.batch * run.world
        facts = {"steps": run.steps, "lines": seen, "minutes": plan.minutes, "gpus": run.world}
        path.with_suffix(".json").write_text(json.dumps(facts))
    if run.world > 1:
        distributed.barrier()
        distributed.destroy_process_group()
    return path


def _arguments() -> Plan:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    for name in ("atlas", "words", "out"):
        parser.add_argument("--" + name, type=Path, required=True)
    parser.add_argument("--minutes", type=float, required=True)
    parser.add_argument("--batch", type=int, default=512)
    parser.add_argument("--workers", type=int, default=14)
    parser.add_argument("--rate", type=float, default=3e-3)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--start", type=Path)
    parser.add_argument("--real", type=Path)
    parser.add_argument("--hold", default="")
    parser.add_argument("--real-batch", type=int, nargs=2, default=(96, 128))
    parser.add_argument("--name", default="letters")
    return Plan(**vars(parser.parse_args()))


if __name__ == "__main__":
    logging.basicConfig(level=logging.INFO, format="%(message)s")
    train(_arguments())
