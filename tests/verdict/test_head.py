"""The head of an answer: grade, cause, what to do, how sure."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import squeeze
from squeeze.mold import section_of
from squeeze.solve.land import LandRange
from squeeze.solve.outcome import Outcome
from squeeze.verdict import judge
from squeeze.verdict.casting.flash import HAIRLINE_MM
from squeeze.verdict.grade import GOOD
from squeeze.verdict.place import widest_place
from squeeze.verdict.short_cuts import short_cuts

BLOCK = {
    "length_mm": 100,
    "rubber": {"shore_a": 20},
    "block": {"shape": "square", "width_mm": 100, "bevel_mm": 20},
    "cavity": [{"name": "rod", "shape": "round", "diameter_mm": 20}],
    "cut": [{"name": "across", "path_mm": [[-50, 0], [50, 0]]}],
    "band": [{"tension_n_per_mm": 0.6}],
    "resin": {"head_mm": 50},
}


def head(**changes):
    mold = squeeze.mold_of(BLOCK | changes)
    block = squeeze.Block(mold)
    return judge(block.close(check=False), mold=mold).head


def test_a_thick_block_with_a_straight_cut_is_good():
    found = head()
    assert found.grade in GOOD
    assert found.good


def test_a_cut_that_stays_behind_when_the_block_grows_is_told_first():
    wide = {"shape": "square", "width_mm": 130, "bevel_mm": 20}
    found = head(block=wide)
    assert found.grade == "Cannot be opened"
    assert "15 mm short of the outside" in found.say
    assert "[-65, 0] mm" in found.do
    assert "[65, 0] mm" in found.do
    carried = head(block=wide, cut=[{"name": "across", "path_mm": [[-65, 0], [65, 0]]}])
    assert carried.grade in GOOD


def test_a_cut_that_is_a_hinge_opens_the_block():
    """From one side through the cavity and no farther: it opens as a book does."""
    assert head(cut=[{"path_mm": [[-50, 0], [30, 0]]}]).grade in GOOD


def test_a_cavity_behind_another_is_opened_through_it():
    twins = [
        {"name": name, "shape": "round", "diameter_mm": 12, "centre_mm": [x, 0]}
        for name, x in (("left", -15), ("right", 15))
    ]
    cut = [{"path_mm": [[-50, 0], [15, 0]]}]
    assert head(cavity=twins, cut=cut).grade != "Cannot be opened"


def test_short_cuts_names_the_missing_stretch():
    section = section_of(
        squeeze.mold_of(BLOCK | {"cut": [{"name": "across", "path_mm": [[-50, 0], [30, 0]]}]})
    )
    (found,) = short_cuts(section)
    assert (found.at_start, found.at_mm, found.out_mm) == (False, (30.0, 0.0), (50.0, 0.0))
    assert found.short_mm == pytest.approx(20.0)


def test_a_loose_band_is_the_cause():
    small = {
        "block": {"shape": "square", "width_mm": 40, "bevel_mm": 5},
        "cavity": [{"name": "rod", "shape": "round", "diameter_mm": 10}],
        "cut": [{"name": "across", "path_mm": [[-20, 0], [20, 0]]}],
    }
    found = head(**small, band=[{"stock": "33", "count": 4}])
    assert found.causes[0].kind == "loose band"
    assert "hangs loose" in found.say
    assert "shorter" in found.do


def test_bands_too_weak_against_the_resin_are_the_cause():
    """4 kPa on 20 mm pushes with 0.08 N/mm; two strands of 0.02 hold 0.04."""
    resin = {"pressure_kpa": 4.0}
    found = head(band=[{"tension_n_per_mm": 0.02}], resin=resin)
    assert found.causes[0].kind == "weak"
    assert "0.040 N/mm of the block's length" in found.say
    assert "0.080 N/mm" in found.say


def test_a_block_too_large_for_its_pot_is_no_good_news():
    found = head(pot={"bore_mm": 90, "depth_mm": 200})
    assert not found.good
    assert "does not stand in the pot" in found.say
    assert "another pot" in found.do


def test_a_cut_under_a_flat_names_the_side(made_up):
    made = made_up(gap=lambda x: np.clip(0.5 - (x / 40) ** 2, 0, None))
    found = judge(made.closing()).head
    assert found.causes[0].kind == "flat"
    assert "under the flat top" in found.say


def test_flash_over_a_twentieth_is_never_good(made_up):
    """Lips that stand open by 0.06 mm at the cavities, with barriers between."""
    made = made_up(gap=lambda x: np.where((np.abs(x) > 24) & (np.abs(x) < 27), 0.06, 0.0))
    found = judge(made.closing()).head
    assert found.grade == "Flash"
    assert not found.good


def test_an_unsolved_variation_is_never_good(monkeypatch):
    """Without friction a slanted half slides off when the bands are as given; a key is needed."""
    mold = squeeze.mold_of(
        BLOCK | {"band": [{"tension_n_per_mm": 0.05}], "resin": {"pressure_kpa": 0.5}}
    )
    block = squeeze.Block(mold)
    closing = block.close(check=False)
    varied = squeeze.uncertainty(block, closing)
    lost = varied.variations[0].__class__(0.75, "low", 0.8, squeeze.verdict.figures.NO_FIGURES)
    with_lost = type(varied)(varied.given, (lost, *varied.variations[1:]), varied.ranges, ())
    found = judge(closing, mold=mold, varied=with_lost).head
    assert found.grade == "Comes apart"
    assert not found.good


@pytest.mark.parametrize("outcome", [o for o in Outcome if not o.has_answer])
def test_no_answer_is_never_good(made_up, outcome):
    assert not judge(made_up(outcome=outcome).closing()).head.good


def test_a_good_grade_that_slack_bands_tip_says_what_to_do():
    """A barrier of 2.2 times the resin's pressure is gone when the bands pull 20 % less."""
    dry = {key: value for key, value in BLOCK.items() if key != "resin"}
    margin = squeeze.uncertainty(squeeze.Block(squeeze.mold_of(dry))).given.margin
    weak = squeeze.mold_of(dry | {"band": [{"tension_n_per_mm": 0.6 * 2.2 / margin}]})
    block = squeeze.Block(weak)
    closing = block.close()
    found = judge(closing, mold=weak, varied=squeeze.uncertainty(block, closing)).head
    assert found.grade in GOOD
    assert not found.good
    assert "slack bands" in found.sure
    assert found.do.startswith("Pull a little harder")


