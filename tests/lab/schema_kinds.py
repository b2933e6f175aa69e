"""Write the kinds of fault into the report's schema, from the table of kinds.

    python -m tests.lab.schema_kinds

The schema goes out with the program as one file that stands by itself; this keeps its lists of
kinds those of `proofcheck.base.kinds`, wherever in it they stand.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import proofcheck
from proofcheck.base.kinds import Kind

__all__ = ["with_kinds"]

SCHEMA = Path(proofcheck.__file__).parent / "results" / "report_schema.json"


def with_kinds(text: str) -> str:
    """The schema's text with every list of kinds as the table has it."""
    schema = json.loads(text)
    _put_in(schema)
    return json.dumps(schema, indent=1) + "\n"


def _put_in(part: Any) -> None:
    if isinstance(part, dict):
        if Kind.WRONG_LETTER.value in part.get("enum", ()):
            part["enum"] = [kind.value for kind in Kind]
        for held in part.values():
            _put_in(held)
    elif isinstance(part, list):
        for held in part:
            _put_in(held)


if __name__ == "__main__":
    SCHEMA.write_text(with_kinds(SCHEMA.read_text("utf-8")), "utf-8")
