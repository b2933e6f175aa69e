"""Which reader reads, by name."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from proofcheck.options import Options
    from proofcheck.reading import Reader
    from proofcheck.weigh.evidence import Witness

__all__ = ["open_reader", "ratio_witness", "version_of"]


def open_reader(options: Options) -> Reader:
    """The reader the options name.

    Raises:
        WeightsError: the letter reader's weights are missing or damaged.
        EngineError: the OCR engine, or its language, is missing.
    """
    if options.reader == "tesseract":
        from proofcheck.reading.ocr import OcrReader

        return OcrReader(options.language)
    from proofcheck.reading.letters import LetterReader

    return LetterReader(options.weights) if options.weights else LetterReader()


def ratio_witness(reader: Reader) -> Witness | None:
    """The witness that gives likelihood ratios, where the reader can be one."""
    from proofcheck.reading.letters import LetterReader
    from proofcheck.weigh.ratio import RatioWitness

    return RatioWitness(reader) if isinstance(reader, LetterReader) else None


def version_of(reader: Reader) -> str:
    """Version of the reader's engine or weights, for the report."""
    return str(getattr(reader, "version", ""))