def test_a_standing_block_is_judged_at_its_foot():
    """1.05 g/cm3 x 9.80665 m/s2 x (50 + 100) mm."""
    mold = squeeze.mold_of(BLOCK | {"resin": {"head_mm": 50, "standing": True}})
    closing = squeeze.close(mold)
    assert closing.loads.cavity_mpa == pytest.approx(1.05 * 9.80665 * 150e-6)
    assert "at the foot" in judge(closing, mold=mold).yardstick


def test_the_head_is_the_same_where_nothing_was_varied_and_where_all_is_alike():
    mold = squeeze.mold_of(BLOCK)
    block = squeeze.Block(mold)
    closing = block.close()
    bare = judge(closing, mold=mold).head
    full = judge(closing, mold=mold, varied=squeeze.uncertainty(block, closing)).head
    assert (bare.grade, bare.say, bare.do) == (full.grade, full.say, full.do)
    assert bare.sure == ""
    assert full.sure


def test_loads_without_a_mold_have_a_head(closed):
    assert judge(closed).head.lines[0].startswith("Clean")


def test_advice_carries_a_cut_on_to_the_outside():
    wide = squeeze.mold_of(BLOCK | {"block": {"shape": "square", "width_mm": 130, "bevel_mm": 20}})
    (change,) = squeeze.advise(wide).changes
    assert change.before.grade == "Cannot be opened"
    assert change.after.seals
    assert change.mold.cut[0].path_mm == ((-65.0, 0.0), (65.0, 0.0))


