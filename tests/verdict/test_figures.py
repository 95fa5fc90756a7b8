"""The table of figures on made-up lands, castings and seals: each value by a count by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from squeeze.mold.geometry.loop import polygon_loop
from squeeze.solve.outcome import Outcome
from squeeze.verdict.casting.flash import FINE_MM, HAIRLINE_MM
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


def test_tables_give_as_many_digits_as_a_bench_can_use():
    """Gaps to a hundredth of a millimetre, lengths to a tenth; forces to a thousandth of a N/mm."""
    digits: dict[int, set[str]] = {}
    for each in TABLE:
        if each.has_error:
            digits.setdefault(each.digits, set()).add(each.name)
    assert digits == {
        0: {"closed_share", "least_closed_share", "largest_strain_pct"},
        1: {"length_mm", "mean_pressure_kpa", "least_pressure_kpa", "largest_pressure_kpa",
            "area_change_pct", "margin", "needed_kpa", "flash_reach_mm", "wrap_mm"},
        2: {"evenness", "largest_gap_mm", "largest_slip_mm", "largest_shift_mm", "step_mm",
            "flash_thickness_mm", "flash_mass_g"},
        3: {"force_n_per_mm", "tension_n_per_mm"},
    }  # fmt: skip


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
