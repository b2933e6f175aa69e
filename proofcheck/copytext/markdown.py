"""Markdown as plain paragraphs: what a reader would see, with its italic and bold noted.

Headings, list items, table rows and quoted paragraphs each become a paragraph; a link leaves
its text, a picture nothing; the number of a numbered item stays, a bullet goes. What is left out
is told. Line ends inside a paragraph stay, as in plain text. HTML is not known: it stays as it was
typed.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Any

from markdown_it import MarkdownIt

from proofcheck.base.errors import CopyError
from proofcheck.copytext.draft import Draft, Galley

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from markdown_it.token import Token

__all__ = ["MOST_CHARACTERS", "markdown_draft"]

MOST_CHARACTERS = 4 * 10**6
"""Longest Markdown taken: the parser's time on hostile text grows faster than the text."""

_STYLES = {"em": "italic", "strong": "bold"}
_ENDS = frozenset({"paragraph_close", "heading_close", "tr_close"})
_CELL_ENDS = frozenset({"td_close", "th_close"})


def markdown_draft(text: str, notes: tuple[str, ...], name: str) -> Draft:
    """The paragraphs of a Markdown text.

    Raises:
        CopyError: the text is longer than MOST_CHARACTERS.
    """
    if len(text) > MOST_CHARACTERS:
        msg = f"{name}: Markdown of more than {MOST_CHARACTERS:,} characters; name it .txt instead."
        raise CopyError(msg)
    parser = MarkdownIt("commonmark", {"html": False, "maxNesting": 100}).enable(
        ["table", "strikethrough"]
    )
    galley, left_out = Galley(), Counter[str]()
    held: dict[str, Any] = {}
    for token in parser.parse(text, held):
        left_out[token.type] += 1
        left_out.update(child.type for child in token.children or ())
        _set_block(galley, token)
    # A paragraph that begins "[Note]: come" is a definition to Markdown and gone from the text.
    definitions = held.get("references", {})
    told = (
        (left_out["image"], "{} pictures in the copy can't be compared; look at them yourself."),
        (left_out["hr"], "{} rules between paragraphs were left out."),
        (len(definitions), f"{{}} definitions of links were left out ({_first(definitions)})."),
    )
    return galley.draft((*notes, *(words.format(count) for count, words in told if count)))


def _first(definitions: Mapping[str, Any]) -> str:
    name = next(iter(definitions), "")
    return f"“[{name[:40].lower()}]:”".replace("{", "(").replace("}", ")")


def _set_block(galley: Galley, token: Token) -> None:
    if token.type == "inline":
        _set_inline(galley, token.children or ())
    elif token.type in {"fence", "code_block"}:
        galley.add(token.content.rstrip("\n"))
        galley.end_paragraph()
    elif token.type == "list_item_open" and token.info:
        galley.add(f"{token.info}{token.markup} ")
    elif token.type in _ENDS:
        galley.end_paragraph()
    elif token.type in _CELL_ENDS:
        galley.add("\t")


def _set_inline(galley: Galley, tokens: Sequence[Token]) -> None:
    styles: list[str] = []
    for token in tokens:
        tag = _STYLES.get(token.tag)
        if tag and token.nesting > 0:
            styles.append(tag)
        elif tag and token.nesting < 0:
            styles.remove(tag)
        elif token.type in {"softbreak", "hardbreak"}:
            galley.add("\n", frozenset(styles))
        elif token.type != "image":
            galley.add(token.content, frozenset(styles))
