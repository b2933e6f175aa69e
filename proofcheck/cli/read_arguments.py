"""What `proofcheck read` is given."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path  # noqa: TC003 - the command line reads the annotations
from typing import Annotated, Any

import typer

from proofcheck.base.options import READERS, Options, load_settings

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
    part: Annotated[bool, typer.Option("--part", help="The proof holds only part of the copy.")] = (
        False
    )
    up: Annotated[
        int | None,
        typer.Option(metavar="N", help="So many tickets of the one copy are on each sheet."),
    ] = None
    lines: Annotated[
        list[str] | None,
        typer.Option(metavar="FILE", help="Lines found elsewhere: PAGE XML or ALTO, one a sheet."),
    ] = None
    hand_set: Annotated[bool, typer.Option("--hand-set", help="Type from the case, not slugs.")] = (
        False
    )
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
    text_only: Annotated[
        bool, typer.Option("--text-only", help="Read the text alone; don't judge the type itself.")
    ] = False
    unfit: Annotated[
        bool, typer.Option("--unfit", help="Read on though the sheet is not fit to be judged.")
    ] = False
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
        options = load_settings(self.settings) if self.settings else Options()
        chosen: dict[str, Any] = {
            "part": self.part or None,
            "up": self.up,
            "lines": tuple(self.lines) if self.lines else None,
            "hand_set": self.hand_set or None,
            "bands": self.bands,
            "dpi": self.dpi,
            "measure_picas": self.measure,
            "reader": self.reader,
            "weights": self.weights,
            "language": self.language,
            "encoding": self.encoding,
            "enforced": tuple(self.enforce) if self.enforce else None,
            "allowed": tuple(self.allow) if self.allow else None,
            "type_too": False if self.text_only else None,
            "unfit": self.unfit or None,
        }
        return replace(
            options, **{name: value for name, value in chosen.items() if value is not None}
        )
