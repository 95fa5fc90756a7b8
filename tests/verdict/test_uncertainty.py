"""The figures' bands: what scaling says must hold, and what other solves give."""

from __future__ import annotations

import weakref
from dataclasses import replace

import numpy as np
import pytest

import squeeze
from squeeze.verdict import judge
from squeeze.verdict.figures import BY_NAME, NO_FIGURES, figures_of
from squeeze.verdict.film import MOST_MM
from squeeze.verdict.uncertainty import (
    PULL,
    STIFFNESS,
    friction_bounds,
    pulled,
    say_variations,
    scaled,
    stiffer,
    uncertainty,
    varied_closings,
)
from squeeze.verdict.uncertainty import ranges as ranges_module
from squeeze.verdict.uncertainty.ranges import MOST_UNKNOWNS, fineness_of_variations
from squeeze.verdict.uncertainty.sentences import say_left_out


def ring(**tables):
    return squeeze.mold_of(
        {
            "length_mm": 100,
            "rubber": {"youngs_modulus_mpa": 0.6, "poisson": 0.499},
            "block": {"shape": "round", "diameter_mm": 80},
            "cavity": [{"shape": "round", "diameter_mm": 20, "centre_mm": [0, 5]}],
            "cut": [{"name": "across", "path_mm": [[-40, 5], [40, 5]], "friction": 0.2}],
            "band": [{"tension_n_per_mm": 0.6}],
        }
        | tables
    )


@pytest.fixture(scope="module")
def found():
    return uncertainty(squeeze.Block(ring()))


def test_there_are_twelve_and_all_seal(found):
    assert len(found.variations) == 12
    assert found.seals_in == 12
    assert found.closes_in == 12
    assert say_variations(found).startswith("It closes all along and seals in all 12 variations")


def test_the_given_figures_lie_in_their_bands(found):
    for each in found.ranges:
        assert each.low <= each.given <= each.high


def test_pressure_from_bands_does_not_depend_on_stiffness_and_shifts_do(found):
    """With no gap and no resin: pressures go with the pull alone, shifts with pull over E."""
    low = [v for v in found.variations if v.friction == "low"]
    for v in low:
        mate = next(o for o in low if o.stiffness == 1.0 and o.pull == v.pull)
        assert v.figures.margin == pytest.approx(mate.figures.margin)
        softer = mate.figures.largest_shift_mm / v.stiffness
        assert v.figures.largest_shift_mm == pytest.approx(softer)
    tight, slack = (next(v for v in low if v.pull == t and v.stiffness == 1) for t in PULL[::-1])
    assert tight.figures.margin / slack.figures.margin == pytest.approx(PULL[1] / PULL[0])


@pytest.mark.parametrize("stiffness", [STIFFNESS[0], STIFFNESS[2]])
def test_scaled_loads_give_what_other_rubber_gives(stiffness):
    """A second factor, with resin and an unloaded gap, is the check of the shared one."""
    cut = {"name": "across", "path_mm": [[-40, 5], [40, 5]], "friction": 0.2, "gap_mm": 0.3}
    mold = ring(cut=[cut], resin={"pressure_kpa": 3})
    block = squeeze.Block(mold)
    found = uncertainty(block)
    other = squeeze.Block(stiffer(block.section, stiffness))
    loads = block.close().loads
    for v in found.variations:
        if v.stiffness == stiffness:
            varied = replace(loads, tension_n_per_mm=v.pull * loads.tension_n_per_mm)
            mu = 0.1 if v.friction == "low" else 0.5
            direct = figures_of(other.close(varied, friction=mu), mold)
            # nu is kept by the scaling and by `stiffer` alike
            assert v.figures.margin == pytest.approx(direct.margin, rel=1e-6)
            assert v.figures.largest_shift_mm == pytest.approx(direct.largest_shift_mm, rel=1e-6)
            assert v.figures.largest_gap_mm == pytest.approx(direct.largest_gap_mm, rel=1e-6)