def test_of_places_that_gape_alike_the_first_is_named():
    """Rounding must not choose between the left and the right of a mirrored block."""
    block = squeeze.Block(squeeze.load("studies/barrels/barrels.toml"), 0.5)
    closing = block.close()
    middle = closing.lands[2]
    assert middle.gap_mm[0] == pytest.approx(middle.gap_mm[-1], rel=5e-3)
    for end in (0, -1):
        gap = middle.gap_mm.copy()
        gap[end] *= 1.005
        lands = [*closing.lands[:2], replace(middle, gap_mm=gap), *closing.lands[3:]]
        land, place = widest_place(lands)
        assert (land.land, place) == (2, 0)
    wider = middle.gap_mm.copy()
    wider[-1] *= 1.1
    assert widest_place([replace(middle, gap_mm=wider)])[1] == len(wider) - 1


def test_other_states_of_friction_are_told_with_how_far_they_are(closed):
    """The head says so where it shows; a pinch less is left to the remarks."""
    far = several(closed, gap_mm=0.07)
    found = judge(far)
    assert not found.head.good
    assert "rest in more than one state" in found.head.sure
    assert "differ by up to 0.07 mm in gaps" in found.head.sure
    hairline = judge(several(closed, gap_mm=HAIRLINE_MM))
    assert "differ by up to 0.01 mm in gaps" in hairline.head.sure
    near = judge(several(closed, gap_mm=0.001))
    assert near.head.good
    assert near.head.sure == ""
    assert any("differ by up to under 0.01 mm in gaps" in line for line in near.advice)


def several(closing, gap_mm):
    """Return a closing with another state, in which every land stands open by that much more."""
    ranges = tuple(
        LandRange(
            land.cut,
            land.land,
            np.array([land.pressure_kpa, land.pressure_kpa]),
            np.array([land.gap_mm, land.gap_mm + gap_mm]),
        )
        for land in closing.lands
    )
    trust = replace(closing.trust, outcome=Outcome.NOT_UNIQUE)
    return replace(closing, trust=trust, ranges=ranges)


def test_friction_that_decides_is_told_for_slippery_and_for_gripping_faces():
    mold = squeeze.mold_of(BLOCK)
    block = squeeze.Block(mold, 0.5)
    closing = block.close(check=False)
    varied = squeeze.uncertainty(block, closing)
    given = varied.given
    open_ = replace(given, values=given.values | {"grade": "Leaks", "largest_gap_mm": 0.4})
    shut = replace(given, values=given.values | {"grade": "Leaks", "largest_gap_mm": 0.0})

    def said(low, high):
        sides = {"low": low, "high": high}
        each = tuple(replace(v, figures=sides[v.friction]) for v in varied.variations)
        return judge(closing, mold=mold, varied=replace(varied, variations=each)).head.sure

    assert said(open_, given) == (
        "Friction decides: it leaks when the faces are slippery (release agent, talc); it is clean"
        " when they grip (clean, dry faces)."
    )
    assert said(given, open_).startswith("Friction decides: it is clean when the faces are slip")
    assert "Friction decides" not in said(open_, open_)
    flashes = replace(given, values=given.values | {"grade": "Flash", "largest_gap_mm": 0.4})
    assert "it is shut, but not sealed, when they grip" in said(flashes, shut)


@pytest.mark.parametrize(("friction", "do"), [
    (0.1, "give the cut a key, or faces that grip."),
    (0.7, "give the cut a key."),
])  # fmt: skip
def test_clean_faces_are_not_asked_to_grip(made_up, friction, do):
    """They grip already, and the castings still step by what a thumb feels."""
    made = made_up().closing()
    cuts = tuple(replace(cut, friction=friction) for cut in made.section.cuts)
    first, *rest = made.cavities
    stepped = replace(
        made,
        section=replace(made.section, cuts=cuts),
        cavities=(replace(first, step_mm=0.3), *rest),
    )
    found = judge(stepped).head
    assert not found.good
    assert found.do == f"The faces slide on each other: {do}"
