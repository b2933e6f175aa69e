"""Which witnesses can speak to what is in dispute on a proof."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from proofcheck.base.errors import EngineError
from proofcheck.weigh import Witnesses
from proofcheck.weigh.beyond import Beyond
from proofcheck.weigh.crowns import crowns_of
from proofcheck.weigh.own_letters import OwnLetters
from proofcheck.weigh.page_letters import page_letters
from proofcheck.weigh.page_says import PageSays
from proofcheck.weigh.ratio import ratio_witness
from proofcheck.weigh.word_widths import WordWidths

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.found import Difference
    from proofcheck.base.options import Options
    from proofcheck.base.values import Line, Reading, Sheet
    from proofcheck.reading import Reader

__all__ = ["witnesses_of"]


def witnesses_of(
    reader: Reader,
    asked: tuple[Sequence[Sheet], Sequence[Line], Sequence[Reading], Sequence[Difference]],
    lacking: frozenset[str],
    options: Options,
) -> tuple[Witnesses, tuple[str, ...]]:
    """Those who can speak, and a word on any that can't be had.

    Args:
        reader: who read the proof.
        asked: its sheets, lines, readings and differences.
        lacking: characters of the copy that the reader has none for.
        options: whether a second look is wanted, and in which language.
    """
    from proofcheck.weigh.second_look import SecondLook

    own, page, letters = OwnLetters(*asked), PageSays(*asked), page_letters(reader, *asked)
    beyond = Beyond(lacking, page.fellows, crowns_of(reader))
    widths = WordWidths(*asked[1:])
    called = Witnesses(ratio_witness(reader), None, own, page, beyond, letters, widths)
    if not options.second_look:
        return called, ()
    try:
        return replace(called, second_look=SecondLook(options.language)), ()
    except EngineError as error:
        return called, (f"read without a second witness: {error}",)
