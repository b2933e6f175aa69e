"""No word of a document is lost in silence: what was read is ticked off, the rest is found.

A reader of a packed document ticks every element whose words it took in, and every one it left
out knowingly. Whatever holds words and has no tick was met nowhere: the document is refused.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from proofcheck.base.errors import CopyError

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping
    from xml.etree.ElementTree import Element

__all__ = ["Ticks", "beginning", "in_words", "inherited", "words_of"]

_MOST_SHOWN = 40
"""Characters of matter quoted in a note."""


@dataclass(slots=True)
class Ticks:
    """Which elements of a document were taken in, and which were left out with all they hold.

    Elements are known by identity, so the document must outlive its ticks.
    """

    _taken: set[int] = field(default_factory=set)
    _left: set[int] = field(default_factory=set)
    seen: Counter[str] = field(default_factory=Counter)
    """How many of each kind of thing there were, for the notes."""
    shown: dict[str, str] = field(default_factory=dict)
    """Beginning of the first that was left out, by kind."""

    def take(self, element: Element) -> None:
        """The element's own words are in the copy."""
        self._taken.add(id(element))

    def leave(self, element: Element, kind: str = "") -> None:
        """The element and all in it is no matter, or is left out and told as `kind`."""
        self._left.add(id(element))
        if kind:
            self.seen[kind] += 1
            self.shown.setdefault(kind, beginning(words_of(element)))

    def refuse_rest(self, tree: Element, name: str, silent: Collection[str]) -> None:
        """Go through `tree` and refuse it if words stand in it that nobody ticked.

        Args:
            tree: a whole part of the document.
            name: of the copy, for the message.
            silent: tags whose words are never printed (commands, positions).

        Raises:
            CopyError: names the element and how its words begin.
        """
        waiting = [tree]
        while waiting:
            element = waiting.pop()
            if id(element) in self._left or element.tag in silent:
                continue
            if id(element) not in self._taken and _own_words(element):
                tag = str(element.tag).rpartition("}")[2]
                msg = (
                    f"{name}: “{beginning(_own_words(element))}” stands in a part of the document "
                    f"({tag}) that can't be taken in; make plain text of it and save again."
                )
                raise CopyError(msg)
            waiting.extend(reversed(element))


def _own_words(element: Element) -> str:
    own = (element.text or "", *(child.tail or "" for child in element))
    return "".join(own).strip()


def words_of(element: Element) -> str:
    """All the words in an element, blanks set right."""
    return " ".join(" ".join(element.itertext()).split())


def beginning(words: str) -> str:
    """The words, cut where they are many."""
    words = " ".join(words.split())
    return words if len(words) <= _MOST_SHOWN else words[: _MOST_SHOWN - 1] + "…"


_REMARKS = {
    "numbered": "{n} paragraphs or list items get a number or bullet from the word processor, "
    "which is not in the copy as loaded; type the numbers in to have them compared.",
    "hidden": "{n} stretches of hidden text were left out{at}.",
    "symbols": "{n} characters of a symbol font stand as U+FFFD.",
    "boxes": "{n} text boxes stand as paragraphs of their own, each after the paragraph it is "
    "fixed to.",
    "pictures": "{n} pictures or drawings in the copy can't be compared; look at them yourself.",
    "made": "{n} page numbers or dates that the word processor puts in are not in the copy as "
    "loaded; type them in to have them compared.",
    "ruby": "{n} glosses over words were left out{at}.",
    "heads": "{n} heads or feet of pages were left out{at}.",
    "comments": "{n} comments were left out{at}.",
    "notes": "{n} footnotes stand after the text.",
}
"""What is told of each kind, in this order; `{n}` is how many, `{at}` how the first begins."""


def in_words(ticks: Ticks) -> tuple[str, ...]:
    """One sentence for each kind that was seen."""
    told = []
    for kind, sentence in _REMARKS.items():
        if count := ticks.seen[kind]:
            at = ticks.shown.get(kind, "")
            told.append(sentence.format(n=count, at=f" (“{at}”)" if at else ""))
    return tuple(told)


def inherited(
    own: Mapping[str, Mapping[str, str]], parents: Mapping[str, str]
) -> dict[str, dict[str, str]]:
    """What each style comes to with all that it is based on, each settled once.

    Args:
        own: what each style sets itself, by name.
        parents: the style each is based on; a ring of them is cut where it closes.
    """
    settled: dict[str, dict[str, str]] = {}
    for name in own:
        chain: list[str] = []
        held: set[str] = set()
        at = name
        while at in own and at not in settled and at not in held:
            chain.append(at)
            held.add(at)
            at = parents.get(at, "")
        found = settled.get(at, {})
        for each in reversed(chain):
            found = {**found, **own[each]}
            settled[each] = found
    return settled