def test_at_large_deformation_each_variation_is_that_closing():
    """They share paths of the loads and stop early, which shows in no figure of a range."""
    block = squeeze.Block(ring(block={"shape": "square", "width_mm": 80}), 0.6)
    given = block.close(deformation="large")
    found = uncertainty(block, given)
    some = found.variations[::3]
    assert len({v.stiffness for v in some}) > 1
    assert len({v.friction for v in some}) == len({v.pull for v in some}) == 2
    for v in some:
        direct = block.close(
            scaled(pulled(given.loads, v.pull), 1 / v.stiffness),
            friction=0.1 if v.friction == "low" else 0.5,
            deformation="large",
        )
        wanted = figures_of(direct, block.mold)
        assert v.figures.largest_gap_mm == pytest.approx(wanted.largest_gap_mm, rel=0.02, abs=1e-4)
        assert v.figures.largest_shift_mm == pytest.approx(wanted.largest_shift_mm, rel=0.02)


def test_resin_at_the_edge_seals_in_some_and_the_sentence_says_where():
    """Between slack and tight bands the margin of 2 is passed."""
    block = squeeze.Block(ring())
    margin = uncertainty(block).given.margin
    kpa = margin * 1.0297 / 3  # the resin presses the walls apart as well
    found = uncertainty(squeeze.Block(ring(resin={"pressure_kpa": kpa, "enters_cuts": False})))
    assert 0 < found.seals_in < 12
    assert "slack bands" in say_variations(found)


def test_progress_is_told():
    seen = []
    uncertainty(squeeze.Block(ring()), progress=lambda _, share: seen.append(share))
    assert seen == [k / 12 for k in range(1, 13)]


@pytest.mark.parametrize("mu", [0.0, 0.1, 0.3, 1.0, 2.0, 3.0])
def test_friction_is_varied_round_what_is_given(mu):
    low, high = friction_bounds(mu)
    assert low <= mu <= high
    assert high >= 0.5


def test_the_roughest_cut_that_a_file_may_hold_is_varied_too():
    cut = {"name": "across", "path_mm": [[-40, 5], [40, 5]], "friction": 3.0}
    assert uncertainty(squeeze.Block(ring(cut=[cut]))).variations


def test_no_more_than_one_block_is_factorised_at_a_time(monkeypatch):
    filler = {"shape": "round", "diameter_mm": 10, "centre_mm": [0, -25], "shore_a": 40}
    block = squeeze.Block(ring(filler=[filler]))
    made, most = [], 0

    def counted(section, fineness, finer):
        nonlocal most
        made.append(weakref.ref(another := squeeze.Block(section, fineness, finer)))
        most = max(most, sum(each() is not None for each in made))
        return another

    monkeypatch.setattr(varied_closings, "Block", counted)
    assert len(uncertainty(block).variations) == 12
    assert (len(made), most) == (2, 1)


def test_a_large_block_is_varied_on_a_coarser_mesh(monkeypatch, found):
    """The answer stays that of its own mesh; the mesh of the variations is told."""
    block = squeeze.Block(ring())
    monkeypatch.setattr(ranges_module, "MOST_UNKNOWNS", {"small": 1000, "large": 1000})
    coarse = uncertainty(block)
    assert coarse.fineness < 1
    assert coarse.given == found.given
    assert coarse.seals_in == 12
    margins = [[each.figures.margin for each in one.variations] for one in (coarse, found)]
    assert margins[0] == pytest.approx(margins[1], rel=0.1)
    assert "on a coarser mesh" in say_variations(coarse)
    assert "coarser" not in say_variations(found)


@pytest.mark.slow
def test_variations_that_the_work_allowed_leaves_out_are_told(monkeypatch):
    block = squeeze.Block(ring(block={"shape": "square", "width_mm": 80}), 0.5)
    given = block.close(deformation="large")
    whole = uncertainty(block, given)
    assert whole.left_out == 0
    work = 25 * block.mesh.points.size
    monkeypatch.setattr(ranges_module, "MOST_WORK", work)
    some = uncertainty(block, given)
    assert 0 < len(some.variations) < 12
    assert len(some.variations) + some.left_out == 12
    known = {(each.stiffness, each.friction, each.pull): each.figures for each in whole.variations}
    for each in some.variations:
        assert each.figures == known[each.stiffness, each.friction, each.pull]
    assert f"{some.left_out} more were not computed" in say_variations(some)
    closing = replace(given, errors=None)
    assert f"{some.left_out} more were not computed" in judge(closing, varied=some).head.sure
    monkeypatch.setattr(ranges_module, "MOST_WORK", 0)
    none = uncertainty(block, given)
    assert none.variations == ()
    assert all(np.isnan([each.low, each.high]).all() for each in none.ranges)
    assert "was not computed" in say_variations(none)
    assert "was not computed" in judge(closing, varied=none).head.sure


