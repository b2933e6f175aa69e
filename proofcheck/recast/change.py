"""What a plan is made of: new slugs, and the changes they go in by."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from proofcheck.recast.breaks import Matter
    from proofcheck.recast.justify import Shape
    from proofcheck.recast.search import NewLine
    from proofcheck.recast.stretch import Paragraph

__all__ = ["Change", "Frame", "NewSlug", "Recast"]


@dataclass(frozen=True, slots=True)
class NewSlug:
    """One slug to be cast (or line to be set)."""

    text: str
    """Full matter as it is to be keyed, a division with its hyphen."""
    measure_pt: float
    indent_pt: float
    space_pt: float
    """Width the word spaces come to; 0 where it is not known or the line is not spread."""
    body_pt: float
    number: int = 0
    """From 1 in galley order, to be checked off."""
    divided: bool = False
    spread: bool = True
    """Justified to the measure."""
    thin: bool = False
    """Thin spaces must stand beside the bands."""


@dataclass(frozen=True, slots=True)
class Change:
    """Slugs that go in together in the place of others."""

    lines: tuple[int, ...]
    """Printed lines they replace; none where only matter is put in."""
    after: int
    """Printed line they follow, 0 at the head."""
    slugs: tuple[NewSlug, ...]
    faults: tuple[str, ...]
    """Ids of the faults they cure."""
    first_words: str
    """First words of the first line taken out."""
    last_words: str
    """Last words of the last line taken out."""
    pitch_pt: float = 0.0
    """Depth of one line, body and lead."""

    @property
    def gained(self) -> int:
        """Lines more than before, less than 0 for fewer."""
        return len(self.slugs) - len(self.lines)

    @property
    def depth_pt(self) -> float:
        """Depth by which everything below moves down; less than 0 for up."""
        return self.gained * self.pitch_pt


@dataclass(frozen=True, slots=True)
class Frame:
    """A paragraph with its room, for making slugs of its new lines."""

    paragraph: Paragraph
    matter: Matter
    shape: Shape
    body_pt: float

    def slug(self, line: NewLine) -> NewSlug:
        """The slug of one new line."""
        shape, fitted = self.shape, line.fitted
        indent = shape.first_indent_pt if line.upper == 0 else shape.indent_pt
        last = line.lower == len(self.matter.breaks) - 1
        return NewSlug(
            self.matter.line(line.upper, line.lower),
            shape.measure_pt,
            indent,
            fitted.space_pt if fitted else 0.0,
            self.body_pt,
            divided=self.matter.breaks[line.lower].hyphen,
            spread=shape.justified and not last,
            thin=bool(fitted and fitted.thin),
        )


@dataclass(frozen=True, slots=True)
class Recast:
    """Slugs to set again together."""

    lines: tuple[int, ...]
    """Numbers of the printed lines they replace, in order."""
    matter: tuple[str, ...]
    """The new matter, one text a slug."""
    reason: tuple[str, ...]
    """Ids of the faults they cure."""
    after: int = 0
    """The printed line they follow, 0 at the head: says where matter goes that replaces none."""
    spaces_pt: tuple[float, ...] = ()
    """Width that the word spaces of each come to, in points; 0 for a line that is not spread."""
