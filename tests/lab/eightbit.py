"""The letter reader's weights in whole numbers of eight bits, and what that costs in letters.

    python -m tests.lab.eightbit make LETTERS.onnx OUT.onnx PAGE.png [PAGE.png …]
    python -m tests.lab.eightbit measure LETTERS.onnx OUT.onnx PAGE.png [PAGE.png …]

`make` looks at the pages' lines for how large the numbers between the layers get, and so should be
given pages of many kinds. `measure` is to be given others, each with its text beside it (NAME.txt):
it prints the edits from that text for both sets of weights, those from one to the other, and the
processor's time of the networks alone. Weights that are in eight bits already are widened first.
"""

from __future__ import annotations

import hashlib
import json
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from rapidfuzz.distance import Levenshtein

from proofcheck.base.threads import one_blas_thread
from proofcheck.reading.letter_reader import LetterReader
from proofcheck.sheet.clean import clean_sheet
from proofcheck.sheet.lines import find_lines
from proofcheck.sheet.scans import open_scans

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Line, Sheet
    from proofcheck.sheet.strips import Strip

__all__ = ["Laid", "make", "measure"]

_LINES_A_PAGE: Final = 8
"""So many lines of a page, from head to foot, show how large the numbers get."""


class _Watched(LetterReader):
    """A reader that keeps the batches it is given, or the processor's time they take."""

    def __init__(self, weights: Path) -> None:
        super().__init__(weights, threads=1)
        self.batches: list[NDArray[np.float32]] = []
        self.seconds = 0.0
        self.keep = False

    def _scores(
        self, strips: list[Strip]
    ) -> tuple[NDArray[np.float32], NDArray[np.float32] | None]:
        if self.keep:
            width = max(strip.image.shape[1] for strip in strips)
            batch = np.zeros((len(strips), 1, strips[0].image.shape[0], width), np.float32)
            for row, strip in enumerate(strips):
                batch[row, 0, :, : strip.image.shape[1]] = (255 - strip.image) / np.float32(255)
            self.batches.append(batch)
        start = time.process_time()
        found = super()._scores(strips)
        self.seconds += time.process_time() - start
        return found


def _pages(paths: Sequence[Path]) -> Iterator[tuple[Path, Sheet, tuple[Line, ...]]]:
    for path in paths:
        for picture in open_scans([path]):
            sheet = clean_sheet(picture, 0)
            yield path, sheet, find_lines(sheet)


def make(
    weights: Path, out: Path, pages: Sequence[Path], *, narrow: bool, edges_whole: bool
) -> None:
    """Write the weights in eight bits, and beside them `.json` as for the others.

    Static, by layer in and channel out: what is between layers as 0 to 255 (U8), weights as -127
    to 127 (S8).

    Args:
        weights: of the reader (ONNX).
        out: the file to write.
        pages: pictures whose lines show how large the numbers get.
        narrow: weights in seven bits: processors without the eight-bit instructions (VNNI) add
            products up in sixteen bits and overflow otherwise.
        edges_whole: leave the first layer and the last as they are.
    """
    import onnx
    from onnxruntime.quantization import (
        CalibrationDataReader,
        QuantFormat,
        QuantType,
        quantize_static,
    )

    from tests.lab.widened import widened

    whole = out.with_suffix(".whole.onnx")
    onnx.save(widened(weights), str(whole))
    watched = _Watched(weights)
    watched.keep = True
    for _, sheet, lines in _pages(pages):
        watched.evidence(sheet, lines[:: max(1, len(lines) // _LINES_A_PAGE)][:_LINES_A_PAGE])

    class Lines(CalibrationDataReader):  # type: ignore[misc]
        def __init__(self, batches: Iterable[NDArray[np.float32]]) -> None:
            self._rest = iter(batches)

        def get_next(self) -> dict[str, Any] | None:
            batch = next(self._rest, None)
            return None if batch is None else {"strips": batch}

    layers = [node.name for node in onnx.load(whole).graph.node if node.op_type == "Conv"]
    quantize_static(
        str(whole),
        str(out),
        Lines(watched.batches),
        quant_format=QuantFormat.QDQ,
        activation_type=QuantType.QUInt8,
        weight_type=QuantType.QInt8,
        per_channel=True,
        reduce_range=narrow,
        nodes_to_exclude=[layers[0], layers[-1]] if edges_whole else [],
    )
    whole.unlink()
    facts = json.loads(weights.with_suffix(".json").read_text("utf-8"))
    facts["sha256"] = hashlib.sha256(out.read_bytes()).hexdigest()
    out.with_suffix(".json").write_text(json.dumps(facts, ensure_ascii=False, indent=0) + "\n")


@dataclass(slots=True)
class Laid:
    """Two sets of weights laid beside each other on the same lines."""

    pages: int = 0
    characters: int = 0
    """Of the true text."""
    edits: list[int] = field(default_factory=lambda: [0, 0])
    """From the true text, for each."""
    apart: int = 0
    """Edits from one reading to the other."""
    seconds: list[float] = field(default_factory=lambda: [0.0, 0.0])
    """The processor's time of each network."""


def measure(weights: Path, other: Path, pages: Sequence[Path]) -> Laid:
    """Read pages with both, the lines found once for both."""
    laid, readers = Laid(), [_Watched(weights), _Watched(other)]
    for path, sheet, lines in _pages(pages):
        text = " ".join(path.with_suffix(".txt").read_text("utf-8").split())
        read = [" ".join(r.text for r in reader.read(sheet, lines)) for reader in readers]
        laid.pages += 1
        laid.characters += len(text)
        for at, each in enumerate(read):
            laid.edits[at] += Levenshtein.distance(text, each)
        laid.apart += Levenshtein.distance(*read)
    laid.seconds = [reader.seconds for reader in readers]
    return laid


def _told(laid: Laid) -> str:
    pages, characters = max(laid.pages, 1), max(laid.characters, 1)
    lines = [f"{laid.pages} pages, {laid.characters:,} characters"]
    for name, edits, seconds in zip(("as given", "other"), laid.edits, laid.seconds, strict=True):
        share = 1000 * edits / characters
        lines.append(
            f"{name}: {edits} edits from the text ({share:.2f} of 1,000), "
            f"{seconds / pages:.2f} s of the processor a page"
        )
    return "\n".join([*lines, f"{laid.apart} edits from one to the other"])


def main(arguments: Sequence[str]) -> None:
    """Do what the command line asks."""
    options = {word for word in arguments if word.startswith("--")}
    what, weights, other, *pages = [word for word in arguments if word not in options]
    paths = [Path(page) for page in pages]
    with one_blas_thread():
        if what == "make":
            narrow, edges = "--narrow" in options, "--edges-whole" in options
            make(Path(weights), Path(other), paths, narrow=narrow, edges_whole=edges)
        else:
            print(_told(measure(Path(weights), Path(other), paths)))


if __name__ == "__main__":
    main(sys.argv[1:])
