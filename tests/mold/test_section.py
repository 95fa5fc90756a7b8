"""From mold to section: what is trimmed, what is carried, what is refused and in which words."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, Polygon

from squeeze.mold import BadInput, fit_of, loads_of, mold_of, section_of, wrap_mm

SQUARE = {"shape": "square", "width_mm": 120}
SHARP = SQUARE | {"round_mm": 0}
HOLE = [{"shape": "round", "diameter_mm": 40}]
HALVES = [[-70, 0], [70, 0]]


def mold(*paths, **tables):
    base = {
        "length_mm": 100,
        "rubber": {"youngs_modulus_mpa": 0.6, "poisson": 0.499},
        "block": SQUARE,
        "cut": [{"path_mm": path} for path in paths],
    }
    return mold_of(base | tables)


def section(*paths, **tables):
    return section_of(mold(*paths, **tables))


def said(*paths, **tables):
    with pytest.raises(BadInput) as caught:
        section(*paths, **tables)
    return str(caught.value)


def stretches(*paths, **tables):
    return [s for cut in section(*paths, **tables).cuts for s in cut.stretches]


def test_what_lies_in_the_air_or_in_a_cavity_is_trimmed():
    cut = section(HALVES, cavity=HOLE).cuts[0]
    assert cut.length_mm == 140
    assert [s.start_mm for s in cut.stretches] == pytest.approx([10, 90])
    left, right = cut.stretches
    assert np.allclose(left.points, [[-60, 0], [-20, 0]], atol=1e-12)
    assert np.allclose(right.points, [[20, 0], [60, 0]], atol=1e-12)


def test_the_pen_barrels_have_five_lands():
    barrels = [
        {"shape": "round", "diameter_mm": 10, "centre_mm": [x, 40]} for x in (-24, -8, 8, 24)
    ]
    found = stretches([[-60, 40], [60, 40]], cavity=barrels)
    ends = np.array([s.points for s in found])[:, :, 0]
    assert np.allclose(ends, [[-60, -29], [-19, -13], [-3, 3], [13, 19], [29, 60]])
    assert [s.start_mm for s in found] == pytest.approx([0, 41, 57, 73, 89])


def test_ends_lie_exactly_on_curved_edges():
    block = {"shape": "oval", "width_mm": 180, "height_mm": 100}
    found = section([[-100, -3], [100, 11]], block=block, cavity=HOLE)
    ends = [p for s in found.cuts[0].stretches for p in s.points]
    x, y = ends[0]
    assert (x / 90) ** 2 + (y / 50) ** 2 == pytest.approx(1, abs=1e-12)
    assert math.hypot(*ends[1]) == pytest.approx(20, abs=1e-12)


@pytest.mark.parametrize("short", [0.0, 1e-9, 0.2, 0.999])
def test_an_end_just_short_of_an_edge_is_carried(short):
    (found,) = stretches([[0, 60 - short], [0, 20 + short]], cavity=HOLE)
    assert np.allclose(found.points, [[0, 60], [0, 20]], atol=1e-12)
    assert found.start_mm == pytest.approx(-short, abs=1e-12)


@pytest.mark.parametrize("over", [0.001, 0.005, 0.02])
def test_an_end_just_inside_a_cavity_is_taken_back_to_its_edge(over):
    """Nearer to the edge than chords that stand for it elsewhere, and not at a joint of arcs."""
    edge = 20 * np.array([math.cos(1.1), math.sin(1.1)])
    end = edge * (1 - over / 20)
    for slant in (-0.5, 0.0, 0.9):  # the last runs all but along the chord
        way = np.array([math.cos(1.1 + slant), math.sin(1.1 + slant)])
        (found,) = stretches([(end + 100 * way).tolist(), end.tolist()], cavity=HOLE)
        assert np.hypot(*found.points[-1]) == pytest.approx(20, abs=1e-9)
        assert math.dist(found.points[-1], end) < 2 * over


def test_a_drop_of_air_that_only_the_curve_shows_is_no_rubber():
    """A cut that grazes a cavity: what is told are the two places where it meets the edge."""
    assert "meets the edge of the cavity" in said([[-70, 19.995], [70, 19.995]], cavity=HOLE)


def test_an_end_farther_off_stays_where_it_is():
    (found,) = stretches([[0, 60], [0, 21.5]], cavity=HOLE)
    assert found.points[-1] == (0.0, 21.5)


def test_an_end_is_carried_along_its_direction():
    (found,) = stretches([[59.2, 0], [0, 0], [-20, -59.2]])
    assert found.points[-1] == pytest.approx((-20 - 0.8 * 20 / 59.2, -60))


@pytest.mark.parametrize("off", [-0.019, -1e-9, 0.0, 0.5, 0.99])
def test_an_end_near_another_cut_is_put_on_it(off):
    found = stretches(HALVES, [[13, 70], [13, off]])
    assert found[1].points[-1] == pytest.approx((13, 0), abs=1e-12)


def test_a_path_that_comes_from_far_outside_starts_where_it_enters():
    (found,) = stretches([[0, 200], [0, -200]])
    assert found.start_mm == pytest.approx(140)
    assert np.allclose(found.points, [[0, 60], [0, -60]])


def test_bends_are_kept():
    (found,) = stretches([[-70, 10], [-10, 10], [10, -10], [70, -10]])
    assert found.points[1:-1] == ((-10, 10), (10, -10))


def test_a_cut_may_run_through_a_sharp_corner():
    (found,) = stretches([[60, 60], [0, 0]], block=SHARP, cavity=HOLE)
    assert found.points[0] == (60, 60)
    (found,) = stretches([[70, 70], [-70, -70]], block=SHARP)
    assert np.allclose(found.points, [[60, 60], [-60, -60]])


def test_cuts_may_meet_and_cross():
    assert len(stretches(HALVES, [[0, 70], [0, 0]])) == 2  # T
    assert len(stretches(HALVES, [[0, 70], [0, -70]])) == 2  # X
    diagonal = [[-50, -50], [50, 50.001]]
    assert len(stretches(HALVES, [[0, -70], [0, 70]], diagonal)) == 3  # all through one place
    assert len(stretches([[0, 0], [0, 70]], [[0, 0], [70, 0]])) == 2  # L, met at their ends


def test_cuts_typed_to_one_place_meet_in_one_place():
    block = {"shape": "round", "diameter_mm": 120}
    paths = (
        [[42.43, 42.43], [0, 0]],
        [[42.43, 42.43], [20, -10], [0, -70]],
        [[42.43, 42.43], [-9, 40]],
    )
    found = stretches(*paths, block=block)
    (start,) = {s.points[0] for s in found}
    assert math.hypot(*start) == pytest.approx(60, abs=1e-9)
    found = stretches(HALVES, [[0.004, -70], [0.001, 70]], [[-50, -50], [50, 50.009]])
    spot = Point(found[2].points[1])
    assert all(LineString(s.points).distance(spot) < 1e-9 for s in found)


def test_an_end_at_a_corner_of_the_outline_is_put_on_it():
    (found,) = stretches([[60, 59.99], [0, 0]], block=SHARP)
    assert found.points[0] == (60, 60)


def test_a_cut_that_opens_only_at_another_cut_is_allowed():
    assert len(stretches(HALVES, [[0, 0], [0, 30]], [[0, 30], [20, 30]])) == 3


def test_a_block_without_cavity_or_cut_is_allowed():
    assert section().cuts == ()


@pytest.mark.parametrize(
    ("paths", "words"),
    [
        (
            [[[30, 30], [40, 40]]],
            "is buried in rubber from (30, 30) mm to (40, 40) mm; one end at least",
        ),
        ([[[65, 0], [90, 0]]], "lies nowhere in rubber; it runs from (65, 0) mm to (90, 0) mm"),
        ([[[-40, 60], [40, 60]]], "runs along the outline near (0, 60) mm"),
        ([[[-80, 59.9], [80, 59.9]]], "runs 0.10 mm from the outline at"),
        ([[[-70, 20], [70, 20]]], "meets the edge of the cavity 'cavity 1' at (0, 20) mm at 0.0"),
        ([[[-70, 20.2], [70, 20.2]]], "runs 0.20 mm from the edge of the cavity 'cavity 1' at"),
        (
            [[[-70, 30], [70, 30]], [[-70, 30], [0, 30], [0, 70]]],
            "lies on top of the cut 'cut 1' from (-60, 30) mm to (0, 30) mm",
        ),
        (
            [[[-70, 30], [70, 30]], [[-70, 30.1], [70, 30.1]]],
            "runs 0.10 mm from the cut 'cut 1' at (",
        ),
        (
            [[[-70, 30], [70, 30]], [[-59, 34], [50, 27]]],
            "meets the cut 'cut 1' at (3.29, 30) mm at 3.7 degrees; at least 8",
        ),
        (
            [[[-70, 30], [70, 30]], [[10, 70], [10, 29.9]]],
            "only 0.10 mm lie between (10, 30) mm and (10, 29.9) mm",
        ),
        (
            [[[-70, 30], [70, 30]], [[5, 70], [5, 25]], [[5.2, 70], [5.2, 35]]],
            "runs 0.20 mm from the cut 'cut 2'",
        ),
        (
            [[[-70, 30], [70, 30], [70, 0], [30, 0], [30, 70]]],
            "crosses or touches itself at (30, 30) mm; write it as two cuts",
        ),
        ([[[-40, 40], [40, 40], [0, 50], [-40, 40]]], "touches itself at (-40, 40) mm"),
        ([[[-70, 30], [30, 30], [-30, 34]]], "turns back sharply at (30, 30) mm, to 3.8 degrees"),
        (
            [[[-70, 30], [30, 30], [30, 30.2], [-30, 30.2]]],
            "comes back to within 0.3 mm of itself at (-30",
        ),
        ([[[59.9, 0], [60.1, 0.1]]], "only 0.11 mm lie between (59.9, 0) mm and (60, 0.05) mm"),
        (
            [[[0, 60], [0, 20.2], [-20, 25]]],
            "runs 0.20 mm from the edge of the cavity 'cavity 1' at (0, 20.2) mm",
        ),
    ],
)
def test_a_cut_that_cannot_be_is_told_with_its_place(paths, words):
    text = said(*paths, cavity=HOLE)
    assert words in text
    assert text.startswith(f"cut.cut {len(paths) if len(paths) < 3 else 3}.path_mm: ")


def test_a_chip_off_a_corner_is_told():
    text = said([[59.2, 60.3], [60.4, 59.4]], block=SHARP)
    assert "leaves a piece of rubber at (59.9" in text


@pytest.mark.parametrize(
    ("cavity", "words"),
    [
        ({"centre_mm": [100, 30]}, "lies outside the block, round (100, 30) mm"),
        ({"centre_mm": [-60, 0]}, "reaches out of the block at (-6"),
        ({"centre_mm": [-57.8, 40]}, "leaves only 0.20 mm of rubber towards the outline at (-59.9"),
        ({"centre_mm": [0, 0]}, "overlaps the cavity 'cavity 1' at (0, 0) mm"),
        ({"centre_mm": [0, 22.3]}, "leaves only 0.30 mm of rubber towards the cavity 'cavity 1'"),
    ],
)
def test_a_cavity_that_cannot_be_is_told_with_its_place(cavity, words):
    small = {"shape": "round", "diameter_mm": 4} | cavity
    text = said(cavity=[*HOLE, small])
    assert text.startswith("cavity.cavity 2: ")
    assert words in text


def test_all_cavities_and_paths_are_told_at_once():
    small = {"shape": "round", "diameter_mm": 4}
    text = said(
        [[-40, 40], [40, 40], [0, 50], [-40, 40]],
        cavity=[*HOLE, small | {"centre_mm": [99, 0]}, {"shape": "square", "width_mm": 9}],
        block={"shape": "square", "width_mm": 120, "bevel_mm": 15},
        push=[{"at_mm": [0, 60], "width_mm": 600, "force_n_per_mm": 1}],
    )
    assert len(text.splitlines()) == 4


def test_blocks_of_absurd_size_are_refused():
    assert "block.diameter_mm: the block is 3 x 3 mm; allowed are 5 to 1000 mm each way" in said(
        block={"shape": "round", "diameter_mm": 3}
    )
    far = [[-900, 0], [900, 0], [900, 50], [-900, 50]]
    assert "block.points_mm: the block is 1800 x 50 mm" in said(block={"points_mm": far})


def test_a_neck_of_the_outline_is_refused():
    points = [[0, 0], [40, 0], [40, 20], [80, 20], [80, 60], [40, 60], [40, 20.1], [0, 20.1]]
    text = said(block={"points_mm": points, "round_mm": 0})
    assert "block: the rubber at (40, 20.05) mm is thinner than 0.3 mm" in text


def test_gap_and_friction_are_handed_on():
    cut = {"path_mm": HALVES, "friction": 0.3, "gap_mm": [0.0, 0.1], "name": "halves"}
    (found,) = section(cut=[cut]).cuts
    assert (found.name, found.friction, found.gap_mm) == ("halves", 0.3, (0.0, 0.1))
    (found,) = section(cut=[cut | {"gap_mm": 0.2}]).cuts
    assert found.gap_mm == (0.2,)


def test_loads_stand_in_newton_and_mm():
    told = mold(
        band=[{"tension_n": 3.0, "count": 4}],
        push=[
            {"at_mm": [80, 5], "width_mm": 30, "force_n_per_mm": 0.6},
            {"pressure_kpa": 10},
            {"pressure_kpa": 2.5},
        ],
        resin={"head_mm": 100, "density_g_cm3": 1.05},
    )
    loads = loads_of(told, section_of(told))
    assert loads.tension_n_per_mm == pytest.approx(0.12)
    assert loads.all_round_mpa == pytest.approx(0.0125)
    (push,) = loads.pushes
    assert push.at_mm == pytest.approx((60, 5))
    assert push.pressure_mpa == pytest.approx(0.02)
    # Head of 100 mm at 1050 kg/m3 is 1030 Pa (hydrostatics).
    assert loads.cavity_mpa == pytest.approx(1030e-6, rel=3e-4)


def test_resin_may_be_given_as_pressure_or_not_at_all():
    told = mold(resin={"pressure_kpa": 3})
    assert loads_of(told, section_of(told)).cavity_mpa == pytest.approx(0.003)
    assert loads_of(mold(), section()).cavity_mpa == 0.0


def test_the_wrap_goes_straight_over_hollows():
    assert wrap_mm(section()) == pytest.approx(480 - (8 - 2 * math.pi) * 2, rel=1e-5)
    block = {"points_mm": [[0, 0], [60, 0], [60, 60], [30, 30], [0, 60]], "round_mm": 0}
    assert wrap_mm(section(block=block)) == pytest.approx(240)


def test_fit_and_amounts():
    told = mold(
        cavity=HOLE,
        block=SHARP,
        rubber={"shore_a": 20, "density_g_cm3": 1.2, "price_per_kg": 30},
        pot={"bore_mm": 170, "depth_mm": 90},
    )
    fit = fit_of(told, section_of(told))
    void = math.pi * 20**2 * 100 / 1000
    assert fit.resin_cm3 == pytest.approx(void)
    assert fit.rubber_g == pytest.approx((120 * 120 * 100 / 1000 - void) * 1.2)
    assert fit.rubber_price == pytest.approx(fit.rubber_g * 0.03)
    assert fit.widest_mm == pytest.approx(120 * math.sqrt(2))
    assert fit.goes_in is False
    assert "100 mm long and the pot is 90 mm deep" in fit.say[-1]
    assert "across" not in fit.say[-1]


@pytest.mark.parametrize(("bore", "goes_in"), [(169, False), (170, True)])
def test_the_diagonal_decides_whether_it_goes_in(bore, goes_in):
    told = mold(block=SHARP, pot={"bore_mm": bore, "depth_mm": 101})
    assert fit_of(told, section_of(told)).goes_in is goes_in
    assert fit_of(mold(), section()).goes_in is None


PLACE = st.tuples(st.integers(-70, 70), st.integers(-70, 70))
PATH = st.lists(PLACE, min_size=2, max_size=4)


@settings(deadline=None, max_examples=200)
@given(
    st.lists(PATH, min_size=1, max_size=3),
    st.lists(st.tuples(PLACE, st.floats(1, 50)), max_size=2),
    st.sampled_from([0, 3, 15.0, 60]),
)
def test_any_cuts_give_a_section_or_bad_input(paths, holes, bevel):
    tables = {
        "cavity": [
            {"shape": "round", "diameter_mm": d, "centre_mm": list(c)} for c, d in holes
        ],
        "block": SQUARE | {"bevel_mm": bevel},
    }  # fmt: skip
    faults = ()
    try:
        found = section(*[[list(p) for p in path] for path in paths], **tables)
    except BadInput as error:
        faults = error.faults
    assert all(fault.key.startswith(("cut.", "cavity.")) for fault in faults)
    if not faults:
        check_cuts(found, paths)


def check_cuts(found, paths):
    rubber = Polygon(found.outline.polygon.exterior, [])
    for cavity in found.cavities:
        rubber = rubber.difference(cavity.loop.polygon)
    for cut, path in zip(found.cuts, paths, strict=True):
        given_path = LineString(path)
        for stretch in cut.stretches:
            line = LineString(stretch.points)
            assert line.length >= 0.29
            assert line.difference(rubber.buffer(0.011)).is_empty
            inner = [Point(p) for p in stretch.points[1:-1]]
            assert all(given_path.distance(p) < 1e-9 for p in inner)
            assert -4.001 <= stretch.start_mm <= given_path.length


def test_hundreds_of_cavities_are_compared_with_their_neighbours_alone(monkeypatch):
    n, pitch = 17, 20
    places = pitch * (np.arange(n) - (n - 1) / 2)
    holes = [
        {"shape": "round", "diameter_mm": 10, "centre_mm": [float(x), float(y)]}
        for x in places
        for y in places
    ]
    compared = []
    monkeypatch.setattr("squeeze.mold.section.build._near", lambda a, b: compared.append((a, b)))
    paths = [[[-180, float(y)], [180, float(y)]] for y in places]
    found = section(*paths, block={"shape": "square", "width_mm": 350}, cavity=holes)
    assert compared == []  # nothing is within half a millimetre of anything
    assert sum(len(cut.stretches) for cut in found.cuts) == n * (n + 1)


def test_molds_that_differ_in_their_bands_share_a_section():
    few, many = (mold(HALVES, band=[{"tension_n": 4, "count": n}]) for n in (2, 9))
    assert section_of(few) is section_of(many)
    other = mold([[-70, 1], [70, 1]], band=[{"tension_n": 4, "count": 2}])
    assert section_of(other) is not section_of(few)
