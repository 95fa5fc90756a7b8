"""How far resin runs along parts of lands made by hand, and what it leaves, by closed forms."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

import squeeze
from squeeze.mold.forces.loads import Loads
from squeeze.verdict.casting.flash import flash_of, flow_limit
from squeeze.verdict.casting.resin_flow import spent
from squeeze.verdict.seal.barrier import MARGIN
from squeeze.verdict.seal.land_graph import LandPart, Node

KPA = 1.5
OUT = Node("outside", "", "the outside")
C1, C2 = (Node("cavity", name, f"'{name}'") for name in ("c1", "c2"))
MET = Node("cut", "20, 0", "where cuts meet")
RUBBER = Node("rubber", "0.9", "the end in the rubber")


def part(number, start, end, s, gap, pressure=0.0):
    s = np.array(s, float)
    gap, pressure = (np.broadcast_to(np.array(v, float), s.shape) for v in (gap, pressure))
    return LandPart(number, start, end, slice(0, len(s)), s, gap, pressure)


def closing(*names):
    section = SimpleNamespace(cavities=[SimpleNamespace(name=each) for each in names or ("c1",)])
    return SimpleNamespace(loads=Loads(0.6, cavity_mpa=KPA / 1000), section=section, lands=())


def mold_of(**tables):
    plain = {
        "length_mm": 100,
        "rubber": {"shore_a": 20},
        "block": {"shape": "square", "width_mm": 120},
    }
    return squeeze.mold_of(plain | tables)


def setting(viscosity_mpa_s=150.0, pot_life_min=3.0):
    """Return a mold whose resin sets."""
    resin = {"head_mm": 100, "viscosity_mpa_s": viscosity_mpa_s, "pot_life_min": pot_life_min}
    return mold_of(resin=resin)


def line_of(*parts, mold=None):
    (line,) = flash_of(closing(), mold, parts).lines
    return line


def reach_mm(gap_mm, viscosity_mpa_s=150.0, pot_life_min=3.0):
    """L^2 = b^2 dp t / (6 mu), t = tau (1 - exp(-2)), tau half of the pot life; in m, Pa and Pa s.

    The viscosity grows e-fold in half of the pot life.
    """
    runs_s = 30.0 * pot_life_min * (1 - np.exp(-2.0))
    mu = viscosity_mpa_s / 1000
    return 1000 * (gap_mm / 1000) * np.sqrt(1000 * KPA * runs_s / (6 * mu))


@pytest.mark.parametrize("turned", [False, True])
def test_resin_runs_to_where_the_pressure_reaches_the_margin(turned):
    """Pressure rises from 0 to 8 kPa over 40 mm, and the gap narrows from 0.4 mm to nothing.

    The margin is reached between two places.
    """
    s = [0.0, 7.0, 19.0, 40.0]
    gap, press = 0.4 - 0.01 * np.array(s), 0.2 * np.array(s)
    ends = (C1, OUT)
    if turned:
        s, gap, press, ends = 40 - np.array(s[::-1]), gap[::-1], press[::-1], (OUT, C1)
    line = line_of(part(0, *ends, s, gap, press))
    stop = 40 * MARGIN * KPA / 8
    assert line.reach_mm == pytest.approx(stop)
    assert line.area_mm2 == pytest.approx(stop * (0.4 + 0.4 - 0.01 * stop) / 2)
    assert (line.thickness_mm, line.stopped_by) == (0.4, "seal")


def test_a_place_that_presses_just_as_hard_as_it_has_to_stops_the_resin():
    even = [MARGIN * KPA] * 3
    line = line_of(part(0, C1, OUT, [0, 5, 10], 0.1, even))
    assert (line.reach_mm, line.area_mm2, line.stopped_by) == (0.0, 0.0, "seal")
    first = line_of(part(0, C1, OUT, [0, 5, 10], 0.1, [0.0, MARGIN * KPA, 9.0]))
    assert first.reach_mm == pytest.approx(5.0)
    less = line_of(part(0, C1, OUT, [0, 5, 10], 0.1, [0.999 * each for each in even]))
    assert (less.reach_mm, less.stopped_by) == (10.0, "out")


def test_resin_goes_on_to_the_end_in_the_rubber():
    line = line_of(part(0, C1, RUBBER, [0, 5, 10], 0.1))
    assert (line.reach_mm, line.stopped_by) == (10.0, "end")
    assert line.area_mm2 == pytest.approx(0.1 * 10)


def test_what_runs_outside_is_all_flash_and_what_runs_to_a_cavity_half():
    """Each of two castings has half of the flash between them."""
    assert line_of(part(0, C1, OUT, [0, 30], 0.2)).area_mm2 == pytest.approx(6.0)
    both = flash_of(closing("c1", "c2"), None, [part(0, C1, C2, [0, 30], 0.2)]).lines
    assert [(line.cavity, line.stopped_by) for line in both] == [("c1", "out"), ("c2", "out")]
    assert [line.area_mm2 for line in both] == pytest.approx([3.0, 3.0])


@pytest.mark.parametrize("order", [(0, 1, 2), (2, 1, 0), (1, 2, 0)])
def test_at_a_fork_resin_fills_both_arms_and_reaches_as_far_as_the_longer(order):
    """20 mm of stem; arms of 15 mm, which seals at its end, and of 30 mm in the rubber."""
    parts = [
        part(0, C1, MET, [0, 20], 0.2),
        part(1, MET, OUT, [0, 15, 20], 0.2, [0.0, MARGIN * KPA, 9.0]),
        part(2, RUBBER, MET, [0, 30], 0.2),
    ]
    line = line_of(*(parts[k] for k in order))
    assert (line.reach_mm, line.stopped_by) == (50.0, "end")
    assert line.area_mm2 == pytest.approx(0.2 * (20 + 15 + 30))


def test_the_reach_in_an_even_gap_is_exact_between_places_far_apart():
    """What is spent goes as the square of the distance, so two places will do."""
    exact = reach_mm(0.1)
    assert 20 < exact < 50
    for s in ([0, 100], [0, 10, 100], [0, 1, 2, 100]):
        line = line_of(part(0, C1, OUT, s, 0.1), mold=setting())
        assert line.stopped_by == "setting"
        assert line.area_mm2 == pytest.approx(0.1 * line.reach_mm)
    line = line_of(part(0, C1, OUT, [0, 100], 0.1), mold=setting())
    assert line.reach_mm == pytest.approx(exact)


def test_resin_creeps_between_faces_that_touch_as_in_a_hundredth_and_leaves_nothing_thick():
    line = line_of(part(0, C1, OUT, [0, 100], 0.0), mold=setting())
    assert line.reach_mm == pytest.approx(reach_mm(0.01))
    assert (line.area_mm2, line.stopped_by) == (0.0, "setting")


@pytest.mark.parametrize("short", [0.55, 1.0, 3.0])
def test_a_resin_that_lasts_four_times_as_long_runs_twice_as_far(short):
    far = [
        line_of(part(0, C1, OUT, [0, 300], 0.1), mold=setting(pot_life_min=life)).reach_mm
        for life in (short, 4 * short)
    ]
    assert far[1] == pytest.approx(2 * far[0])
    assert far[0] == pytest.approx(reach_mm(0.1, pot_life_min=short))


@pytest.mark.parametrize("missing", ["viscosity_mpa_s", "pot_life_min"])
def test_without_viscosity_or_pot_life_time_limits_nothing(missing):
    resin = {"head_mm": 100, "viscosity_mpa_s": 150.0, "pot_life_min": 3.0}
    mold = mold_of(resin={key: value for key, value in resin.items() if key != missing})
    assert flow_limit(closing(), mold.resin) == np.inf
    flash = flash_of(closing(), mold, [part(0, C1, OUT, [0, 900], 0.05)])
    assert (flash.timed, flash.lines[0].stopped_by) == (False, "out")
    assert flash_of(closing(), setting(), []).timed


def test_what_is_spent_in_a_wedge_is_the_closed_form():
    """Of a gap b = b0 - k s the drag R is (1/b^2 - 1/b0^2) / (2 k).

    The integral of 12 R b is 6 / k^2 (ln(b0/b) - (1 - b^2/b0^2) / 2).
    """
    s, b0, k = np.linspace(0, 30, 3001), 0.2, 0.005
    b = b0 - k * s
    used, drag = spent(s, b)
    exact = 6 / k**2 * (np.log(b0 / b) - (1 - (b / b0) ** 2) / 2)
    np.testing.assert_allclose(used[300:], exact[300:], rtol=1e-3)
    assert drag == pytest.approx((b[-1] ** -2 - b0**-2) / (2 * k), rel=1e-3)


@pytest.mark.parametrize("density", [None, 1.3])
def test_castings_have_the_length_of_their_own_models(density):
    """Of 100 mm of block two knobs of 15 mm, one at its start, take 30; the rod takes all of it.

    Two lines at the knobs, 0.2 and 0.01 mm thick and 10 mm far, one of 0.05 mm at the rod.
    Resin has 1.05 g/cm3 unless it says another density.
    """
    knobs = [{"at_mm": 7.5, "length_mm": 15}, {"at_mm": 60, "length_mm": 15}]
    resin = {} if density is None else {"resin": {"head_mm": 100, "density_g_cm3": density}}
    mold = mold_of(
        cavity=[
            {"name": "c1", "shape": "round", "diameter_mm": 10, "models": knobs},
            {"name": "c2", "shape": "round", "diameter_mm": 10, "centre_mm": [30, 0]},
        ],
        **resin,
    )
    parts = [
        part(0, C1, OUT, [0, 10], 0.2),
        part(1, RUBBER, C1, [0, 10], 0.01),
        part(2, C2, OUT, [0, 10], 0.05),
    ]
    flash = flash_of(closing("c1", "c2"), mold, parts)
    knob, rod = flash.castings
    g_mm3 = (density or 1.05) / 1000
    assert knob.mass_g == pytest.approx((0.2 + 0.01) * 10 * 30 * g_mm3)
    assert rod.mass_g == pytest.approx(0.05 * 10 * 100 * g_mm3)
    assert flash.mass_g == pytest.approx(knob.mass_g + rod.mass_g)
    assert (knob.parting_line_mm, rod.parting_line_mm) == (60.0, 100.0)
    assert flash.parting_line_mm == pytest.approx(160.0)
    assert flash.to_clean_mm == pytest.approx(30.0 + 100.0)
    assert (knob.thickness_mm, knob.grade, rod.grade) == (0.2, "heavy flash", "flash")
    assert (flash.thickness_mm, flash.grade) == (0.2, "heavy flash")
