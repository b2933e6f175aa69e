"""The shop's options as settings for casting."""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.recast.cost import Rates
from proofcheck.recast.faces import load_face, usual_face
from proofcheck.recast.handset import load_bill
from proofcheck.recast.settings import CastSettings

if TYPE_CHECKING:
    from proofcheck.base.options import Options

__all__ = ["cast_settings"]


def cast_settings(options: Options) -> CastSettings:
    """Settings for casting; SettingError where a face or a bill of type can't be used."""
    return CastSettings(
        bands=options.bands,
        hand_set=options.hand_set,
        language=options.language,
        face=load_face(options.face) if options.face else usual_face(),
        bill=load_bill(options.bill) if options.bill else None,
        rates=Rates(options.minutes_a_slug, options.minutes_a_change),
    )
