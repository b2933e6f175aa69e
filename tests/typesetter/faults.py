"""Put known faults into set lines, as a hand or a machine would make them.

Every function takes a forme and a printed line number (from 1) and gives a forme with that fault
planted; what a report should say of it stands in `forme.expected()`. A line that was justified is
justified again with its fault, because the machine spreads whatever matrices it was given.
"""

from __future__ import annotations

from dataclasses import replace

from proofcheck.reading.turned import is_turned
from tests.turning import as_printed_turned

from .faces import family
from .matter import Forme, Planted, Slug, Sort, sorts_of

__all__ = [
    "broken_letter",
    "hairline",
    "misset",
    "off_line",
    "shift_line",
    "turned_sort",
    "uneven_spacing",
    "without_lead",
    "work_up",
    "wrong_font",
]

WORD_KINDS = {
    "wrong-word",
    "word-missing",
    "word-extra",
    "word-doubled",
    "words-transposed",
    "matter-missing",
}


# ------------------------------------------------------------------- handling lines


def slug_at(forme: Forme, line: int) -> Slug:
    """The slug that prints as line number `line`."""
    return forme.slugs[line - 1]


def put(forme: Forme, slug: Slug, *planted: Planted) -> Forme:
    """The forme with a slug replaced by its new self (same uid)."""
    items = tuple(slug if getattr(i, "uid", None) == slug.uid else i for i in forme.items)
    return replace(forme, items=items, planted=(*forme.planted, *planted))


def _split_ligatures(sorts) -> list[Sort]:
    out: list[Sort] = []
    for sort in sorts:
        if len(sort.text) == 1:
            out.append(sort)
            continue
        for i, char in enumerate(sort.text):
            at = sort.copy + i if sort.copy >= 0 else -1
            out.append(like(sort, char, at))
    return out


def like(sort: Sort, text: str, copy: int) -> Sort:
    """Another letter of the same face and size."""
    glyph = family(sort.family).glyph(text, sort.style)
    return replace(sort, text=text, width_pt=glyph.advance_em * sort.size_pt, copy=copy, band=False)


def _join_ligatures(sorts: list[Sort]) -> list[Sort]:
    """Letters drawn again into ligatures wherever the keyboard has one (plain sorts only)."""
    out: list[Sort] = []
    run: list[Sort] = []
    for sort in [*sorts, None]:
        plain = sort is not None and sort.text != " " and not sort.leader and _is_plain(sort)
        if plain:
            run.append(sort)
            continue
        if run:
            out += _recast(run)
            run = []
        if sort is not None:
            out.append(sort)
    return out


def _is_plain(sort: Sort) -> bool:
    return not (sort.turned or sort.broken or sort.raise_pt or sort.hairline or sort.block)


def _recast(run: list[Sort]) -> list[Sort]:
    kind = (run[0].family, run[0].size_pt)
    if any((s.family, s.size_pt) != kind for s in run):
        return run
    return sorts_of([(s.text, s.style, s.copy) for s in run], *kind)


def _find(slug: Slug, find: str, nth: int) -> tuple[list[Sort], int]:
    """The line's single sorts and where the nth `find` begins among them."""
    sorts = _split_ligatures(slug.sorts)
    text = "".join(s.text for s in sorts)
    at = -1
    for _ in range(nth):
        at = text.find(find, at + 1)
        if at < 0:
            msg = f"line {text!r} has no {find!r} (occurrence {nth})"
            raise ValueError(msg)
    return sorts, at


# ------------------------------------------------------------------- faults of the text


