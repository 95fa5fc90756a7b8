"""How far resin runs, and what it leaves on the casting."""

from __future__ import annotations

import numpy as np
import pytest

import squeeze
from squeeze.mold.forces.loads import Loads
from squeeze.verdict.casting.flash import FINE_MM, flash_of
from squeeze.verdict.casting.resin_flow import capacity, fluid_time_s, spent

LENGTH_MM = 140


def mold(**resin):
    return squeeze.mold_of(
        {
            "length_mm": LENGTH_MM,
            "rubber": {"shore_a": 20},
            "block": {"shape": "square", "width_mm": 120},
            "resin": {"head_mm": 100} | resin,
        }
    )


def test_what_is_spent_in_an_even_gap_is_the_closed_form():
    """6 L^2 / b^2."""
    s = np.linspace(0, 30, 301)
    used, drag = spent(s, np.full(301, 0.1))
    np.testing.assert_allclose(used, 6 * s**2 / 0.01, rtol=1e-9)
    assert drag == pytest.approx(30 / 0.1**3)


def test_what_is_spent_goes_on_from_part_to_part():
    s, b = np.linspace(0, 30, 301), np.linspace(0.2, 0.05, 301)
    whole, drag = spent(s, b)
    first, between = spent(s[:151], b[:151])
    second, end = spent(s[150:], b[150:], between)
    assert first[-1] + second[-1] == pytest.approx(whole[-1])
    assert end == pytest.approx(drag)


def test_flash_ends_at_the_first_sealed_place(made_up):
    """Pressure 2 (40 - |x|) kPa rises from the outside inwards on the outer lands."""
    made = made_up(gap=lambda x: np.where(np.abs(x) < 31, 0.2, 0.0), press=lambda x: 0 * x + 9.0)
    flash = flash_of(made.closing(), mold())
    left = flash.lines[0]
    assert (left.cavity, left.land, left.stopped_by) == ("barrel 1", 0, "seal")
    # the land ends at x = -25; open to -31 (places every 0.97 mm), sealed before the next place
    assert 5.0 < left.reach_mm < 7.0
    assert not flash.timed
    middle = flash.lines[1]
    assert (middle.stopped_by, middle.reach_mm) == ("out", pytest.approx(30.0))


def test_mass_is_section_times_length_times_density(made_up):
    """An even gap of 0.2 mm over the middle land of 30 mm, shared by both castings."""
    made = made_up(gap=lambda x: np.where(np.abs(x) < 15.1, 0.2, 0.0))
    flash = flash_of(made.closing(), mold(density_g_cm3=1.2))
    one = 0.2 * 15 * LENGTH_MM * 1.2e-3
    assert [c.mass_g for c in flash.castings] == pytest.approx([one, one])
    assert flash.mass_g == pytest.approx(2 * one)
    assert flash.parting_line_mm == 4 * LENGTH_MM
    assert flash.to_clean_mm == 2 * LENGTH_MM


def test_viscous_reach_where_nothing_stops_the_resin(made_up):
    """The whole of a land of 30 mm is 0.1 mm open; the resin sets on the way."""
    made = made_up(gap=lambda x: np.full_like(x, 0.1), loads=Loads(0.6, cavity_mpa=1.03e-3))
    timed = mold(viscosity_mpa_s=600.0, pot_life_min=3.0)
    line = flash_of(made.closing(), timed).lines[0]
    assert line.stopped_by == "setting"
    runs_s = 90.0 * (1 - np.exp(-180.0 / 90.0))
    exact = 1000 * np.sqrt(0.1e-3**2 * 1030.0 * runs_s / (6 * 0.6))  # in m, Pa and Pa s
    assert line.reach_mm == pytest.approx(exact, rel=1e-3)
    assert line.area_mm2 == pytest.approx(0.1 * line.reach_mm)


def test_thin_resin_runs_out(made_up):
    made = made_up(gap=lambda x: np.full_like(x, 0.3), loads=Loads(0.6, cavity_mpa=1.03e-3))
    lines = flash_of(made.closing(), mold(viscosity_mpa_s=100.0, pot_life_min=5.0)).lines
    assert {line.stopped_by for line in lines} == {"out"}


def test_limit_is_the_integral_over_the_pot_life():
    """The closed form tau (1 - exp(-t/tau)) by the trapezoid rule."""
    t = np.linspace(0, 180, 100001)
    assert fluid_time_s(180, 90) == pytest.approx(np.trapezoid(np.exp(-t / 90), t))
    assert capacity(1.0, 1.0, 1.0) == pytest.approx(1e6)


@pytest.mark.parametrize(
    ("gap", "grade"), [(0.0, "clean"), (0.03, "fine line"), (0.07, "flash"), (0.3, "heavy flash")]
)
def test_grades(made_up, gap, grade):
    flash = flash_of(made_up(gap=lambda x: np.full_like(x, gap)).closing(), mold())
    assert flash.grade == grade
    assert {casting.grade for casting in flash.castings} == {grade}
    assert (flash.to_clean_mm > 0) == (gap >= FINE_MM)


def test_without_a_mold_the_mass_is_not_told(gaping):
    flash = flash_of(gaping)
    assert flash.mass_g is None
    assert flash.thickness_mm > 0.5
