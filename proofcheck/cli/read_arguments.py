"""What `proofcheck read` is given."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from pathlib import Path  # noqa: TC003 - the command line reads the annotations
from typing import Annotated, Any

import typer

from proofcheck.base.found_settings import settings_for
from proofcheck.base.options import READERS, Options
from proofcheck.cli.arguments import said

__all__ = ["ReadArguments"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadArguments:
    """Each field one argument or option; None where the settings or the usual hold."""

    scans: Annotated[
        list[Path],
        typer.Argument(
            metavar="SCAN...",
            help="The proof: PNG, JPEG, TIFF, WebP or PDF; several scans make one proof.",
            show_default=False,
        ),
    ]
    copy: Annotated[
        str,
        typer.Option(
            "--copy",
            metavar="FILE",
            help="The approved copy: text, Markdown, DOCX or ODT; - is standard input.",
            show_default=False,
        ),
    ]
    part: Annotated[
        bool | None,
        typer.Option(
            "--part/--whole", help="The proof holds only part of the copy.", show_default=False
        ),
    ] = None
    up: Annotated[
        int | None,
        typer.Option(metavar="N", help="So many tickets of the one copy are on each sheet."),
    ] = None
    lines: Annotated[
        list[str] | None,
        typer.Option(metavar="FILE", help="Lines found elsewhere: PAGE XML or ALTO, one a sheet."),
    ] = None
    hand_set: Annotated[
        bool | None,
        typer.Option(
            "--hand-set/--slugs", help="Type from the case, or slugs.", show_default=False
        ),
    ] = None
    bill: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Bill of the font, of type from the case.")
    ] = None
    face: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Face of the matter: .otf, .ttf, or widths.")
    ] = None
    bands: Annotated[
        str | None, typer.Option(metavar="KIND", help="Kind of spaceband: thick, extra-thin …")
    ] = None
    dpi: Annotated[float | None, typer.Option(metavar="DPI", help="Resolution of the scans.")] = (
        None
    )
    measure: Annotated[
        float | None,
        typer.Option(metavar="PICAS", help="Length of a full line; sets the resolution."),
    ] = None
    reader: Annotated[
        str | None, typer.Option(metavar="NAME", help=f"Who reads: {' or '.join(READERS)}.")
    ] = None
    weights: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Other weights for the letter reader.")
    ] = None
    language: Annotated[
        str | None, typer.Option(metavar="NAME", help="Language of the matter: eng, fra, deu …")
    ] = None
    encoding: Annotated[
        str | None, typer.Option(metavar="NAME", help="Encoding of the copy, if it is known.")
    ] = None
    enforce: Annotated[
        list[str] | None,
        typer.Option(metavar="RULE", help="Do not make this allowance (may be given again)."),
    ] = None
    allow: Annotated[
        list[str] | None,
        typer.Option(metavar="RULE", help="Make this allowance, not made of itself."),
    ] = None
    own_line: Annotated[
        list[str] | None,
        typer.Option(metavar="TEXT", help="A line the shop adds, as an imprint; no copy has it."),
    ] = None
    text_only: Annotated[
        bool | None,
        typer.Option(
            "--text-only/--type-too",
            help="Read the text alone; don't judge the type itself.",
            show_default=False,
        ),
    ] = None
    unfit: Annotated[
        bool | None,
        typer.Option(
            "--unfit/--fit",
            help="Read on though the sheet is not fit to be judged.",
            show_default=False,
        ),
    ] = None
    type_weights: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Other weights for comparing letters.")
    ] = None
    faces: Annotated[
        Path | None, typer.Option(metavar="FILE", help="The shop's book of faces.")
    ] = None
    fault_certainty: Annotated[
        float | None, typer.Option(metavar="SHARE", help="From here on a difference is a fault.")
    ] = None
    query_certainty: Annotated[
        float | None, typer.Option(metavar="SHARE", help="Below this it is let go, and counted.")
    ] = None
    second_look: Annotated[
        bool | None,
        typer.Option(
            "--second-look/--no-second-look",
            help="Ask the OCR engine about places in dispute.",
            show_default=False,
        ),
    ] = None
    recast: Annotated[
        bool | None,
        typer.Option(
            "--recast/--no-recast", help="Plan which slugs to cast again.", show_default=False
        ),
    ] = None
    minutes_a_slug: Annotated[
        float | None, typer.Option(metavar="MINUTES", help="The shop's rate for one slug.")
    ] = None
    minutes_a_change: Annotated[
        float | None, typer.Option(metavar="MINUTES", help="For one change at the stone.")
    ] = None
    settings: Annotated[Path | None, typer.Option(metavar="FILE", help="Shop settings, TOML.")] = (
        None
    )
    job: Annotated[str, typer.Option(metavar="TEXT", help="Job, for the heading.")] = ""
    proof: Annotated[str, typer.Option(metavar="TEXT", help="Which proof: first, revise …")] = (
        "first"
    )
    out: Annotated[
        Path | None,
        typer.Option(metavar="FOLDER", help="Where results go; beside the scan by default."),
    ] = None
    overwrite: Annotated[
        bool, typer.Option("--overwrite", help="Write over results that exist.")
    ] = False
    again: Annotated[
        bool, typer.Option("--again", help="Leave results that exist, and write a new set.")
    ] = False
    json: Annotated[
        str | None,
        typer.Option(metavar="FILE", help="The report as JSON; - prints it and nothing more."),
    ] = None
    order: Annotated[
        str, typer.Option(metavar="ORDER", help="Order of the list: proof or certainty.")
    ] = "proof"
    list_only: Annotated[
        bool, typer.Option("--list", help="Only print the list; write no marked proof.")
    ] = False

    def chosen(self) -> Options:
        """The shop's choices, and over them those made here.

        Raises:
            SettingError: the settings can't be used.
        """
        options = settings_for(self.settings, tell=said)
        own = {
            "measure_picas": self.measure,
            "lines": tuple(self.lines) if self.lines else None,
            "enforced": tuple(self.enforce) if self.enforce else None,
            "allowed": tuple(self.allow) if self.allow else None,
            "own_lines": tuple(self.own_line) if self.own_line else None,
            "type_too": None if self.text_only is None else not self.text_only,
        }
        named = (field.name for field in fields(Options) if field.name not in own)
        chosen: dict[str, Any] = {**own, **{name: getattr(self, name) for name in named}}
        return replace(
            options, **{name: value for name, value in chosen.items() if value is not None}
        )