def misset(
    forme: Forme, line: int, find: str, new: str, kind: str, *, nth: int = 1, note: bool = True
) -> Forme:
    """Set `new` where the line has `find`; `kind` says what a report should call it.

    With `note` off the change is made and not entered as a fault (for a customer's change).
    """
    slug = slug_at(forme, line)
    sorts, at = _find(slug, find, nth)
    head, tail = _common(find, new, words=kind in WORD_KINDS)
    first, last = at + head, at + len(find) - tail
    old = sorts[first:last]
    made = _new_sorts(sorts, first, last, new[head : len(new) - tail], slug)
    changed = sorts[:first] + made + sorts[last:]
    if not slug.letterspace_pt:
        changed = _join_ligatures(changed)
    copy_text = "".join(s.text for s in old)
    printed = new[head : len(new) - tail]
    blank_matters = kind.startswith("space")
    copy_at = next((s.copy for s in sorts[first:] if s.copy >= 0), -1)
    fault = Planted(
        kind,
        slug.uid,
        printed if blank_matters else printed.strip(),
        copy_text if blank_matters else copy_text.strip(),
        copy_at,
    )
    moved = _fits(replace(slug, sorts=tuple(changed)).respread())
    return put(forme, moved, *([fault] if note else []))


def _fits(slug: Slug) -> Slug:
    """The line itself; ValueError where no wedge could bring it to the measure."""
    room = slug.measure_pt - slug.indent_pt
    if slug.width_pt > room + 1.0 or (slug.full and slug.width_pt < room - 1.0):
        msg = f"{slug.text!r} can't be justified to {room:.0f} pt"
        raise ValueError(msg)
    return slug


def _common(old: str, new: str, *, words: bool) -> tuple[int, int]:
    """How many characters old and new share at the head and at the tail."""
    head = 0
    while head < min(len(old), len(new)) and old[head] == new[head]:
        head += 1
    while words and head and not _word_edge(old, new, head):
        head -= 1
    tail = 0
    while tail < min(len(old), len(new)) - head and old[-1 - tail] == new[-1 - tail]:
        tail += 1
    while words and tail and not _word_edge(old[::-1], new[::-1], tail):
        tail -= 1
    return head, tail


def _word_edge(old: str, new: str, at: int) -> bool:
    return all(at >= len(t) or at == 0 or t[at] == " " or t[at - 1] == " " for t in (old, new))


def _new_sorts(sorts, first: int, last: int, text: str, slug: Slug) -> list[Sort]:
    pattern = next(
        (s for s in [*sorts[first:last], *sorts[:first][::-1], *sorts] if s.text != " "), sorts[0]
    )
    band = next((s for s in slug.sorts if s.band), None)
    made: list[Sort] = []
    for i, char in enumerate(text):
        copy = sorts[first + i].copy if first + i < last else -1
        if char == " ":
            width = band.width_pt if band else 0.33 * slug.body_pt
            made.append(
                replace(pattern, text=" ", width_pt=width, copy=copy, band=band is not None)
            )
        else:
            sort = like(pattern, char, copy)
            made.append(replace(sort, width_pt=sort.width_pt + slug.letterspace_pt))
    return made


# ------------------------------------------------------------------- faults of the type


def _mark(forme: Forme, line: int, find: str, nth: int, letter: int, **changes):
    """A line with one of its sorts changed, that sort as it was, and the slug."""
    slug = slug_at(forme, line)
    sorts, at = _find(slug, find, nth)
    was = sorts[at + letter]
    sorts[at + letter] = replace(was, **changes)
    return replace(slug, sorts=tuple(_join_ligatures(sorts))), was


def turned_sort(forme: Forme, line: int, find: str, *, letter: int = 0, nth: int = 1) -> Forme:
    """A sort set upside down: rotated about the middle of its body."""
    slug, was = _mark(forme, line, find, nth, letter, turned=True)
    look = as_printed_turned(was.text)
    if look == was.text:
        msg = f"a turned {was.text!r} can't be told from the letter as it should stand"
        raise ValueError(msg)
    kind = "turned-sort" if is_turned(look) else "wrong-letter"
    return put(forme, slug, Planted(kind, slug.uid, look, was.text, was.copy))


