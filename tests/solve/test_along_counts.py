"""Lands over the length, short waves under the outside, and cuts in part: by closed forms."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest

from squeeze.solve.along.land_maps import _gaps
from squeeze.solve.along.partial_cuts import cut_extent
from squeeze.solve.along.record import LandMap, wall_depth_mm
from squeeze.solve.along.surface import FAR, Surface


def land_map(pressure, gap=None, is_cut=None):
    pressure = np.array(pressure, float)
    n, m = pressure.shape
    s = np.arange(float(n))
    gap = np.zeros((n, m)) if gap is None else np.array(gap, float)
    cut = np.ones(m, bool) if is_cut is None else np.array(is_cut, bool)
    return LandMap("a", 0, s, s, 0 * s, np.arange(float(m)), cut, pressure, gap)


def test_figures_of_a_land_over_the_length_are_means_over_its_area():
    """Three places across, 1 mm apart, and two slices."""
    made = land_map([[2, 4], [4, 4], [2, 0]], [[0, 0], [0, 0], [0, 0.3]])
    assert made.length_mm == 2.0
    assert made.mean_pressure_kpa == pytest.approx((3 + 3) / 2)
    assert made.closed_share == pytest.approx((1 + 0.75) / 2)
    assert (made.least_pressure_kpa, made.evenness, made.largest_gap_mm) == (0.0, 0.0, 0.3)
    assert made.ripple() == pytest.approx([2 / 3, 1.0, 0.0])
    even = land_map([[2, 4], [4, 4], [2, 4]])
    assert even.evenness == pytest.approx(2 / 3.5)
    assert even.closed_share == 1.0


def test_whole_rubber_does_not_count():
    made = land_map([[2, 9], [2, -9], [2, 9]], is_cut=[True, False])
    assert made.mean_pressure_kpa == made.least_pressure_kpa == 2.0
    assert list(made.ripple()) == [1.0] * 3
    none = land_map([[2.0], [2.0]], is_cut=[False])
    assert (none.mean_pressure_kpa, none.least_pressure_kpa, none.evenness) == (0.0, 0.0, 0.0)
    pulled = land_map([[-2.0, -1.0], [0.0, 0.0]])
    assert np.isnan(pulled.ripple()).all()
    assert pulled.evenness == 0.0


def test_gaps_are_straight_between_places_and_have_the_weighted_gaps():
    """A gap of 1, 2, 3 mm over steps of 2 and 4 mm, weighted by hats; a shut place has none."""
    step, gap = np.array([2.0, 4.0]), np.array([1.0, 2.0, 3.0])
    weighted = np.array([
        2 * (2 * gap[0] + gap[1]) / 6,
        2 * (gap[0] + 2 * gap[1]) / 6 + 4 * (2 * gap[1] + gap[2]) / 6,
        4 * (gap[1] + 2 * gap[2]) / 6,
    ])  # fmt: skip
    every = np.ones((1, 3), bool)
    assert _gaps(step, weighted[None], every)[0] == pytest.approx(gap)
    some = np.array([[True, False, False], [False, False, False]])
    found = _gaps(step, np.array([[2.0, 9.0, 9.0], [9.0, 9.0, 9.0]]), some)
    assert found[0] == pytest.approx([2.0 / (2 / 3), 0, 0])
    assert not found[1].any()
    tiny = _gaps(step, np.array([[-5.0, 0.0, 0.0]]), np.array([[True, False, False]]))
    assert tiny[0, 0] == pytest.approx(1e-9)  # open, if barely


def outside(**changed):
    given = {
        "depth": np.array([0.0, 3.0]), "stress": np.array([0.02, 0.02]),
        "curvature": np.array([0.02, 0.02]), "from_k": np.array([0.5, 0.5]),
    }  # fmt: skip
    return Surface(**given | changed)


def test_short_waves_fade_with_the_depth_and_grow_with_the_curvature():
    """2 nu q (1 + 3 c / (2 k)) exp(-k d)."""
    found = outside().closed_form(np.array([0.6, 1.2]))
    for row, k in zip(found, (0.6, 1.2), strict=True):
        exact = [0.02 * (1 + 1.5 * 0.02 / k) * math.exp(-k * d) for d in (0.0, 3.0)]
        assert row == pytest.approx(exact)


def test_the_mesh_is_mended_by_short_waves_and_forgotten_where_none_is_felt():
    place = outside(depth=np.array([0.0, 3.0, 300.0]), stress=np.array([0.02, 0.0, 0.02]),
                    curvature=np.full(3, 0.02), from_k=np.full(3, 0.5))  # fmt: skip
    numbers, tension = np.array([0.4, 0.6]), np.array([2.0, 3.0])
    bonded = np.full((2, 3), 7.0)
    found = place.mended(bonded, tension, numbers)
    assert list(found[0]) == [7.0, 7.0, 0.0]  # a long wave: as the mesh says
    exact = 3.0 * 0.02 * (1 + 1.5 * 0.02 / 0.6)
    assert found[1] == pytest.approx([exact, 7.0, 0.0])
    assert FAR < 0.4 * 300


def test_waves_that_the_series_leaves_out_are_means_over_each_step():
    """Of two waves the first is left, smoothed by the sinc of a half, in steps of 2 mm."""
    place, k = outside(stress=np.array([0.02, 0.0])), 0.7
    z = np.array([1.0, 3.0, 5.0])
    found = place.rest(np.array([2.0]), np.array([k]), z)
    assert found[:, 0] == pytest.approx(0.0, abs=1e-12)  # Lanczos takes the last wave off
    two = place.rest(np.array([2.0, 0.0]), np.array([k, 2 * k]), z)
    mean = np.array([(math.sin(k * (x + 1)) - math.sin(k * (x - 1))) / (2 * k) for x in z])
    form = 0.02 * (1 + 1.5 * 0.02 / k)
    assert two[:, 0] == pytest.approx(2.0 * np.sinc(0.5) * form * mean)
    assert not two[:, 1].any()


def extent(span, z=(5.0, 15.0, 25.0, 35.0), length=40.0):
    """Return the extent of two lands of two places; the first belongs to a cut with a span."""
    block = SimpleNamespace(
        contact_rows=SimpleNamespace(weight=np.ones(4), begins=np.array([0, 2, 4])),
        mesh=SimpleNamespace(lands=[SimpleNamespace(cut=0), SimpleNamespace(cut=1)]),
        section=SimpleNamespace(cuts=[SimpleNamespace(name="a"), SimpleNamespace(name="b")]),
    )
    cuts = [SimpleNamespace(name="a", along_mm=span), SimpleNamespace(name="b", along_mm=None)]
    return cut_extent(block, SimpleNamespace(cut=cuts), np.array(z), length)


def test_a_cut_in_part_parts_faces_between_its_ends_and_holds_beyond():
    found = extent((10.0, 30.0))
    assert found.by_land.tolist() == [[False, True, True, False], [True] * 4]
    assert list(found.held) == [0, 1]
    assert found.faces.shape == (4, 8)
    assert found.faces[:, :4].tolist() == [
        [False, False, True, True], [True] * 4, [True] * 4, [False, False, True, True],
    ]  # fmt: skip
    assert not found.faces[:, 4:].any()
    assert not found.slides[:, :4].any()
    assert found.slides[:, 4].tolist() == [False, True, True, False]
    assert found.slides[:, 6].tolist() == [False, False, True, False]  # between two cut slices


@pytest.mark.parametrize(
    ("span", "held"), [(None, 0), ((0.0, 40.0), 0), ((0.0, 39.0), 2), ((1.0, 40.0), 2)]
)
def test_a_cut_over_the_whole_length_holds_nothing(span, held):
    assert len(extent(span).held) == held


def test_walls_are_as_deep_as_the_longest_land_or_half_a_block():
    box = SimpleNamespace(polygon=SimpleNamespace(bounds=(-60, -40, 60, 40)))
    bent = SimpleNamespace(points=((0, 0), (3, 4), (3, 10)))
    short = SimpleNamespace(points=((0, 0), (5, 0)))
    cut = SimpleNamespace(stretches=(short, bent))
    assert wall_depth_mm(SimpleNamespace(cuts=[cut], outline=box)) == pytest.approx(11)
    assert wall_depth_mm(SimpleNamespace(cuts=[], outline=box)) == 40.0
