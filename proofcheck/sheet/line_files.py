"""Lines that another program has found, from its PAGE XML or ALTO file.

Taken are the outline of each line, its baseline where there is one, and the order of reading; text
is not. Versions of PAGE since 2010 and of ALTO since 2 are read alike.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final, TypeAlias

from defusedxml import DefusedXmlException
from defusedxml.ElementTree import ParseError, fromstring

from proofcheck.base.errors import SettingError
from proofcheck.base.visible import visible

if TYPE_CHECKING:
    from collections.abc import Iterator
    from xml.etree.ElementTree import Element

__all__ = ["GivenLine", "GivenPage", "pages_of"]

Points: TypeAlias = tuple[tuple[float, float], ...]
"""Places (x, y) in pixels of the scan; (0, 0) is the top left corner of its first pixel."""

_LARGEST: Final = 1 << 27
"""Bytes of a file beyond which it is none of lines."""
_MOST_LINES: Final = 20_000
_NUMBER: Final = re.compile(r"-?\d+(?:\.\d+)?")


@dataclass(frozen=True, slots=True)
class GivenLine:
    """One line as given."""

    name: str
    """Its id in the file."""
    outline: Points
    baseline: Points
    """Left to right; empty where none is given."""
    block: int
    """Which region it stands in, counted in the order of reading."""


@dataclass(frozen=True, slots=True)
class GivenPage:
    """The lines of one picture."""

    file: str
    picture: str
    """Name of the picture they were found on; "" where none is given."""
    sha256: str
    """Digest of that picture's file; "" where none is given."""
    width_px: float
    """0 where it is not given, as the height."""
    height_px: float
    lines: tuple[GivenLine, ...]
    """In the order of reading."""


def pages_of(path: Path | str) -> list[GivenPage]:
    """The pages of a file, in order; PAGE has one.

    Raises:
        SettingError: it can't be read, is neither PAGE XML nor ALTO, gives its places in another
            unit than pixels, or has a line without an outline.
    """
    root = _root(Path(path))
    kind = _local(root)
    name = visible(str(path))
    if kind not in {"PcGts", "alto"}:
        msg = f"{name} is no file of lines: neither PAGE XML nor ALTO; give one of these"
        raise SettingError(msg)
    pages = [_page(root, name)] if kind == "PcGts" else list(_alto(root, name))
    if sum(len(page.lines) for page in pages) > _MOST_LINES:
        msg = f"{name} has more lines than a proof can have ({_MOST_LINES:,}); give its own file"
        raise SettingError(msg)
    return pages


def _root(path: Path) -> Element:
    name = visible(str(path))
    try:
        if path.stat().st_size > _LARGEST:
            msg = f"{name} is too large for a file of lines"
            raise SettingError(msg)
        root: Element = fromstring(path.read_bytes())
    except OSError as error:
        msg = f"the lines {name} can't be read ({error.strerror}); check the path"
        raise SettingError(msg) from error
    except (ParseError, DefusedXmlException, ValueError, LookupError) as error:
        msg = f"{name} is no sound XML; write it anew with the program that found the lines"
        raise SettingError(msg) from error
    return root


# ------------------------------------------------------------------------------ PAGE XML


def _page(root: Element, name: str) -> GivenPage:
    page = next(_named(root, "Page"), None)
    if page is None:
        msg = f"{name} holds no page; give a file with the lines of the scan"
        raise SettingError(msg)
    regions = list(_named(page, "TextRegion"))
    order = {ref: at for at, ref in enumerate(_in_order(page))}
    regions.sort(key=lambda region: order.get(region.get("id", ""), len(order)))
    lines = tuple(
        _page_line(line, block, name)
        for block, region in enumerate(regions)
        for line in region
        if _local(line) == "TextLine"
    )
    return GivenPage(
        name,
        page.get("imageFilename", ""),
        "",
        _size(page.get("imageWidth")),
        _size(page.get("imageHeight")),
        lines,
    )


