"""What a reply on a marked proof decides, by its state or by its words.

What the states of a review come to is our own rule, as the standard says only that the mark is
accepted, rejected and so on: Accepted and Completed, correct it; Rejected, let it stand; Cancelled,
no fault, it was read wrongly; None, undecided.
"""

from __future__ import annotations

__all__ = ["STATES", "by_words"]

STATES = {
    "Accepted": "correct",
    "Completed": "correct",
    "Rejected": "stand",
    "Cancelled": "sound",
    "None": "undecided",
}
"""States of the review model (ISO 32000-1, 12.5.6.3, from memory) and what each decides."""
_SAID = {
    "correct": ("correct", "it is so: correct"),
    "stand": ("stet", "let it stand", "stand"),
    "sound": ("no fault", "sound"),
    "query": ("ask the customer",),
}
"""Words that a reply may begin with instead of a state, those of the desk's buttons among them."""


def by_words(note: str) -> str:
    """What words alone decide; "" for nothing."""
    plain = note.casefold().strip()
    for what, begun in _SAID.items():
        for word in begun:
            if plain == word or plain.startswith(tuple(word + sign for sign in " :,.;-")):
                return what
    return "query" if plain.endswith("?") else ""
