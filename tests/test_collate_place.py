"""Where in the copy lines may belong, looked for so many lines at a time."""

from random import Random

from proofcheck.collate import place
from proofcheck.collate.place import candidates, loose

WORDS = (
    "proof",
    "galley",
    "slug",
    "forme",
    "chase",
    "quoin",
    "bodkin",
    "stone",
    "matrix",
    "copper",
)


def matter(count, seed):
    rng = Random(seed)
    return [" ".join(rng.choices(WORDS, k=9)) for _ in range(count)]


def test_few_lines_at_a_time_find_what_all_together_find(monkeypatch):
    text = matter(60, 5)
    copy, lines = loose(" ".join(text)), [loose(line) for line in [*text[7:40], "", *text[2:9]]]
    whole = candidates(copy, lines)
    assert {each.line for each in whole} == set(range(len(lines))) - {33}
    for count in (1, 7, 40):
        monkeypatch.setattr(place, "_LINES_AT_ONCE", count)
        assert candidates(copy, lines) == whole


def test_no_lines_have_no_places():
    assert candidates(loose("one two three four"), []) == []
    assert candidates(loose("one two three four"), [loose(""), loose("x")]) == []
