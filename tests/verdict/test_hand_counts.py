"""Leaks, barriers, flash, quantities and variations against counts by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import squeeze
from squeeze.mold import section_of
from squeeze.mold.fit import fit_of, volumes_of
from squeeze.mold.forces.loads import Loads
from squeeze.mold.geometry.loop import circle, polygon_loop
from squeeze.mold.section.records import Cavity, Cut, CutStretch, Material, Section
from squeeze.solve.field import CavityChange
from squeeze.solve.land import Land
from squeeze.verdict.casting.distortion import cavities_of
from squeeze.verdict.casting.flash import flash_grade, flash_of
from squeeze.verdict.seal.barrier import seal_of, strength_kpa, weakest_of
from squeeze.verdict.seal.land_graph import LandPart, Node
from squeeze.verdict.seal.leak import leak_paths, leaks_of
from squeeze.verdict.words import length, place


def straight(cut, number, a, b, pressure=0.0, gap=0.0, places=None):
    a, b = np.array(a, float), np.array(b, float)
    n = places or 2 * int(np.hypot(*(b - a))) + 1
    xy = a + np.linspace(0, 1, n)[:, None] * (b - a)
    s, none, flags = np.hypot(*(xy - a).T), np.zeros(n), np.zeros(n, bool)
    return Land(
        cut, number, s, xy[:, 0], xy[:, 1], np.full(n, float(pressure)), np.full(n, float(gap)),
        none, none, flags, flags, np.zeros((n, 2, 2)),
    )  # fmt: skip


def closing_of(base, lands, centres, loads=None):
    """Put lands and round cavities of radius 5 into a closing of a square block, 120 mm wide."""
    names = dict.fromkeys(land.cut for land in lands)
    ends = {
        name: [
            ((land.x_mm[0], land.y_mm[0]), (land.x_mm[-1], land.y_mm[-1]))
            for land in lands
            if land.cut == name
        ]
        for name in names
    }
    cuts = tuple(
        Cut(name, tuple(CutStretch(pair, 0.0) for pair in pairs), 120.0)
        for name, pairs in ends.items()
    )
    outline = polygon_loop([(-60, -60), (60, -60), (60, 60), (-60, 60)])
    holes = tuple(Cavity(f"c{k + 1}", circle(5.0, at)) for k, at in enumerate(centres))
    section = Section(outline, Material(0.6, 0.499), holes, cuts)
    return replace(base, section=section, lands=tuple(lands), loads=loads or base.loads)


def test_a_leak_ends_at_the_next_cavity(closed):
    """The outer wall of c1 holds: c1 leaks into c2 alone, and c2 outside."""
    lands = [
        straight("a", 0, (-60, 0), (-25, 0), pressure=20),
        straight("a", 1, (-15, 0), (15, 0)),
        straight("a", 2, (25, 0), (60, 0)),
    ]
    leaks = seal_of(closing_of(closed, lands, [(-20, 0), (20, 0)])).leaks
    found = {(leak.start, leak.end): leak.lands for leak in leaks}
    assert found == {("'c1'", "'c2'"): (1,), ("'c2'", "the outside"): (2,)}


def graph(*pairs):
    """Parts between nodes by their names: c.. = a cavity, o.. = outside, others = meetings."""
    kinds = {"c": "cavity", "o": "outside"}
    node = {name: Node(kinds.get(name[0], "cut"), name, name) for pair in pairs for name in pair}
    s = np.array([0.0, 1.0])
    return [
        LandPart(k, node[a], node[b], slice(0, 2), s, 0 * s, 0 * s)
        for k, (a, b) in enumerate(pairs)
    ]


def test_open_parts_hang_together_where_cuts_meet_and_not_through_cavities():
    parts = graph(("c1", "F"), ("F", "c2"), ("c2", "G"), ("G", "out"), ("c1", "c3"))
    assert [sorted(path) for path in leak_paths(parts, range(5))] == [[0, 1], [2, 3], [4]]


def test_a_leak_goes_round_a_cavity_and_not_through_it():
    """Through c2 there are fewer parts, but what is in c2 leaks by itself."""
    parts = graph(
        ("c1", "F"), ("F", "c2"), ("c2", "G"), ("G", "out"), ("F", "H"), ("H", "K"), ("K", "G")
    )
    leaks = leaks_of(parts, [0.0] * 7, range(7))
    found = {frozenset((leak.start, leak.end)): leak.lands for leak in leaks}
    assert found[frozenset(("c1", "out"))] == (0, 4, 5, 6, 3)
    assert found[frozenset(("c2", "out"))] == (2, 3)
    assert found[frozenset(("c1", "c2"))] == (0, 1)


def test_the_weakest_barrier_stands_where_its_part_presses_hardest():
    """Places count along the whole land, of which the part begins at place 10."""
    (one,) = graph(("c1", "out"))
    slack = replace(one, places=slice(10, 13), pressure_kpa=np.array([0.0, 0.0, 0.0]))
    assert weakest_of([slack], [0.0], 1.0).place == 10
    tip = replace(slack, s_mm=np.arange(3.0), pressure_kpa=np.array([0.0, 0.0, 3.0]))
    assert weakest_of([tip], [0.0], 1.0).place == 12
    even = replace(tip, pressure_kpa=np.array([3.0, 3.0, 3.0]))
    assert weakest_of([even], [3.0], 1.0).place == 11
    ends = replace(tip, pressure_kpa=np.array([1.0, 3.0, 3.0]), s_mm=np.array([0.0, 1.0, 3.0]))
    assert weakest_of([ends], [3.0], 1.0).place in (11, 12)


def test_a_grade_begins_at_its_thickness():
    found = [flash_grade(each) for each in (0.0099, 0.01, 0.049, 0.05, 0.099, 0.1)]
    assert found == ["clean", "fine line", "fine line", "flash", "flash", "heavy flash"]


def test_a_cut_that_meets_no_cavity_leaves_no_flash(closed):
    flash = flash_of(closing_of(closed, [straight("a", 0, (-60, 30), (60, 30))], [(0, 0)]))
    assert (flash.lines, flash.thickness_mm, flash.reach_mm) == ((), 0.0, 0.0)
    (casting,) = flash.castings
    assert (casting.thickness_mm, casting.reach_mm, casting.grade) == (0.0, 0.0, "clean")


def test_a_casting_is_measured_across_and_in_height(closed):
    """24 x 10 mm, 1 % wider and 2 % lower."""
    edge = np.array([[-12.0, -5.0], [12.0, -5.0], [12.0, 5.0], [-12.0, 5.0]])
    change = CavityChange("c1", 240.0, -1.0, 0.16, 0.0, edge, edge * [0.01, -0.02])
    (found,) = cavities_of(replace(closed, cavities=(change,)))
    assert (found.width_mm, found.height_mm) == (24.0, 10.0)
    assert found.width_change_mm == pytest.approx(0.24)
    assert found.height_change_mm == pytest.approx(-0.2)


def part(length_mm, pressure, step=0.05):
    s = np.linspace(0, length_mm, round(length_mm / step) + 1)
    p = pressure(s)
    ends = Node("cavity", "c", "'c'"), Node("outside", "", "the outside")
    return LandPart(0, *ends, slice(0, len(s)), s, 0 * s, p)


def test_a_barrier_takes_a_millimetre_or_half_of_a_short_land():
    """A triangle of pressure over the land: the stretch w about its top presses top (1 - w / L)."""
    for length_mm, wanted in ((10.0, 1.0), (4.0, 1.0), (2.0, 1.0), (1.0, 0.5), (0.6, 0.3)):

        def tent(s, length_mm=length_mm):
            return 10 * (1 - np.abs(2 * s / length_mm - 1))

        exact = 10 * (1 - wanted / length_mm)
        assert strength_kpa(part(length_mm, tent)) == pytest.approx(exact, abs=1e-6)


@pytest.mark.parametrize("kpa", [0.0, 0.3, 1.0, 40.0])
def test_an_even_pressure_is_its_own_barrier_however_low_it_is(kpa):
    assert strength_kpa(part(10.0, lambda s: 0 * s + kpa)) == pytest.approx(kpa)


def resin_mold(**resin):
    return squeeze.mold_of(
        {
            "length_mm": 100,
            "rubber": {"shore_a": 20},
            "block": {"shape": "square", "width_mm": 120},
            "resin": {"head_mm": 100} | resin,
        }
    )


def test_a_fork_does_not_make_resin_run_faster(closed):
    """Two equal gaps end to end, the second on another cut: as far as in one gap all along.

    6 L^2 / b^2 is spent at L, so from the fork on the drag of the way before counts.
    """
    kpa, loads = 1.0, Loads(0.6, cavity_mpa=1e-3)
    one = [straight("a", 0, (5, 0), (60, 0), gap=0.1)]
    two = [
        straight("a", 0, (5, 0), (20, 0), gap=0.1),
        straight("b", 0, (20, 0), (20, 60), gap=0.1),
    ]
    life_min, mu = 3.0, 150.0
    runs_s = 90 * (1 - np.exp(-2.0))
    exact = 1000 * np.sqrt(0.1e-3**2 * 1e3 * kpa * runs_s / (6 * 1e-3 * mu))
    assert 20 < exact < 50
    mold = resin_mold(viscosity_mpa_s=mu, pot_life_min=life_min)
    ends_alone = [straight("a", 0, (5, 0), (20, 0), gap=0.1, places=2), two[1]]
    for lands in (one, two, ends_alone):
        (line,) = flash_of(closing_of(closed, lands, [(0, 0)], loads), mold).lines
        assert line.stopped_by == "setting"
        assert line.reach_mm == pytest.approx(exact, rel=2e-3)


@pytest.mark.parametrize("places", [12, 45])
def test_resin_runs_as_far_into_a_land_whose_path_comes_towards_the_casting(closed, places):
    """The same gap, wide at the casting and narrow farther in, along either way of the path."""
    mold, loads = resin_mold(viscosity_mpa_s=150, pot_life_min=3), Loads(0.6, cavity_mpa=1e-3)
    narrows = np.linspace(0.2, 0.02, places) ** 1.5
    away = straight("a", 0, (5, 0), (60, 0), places=places)
    towards = straight("a", 0, (60, 0), (5, 0), places=places)
    found = []
    for land, gap in ((away, narrows), (towards, narrows[::-1])):
        closing = closing_of(closed, [replace(land, gap_mm=gap)], [(0, 0)], loads)
        (line,) = flash_of(closing, mold).lines
        found.append((line.reach_mm, line.thickness_mm, line.stopped_by))
    assert found[0][:2] == pytest.approx(found[1][:2], rel=1e-9)
    assert found[0][2] == found[1][2]


FILLED = {
    "length_mm": 50,
    "rubber": {"shore_a": 20, "density_g_cm3": 1.2},
    "block": {"shape": "square", "width_mm": 100, "round_mm": 0},
    "cavity": [{"shape": "square", "width_mm": 20, "round_mm": 0}],
    "filler": [
        {"shape": "square", "width_mm": 30, "round_mm": 0, "centre_mm": [25, 0], "shore_a": 30}
    ],
    "resin": {"head_mm": 100, "density_g_cm3": 1.3},
}


def test_fillers_and_cavities_are_no_fresh_rubber():
    """100 x 100 less 20 x 20; the filler from x = 10 to 40 touches the cavity: 30 x 30 of it."""
    mold = squeeze.mold_of(FILLED)
    volumes = volumes_of(mold)
    assert volumes.fillers == pytest.approx(30 * 30 * 50 / 1000)
    assert volumes.cavities == pytest.approx(20 * 20 * 50 / 1000)
    assert volumes.rubber == pytest.approx((10000 - 400 - 900) * 50 / 1000)
    assert volumes.box == pytest.approx(10000 * 50 / 1000)


def test_resin_weighs_what_its_density_says():
    mold = squeeze.mold_of(FILLED)
    fit = fit_of(mold, section_of(mold))
    assert fit.rubber_g == pytest.approx(1.2 * 8700 * 50 / 1000)
    assert fit.resin_g == pytest.approx(1.3 * 400 * 50 / 1000)
    assert any(f"{1.3 * 20:.0f} g" in sentence for sentence in fit.say)


def test_an_inch_is_25_4_mm_in_lengths_and_places():
    assert place(254.0, inches=True) == "10.00 in"
    assert place(-127.0, inches=True) == "-5.00 in"
    assert length(254.0, inches=True) == "10.00 in"


def test_variations_of_a_block_with_a_filler_gape_as_the_pull_over_the_stiffness():
    """A filler of a few mm changes next to nothing: an open middle gapes as pull over E."""
    mold = squeeze.mold_of(
        {
            "length_mm": 100,
            "rubber": {"youngs_modulus_mpa": 0.6},
            "block": {"shape": "square", "width_mm": 120, "bevel_mm": 3},
            "cavity": [
                {"shape": "round", "diameter_mm": 10, "centre_mm": [x, 40]} for x in (-24, 24)
            ],
            "cut": [{"path_mm": [[-60, 40], [60, 40]]}],
            "band": [{"tension_n_per_mm": 0.2}],
            "filler": [
                {
                    "shape": "round",
                    "diameter_mm": 4,
                    "centre_mm": [0, -30],
                    "youngs_modulus_mpa": 0.6,
                }
            ],
        }
    )
    found = squeeze.uncertainty(squeeze.Block(mold, fineness=0.5))
    given = found.given.values["largest_gap_mm"]
    assert given > 0.03
    smooth = [each for each in found.variations if each.friction == "low"]
    assert {each.stiffness for each in smooth} == {0.75, 1.0, 1.25}
    for each in smooth:
        gap = each.figures.values["largest_gap_mm"]
        assert gap == pytest.approx(given * each.pull / each.stiffness, rel=0.02)
