"""Where curves of a section meet: crossings, ends on another curve, shared stretches, by hand."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from squeeze.mold.geometry.loop import polygon_loop
from squeeze.solve.mesh.meetings import (
    _distinct,
    cradle_numbers,
    cut_meetings,
    cut_meetings_with,
    filler_numbers,
    loop_meetings,
    partners,
    shared,
)


def square(x, y, side):
    return polygon_loop([(x, y), (x + side, y), (x + side, y + side), (x, y + side)])


def cut(*stretches):
    return SimpleNamespace(stretches=[SimpleNamespace(points=points) for points in stretches])


def found(places):
    return sorted(map(tuple, np.round(places, 9).tolist()))


def test_fillers_and_then_cradles_follow_the_cavities_and_meet_what_is_earlier():
    """Two cavities are loops 1 and 2, two fillers 3 and 4, two cradle pieces 5 and 6."""
    section = SimpleNamespace(cavities=[0, 0], fillers=[0, 0], cradles=[0, 0])
    assert (list(filler_numbers(section)), list(cradle_numbers(section))) == ([3, 4], [5, 6])
    assert [partners(section, k) for k in range(7)] == [
        [], [], [], [0, 1, 2], [0, 1, 2, 3], [0], [0, 5],
    ]  # fmt: skip


def test_crossings_within_two_hundredths_of_an_end_or_of_each_other_are_one():
    ends = [(0.0, 0.0), (0.01, 0.0)]
    crossed = [(0.0, 0.015), (5.0, 5.0), (5.0, 5.015), (5.0, 5.03), (9.0, 9.0), (0.0, 0.025)]
    kept = [(0, 0), (0, 0.025), (0.01, 0), (5, 5), (5, 5.03), (9, 9)]
    assert found(_distinct(ends, crossed)) == kept
    assert _distinct([], []).shape == (0, 2)


def test_loops_meet_where_they_cross_and_where_a_corner_lies_on_the_other():
    block = square(0, 0, 10)
    assert found(loop_meetings(block, square(8, 3, 4))) == [(10, 3), (10, 7)]
    beside = square(10, 2, 5)
    assert found(loop_meetings(block, beside)) == [(10, 2), (10, 7)]
    assert found(loop_meetings(beside, block)) == [(10, 2), (10, 7)]
    assert len(loop_meetings(block, square(10.015, 2, 5))) == 0
    assert len(loop_meetings(block, square(3, 3, 2))) == 0


def test_a_stretch_is_shared_where_all_of_it_lies_on_the_other_loop():
    """The side at x = 10 is the block's second; of a longer one half lies on it."""
    block = square(0, 0, 10)
    left = square(10, 5, 10).pieces[3]
    assert left.place(0.0) == (10, 15)
    assert shared(left, (0.5, 1.0), block) == 1
    assert shared(left, (0.4, 1.0), block) is None
    for off, number in ((1.5e-5, 1), (2.5e-5, None)):
        assert shared(square(10 + off, 2, 5).pieces[3], (0.0, 1.0), block) == number


def test_cuts_meet_where_they_cross_end_on_each_other_or_cross_themselves():
    """A cross, a cut that ends on it, one apart, and one that runs back across itself."""
    level, upright = cut([(-5, 0), (5, 0)]), cut([(1, -4), (1, 4)])
    ends_on, apart = cut([(3, 0), (3, 7)]), cut([(-5, 9), (5, 9)])
    back = cut([(20, 0), (26, 0), (26, 3), (23, 3), (23, -3)])
    where = cut_meetings((level, upright, ends_on, apart, back))
    assert [sorted(set(found(places))) for places in where] == [
        [(1, 0), (3, 0)], [(1, 0)], [(3, 0)], [], [(23, 0)],
    ]  # fmt: skip
    assert [len(places) for places in cut_meetings((cut(),))] == [0]


@pytest.mark.parametrize(
    ("points", "places"),
    [
        ([(-3, 5), (13, 5)], [(0, 5), (10, 5)]),
        ([(-3, 5), (0, 5)], [(0, 5)]),
        ([(-3, 0), (13, 0)], [(0, 0), (10, 0)]),  # along a side: its ends
        ([(2, 2), (8, 8)], []),
    ],
)
def test_a_cut_meets_a_filler_where_it_crosses_it_and_where_either_ends_on_the_other(
    points, places
):
    assert found(cut_meetings_with(cut(points), square(0, 0, 10))) == places
    assert len(cut_meetings_with(cut(), square(0, 0, 10))) == 0
