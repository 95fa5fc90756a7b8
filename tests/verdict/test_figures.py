"""The table of figures on made-up lands, castings and seals: each value by a count by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

import squeeze
from squeeze.mold import section_of
from squeeze.mold.forces.loads import Loads
from squeeze.mold.geometry.loop import circle, polygon_loop
from squeeze.solve.outcome import Outcome
from squeeze.verdict.casting.flash import FINE_MM, HAIRLINE_MM
from squeeze.verdict.cause import causes_of
from squeeze.verdict.cause import resin as resin_module
from squeeze.verdict.cause.pull import called, name_of_band, no_pull, pulls_as, shorter_band
from squeeze.verdict.cause.resin import between_faces, direction, length_along, lifted, resin_lifts
from squeeze.verdict.cause.shape import flat_over, open_by_shape, straight_share
from squeeze.verdict.figures import (
    BY_NAME,
    MEASURES,
    NO_FIGURES,
    TABLE,
    Figures,
    FigureSource,
    bare,
    closes,
    errors_of_figures,
    figures_of,
    in_words,
    of_kind,
    range_in_words,
    reaches,
    shown_in,
    times,
)
from squeeze.verdict.grade import GAPES, gapes, grade_of


def land(length_mm=10.0, **values):
    given = {
        "closed_share": 1.0, "mean_pressure_kpa": 10.0, "least_pressure_kpa": 4.0,
        "pressure_kpa": np.array([4.0, 16.0]), "evenness": 0.4, "largest_gap_mm": 0.0,
        "slip_mm": np.array([0.0, 0.0]), "force_n_per_mm": 0.1,
    }  # fmt: skip
    return SimpleNamespace(length_mm=length_mm, **given | values)


def of(name: str, *given):
    return BY_NAME[name].take(given)


TWO = (
    land(10.0, closed_share=1.0, mean_pressure_kpa=12.0, least_pressure_kpa=3.0, evenness=0.25,
         slip_mm=np.array([0.1, -0.4]), largest_gap_mm=0.1, force_n_per_mm=0.12),
    land(30.0, closed_share=0.6, mean_pressure_kpa=4.0, least_pressure_kpa=0.0, evenness=0.0,
         slip_mm=np.array([0.2, 0.3]), largest_gap_mm=0.3, force_n_per_mm=0.12,
         pressure_kpa=np.array([0.0, 20.0])),
)  # fmt: skip


@pytest.mark.parametrize(
    ("name", "value", "of_none"),
    [
        ("length_mm", 40.0, 0.0),
        ("closed_share", 0.7, 0.0),  # (10 + 0.6 x 30) / 40
        ("least_closed_share", 0.6, 0.0),
        ("closes", False, True),
        ("mean_pressure_kpa", 6.0, 0.0),  # (12 x 10 + 4 x 30) / 40
        ("least_pressure_kpa", 0.0, 0.0),
        ("largest_pressure_kpa", 20.0, 0.0),
        ("evenness", 0.0, 0.0),
        ("largest_gap_mm", 0.3, 0.0),
        ("largest_slip_mm", 0.4, 0.0),
        ("force_n_per_mm", 0.24, 0.0),
    ],
)
def test_figures_of_lands(name, value, of_none):
    assert of(name, *TWO) == pytest.approx(value)
    assert of(name) == of_none


def test_lands_close_below_a_hairline():
    assert closes([land(largest_gap_mm=0.0099), land()])
    assert not closes([land(), land(largest_gap_mm=HAIRLINE_MM)])


def casting(area=0.0, shift=0.0, step=0.0):
    return SimpleNamespace(area_change_pct=area, largest_shift_mm=shift, step_mm=step)


def test_figures_of_castings():
    given = casting(1.0, 0.2, 0.0), casting(-3.0, 0.4, 0.1)
    assert of("area_change_pct", *given) == -3.0
    assert of("area_change_pct", casting(2.0), casting(-1.0)) == 2.0
    assert of("largest_shift_mm", *given) == 0.4
    assert of("step_mm", *given) == 0.1
    assert [of(each) for each in ("area_change_pct", "largest_shift_mm", "step_mm")] == [0.0] * 3


def test_figures_of_the_seal():
    seal = SimpleNamespace(
        seals=False, leaks=(1, 2), leaky=(True, False, True, False, False), needed_kpa=4.0,
        weakest=SimpleNamespace(margin=1.3),
    )  # fmt: skip
    take = {name: BY_NAME[name].take for name in of_kind("seal")}
    found = {name: value(seal) for name, value in take.items()}
    assert found == {
        "seals": False, "leaks": 2, "sealing_lands": 3, "margin": 1.3, "needed_kpa": 4.0,
    }  # fmt: skip
    seal.weakest = None
    assert take["margin"](seal) == 0.0


def test_the_worst_value_of_what_has_no_answer_is_the_far_end_of_its_scale():
    assert BY_NAME["margin"].worst == 0.0
    assert BY_NAME["largest_gap_mm"].worst == math.inf
    assert math.isnan(BY_NAME["unknowns"].worst)


def test_measured_numbers_have_errors_and_counts_and_answers_have_none():
    """Evenness is a ratio without a unit, and measured all the same."""
    has = {each.name for each in TABLE if each.has_error}
    assert {"largest_gap_mm", "margin", "evenness", "closed_share", "flash_mass_g"} <= has
    assert not has & {"seals", "closes", "leaks", "lands", "unknowns", "grade", "flash_grade"}
    powers = {each.name: each.error_power for each in TABLE}
    assert powers["largest_gap_mm"] == powers["largest_strain_pct"] == 2.5
    assert powers["mean_pressure_kpa"] == powers["margin"] == 2.0


def test_measures_are_what_is_better_or_worse_as_a_number():
    assert "margin" in MEASURES
    assert not {"seals", "closes", "length_mm", "unknowns", "grade"} & {*MEASURES}
    assert [each.name for each in shown_in("cradles")] == [
        "closed_share", "least_pressure_kpa", "evenness", "largest_gap_mm", "largest_shift_mm",
        "largest_strain_pct",
    ]  # fmt: skip
    assert shown_in("nothing") == ()


@pytest.mark.parametrize(
    ("seals", "thick_mm", "good"),
    [(True, 0.0499, True), (True, FINE_MM, False), (False, 0.0, False)],
)
def test_nothing_is_to_be_mended_where_it_seals_and_flash_is_thin(seals, thick_mm, good):
    found = Figures(True, {"seals": seals, "flash_thickness_mm": thick_mm})
    assert found.good is good


def test_what_is_wanted_is_a_seal_and_then_no_flash():
    leaks, flashes, good = (
        Figures(True, {"seals": seals, "flash_thickness_mm": thick})
        for seals, thick in ((False, 0.0), (True, 0.3), (True, 0.0))
    )
    assert reaches(leaks, flashes)
    assert not reaches(flashes, flashes)
    assert reaches(flashes, good)
    assert not reaches(leaks, leaks)


def test_without_an_answer_nothing_seals_or_closes_and_no_number_is_shown(made_up):
    lost = figures_of(made_up(outcome=Outcome.PIECE_NOT_HELD).closing())
    assert not lost.solved
    assert (lost.seals, lost.closes, lost.grade) == (False, False, "Comes apart")
    assert math.isnan(lost.margin)
    assert math.isnan(lost.largest_gap_mm)
    assert NO_FIGURES.grade == "No answer"
    assert lost.as_data()["solved"] is False
    with pytest.raises(AttributeError, match="no figure 'height'"):
        _ = lost.height


def test_figures_are_plain_numbers(closed):
    found = figures_of(closed)
    assert found.solved
    assert all(not isinstance(value, np.generic) for value in found.values.values())
    assert bare(np.float64(1.5)) == 1.5
    assert type(bare(np.float64(1.5))) is float
    assert bare("Clean") == "Clean"


def test_a_seal_that_is_known_is_not_worked_out_again(closed):
    seal = SimpleNamespace(weakest=SimpleNamespace(margin=7.0))
    assert FigureSource(closed, seal=seal).value(BY_NAME["margin"]) == 7.0
    flash = SimpleNamespace(thickness_mm=0.7)
    assert FigureSource(closed, flash=flash).value(BY_NAME["flash_thickness_mm"]) == 0.7


def test_errors_of_figures_come_from_the_coarser_mesh(closed, made_up):
    """The widest gap and the largest strain have errors of their own."""
    assert errors_of_figures(closed) == {}
    coarser = made_up(press=lambda x: 13.0 + 0.0 * x).closing()
    asked = []

    def error(fine, coarse, power):
        asked.append((fine, coarse, power))
        return abs(fine - coarse)

    errors = SimpleNamespace(coarser=coarser, of=error, strain_pct=0.7, gap_mm=0.02)
    found = errors_of_figures(replace(closed, errors=errors))
    least = min(each.least_pressure_kpa for each in closed.lands)
    assert found["least_pressure_kpa"] == pytest.approx(13.0 - least)
    assert (found["largest_strain_pct"], found["largest_gap_mm"]) == (0.7, 0.02)
    assert "leaks" not in found
    assert "needed_kpa" in found
    assert (least, 13.0, 2.0) in [tuple(map(float, each)) for each in asked]


# in words


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("margin", None, "not known"),
        ("margin", math.nan, "not known"),
        ("margin", math.inf, "no limit"),
        ("mean_pressure_kpa", 9.76, "9.8 kPa"),
        ("closed_share", 0.643, "64 %"),
        ("leaks", 1, "1 leak"),
        ("leaks", 0, "0 leaks"),
        ("evenness", 0.256, "0.26"),
        ("force_n_per_mm", 0.12345, "0.123 N/mm"),
        ("largest_strain_pct", 3.6, "4 %"),
        ("margin", 9.96, "10.0 times the resin's pressure"),
        ("margin", 10.0, "10 times the resin's pressure"),
    ],
)
def test_a_figure_in_a_sentence(name, value, said):
    assert in_words(name, value) == said


def test_inches_are_for_lengths():
    assert in_words("largest_gap_mm", 2.54, inches=True) == "0.100 in"
    assert in_words("largest_gap_mm", 2.54) == "2.5 mm"
    assert times(9.99) == "10.0"


def test_a_range_has_its_unit_once_unless_one_end_is_told_otherwise():
    assert range_in_words("largest_gap_mm", 0.004, 0.4) == "under 0.01 mm to 0.40 mm"
    assert range_in_words("largest_gap_mm", 0.1, math.inf) == "0.10 mm to no limit"
    assert range_in_words("largest_gap_mm", 2.54, 5.08, inches=True) == "0.100 to 0.200 in"


# the grade


def graded(closing, thick=0.0, step=0.0, **seal):
    given = {"unreached": (), "locked": (), "leaks": ()} | seal
    cavities = tuple(replace(each, step_mm=step) for each in closing.cavities)
    return grade_of(
        replace(closing, cavities=cavities),
        SimpleNamespace(**given),
        SimpleNamespace(thickness_mm=thick),
    )


@pytest.mark.parametrize(
    ("thick", "step", "grade"),
    [
        (0.0099, 0.0499, "Clean"), (0.01, 0.0, "Fine line"), (0.0499, 0.0, "Fine line"),
        (0.05, 0.0, "Flash"), (0.0, 0.05, "Fine line"), (0.0, 2.0, "Fine line"),
    ],
)  # fmt: skip
def test_a_grade_goes_by_flash_and_step(closed, thick, step, grade):
    assert graded(closed, thick, step) == grade


def test_the_worst_of_all_is_the_grade(closed, made_up):
    assert graded(closed, 0.3, leaks=(1,)) == "Leaks"
    assert graded(closed, leaks=(1,), locked=("rod",)) == "Cannot be opened"
    assert graded(closed, unreached=("rod",)) == "Cannot be opened"
    assert graded(made_up(outcome=Outcome.PIECE_NOT_HELD).closing()) == "Comes apart"
    assert graded(made_up(outcome=Outcome.STEP_LIMIT).closing()) == "No answer"


def test_faces_a_twentieth_of_the_block_apart_have_come_apart(made_up):
    """Of 120 mm that is 6."""
    for gap, apart in ((6.0, False), (6.01, True)):
        closing = made_up(gap=lambda x, gap=gap: np.full_like(x, gap)).closing()
        assert gapes(closing) is apart
        assert (graded(closing, leaks=(1,)) == "Comes apart") is apart
    assert GAPES * 120 == pytest.approx(6.0)
    flat = replace(closing.section, outline=polygon_loop([(0, 0), (200, 0), (200, 40), (0, 40)]))
    low = made_up(gap=lambda x: np.full_like(x, 2.01)).closing()
    assert not gapes(low)
    assert gapes(replace(low, section=flat))


# causes: what the resin lifts


def rows(*lands, cavities=(), p=0.01, tension=0.5, enters=True):
    section = SimpleNamespace(
        cavities=[SimpleNamespace(name=name, loop=circle(r, at)) for name, r, at in cavities]
    )
    loads = SimpleNamespace(cavity_mpa=p, tension_n_per_mm=tension, enters_cuts=enters)
    return SimpleNamespace(lands=lands, loads=loads, section=section)


def row(cut, a, b):
    (x0, y0), (x1, y1) = a, b
    length = math.hypot(x1 - x0, y1 - y0)
    return SimpleNamespace(
        cut=cut, x_mm=np.array([x0, x1], float), y_mm=np.array([y0, y1], float), length_mm=length
    )


FLAT = (
    row("a", (-50, 0), (-20, 0)), row("a", (-10, 0), (10, 0)), row("a", (16, 0), (50, 0)),
    row("b", (0, -40), (0, -20)),
)  # fmt: skip
HOLES = (("left", 5.0, (-15, 0)), ("right", 3.0, (13, 0)), ("low", 9.0, (0, -30)))


def test_the_resin_lifts_by_the_width_of_the_cavities_along_a_cut(monkeypatch):
    """10 kPa on 10 and 6 mm of the cut a."""
    ends = {id(FLAT[0]): ["left"], id(FLAT[1]): ["left", "right"], id(FLAT[2]): ["right"]}
    monkeypatch.setattr(
        resin_module,
        "land_ends",
        lambda land, section: [
            SimpleNamespace(text=f"'{name}'") for name in ends.get(id(land), ["low"])
        ],
    )
    closing = rows(*FLAT, cavities=HOLES)
    assert resin_lifts(closing, [FLAT[0]]) == pytest.approx(0.16, rel=0.01)
    assert resin_lifts(closing, [FLAT[3]]) == pytest.approx(0.18, rel=0.01)
    assert resin_lifts(closing, FLAT) == pytest.approx(0.18, rel=0.01)
    assert resin_lifts(closing) == pytest.approx(0.18, rel=0.01)  # the widest of all
    assert resin_lifts(rows(*FLAT)) == 0.0
    assert lifted(rows(*FLAT, cavities=HOLES, tension=0.07), [FLAT[0]])
    assert not lifted(rows(*FLAT, cavities=HOLES, tension=0.09), [FLAT[0]])


def test_resin_between_the_faces_presses_from_end_to_end():
    assert between_faces(rows(*FLAT)) == pytest.approx(1.0)
    assert between_faces(rows(*FLAT, enters=False)) == 0.0
    assert between_faces(rows()) == 0.0
    assert length_along(rows(*FLAT), "a") == pytest.approx(100)
    assert length_along(rows(*FLAT), "b") == pytest.approx(20)
    slanted = row("c", (0, 0), (30, 40))
    assert length_along(rows(slanted), "c") == pytest.approx(50)
    assert direction(slanted) == pytest.approx([0.6, 0.8])
    assert direction(row("c", (5, 5), (5, 5))) == pytest.approx([0, 0])


# causes: the shape


BLOCK = {
    "length_mm": 100,
    "rubber": {"shore_a": 20},
    "block": {"shape": "rectangle", "width_mm": 100, "height_mm": 60, "round_mm": 0},
}


def outline(**block):
    return section_of(squeeze.mold_of(BLOCK | {"block": block or BLOCK["block"]}))


def test_the_straight_share_counts_sides_over_a_twentieth_of_the_round():
    assert straight_share(outline()) == pytest.approx(1.0)
    assert straight_share(outline(shape="round", diameter_mm=90)) == 0.0
    square = outline(shape="square", width_mm=100, round_mm=20)
    assert straight_share(square) == pytest.approx(240 / (240 + 2 * math.pi * 20))
    bevel = outline(shape="square", width_mm=100, bevel_mm=4, round_mm=0)  # flats of 5.7 mm
    whole = 4 * 92 + 16 * math.sqrt(2)
    assert straight_share(bevel) == pytest.approx(4 * 92 / whole)


@pytest.mark.parametrize(
    ("a", "b", "found"),
    [
        ((-40, 10), (40, 10), ("top", 20.0)),
        ((-40, -10), (40, -10), ("bottom", 20.0)),
        ((-40, 5), (40, 5), None),  # 25 mm deep: over four tenths of 60
        ((-40, 7), (40, 7), ("top", 23.0)),
        ((-20, -20), (-20, 20), ("left", 30.0)),
        ((-9, -20), (-9, 20), None),  # 41 of 100 mm
        ((30, -29), (30, 29), ("right", 20.0)),
        ((-30, 0), (30, 38), None),  # aslant by 32 degrees
        ((-30, 5), (30, 29), ("top", 13.0)),  # by 22 degrees
        ((-52, 20), (52, 20), None),  # longer than the flat
    ],
)
def test_a_cut_runs_under_a_flat_that_is_near_along_it_and_longer(a, b, found):
    under = flat_over(row("a", a, b), outline())
    if found is None:
        assert under is None
    else:
        assert under is not None
        assert under[0] == found[0]
        assert under[1] == pytest.approx(found[1])


def shaped(section, *lands, tension=0.5):
    closing = SimpleNamespace(section=section, loads=SimpleNamespace(tension_n_per_mm=tension))
    return [(each.kind, each.why) for each in open_by_shape(closing, lands, None, False)]


def gaping(a, b, gap_mm):
    return SimpleNamespace(**vars(row("a", a, b)), largest_gap_mm=gap_mm)


def test_the_widest_of_the_open_lands_says_which_shape_it_is():
    under, across = gaping((-40, 10), (40, 10), 0.3), gaping((0, -25), (0, 25), 0.5)
    ((kind, why),) = shaped(outline(), under)
    assert kind == "flat"
    assert why.startswith("The cut runs 20 mm under the flat top,")
    assert [kind for kind, _ in shaped(outline(), under, across)] == ["corners"]
    assert [kind for kind, _ in shaped(outline(shape="round", diameter_mm=90), across)] == ["shape"]
    assert shaped(outline(), under, tension=0.0) == []
    assert shaped(outline(), gaping((-40, 10), (40, 10), 0.0)) == []
    cradled = replace(outline(), cradles=(1,))
    assert [kind for kind, _ in shaped(cradled, under)] == ["shape"]


# causes: bands and gaps


def band_mold(*bands, **changed):
    return squeeze.mold_of(BLOCK | {"band": bands} | changed)


def pulls(mold, tension=0.5, pushed=False):
    loads = SimpleNamespace(tension_n_per_mm=tension, is_pushed=pushed)
    closing = SimpleNamespace(loads=loads, section=section_of(mold))
    return [(each.kind, each.why, each.do) for each in no_pull(closing, mold, False)]


def test_bands_as_long_as_the_block_is_round_hang_loose():
    """Once round 100 x 60 mm is 320: flat bands of 160 mm do not stretch."""
    sizes = {"width_mm": 6, "thickness_mm": 1}
    tight, loose = sizes | {"flat_length_mm": 159}, sizes | {"flat_length_mm": 160.0}
    ((kind, why, do),) = pulls(band_mold(tight, loose))
    assert kind == "loose band"
    assert why == "Band 2 hangs loose round 320 mm and does not pull."
    assert do.startswith("Take shorter bands, ")
    assert [each[0] for each in pulls(band_mold(loose), tension=0.0)] == ["loose band", "no pull"]
    assert [each[0] for each in pulls(band_mold(), tension=0.0)] == ["no pull"]
    assert pulls(band_mold(), tension=0.0, pushed=True) == []


def test_bands_are_called_by_name_or_size_and_their_flat_length():
    mold = band_mold({"stock": "64"}, {"tension_n": 2.0, "name": "grey"}, {"tension_n": 2.0})
    names = [name_of_band(k, band) for k, band in enumerate(mold.band, start=1)]
    assert names == ["Band 1 (size 64)", "Band 2 ('grey')", "Band 3"]
    size = SimpleNamespace(flat_length_mm=50.8, width_mm=6.0, thickness_mm=1.0)
    assert called("32", size) == "size 32 (51 mm long when flat)"
    assert called("", size, inches=True) == "2.00 in long when flat"


def test_a_band_pulls_as_its_section_and_its_stretch_say():
    """A0 (s - 1 / s^2), s = 200 / (2 x 50) and 200 / (2 x 80)."""
    short = SimpleNamespace(flat_length_mm=50.0, width_mm=6.0, thickness_mm=1.0)
    long = SimpleNamespace(flat_length_mm=80.0, width_mm=3.0, thickness_mm=1.5)
    exact = 6.0 * (2 - 1 / 4) / (4.5 * (1.25 - 1 / 1.25**2))
    assert pulls_as(short, long, 200.0) == pytest.approx(exact)


def test_shorter_bands_are_as_wide_and_stretch_well():
    band = band_mold({"width_mm": 6, "thickness_mm": 1, "flat_length_mm": 160}).band[0]
    said = shorter_band(band, 320.0)
    stretch = float(said.split("stretch to ")[1].split()[0])
    assert said.startswith("shorter bands, ")
    assert 1.5 <= stretch <= 3.0
    flat = float(said.split(" mm long")[0].split()[-1].strip("("))
    assert stretch == pytest.approx(320 / (2 * flat), abs=0.06)


def troubled(closed, *, named=True, **cut):
    cuts = tuple(replace(each, **cut) for each in closed.section.cuts)
    closing = replace(
        closed, section=replace(closed.section, cuts=cuts), loads=Loads(tension_n_per_mm=5.0)
    )
    seal = SimpleNamespace(needed_kpa=2.0, leaks=())
    lands = closing.lands[:1] if named else ()
    return [(each.kind, each.why) for each in causes_of(closing, seal, lands)]


def test_films_and_gaps_of_cuts_in_trouble_are_causes(closed):
    assert troubled(closed) == []
    ((kind, why),) = troubled(closed, gap_mm=(0.1, 0.2), bow_mm=0.3)
    assert kind == "gap"
    assert "'across' stands open by up to 0.50 mm before" in why
    ((kind, why),) = troubled(closed, film_mm=(0.1, 0.25))
    assert kind == "film"
    assert why.startswith("A film of 0.25 mm in the cut 'across' holds")
    assert troubled(closed, named=False, gap_mm=(0.1,), film_mm=(0.2,)) == []
