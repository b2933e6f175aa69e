"""The shop's options as settings for casting."""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.recast.cost import Rates
from proofcheck.recast.faces import load_face, usual_face
from proofcheck.recast.handset import load_bill
from proofcheck.recast.settings import CastSettings

if TYPE_CHECKING:
    from collections.abc import Mapping

    from proofcheck.base.options import Options

__all__ = ["cast_settings", "cast_settings_as_read"]


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


def cast_settings_as_read(settings: Mapping[str, object]) -> CastSettings:
    """Settings for casting from those a report was made with (`Options.as_settings`).

    A face or a bill of type that was given as a file is not at hand again: the usual ones serve.
    """
    minutes = [settings.get(name) for name in ("minutes_a_slug", "minutes_a_change")]
    slug, change = (float(each) if isinstance(each, int | float) else 0.0 for each in minutes)
    usual = CastSettings()
    return CastSettings(
        bands=str(settings.get("bands") or usual.bands),
        hand_set=bool(settings.get("hand_set")),
        language=str(settings.get("language") or usual.language),
        face=usual_face(),
        rates=Rates(slug, change),
    )
