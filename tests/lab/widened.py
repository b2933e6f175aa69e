"""Weights in eight bits opened as if they were whole again: for training on, and for `eightbit`.

What is between layers is rounded no more; weights keep the steps they were rounded to.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import onnx
from onnx import helper, numpy_helper

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

__all__ = ["widened"]


def widened(path: Path) -> Any:
    """The network of a file (ONNX) with nothing in eight bits; one that has nothing so as it is."""
    model = onnx.load(str(path))
    graph = model.graph
    held = {each.name: numpy_helper.to_array(each) for each in graph.initializer}
    nodes: list[Any] = []
    same: dict[str, str] = {}
    for node in graph.node:
        given = [same.get(name, name) for name in node.input]
        if node.op_type == "QuantizeLinear" and not held[node.input[2]].any():
            # Nothing below 0 is kept there: the layer's own cut at 0 was left to this.
            name, uncut = given[0], f"{given[0]}_uncut"
            made_by = next(each for each in nodes if name in each.output)
            made_by.output[0] = uncut
            nodes.append(helper.make_node("Relu", [uncut], [name]))
            same[node.output[0]] = name
        elif node.op_type == "DequantizeLinear" and given[0] in held:
            whole = _whole(*(held[name] for name in given))
            graph.initializer.append(numpy_helper.from_array(whole, node.output[0]))
        elif node.op_type in {"QuantizeLinear", "DequantizeLinear"}:
            same[node.output[0]] = given[0]
        else:
            del node.input[:]
            node.input.extend(given)
            nodes.append(node)
    used = {name for node in nodes for name in node.input}
    weights = [each for each in graph.initializer if each.name in used]
    for field, kept in ((graph.node, nodes), (graph.initializer, weights)):
        del field[:]
        field.extend(kept)
    return model


def _whole(
    steps: NDArray[np.int_], size: NDArray[np.float32], zero: NDArray[np.int_]
) -> NDArray[np.float32]:
    """Weights of so many steps, each of the size of its channel, which comes first."""
    across = (-1,) + (1,) * (steps.ndim - 1) if size.ndim else ()
    counted = steps.astype(np.float32) - zero.astype(np.float32).reshape(across)
    return np.asarray(counted * size.reshape(across), np.float32)
