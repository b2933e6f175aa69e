"""The plan of fewest slugs against every way there is."""

from __future__ import annotations

from functools import cache

from hypothesis import given, settings
from hypothesis import strategies as st

from proofcheck.base.bands import BANDS
from proofcheck.recast.breaks import Matter, lay_out_breaks, matter_of
from proofcheck.recast.faces import usual_face
from proofcheck.recast.justify import Shape, fit_line, limits_of_bands
from proofcheck.recast.runon import run_on
from proofcheck.recast.search import Cost, Kept, fewest_slugs, line_steps, runs_on

BODY = 10.0
FACE = usual_face()


def width_of(unit: str) -> float:
    return FACE.width_em(unit) * BODY


def measured(text: str, also=(), never=()) -> Matter:
    return matter_of(text, lay_out_breaks(text, "eng", also=also, never=never), width_of)


def every_way(matter, shape, limits, kept, old_lines):
    """The least cost of all settings, each tried; None where there is none."""
    last = len(matter.breaks) - 1
    stays = {(one.upper, one.lower) for one in kept}
    best: Cost | None = None

    @cache
    def cast(at, lower):
        """What casting this line costs; None where it can't be. The same however one came to it."""
        room = shape.room_pt(first=at == 0)
        if matter.length_pt(at, lower) > room + 20:
            return None
        spread = shape.justified and lower != last
        fitted = fit_line(
            room, matter.length_pt(at, lower), matter.spaces(at, lower), limits, spread=spread
        )
        if fitted is None:
            return None
        away = (fitted.space_pt - limits.usual_pt) / limits.usual_pt
        uneven = away * away if fitted.space_pt else 0.0
        return line_steps(matter, (at, lower), fitted), round(uneven, 9)

    def go(at, lines, run, cost):
        nonlocal best
        if at == last:
            total = Cost(cost[0], abs(lines - len(old_lines)), cost[1], cost[2], round(cost[3], 9))
            best = total if best is None or total < best else best
            return
        for lower in range(at + 1, last + 1):
            divided = matter.breaks[lower].hyphen
            if (at, lower) in stays:
                after = runs_on(run, divided=divided, cast=False)
                if after is not None:
                    go(lower, lines + 1, after, cost)
            costs, after = cast(at, lower), runs_on(run, divided=divided, cast=True)
            if costs is None or after is None:
                continue
            steps, uneven = costs
            so_far = (cost[0] + 1, cost[1] + steps, cost[2] + divided, cost[3] + uneven)
            go(lower, lines + 1, after, so_far)

    go(0, 0, 0, (0, 0, 0, 0.0))
    return best


WORDS = st.sampled_from(
    [
        "a",
        "of",
        "the",
        "band",
        "drum",
        "music",
        "evening",
        "concert",
        "programme",
        "afterwards",
        "ferryman’s",
        "well-kept",
        "efficient",
        "soft,",
        "gate;",
        "umbrellas",
        "lantern",
        "difficult",
        "second",
        "geese",
        "summer—time",
    ]
)


@st.composite
def problems(draw):
    """A paragraph with line ends where they happen to be, some of its lines to be kept."""
    words = draw(st.lists(WORDS, min_size=3, max_size=8))
    text = " ".join(words)
    picas = draw(st.sampled_from([6.0, 8.0, 11.0, 14.0]))
    shape = Shape(picas * 12, draw(st.sampled_from([0.0, 10.0])), 0.0, draw(st.booleans()))
    limits = limits_of_bands(draw(st.sampled_from(list(BANDS.values()))), BODY)
    if draw(st.booleans()):
        limits = limits.with_thin()
    matter = measured(text)
    last = len(matter.breaks) - 1
    inner = st.lists(st.integers(1, last - 1), unique=True, max_size=4) if last > 1 else st.just([])
    ends = [*sorted(draw(inner)), last]
    kept = [
        Kept(upper, lower, number)
        for number, (upper, lower) in enumerate(zip([0, *ends], ends, strict=False), 1)
        if draw(st.booleans())
    ]
    return matter, shape, limits, kept, ends


@settings(max_examples=80)
@given(problems())
def test_no_way_of_setting_is_better_than_the_plan(problem):
    found = fewest_slugs(*problem)
    best = every_way(*problem)
    assert (found.cost if found else None) == best


@settings(max_examples=60)
@given(problems())
def test_the_plan_is_whole_and_costs_what_its_lines_cost(problem):
    matter, shape, _, kept, ends = problem
    found = fewest_slugs(*problem)
    if found is None:
        return
    assert [line.upper for line in found.lines] == [0, *(line.lower for line in found.lines[:-1])]
    assert found.lines[-1].lower == len(matter.breaks) - 1
    cast = [line for line in found.lines if line.kept is None]
    assert found.cost.slugs == len(cast)
    assert found.gained == len(found.lines) - len(ends)
    assert {line.kept for line in found.lines if line.kept} <= set(kept)
    for line in cast:
        gaps = matter.spaces(line.upper, line.lower)
        length = matter.length_pt(line.upper, line.lower) + gaps * line.fitted.space_pt
        room = shape.room_pt(first=line.upper == 0)
        if shape.justified and line.lower != len(matter.breaks) - 1 and gaps:
            assert abs(length - room) < 1e-6
        else:
            assert length <= room + 1e-6


@settings(max_examples=60)
@given(problems())
def test_running_on_is_never_better_where_all_its_lines_fit(problem):
    matter, shape, limits, kept, _ = problem
    lines = run_on(matter, shape, limits, kept)
    assert [line.upper for line in lines] == [0, *(line.lower for line in lines[:-1])]
    cast = [line for line in lines if line.kept is None]
    if all(line.fitted for line in cast):
        found = fewest_slugs(*problem)
        run, legal = 0, True
        for line in lines:
            divided = matter.breaks[line.lower].hyphen
            run = runs_on(run, divided=divided, cast=line.kept is None) if legal else None
            legal = run is not None
        if legal:
            assert found is not None
            assert found.cost.slugs <= len(cast)


def test_divisions_keep_to_the_rules():
    # Two letters before and three after (Hart's Rules, as later printed); words of four letters
    # and names whole (Hamilton 1918).
    matter = measured("Josiah gave efficient music, only well-kept")
    parts = {matter.text[: place.end].rpartition(" ")[2] for place in matter.breaks if place.hyphen}
    assert {"ef", "effi"} <= parts
    assert all(len(part) >= 2 for part in parts)
    assert not any(part.startswith(("Jo", "on")) for part in parts)
    # A hyphen of its own is a place, with none put in.
    own = [place for place in matter.breaks if matter.text[: place.end].endswith("well-")]
    assert len(own) == 1
    assert not own[0].hyphen
