"""Lists, ranges, paired tables, samples."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import qmc

from squeeze.study.plan.axes import (
    Axis,
    axis_of,
    combinations,
    numbers_of,
    paired_axis,
    sample_axis,
)
from squeeze.study.plan.formula import StudyValueError


@pytest.mark.parametrize(
    ("given", "found"),
    [
        ({"from": 1, "to": 8}, list(range(1, 9))),
        ({"from": 0, "to": 40, "step": 15}, [0, 15, 30]),
        ({"from": 0.0, "to": 0.3, "step": 0.1}, [0.0, 0.1, 0.2, 0.3]),
        ({"from": 1, "to": 2, "count": 5}, [1.0, 1.25, 1.5, 1.75, 2.0]),
    ],
)
def test_ranges(given, found):
    assert numbers_of(given) == found


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (7, "needed is a list, or a range"),
        ([], "needed is a list, or a range"),
        ([[1, 2], [3, 4]], "need labels"),
        ({"from": 1}, "to = nothing"),
        ({"from": 8, "to": 1}, "from has to be less"),
        ({"from": 0.5, "to": 2}, "needs a step or a count"),
        ({"from": 0, "to": 2, "step": 0}, "above 0"),
        ({"from": 0, "to": 2, "step": 1, "count": 3}, "given together"),
        ({"from": 0, "to": 2, "count": 1}, "whole number from 2"),
        ({"from": 0, "to": 2, "stepp": 1}, "not a key of a range"),
        ({"from": 0, "to": 2, "width": 1, "by": 1}, '"by" is not a key of a range'),
        ({"from": "a", "to": 2}, "needs a number"),
        ({"from": 0, "to": 1e9, "step": 1}, "allowed are 1000000"),
        ({"from": 0, "to": float("inf"), "step": 1}, "needs a number"),
    ],
)
def test_what_is_no_spread_is_said(given, said):
    with pytest.raises(StudyValueError, match=said):
        axis_of("k", given)


def test_paired_lists_run_together():
    axis = paired_axis(
        1, {"a": [1, 2], "b": [{"x": 1}, {"x": 2}], "name": "kind", "labels": ["p", "q"]}
    )
    assert axis.keys == ("a", "b")
    assert axis.points == ((1, {"x": 1}), (2, {"x": 2}))
    assert axis.columns == ("kind", "a")
    assert axis.row(1) == {"kind": "q", "a": 2}


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"a": [1, 2], "b": [1]}, "a has 2 and b has 1"),
        ({"a": 1}, "takes a list"),
        ({"name": "x", "labels": ["p"]}, "no key of the mold"),
        ({"a": [1], "labels": ["p"]}, "need a column"),
        ({"a": [1, 2], "name": "n", "labels": ["p", "p"]}, "differ"),
        ({"a": [1, 2], "name": "n", "labels": ["p", 2]}, "each label is a text"),
        ({"a": [[1], [2]]}, "give name and labels"),
    ],
)
def test_paired_faults(given, said):
    with pytest.raises(StudyValueError, match=said):
        paired_axis(1, given)


OVER = {"a": {"from": 0.0, "to": 10.0}, "b": {"from": 1, "to": 4, "step": 1}}


@pytest.mark.parametrize("method", ["sobol", "halton", "latin hypercube"])
def test_samples_fill_the_space(method):
    """Less uneven than random points are, and steps are kept."""
    axis = sample_axis({"count": 64, "method": method, "seed": 3, "over": OVER})
    points = np.array(axis.points)
    assert points.shape == (64, 2)
    assert set(points[:, 1]) == {1, 2, 3, 4}
    assert np.bincount(points[:, 1].astype(int))[1:].min() >= 12
    rough = qmc.discrepancy(np.random.default_rng(0).random((64, 1)))
    assert qmc.discrepancy(points[:, :1] / 10) < 0.5 * rough


def test_the_same_seed_gives_the_same_points():
    made = [sample_axis({"count": 5, "seed": s, "over": OVER}).points for s in (1, 1, 2)]
    assert made[0] == made[1]
    assert made[0] != made[2]


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"count": 4}, "sample.over"),
        ({"over": OVER}, "count = nothing"),
        ({"count": 4, "over": OVER, "method": "dice"}, "not known"),
        ({"count": 4, "over": {"a": [1, 2]}}, "needed is a range"),
        ({"count": 4, "over": OVER, "sed": 1}, "not a key here"),
    ],
)
def test_sample_faults(given, said):
    with pytest.raises(StudyValueError, match=said):
        sample_axis(given)


@given(st.lists(st.integers(1, 4), min_size=1, max_size=4), st.randoms())
def test_each_combination_comes_once_whatever_the_order(sizes, random):
    axes = tuple(Axis("", (str(k),), tuple((i,) for i in range(n))) for k, n in enumerate(sizes))
    order = list(range(len(sizes)))
    random.shuffle(order)
    found = list(combinations(axes, tuple(order)))
    assert sorted(found) == list(product(*map(range, sizes)))
