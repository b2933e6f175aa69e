"""The scores against brute force over all paths, the definition of Graves et al. (2006)."""

import itertools

import numpy as np
import pytest

from proofcheck.reading import ctc


def random_line(columns, classes, seed=0):
    scores = np.random.default_rng(seed).normal(0, 2, (columns, classes))
    return scores - np.logaddexp.reduce(scores, axis=1, keepdims=True)


def collapse(path):
    kept = [c for c, _ in itertools.groupby(path)]
    return tuple(c for c in kept if c)


@pytest.mark.parametrize("text", [(), (1,), (2, 1), (1, 1), (1, 2, 1), (2, 2, 2)])
def test_forward_score_is_the_sum_over_all_paths(text):
    logp = random_line(5, 3)
    paths = [p for p in itertools.product(range(3), repeat=5) if collapse(p) == text]
    total = sum(float(np.exp(sum(logp[t, c] for t, c in enumerate(p)))) for p in paths)
    assert ctc.log_likelihood(logp, text) == pytest.approx(np.log(total))


def test_scores_of_all_texts_sum_to_one():
    logp = random_line(4, 3, seed=1)
    texts = {collapse(p) for p in itertools.product(range(3), repeat=4)}
    assert sum(np.exp(ctc.log_likelihood(logp, t)) for t in texts) == pytest.approx(1)


def test_text_longer_than_the_line_is_impossible():
    logp = random_line(3, 4)
    assert ctc.log_likelihood(logp, [1, 2, 3, 1]) == -np.inf
    assert ctc.log_likelihood(logp, [1, 1, 1]) == -np.inf
    assert ctc.llr(logp, [1], [1, 2, 3, 1]) == np.inf
    with pytest.raises(ValueError, match="3 columns"):
        ctc.align(logp, [1, 2, 3, 1])


def test_greedy_drops_repeats_and_blanks():
    logp = np.full((9, 4), -9.0)
    for column, number in enumerate([0, 1, 1, 0, 1, 2, 2, 0, 3]):
        logp[column, number] = -0.01
    found = ctc.greedy(logp)
    assert found.classes.tolist() == [1, 1, 2, 3]
    assert found.columns == pytest.approx([1.5, 4, 5.5, 8])
    assert found.certainty == pytest.approx(np.exp(-0.01))
    assert len(ctc.greedy(np.zeros((0, 4))).classes) == 0


def test_alignment_of_a_long_line_finds_each_letter():
    rng = np.random.default_rng(3)
    text = rng.integers(1, 30, 120).tolist()
    logp = np.full((500, 30), -8.0)
    logp[:, 0] = -0.01
    for place, number in enumerate(text):
        logp[4 * place + 2] = -8.0
        logp[4 * place + 2, number] = -0.01
    assert ctc.align(logp, text) == pytest.approx(4 * np.arange(120) + 2, abs=1)


def test_stretch_round_a_difference_scores_like_the_whole_line():
    logp = np.full((240, 8), -12.0)
    text = [1, 2, 3, 4, 5, 6] * 10
    logp[:, 0] = -0.05
    for place, number in enumerate(text):
        logp[4 * place + 1 : 4 * place + 3] = -12.0
        logp[4 * place + 1 : 4 * place + 3, number] = -0.05
    logp[4 * 30 + 1 : 4 * 30 + 3, 7] = -1.5
    other = [*text[:30], 7, *text[31:]]
    whole = ctc.log_likelihood(logp, text) - ctc.log_likelihood(logp, other)
    assert ctc.llr(logp, text, other) == pytest.approx(whole, abs=0.01)
    assert ctc.llr(logp, other, text) == pytest.approx(-whole, abs=0.01)
    assert ctc.llr(logp, text, text) == 0


def test_a_wildcard_is_neither_borne_out_nor_refused():
    logp = random_line(6, 4, seed=5)
    best = ctc.greedy(logp).classes.tolist()
    assert abs(ctc.llr(logp, best, [ctc.WILDCARD, *best[1:]])) < 2
