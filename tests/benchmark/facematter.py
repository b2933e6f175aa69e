"""Matter to set for measuring: prose from a seed, with names, figures, prices and points.

All of it is made here; the people and places are invented.
"""

from __future__ import annotations

import random
import re

__all__ = ["prose", "shuffled"]

_SLOTS = {
    "name": "Alderton Birkmyre Cawdrey Dunstable Eccleby Farthing Gribbin Hesketh-Vane Ickworth "
    "Jessop Kettlewell Lambourne Mossgrave Norquay Oxenhope Pellew Quiney Rudge Scrivelsby "
    "Thurlow Umfreville Vexley Wragge Yarrowby Zeal",
    "first": "Abel Bertha Clement Dorcas Edmund Flora Gilbert Hester Ivor Jemima Kenelm Lydia "
    "Miles Nancy Oswin Phoebe Rufus Selina Tobias Winifred",
    "town": "Ashcombe Brackenby Copthorne Dunmere Fernhithe Great-Oxley Hollowell Kingsreach "
    "Ludbrook Mickleford Northwick Quarrendon Saltfleetby Thornaby-under-Hill Upwey",
    "trade": "baker chandler cooper draper fellmonger glazier joiner maltster ostler quarryman "
    "saddler wheelwright schoolmaster watchmaker bookbinder gamekeeper",
    "thing": "barrow bellows kettle lantern ledger ladder mangle plough quilt saddle scuttle "
    "trivet trumpet umbrella waggon weathercock violin cabinet",
    "stuff": "barley canvas flax gravel honey linseed malt oatmeal pewter serge tallow timber "
    "twine varnish wax vinegar zinc",
    "quality": "brittle crooked damp exquisite fluffy grave hollow jolly knotty muffled offensive "
    "quaint rusty sluggish tawdry unequal vexed yellow waxen difficult sufficient",
    "manner": "awkwardly briskly civilly duly eagerly frankly gently hastily justly loudly "
    "quietly stiffly wholly exactly officially",
    "day": "Monday Tuesday Wednesday Thursday Friday Saturday",
    "month": "January February March April May June July August September October November",
    "air": "The_Miller’s_Jig Over_the_Weir Lightly_She_Walked The_Five_Gates A_Quiet_Harbour",
}

_SENTENCES = (
    (
        "On {day}, the {n30} of {month}, Mr. {name} the {trade} carried {n} pounds of "
        "{stuff} to {town}."
    ),
    "“It is {quality},” said {first} {name}, “but I have seen no better {thing} at {price}.”",
    (
        "The committee, which met {manner} at half-past {hour}, found the {thing} "
        "{quality} and sold it."
    ),
    "Of {n} households in {town} only {small} kept a {thing}; the rest hired one from the {trade}.",
    "Mrs. {name} plays the {air} next, and {first} {name} will sing; doors open at {hour} o’clock.",
    (
        "There was a {quality} silence: then the {trade} laughed, and everybody spoke "
        "{manner} at once."
    ),
    "Why should {stuff} cost {price} in {town} when it is to be had for {price} in {town}?",
    "The old {trade}’s {thing} stood, {quality} and forgotten, behind the {stuff} in his yard.",
    "“Never mind the {thing}!” cried {first}; “bring the {stuff}, and bring it {manner}.”",
    "Between {year} and {year} the parish of {town} paid {price} a week for {stuff} and {stuff}.",
    "A {trade} who works {manner} may finish {small} of these in a day, or {n} in the month.",
    "The road from {town} to {town} (some {small} miles) is {quality} after rain, but quite safe.",
    "Neither {first} nor {first} knew how the {quality} {thing} had come into the {trade}’s hands.",
    "Visitors are asked to leave every {thing} with the {trade}, who will give a numbered ticket.",
    (
        "He bought {n} yards of {stuff}, {small} of {stuff} and one {quality} {thing}, "
        "all for {price}."
    ),
    "In the evening the river rose again, flooding the lower fields; the {stuff} was not touched.",
    "It was known by whom the lantern had been hung, and for what purpose, long before {month}.",
    "No. {n}, the property of {first} {name}, fetched {price}: a {quality} sum for such a {thing}.",
    "Just before noon a flock of geese, frightened by the {thing}, flew {manner} over the church.",
    (
        "They have agreed that the {trade} shall keep the key, that he shall lend it to nobody, "
        "and that the {thing} shall be cleaned each {day} with {stuff}."
    ),
    "Some of us remember when the square was {quality} with {stuff} and the {trade} gave credit.",
    "“Six, seven, eight,” counted {name} {manner}, and wrote in the ledger: “{thing}, {price}.”",
)


def prose(seed: int, words: int, can_set: str, *, italic: bool) -> list[str]:
    """Paragraphs of so many words at least, of no other characters than those that can be set.

    With `italic` the names of airs stand between `_` for the typesetter.
    """
    rng = random.Random(seed)
    made: list[str] = []
    while sum(len(text.split()) for text in made) < words:
        sentences = rng.sample(_SENTENCES, rng.randrange(3, 6))
        filled = [_filled(sentence, rng, "£" in can_set, italic) for sentence in sentences]
        made.append(" ".join(filled))
    lacking = sorted(set("".join(made)) - set(can_set) - {" ", "_"})
    if lacking:
        msg = f"the face can't set {lacking}"
        raise ValueError(msg)
    return made


def _filled(sentence: str, rng: random.Random, pounds: bool, italic: bool) -> str:
    def fill(match: re.Match[str]) -> str:
        slot = match[1]
        if slot in _SLOTS:
            word = rng.choice(_SLOTS[slot].split())
            if slot == "air":
                word = word.replace("_", " ")
                return f"_{word}_" if italic else word
            return word.replace("-", " ") if slot == "town" and rng.random() < 0.5 else word
        return _number(slot, rng, pounds)

    # A price ends in a point already.
    return re.sub(r"\{(\w+)\}", fill, sentence).replace("..", ".")


def _number(slot: str, rng: random.Random, pounds: bool) -> str:
    if slot == "price":
        small = f"{rng.randrange(1, 20)}s. {rng.randrange(1, 12)}d."
        return f"£{rng.randrange(2, 60)} {small}" if pounds and rng.random() < 0.4 else small
    if slot == "n30":
        day = rng.randrange(4, 21)
        return f"{day}th"
    low, high = {"n": (21, 980), "small": (3, 20), "hour": (1, 13), "year": (1780, 1930)}[slot]
    return str(rng.randrange(low, high))


def shuffled(text: str, seed: int) -> str:
    """The text with the letters of each lower-case word in any order: no word is left to know."""
    rng = random.Random(seed)

    def mix(match: re.Match[str]) -> str:
        return "".join(rng.sample(match[0], len(match[0])))

    return re.sub(r"\b[a-z]{3,}\b", mix, text)
