"""Faults of whole lines: dropped, doubled, swapped, turned, foreign, run down, badly divided."""

from __future__ import annotations

from dataclasses import replace

from .faults import like, put, slug_at
from .matter import Forme, Planted, Slug, Sort, sorts_of
from .setting import divisions

__all__ = [
    "RUN_DOWN",
    "bad_division",
    "double_line",
    "drop_lines",
    "foreign_line",
    "run_down_line",
    "swap_lines",
    "turn_line",
]

RUN_DOWN = "etaoin shrdlu"
"""The first two banks of keys of the line-casting keyboard, run down to fill a spoiled line."""


def _items(forme: Forme, items, *planted: Planted, uids: int = 0) -> Forme:
    return replace(
        forme,
        items=tuple(items),
        planted=(*forme.planted, *planted),
        next_uid=forme.next_uid + uids,
    )


def _first_copy(slug: Slug) -> int:
    return next((s.copy for s in slug.sorts if s.copy >= 0), -1)


def drop_lines(forme: Forme, first: int, last: int | None = None) -> Forme:
    """Leave out a line, or all from `first` to `last`: an out."""
    last = last or first
    gone = forme.slugs[first - 1 : last]
    before = forme.slugs[first - 2].uid if first > 1 else 0
    kind = "line-missing" if len(gone) == 1 else "matter-missing"
    text = _running_text(forme, gone)
    fault = Planted(kind, before, "", text, _first_copy(gone[0]))
    uids = {slug.uid for slug in gone}
    return _items(forme, (i for i in forme.items if getattr(i, "uid", 0) not in uids), fault)


def _running_text(forme: Forme, slugs) -> str:
    """The copy these lines hold, white as single spaces."""
    held = [s.copy for slug in slugs for s in slug.sorts if s.copy >= 0]
    ends = [s.copy + len(s.text) for slug in slugs for s in slug.sorts if s.copy >= 0]
    if not held:
        return " ".join(slug.text for slug in slugs)
    return " ".join(forme.copy[min(held) : max(ends)].split())


def double_line(forme: Forme, line: int) -> Forme:
    """The same slug standing in the forme twice running."""
    slug = slug_at(forme, line)
    again = replace(slug, uid=forme.next_uid)
    items = []
    for item in forme.items:
        items += [item, again] if item is slug else [item]
    fault = Planted("line-doubled", again.uid, slug.text, "", _first_copy(slug), (slug.uid,))
    return _items(forme, items, fault, uids=1)


def swap_lines(forme: Forme, line: int, other: int) -> Forme:
    """Two slugs in each other's places."""
    one, two = slug_at(forme, line), slug_at(forme, other)
    items = [two if i is one else one if i is two else i for i in forme.items]
    fault = Planted("lines-transposed", two.uid, two.text, one.text, _first_copy(one), (one.uid,))
    return _items(forme, items, fault)


def turn_line(forme: Forme, line: int) -> Forme:
    """A slug put back end for end: it prints upside down."""
    slug = replace(slug_at(forme, line), turned=True)
    return put(forme, slug, Planted("turned-sort", slug.uid, "", slug.text, _first_copy(slug)))


def foreign_line(
    forme: Forme, after: int, text: str, *, full: bool = False, kind: str = "line-foreign"
) -> Forme:
    """A line of other matter after a line, in the same body."""
    beside = slug_at(forme, max(after, 1))
    pattern = next(s for s in beside.sorts if s.text != " ")
    space = Sort(" ", 0.33 * beside.body_pt, -1, "roman", pattern.family, beside.body_pt, band=True)
    sorts: list[Sort] = []
    for word in text.split(" "):
        sorts += [space] if sorts else []
        sorts += sorts_of([(c, "roman", -1) for c in word], pattern.family, beside.body_pt)
    made = replace(
        beside,
        uid=forme.next_uid,
        sorts=tuple(sorts),
        indent_pt=0.0,
        align="justify",
        full=full,
        division=False,
        shift_pt=0.0,
        turned=False,
    ).respread()
    items = [made] if after == 0 else []
    for item in forme.items:
        items += [item, made] if item is beside and after else [item]
    return _items(forme, items, Planted(kind, made.uid, text, ""), uids=1)


def run_down_line(forme: Forme, after: int) -> Forme:
    """The line an operator runs down when he has spoiled one, left in the forme."""
    return foreign_line(forme, after, RUN_DOWN)


def bad_division(forme: Forme, line: int) -> Forme:
    """Divide the word at a line's end where it may not be divided."""
    upper, lower = slug_at(forme, line), slug_at(forme, line + 1)
    if not upper.division:
        msg = f"line {line} ends in no division: {upper.text!r}"
        raise ValueError(msg)
    singles = [_singles(slug.sorts) for slug in (upper, lower)]
    head = _tail_word(singles[0][:-1])
    rest = _head_word(singles[1])
    word = "".join(s.text for s in head + rest)
    allowed = divisions(word)
    for cut in (len(head) - 1, len(head) + 1, len(head) + 2):
        letters = word[:cut].isalpha() and word[cut : cut + 2].isalpha()
        if 1 < cut < len(word) - 2 and cut not in allowed and letters:
            break
    else:
        msg = f"no bad division to be had in {word!r}"
        raise ValueError(msg)
    letters = head + rest
    hyphen = singles[0][-1]
    kept = singles[0][: len(singles[0]) - 1 - len(head)]
    new_upper = replace(upper, sorts=(*kept, *letters[:cut], hyphen)).respread()
    new_lower = replace(lower, sorts=(*letters[cut:], *singles[1][len(rest) :])).respread()
    word = word.rstrip(".,;:!?”’)")
    fault = Planted("bad-division", upper.uid, f"{word[:cut]}-{word[cut:]}", word, letters[0].copy)
    return put(put(forme, new_lower), new_upper, fault)


def _singles(sorts) -> list[Sort]:
    out: list[Sort] = []
    for sort in sorts:
        for i, char in enumerate(sort.text):
            whole = len(sort.text) == 1
            out.append(sort if whole else like(sort, char, sort.copy + i))
    return out


def _tail_word(sorts: list[Sort]) -> list[Sort]:
    at = len(sorts)
    while at and sorts[at - 1].text != " ":
        at -= 1
    return sorts[at:]


def _head_word(sorts: list[Sort]) -> list[Sort]:
    at = next((i for i, s in enumerate(sorts) if s.text == " "), len(sorts))
    return sorts[:at]