def wrong_font(
    forme: Forme,
    line: int,
    find: str,
    *,
    letter: int = 0,
    nth: int = 1,
    other: str = "goudy",
    style: str = "roman",
) -> Forme:
    """A letter of another face among its fellows."""
    slug, was = _mark(forme, line, find, nth, letter, family=other, style=style)
    sorts = [
        like(s, s.text, s.copy) if s.family == other and s.text != " " else s for s in slug.sorts
    ]
    slug = replace(slug, sorts=tuple(sorts)).respread()
    return put(forme, slug, Planted("wrong-font", slug.uid, was.text, was.text, was.copy))


def broken_letter(
    forme: Forme, line: int, find: str, *, letter: int = 0, nth: int = 1, seed: int = 1
) -> Forme:
    """A letter with a piece broken out of its face."""
    slug, was = _mark(forme, line, find, nth, letter, broken=seed)
    return put(forme, slug, Planted("broken-letter", slug.uid, was.text, was.text, was.copy))


def off_line(
    forme: Forme, line: int, find: str, *, letters: int = 1, nth: int = 1, by_em: float = 0.16
) -> Forme:
    """Letters standing above (or below) their line."""
    slug = slug_at(forme, line)
    sorts, at = _find(slug, find, nth)
    was = sorts[at]
    for i in range(at, at + letters):
        sorts[i] = replace(sorts[i], raise_pt=by_em * slug.body_pt)
    slug = replace(slug, sorts=tuple(_join_ligatures(sorts)))
    text = "".join(s.text for s in sorts[at : at + letters])
    return put(forme, slug, Planted("off-line", slug.uid, text, text, was.copy))


def hairline(forme: Forme, line: int, find: str, *, letter: int = 0, nth: int = 1) -> Forme:
    """A hairline printing before a letter, as from worn matrices."""
    slug, was = _mark(forme, line, find, nth, letter, hairline=True)
    return put(forme, slug, Planted("hairline", slug.uid, "", "", was.copy))


def _gap(slug: Slug, gap: int) -> tuple[int, Sort]:
    """The nth word space of a line, and where it stands among the sorts."""
    spaces = [i for i, s in enumerate(slug.sorts) if s.text == " "]
    if gap > len(spaces):
        msg = f"line {slug.text!r} has no word space {gap}"
        raise ValueError(msg)
    return spaces[gap - 1], slug.sorts[spaces[gap - 1]]


def work_up(forme: Forme, line: int, gap: int) -> Forme:
    """A space risen to the height of the type, so that it prints (gap from 1)."""
    slug = slug_at(forme, line)
    at, space = _gap(slug, gap)
    sorts = [*slug.sorts]
    sorts[at] = replace(space, block=True)
    moved = replace(slug, sorts=tuple(sorts))
    return put(forme, moved, Planted("work-up", slug.uid, "", "", space.copy))


def uneven_spacing(forme: Forme, line: int, widths_em: tuple[float, ...]) -> Forme:
    """Word spaces of the given widths, in turn, instead of even ones; the line keeps its length."""
    slug = slug_at(forme, line)
    spaces = [s for s in slug.sorts if s.text == " "]
    wanted = [widths_em[i % len(widths_em)] for i in range(len(spaces))]
    share = sum(s.width_pt for s in spaces) / sum(wanted)
    spread = iter(w * share for w in wanted)
    sorts = tuple(
        replace(s, width_pt=next(spread), band=False) if s.text == " " else s for s in slug.sorts
    )
    moved = replace(slug, sorts=sorts)
    return put(forme, moved, Planted("uneven-spacing", slug.uid, "", "", spaces[0].copy))


def shift_line(forme: Forme, line: int, by_pt: float) -> Forme:
    """A line standing in or out of the margin by so much."""
    slug = replace(slug_at(forme, line), shift_pt=by_pt)
    return put(forme, slug, Planted("crooked-line", slug.uid, "", ""))


def without_lead(forme: Forme, line: int) -> Forme:
    """A line whose lead below was left out; no kind of the report, so nothing is entered."""
    return put(forme, replace(slug_at(forme, line), lead_pt=0.0))