@pytest.mark.parametrize(
    ("lost", "words"),
    [
        (0, ""),
        (1, " 1 variation has no answer and counts as a failure."),
        (3, " 3 variations have no answer and count as failures."),
    ],
)
def test_variations_without_an_answer_are_counted(found, lost, words):
    variations = tuple(
        replace(each, figures=NO_FIGURES) if k < lost else each
        for k, each in enumerate(found.variations)
    )
    said = say_variations(replace(found, variations=variations))
    assert words in said
    assert ("no answer" in said) == bool(lost)


@pytest.mark.parametrize(
    ("left", "words"), [(1, " 1 more was not computed:"), (2, " 2 more were not computed:")]
)
def test_one_variation_was_and_several_were_left_out(found, left, words):
    assert say_left_out(replace(found, left_out=left)).startswith(words)
    assert say_left_out(replace(found, left_out=0)) == ""


@pytest.mark.parametrize("theory", ["small", "large"])
def test_a_block_with_as_many_unknowns_as_are_allowed_keeps_its_mesh(theory):
    most = MOST_UNKNOWNS[theory]
    assert fineness_of_variations(most, theory) == 1.0
    assert fineness_of_variations(most + 1, theory) == pytest.approx(np.sqrt(0.5), rel=1e-3)


def test_how_thick_a_film_may_be_is_told(found):
    closing = squeeze.Block(ring()).close()

    def sure(limit_mm: float) -> str:
        return judge(closing, varied=replace(found, film_limit_mm=limit_mm)).head.sure

    assert sure(0.25).endswith("The film may be 0.25 mm thick before a land leaks.")
    assert "No film up to" in sure(MOST_MM)
    assert "No film up to" not in sure(0.99 * MOST_MM)


@pytest.mark.parametrize("word", ["low", "high"])
def test_variations_of_one_friction_alone_have_a_verdict(found, word):
    """The work allowed may end before the other friction has its turn."""
    closing = squeeze.Block(ring()).close()
    one = tuple(each for each in found.variations if each.friction == word)
    head = judge(closing, varied=replace(found, variations=one, left_out=6)).head
    assert "6 more were not computed" in head.sure


@pytest.mark.slow
def test_other_bodies_share_the_path_of_the_loads_too(monkeypatch):
    """Tight bands begin where slack ones ended; what they give is what they give alone."""
    filler = {"shape": "round", "diameter_mm": 10, "centre_mm": [0, -25], "shore_a": 40}
    block = squeeze.Block(ring(block={"shape": "square", "width_mm": 80}, filler=[filler]), 0.5)
    given = block.close(deformation="large")
    begun = []
    close = squeeze.Block.close

    def watched(self, *loads, **case):
        begun.append(case.get("after"))
        return close(self, *loads, **case)

    monkeypatch.setattr(squeeze.Block, "close", watched)
    found = uncertainty(block, given)
    assert sum(each is not None for each in begun) == 6
    v = next(v for v in found.variations if v.pull == PULL[1] and v.stiffness == 1.0)
    friction = 0.1 if v.friction == "low" else 0.5
    alone = close(block, pulled(given.loads, v.pull), friction=friction, deformation="large")
    wanted = figures_of(alone, block.mold)
    assert v.figures.largest_shift_mm == pytest.approx(wanted.largest_shift_mm, rel=0.02)


def test_a_variation_without_an_answer_is_the_worst_of_its_range(found):
    """A block that comes apart once leaves no barrier and no bound on its gap there."""
    lost = replace(found.variations[0], figures=NO_FIGURES)
    ranges = {
        each.name: each
        for each in ranges_module.ranges_of(found.given, [lost, *found.variations[1:]])
    }
    assert ranges["margin"].low == BY_NAME["margin"].worst == 0
    assert ranges["largest_gap_mm"].high == BY_NAME["largest_gap_mm"].worst == np.inf
    with_lost = replace(found, variations=(lost, *found.variations[1:]))
    assert with_lost.unsolved == 1
    assert with_lost.seals_in == found.seals_in - 1
