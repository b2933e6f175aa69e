"""Weights shipped before, opened again for training: normalisation unfolded, classes joined.

    python -m tests.lab.reopen OLD.onnx ATLAS.npz WORDS.txt OUT.pt

In an exported network each convolution has its normalisation folded in. Here that is taken out
again with the means and spreads that made-up lines give at each place, so that the network says
the same as before and can be trained on. Classes it had keep their scores; new ones begin unlikely.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import torch
from onnx import numpy_helper
from torch import Tensor, nn

from proofcheck.reading.alphabet import CHARACTERS
from tests.lab import atlas as atlases
from tests.lab.press import Forme, Press, forme_of
from tests.lab.setting import Setter
from tests.lab.train import new_network
from tests.lab.widened import widened

if TYPE_CHECKING:
    from tests.lab.network import LetterNet

__all__ = ["reopen"]

_UNLIKELY = -6.0
"""Bias of a class that was not there before, beside the least of those that were."""


def reopen(old: Path, strips: Tensor) -> LetterNet:
    """The network of `old` (ONNX, its classes beside it), ready to be trained on.

    Args:
        old: exported weights of the same layers, in eight bits or whole; other classes maybe.
        strips: lines (n, 1, 48, W) from which the spreads are taken.
    """
    graph = widened(old).graph
    held = {
        tensor.name: torch.tensor(numpy_helper.to_array(tensor)) for tensor in graph.initializer
    }
    folded = [node for node in graph.node if node.op_type == "Conv"]
    net = new_network().eval()
    layers = list(net.modules())
    convolutions = [layer for layer in layers if isinstance(layer, nn.Conv2d)]
    norms = [layer for layer in layers if isinstance(layer, nn.BatchNorm2d)]
    with torch.no_grad():
        for node, layer in zip(folded[:-1], convolutions[:-1], strict=True):
            layer.weight.copy_(held[node.input[1]])
        for node, norm in zip(folded[:-1], norms, strict=True):
            norm.weight.fill_(float(np.sqrt(1 + norm.eps)))
            norm.bias.copy_(held[node.input[2]])
        _join_classes(net, old, *(held[name] for name in folded[-1].input[1:]))
        _unfold(net, norms, strips)
    return net


def _join_classes(net: LetterNet, old: Path, weight: Tensor, bias: Tensor) -> None:
    known = json.loads(old.with_suffix(".json").read_text(encoding="utf-8"))["characters"]
    net.classes.weight.mul_(0.1)
    assert net.classes.bias is not None
    net.classes.bias.fill_(float(bias.min()) + _UNLIKELY)
    for number, letter in enumerate(CHARACTERS):
        if letter in known:
            net.classes.weight[number] = weight[known.index(letter)]
            net.classes.bias[number] = bias[known.index(letter)]


def _unfold(net: LetterNet, norms: list[nn.BatchNorm2d], strips: Tensor) -> None:
    """Give each normalisation the mean and spread of what comes to it, its result unchanged."""
    seen: dict[nn.Module, Tensor] = {}

    def keep(layer: nn.Module, given: tuple[Tensor, ...]) -> None:
        seen[layer] = given[0].detach()

    hooks = [norm.register_forward_pre_hook(keep) for norm in norms]
    net(strips)
    for hook in hooks:
        hook.remove()
    for norm in norms:
        spread, mean = torch.var_mean(seen[norm], dim=(0, 2, 3), correction=0)
        norm.running_mean = mean
        norm.running_var = spread
        norm.weight.copy_((spread + norm.eps).sqrt())
        norm.bias.add_(mean)


def _main(old: Path, atlas_path: Path, words: Path, out: Path) -> None:
    atlas = atlases.load(atlas_path)
    setter = Setter(atlas, words.read_text(encoding="utf-8").split(), np.random.default_rng(8))
    with torch.no_grad():
        forme = Forme(*forme_of(setter.batch(256)))
        strips = Press(atlas, torch.device("cpu"), 9).strips(forme)
    torch.save(reopen(old, strips).state_dict(), out)


if __name__ == "__main__":
    _main(*(Path(name) for name in sys.argv[1:5]))