def _in_order(page: Element) -> Iterator[str]:
    """Ids of regions in the order of reading, groups within groups."""
    for order in _named(page, "ReadingOrder"):
        yield from _refs(order)


def _refs(group: Element) -> Iterator[str]:
    def place(child: Element) -> float:
        return _size(child.get("index"))

    for child in sorted(group, key=place):
        if (ref := child.get("regionRef")) is not None:
            yield ref
        yield from _refs(child)


def _page_line(line: Element, block: int, name: str) -> GivenLine:
    told = line.get("id", "")
    points = {}
    for part in ("Coords", "Baseline"):
        found = next((child for child in line if _local(child) == part), None)
        points[part] = () if found is None else _page_points(found)
    return _checked(GivenLine(told, points["Coords"], points["Baseline"], block), name)


def _page_points(element: Element) -> Points:
    if (text := element.get("points")) is not None:
        return _points(text)
    # Versions before 2013 have an element for each.
    return tuple((_size(p.get("x")), _size(p.get("y"))) for p in element)


# ------------------------------------------------------------------------------ ALTO


def _alto(root: Element, name: str) -> Iterator[GivenPage]:
    unit = next((e.text or "" for e in _named(root, "MeasurementUnit")), "pixel").strip()
    if unit != "pixel":
        msg = f"{name} gives its places in {visible(unit)}; have them written in pixels of the scan"
        raise SettingError(msg)
    picture = next((e.text or "" for e in _named(root, "fileName")), "").strip()
    marked = (
        e for e in _named(root, "fileIdentifier") if e.get("fileIdentifierLocation") == "SHA-256"
    )
    sha256 = next((e.text or "" for e in marked), "").strip()
    for page in _named(root, "Page"):
        lines = tuple(
            _alto_line(line, block, name)
            for block, text in enumerate(_named(page, "TextBlock"))
            for line in _named(text, "TextLine")
        )
        size = _size(page.get("WIDTH")), _size(page.get("HEIGHT"))
        yield GivenPage(name, picture, sha256, *size, lines)


def _alto_line(line: Element, block: int, name: str) -> GivenLine:
    shape = next((e for e in line if _local(e) == "Shape"), None)
    polygon = None if shape is None else next(_named(shape, "Polygon"), None)
    outline = _points(polygon.get("POINTS", "")) if polygon is not None else _alto_box(line)
    text = line.get("BASELINE", "")
    baseline = _points(text)
    if not baseline and outline and _NUMBER.fullmatch(text.strip()):
        # Versions before 4.1 give its height alone.
        xs = [x for x, _ in outline]
        baseline = ((min(xs), float(text)), (max(xs), float(text)))
    return _checked(GivenLine(line.get("ID", ""), outline, baseline, block), name)


def _alto_box(element: Element) -> Points:
    held = [element.get(side, "") for side in ("HPOS", "VPOS", "WIDTH", "HEIGHT")]
    if not all(_NUMBER.fullmatch(side) for side in held):
        return ()
    x, y, width, height = map(float, held)
    return ((x, y), (x + width, y), (x + width, y + height), (x, y + height))


# ------------------------------------------------------------------------------ both


def _checked(line: GivenLine, name: str) -> GivenLine:
    if len(line.outline) < 3:
        called = f"line {visible(line.name)}" if line.name else "a line"
        msg = f"{called} of {name} has no outline; have polygons or boxes written for all lines"
        raise SettingError(msg)
    return line


def _points(text: str) -> Points:
    numbers = [float(number) for number in _NUMBER.findall(text)]
    return tuple(zip(numbers[::2], numbers[1::2], strict=False))


def _size(text: str | None) -> float:
    return float(text) if text is not None and _NUMBER.fullmatch(text.strip()) else 0.0


def _local(element: Element) -> str:
    return str(element.tag).rpartition("}")[2]


def _named(element: Element, name: str) -> Iterator[Element]:
    return (each for each in element.iter() if _local(each) == name)
