"""Names of the elements of OpenDocument text, and which of them hold matter."""

from __future__ import annotations

__all__ = [
    "DRAW",
    "FO",
    "OBJECTS",
    "OFFICE",
    "PARAGRAPHS",
    "SHAPES",
    "SILENT",
    "STYLE",
    "TABLE",
    "TEXT",
]

_NAMES = "{urn:oasis:names:tc:opendocument:xmlns:%s:1.0}"
OFFICE, TEXT, TABLE = _NAMES % "office", _NAMES % "text", _NAMES % "table"
STYLE, DRAW = _NAMES % "style", _NAMES % "drawing"
FO = _NAMES % "xsl-fo-compatible"
PARAGRAPHS = frozenset({TEXT + "p", TEXT + "h"})
_SKIPPED = frozenset(
    {
        OFFICE + "forms",
        TEXT + "sequence-decls",
        TEXT + "variable-decls",
        TEXT + "user-field-decls",
        TEXT + "dde-connection-decls",
        TABLE + "table-column",
    }
)
_INDEXES = ("table-of-content", "illustration-index", "table-index", "object-index", "user-index")
_COMMANDS = frozenset(
    TEXT + tag
    for tag in (
        *(f"{index}-source" for index in (*_INDEXES, "alphabetical-index")),
        "bibliography-source",
    )
)
"""How an index is made: its words are never printed."""
_SVG = _NAMES % "svg-compatible"
SILENT = (
    _SKIPPED
    | _COMMANDS
    | {_SVG + "title", _SVG + "desc", TABLE + "title", TABLE + "desc", OFFICE + "binary-data"}
)
"""Elements whose words are never printed."""
OBJECTS = {DRAW + "object", DRAW + "object-ole", DRAW + "plugin", DRAW + "applet"}
SHAPES = frozenset(
    DRAW + tag
    for tag in (
        "custom-shape",
        "rect",
        "ellipse",
        "circle",
        "line",
        "polyline",
        "polygon",
        "regular-polygon",
        "path",
        "connector",
        "caption",
        "measure",
        "g",
        "frame",
        "a",
    )
)
