"""Which reader reads, by name."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Collection

    from proofcheck.base.options import Options
    from proofcheck.reading import Reader

__all__ = ["characters_of", "open_reader", "version_of"]


def open_reader(options: Options) -> Reader:
    """The reader the options name.

    Raises:
        WeightsError: the letter reader's weights are missing or damaged.
        EngineError: the OCR engine, or its language, is missing.
    """
    if options.reader == "tesseract":
        from proofcheck.reading.ocr import OcrReader

        return OcrReader(options.language)
    from proofcheck.reading.letter_reader import LetterReader

    return LetterReader(options.weights) if options.weights else LetterReader()


def version_of(reader: Reader) -> str:
    """Version of the reader's engine or weights, for the report."""
    return str(getattr(reader, "version", ""))


def characters_of(reader: Reader) -> Collection[str] | None:
    """The characters the reader tells apart; None where that can't be known."""
    known: Collection[str] | None = getattr(reader, "characters", None)
    return known
