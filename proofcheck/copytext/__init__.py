r"""The approved copy: plain text, Markdown, DOCX or ODT made into one `Copy`.

Every loader ends in the same plain form: text with "\n" line ends, the paragraphs in it, and
the stretches the customer wants in italic, bold or small capitals. Positions in a report point
into that text. What the loading had to decide (an encoding guessed, a control character
replaced, a footnote moved) stands in `Copy.notes`, one plain sentence each.
"""

from __future__ import annotations

import hashlib
from dataclasses import replace
from typing import TYPE_CHECKING

from proofcheck.base.errors import CopyError
from proofcheck.base.values import Copy
from proofcheck.copytext.encoding import decode
from proofcheck.copytext.plain import clean_text, plain_draft
from proofcheck.copytext.source import Form, form_of, read_source

if TYPE_CHECKING:
    from pathlib import Path
    from typing import BinaryIO

    from proofcheck.copytext.draft import Draft

__all__ = ["load_copy"]


def load_copy(
    source: Path | str, *, encoding: str | None = None, stdin: BinaryIO | None = None
) -> Copy:
    r"""Load the approved copy.

    Plain text keeps its own line ends; in Markdown, DOCX and ODT paragraphs are joined by an
    empty line ("\n\n") and lines broken by hand inside one by "\n". DOCX and ODT are known by
    what is in them, Markdown by its name (.md, .markdown); all else is plain text.

    Args:
        source: path of the file, or "-" for standard input.
        encoding: of plain text and Markdown, where it is known; otherwise it is found out.
        stdin: what "-" reads; standard input by default.

    Raises:
        CopyError: the copy is missing, empty, damaged, no text, wrongly encoded, or holds
            changes nobody has accepted. One line: what, where, and what to do.
    """
    name = str(source)
    data = read_source(name, stdin)
    form = form_of(data, name)
    draft, taken = _draft(data, form, name, encoding)
    if not draft.text.strip():
        msg = f"{name}: the copy holds no text, only blanks; give the file with the words in it."
        raise CopyError(msg)
    return Copy(
        text=draft.text,
        name=name,
        sha256=hashlib.sha256(data).hexdigest(),
        encoding=taken,
        paragraphs=draft.paragraphs,
        emphasis=draft.emphasis,
        notes=draft.notes,
    )


def _draft(data: bytes, form: Form, name: str, encoding: str | None) -> tuple[Draft, str]:
    # Each form's own libraries only where it is of that form: most copy is plain.
    if form in {Form.DOCX, Form.ODT}:
        if form is Form.DOCX:
            from proofcheck.copytext.docx import docx_draft as office_draft
        else:
            from proofcheck.copytext.odt import odt_draft as office_draft
        draft = office_draft(data, name)
        text, notes = clean_text(draft.text)  # one for one here, so that no span shifts
        return replace(draft, text=text, notes=(*draft.notes, *notes)), "utf-8"
    decoded = decode(data, name, encoding)
    text, notes = clean_text(decoded.text)
    given = text, (*decoded.notes, *notes), name
    if form is Form.MARKDOWN:
        from proofcheck.copytext.markdown import markdown_draft

        return markdown_draft(*given), decoded.encoding
    return plain_draft(*given), decoded.encoding
