"""Write the shapes of a proof's record into the report's schema, from the values themselves."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import proofcheck.results
from proofcheck.results.record_codec import codec_of
from proofcheck.results.report import Report

__all__ = ["SCHEMA", "with_record"]

SCHEMA = Path(proofcheck.results.__file__).parent / "report_schema.json"


def with_record(schema: dict[str, Any]) -> dict[str, Any]:
    """The schema with the shapes that the record's values have now."""
    kept = {name: one for name, one in schema["$defs"].items() if not name.startswith("record_")}
    made = codec_of(Report)
    shown = {name: made.defs[name] for name in sorted(made.defs)}
    return {**schema, "$defs": {**kept, **shown}}


if __name__ == "__main__":
    held = json.loads(SCHEMA.read_text("utf-8"))
    text = json.dumps(with_record(held), indent=1, ensure_ascii=False) + "\n"
    SCHEMA.write_text(text, "utf-8")
    print(f"{SCHEMA.name}: {len(text)} characters")
