"""Barriers over the whole length, the fewest bands, and what is said about them."""

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import squeeze
from squeeze.mold.section.records import Cavity, Cut, CutStretch, Material, Section
from squeeze.mold.shapes.outline import loop_of
from squeeze.solve.along.long_block import LongBlock
from squeeze.solve.along.record import AlongClosing, EndEffects, LandMap
from squeeze.solve.outcome import Outcome
from squeeze.verdict.bands import layout_trials
from squeeze.verdict.bands.barriers_along import seal_along
from squeeze.verdict.bands.kinds import band_kinds, kinds_in_stock
from squeeze.verdict.bands.layout_trials import LayoutTrials
from squeeze.verdict.bands.plan import plan_bands
from squeeze.verdict.bands.sentences import NOTHING_CUT, say_plan
from squeeze.verdict.remarks import MORE_BANDS
from squeeze.verdict.seal.barrier import YARDSTICK_KPA

TOP = Path(__file__).parents[2]

ROUND = {
    "title": "A round lesson",
    "length_mm": 100,
    "rubber": {"shore_a": 20},
    "block": {"shape": "round", "diameter_mm": 90},
    "cavity": [{"shape": "round", "diameter_mm": 30}],
    "cut": [{"path_mm": [[-45, 0], [45, 0]]}],
    "band": [{"tension_n": 2.0}],
}

FLAT = ROUND | {
    "block": {"shape": "rectangle", "width_mm": 180, "height_mm": 60, "bevel_mm": 3},
    "cavity": [{"shape": "round", "diameter_mm": 20, "centre_mm": [x, 0]} for x in (-36, 36)],
    "cut": [{"path_mm": [[-90, 0], [90, 0]]}],
}


def made_up(pressure, is_cut=None):
    """Return a closing with one land, 20 mm from the left outside to a cavity."""
    n, m = pressure.shape
    s, z = np.linspace(0, 20, n), (np.arange(m) + 0.5) * 5.0
    mold = squeeze.mold_of(ROUND | {"block": {"shape": "round", "diameter_mm": 70}})
    outline, hole = loop_of(mold.block), loop_of(mold.cavity[0])
    cut = Cut("cut 1", (CutStretch(((-35.0, 0.0), (-15.0, 0.0)), 0.0),), 70.0)
    section = Section(outline, Material(0.7, 0.4999), (Cavity("hole", hole),), (cut,))
    everywhere = np.ones(m, bool) if is_cut is None else is_cut
    gap = np.where(pressure > 0, 0.0, 0.1)
    land = LandMap("cut 1", 0, s, s - 35, 0 * s, z, everywhere, pressure.copy(), gap)
    ends = EndEffects(0.0, 100.0, 0.0)
    return AlongClosing(
        "", section, 5.0 * m, (), 0.0, np.zeros(m), (land,), ends, Outcome.CONVERGED, 0, 0, 1, 1, 0
    )


def test_even_pressure_is_its_own_barrier():
    hold = seal_along(made_up(np.full((11, 8), 3 * YARDSTICK_KPA)))
    assert hold.margin == pytest.approx(3.0)
    assert hold.by_land == pytest.approx((3.0,))
    assert {hold.start, hold.end} == {"the outside", "'hole'"}


def test_a_barrier_has_to_go_all_the_way():
    """Hard stretches at either end of the land that do not meet leave a way between them."""
    p = np.full((11, 8), 0.5 * YARDSTICK_KPA)
    p[:4, :4] = p[7:, 4:] = 5 * YARDSTICK_KPA
    assert seal_along(made_up(p)).margin == pytest.approx(0.5)
    p[:, 3:5] = 4 * YARDSTICK_KPA  # joins them across the land
    assert seal_along(made_up(p)).margin == pytest.approx(4.0)


def test_one_gap_in_the_length_is_the_margin():
    p = np.full((11, 8), 4.0 * YARDSTICK_KPA)
    p[:, 5] = 1.5 * YARDSTICK_KPA
    hold = seal_along(made_up(p))
    assert hold.margin == pytest.approx(1.5)
    assert hold.z_mm == pytest.approx(27.5)
    assert seal_along(made_up(p), 0.0, 15.0).margin == pytest.approx(4.0)


def test_the_weakest_place_is_told_along_the_land_and_along_the_block():
    """A wall across the land bars all paths; it is lowest at one place."""
    p = np.full((21, 8), 0.5 * YARDSTICK_KPA)
    p[12:17] = 4.0 * YARDSTICK_KPA
    p[12:17, 2] = 2.0 * YARDSTICK_KPA
    hold = seal_along(made_up(p))
    assert hold.margin == pytest.approx(2.0)
    assert 12 <= hold.s_mm <= 16
    assert hold.z_mm == pytest.approx(12.5)
    assert hold.pressure_kpa == pytest.approx(2.0 * YARDSTICK_KPA)


def test_a_peak_thinner_than_a_barrier_does_not_count():
    p = np.full((201, 4), 1.0 * YARDSTICK_KPA)
    p[100] = 9 * YARDSTICK_KPA  # 0.2 mm wide at its foot
    assert seal_along(made_up(p)).margin < 2.0


@pytest.mark.parametrize("places", [3, 5, 9, 41, 161])
def test_a_straight_rise_of_pressure_bars_alike_however_many_places_it_is_given_at(places):
    """Up to 8 times the yardstick in the middle of 20 mm: 1 mm about it presses 7.6 or more."""
    s = np.linspace(-1, 1, places)
    p = np.tile(8 * YARDSTICK_KPA * (1 - np.abs(s))[:, None], (1, 4))
    assert seal_along(made_up(p)).margin == pytest.approx(8 * (1 - 0.05))


def test_whole_rubber_is_tight():
    p, cut = np.full((11, 8), 3 * YARDSTICK_KPA), np.ones(8, bool)
    p[:, 5:], cut[5:] = -1.0, False
    assert seal_along(made_up(p, cut)).margin == pytest.approx(3.0)
    assert seal_along(made_up(p, np.zeros(8, bool))).margin == np.inf


def test_resin_that_grows_downwards_counts_at_its_place():
    closing = replace(made_up(np.full((11, 8), 6.0)), resin_kpa=np.linspace(3.0, 1.0, 8))
    hold = seal_along(closing)
    assert hold.margin == pytest.approx(2.0)
    assert hold.z_mm == pytest.approx(2.5)


def test_no_answer_holds_nothing():
    closing = replace(made_up(np.full((11, 8), 9.0)), outcome=Outcome.PIECE_NOT_HELD)
    assert seal_along(closing).margin == 0.0


def test_stock_is_stretched_well_and_strongest_first():
    kinds = kinds_in_stock(283.0)
    assert kinds
    assert all(1.5 <= kind.stretch <= 3.0 for kind in kinds)
    pulls = [kind.pull_n for kind in kinds]
    assert pulls == sorted(pulls, reverse=True)


def test_kinds_of_a_mold_leave_out_what_has_no_places():
    mold = squeeze.mold_of(ROUND | {"band": [{"tension_n_per_mm": 1}, {"tension_n": 2}]})
    assert [kind.name for kind in band_kinds(mold, 283.0)] == ["the band of 2 N"]


@pytest.fixture(scope="module")
def plan():
    return plan_bands(squeeze.mold_of(ROUND), waves=16)


def test_the_fewest_hold_and_one_less_does_not(plan):
    assert plan.best is not None
    assert plan.best.holds_well
    assert plan.less.slack_margin < 2.0 <= plan.more.slack_margin
    assert len(plan.less.at_mm) == len(plan.best.at_mm) - 1


def test_what_holds_holds_with_slack_bands_too(plan):
    """The margin that slack bands leave is that of a block closed with them."""
    best = plan.best
    assert 2.0 <= best.slack_margin <= 0.8 * best.margin * (1 + 1e-6)
    block = plan.stretches[0].block
    slack = [replace(band, tension_n=0.8 * band.tension_n) for band in best.closings[0].bands]
    assert seal_along(block.close(slack)).margin == pytest.approx(best.slack_margin, rel=1e-6)
    assert "with 20 % less pull" in " ".join(say_plan(plan).lines)


def test_bands_that_hold_only_until_they_slacken_are_not_enough(plan):
    tight = replace(
        plan.best,
        holds=tuple(replace(hold, margin=2.2) for hold in plan.best.holds),
        slack=tuple(replace(hold, margin=1.7) for hold in plan.best.slack),
    )
    assert not tight.holds_well
    said = " ".join(say_plan(replace(plan, less=tight, given=tight)).lines)
    assert "it holds until they slacken" in said
    assert "leave a margin for slack bands" in said


def test_a_grade_that_is_not_good_comes_before_the_number(plan):
    bad = replace(plan.head, grade="Flash", say="Flash: heavy.", do="Bevel it.", good=False)
    said = say_plan(replace(plan, head=bad))
    assert said.say == "Flash: heavy."
    assert said.lines[0] == "What to do: Bevel it."
    count = len(plan.best.at_mm)
    assert re.match(rf"That is with {count} bands? of .*, the fewest that make", said.lines[1])


def test_what_the_own_bands_leave_stands_beside_the_fewest_that_hold():
    """Two bands left 0.30 mm on a flat egg mold, and nothing said that its own four leave 0.17."""
    mold = squeeze.load(TOP / "studies" / "first-molds" / "egg.toml")
    plan = plan_bands(mold, waves=8, fineness=0.5)
    assert len(plan.best.at_mm) < 4
    own = squeeze.judge(squeeze.Block(mold, 0.5).close(deformation="auto", check=False), mold=mold)
    assert plan.own.grade == own.head.grade == "Flash"
    (said,) = (line for line in say_plan(plan).lines if line.startswith("With its own bands"))
    flashes = own.head.brief.removeprefix("Flash: ")
    assert said == f"With its own bands the mold flashes: {flashes}"
    thick = [
        re.search(r"heavy flash, ([\d.]+) mm thick", text)[1] for text in (said, plan.head.say)
    ]
    assert float(thick[0]) < float(thick[1])


def test_moving_never_makes_it_worse(plan):
    assert plan.best.margin >= plan.even.margin
    assert plan.best.closings[0].ends.doubtful_mm == 0


def test_plan_is_said(plan):
    said = say_plan(plan)
    count = len(plan.best.at_mm)
    assert said.say.startswith(f"Clean: {count} bands of the band of 2 N are the fewest")
    text = " ".join(said.lines)
    assert re.search(r"With \d+ bands? it leaks .*press(es)? only", text)
    assert re.search(r"With \d+ bands? it holds", text)
    assert "Rule of thumb" in text
    assert "The mold file's own 1 band" in text
    assert "in from the start" in " ".join(say_plan(plan, inches=True).lines)


def test_nothing_cut_needs_no_band():
    plan = plan_bands(squeeze.mold_of(ROUND | {"cut": []}), waves=4)
    assert plan.nothing_cut
    assert say_plan(plan).say == NOTHING_CUT


@pytest.mark.slow
def test_no_number_closes_what_the_shape_leaves_open():
    plan = plan_bands(squeeze.mold_of(FLAT), waves=8)
    assert plan.best is None
    assert plan.shape_leaves_open
    said = say_plan(plan)
    assert said.say.startswith(
        "Leaks: no number of bands is enough: the shape leaves the cut open between"
    )
    assert MORE_BANDS in said.lines
    head = squeeze.judge(squeeze.close(plan.mold), mold=plan.mold).head
    assert said.lines[0] == f"What to do: {head.do}"
    assert head.brief.removeprefix("Leaks: ") in said.lines[1]


def test_bands_too_weak_are_told_apart_from_a_bad_shape():
    weak = ROUND | {"band": [{"tension_n": 0.02}]}
    plan = plan_bands(squeeze.mold_of(weak), waves=8)
    assert plan.best is None
    assert not plan.shape_leaves_open
    said = say_plan(plan)
    assert "side by side" in said.say
    assert any("stronger bands" in line for line in said.lines)


def test_a_pull_per_mm_names_no_band_so_the_stock_is_tried():
    mold = squeeze.mold_of(ROUND | {"band": [{"tension_n_per_mm": 0.2}]})
    plan = plan_bands(mold, waves=12)
    assert plan.tried
    assert all(each.kind.name.startswith("size ") for each in plan.tried)
    assert plan.given is not None
    assert plan.given.at_mm == ()


@pytest.mark.slow
def test_stations_share_places_and_tell_where_they_are_doubtful():
    stations = [{"at_mm": 30}, {"at_mm": 70, "cavity": [], "cut": ROUND["cut"]}]
    plan = plan_bands(squeeze.mold_of(ROUND | {"station": stations}), waves=12)
    first, second = plan.stretches
    assert (first.from_mm, first.to_mm) == (0.0, 70.0)
    assert (second.from_mm, second.to_mm) == (30.0, 100.0)
    assert "a cavity ends" in first.doubts[0]
    assert [b.at_mm for b in plan.best.closings[0].bands] == [
        b.at_mm for b in plan.best.closings[1].bands
    ]
    assert any("a cavity ends" in remark for remark in say_plan(plan).remarks)


def test_like_stations_are_like_one_block(plan):
    stations = [{"at_mm": 20}, {"at_mm": 80}]
    several = plan_bands(squeeze.mold_of(ROUND | {"station": stations}), waves=16)
    assert len(several.best.at_mm) == len(plan.best.at_mm)
    assert several.even.margin == pytest.approx(plan.even.margin, rel=1e-9)
    assert not any(stretch.doubts for stretch in several.stretches)


def test_a_taper_is_no_step():
    wider = {"shape": "round", "diameter_mm": 100}
    stations = [{"at_mm": 20}, {"at_mm": 80, "block": wider}]
    mold = squeeze.mold_of(ROUND | {"station": stations, "cut": [{"path_mm": [[-60, 0], [60, 0]]}]})
    plan = plan_bands(mold, waves=8)
    pulls = [closing.bands[0].tension_n for closing in plan.best.closings]
    assert pulls == [2.0, 2.0]
    assert not any(stretch.doubts for stretch in plan.stretches)


def test_a_cavity_that_no_cut_reaches_is_told_first(monkeypatch):
    missed = squeeze.mold_of(
        {
            "length_mm": 60,
            "rubber": {"shore_a": 25},
            "block": {"shape": "round", "diameter_mm": 60},
            "cavity": [{"name": "rod", "shape": "round", "diameter_mm": 20}],
            "cut": [{"path_mm": [[20, -40], [20, 40]]}],
            "band": [{"tension_n": 20}],
        }
    )
    layouts = []
    put = LayoutTrials.put
    monkeypatch.setattr(
        LayoutTrials, "put", lambda self, *bands: layouts.append(bands) or put(self, *bands)
    )
    plan = plan_bands(missed, waves=6)
    assert not layouts  # no number of bands opens it
    assert not plan.is_cut_short
    assert not plan.holds
    verdict = squeeze.judge(squeeze.close(missed))
    assert say_plan(plan).say == verdict.say
    assert say_plan(plan).lines == (f"What to do: {verdict.do}",)
    assert not verdict.seals
    assert verdict.say.startswith("Cannot be opened: no cut reaches 'rod'")


FILE_WITHOUT_BANDS = ROUND | {"band": [{"tension_n_per_mm": 0.05}]}


def test_no_search_takes_more_work_than_is_allowed(monkeypatch):
    """The search ends in the midst of a layout, not after it; what it says of it still holds."""
    mold, work = squeeze.mold_of(ROUND), []
    close = LongBlock.close

    def counted(self, *bands, **loads):
        closing = close(self, *bands, **loads)
        work.append(closing.products * self.responses.waves.S.size)
        return closing

    monkeypatch.setattr(LongBlock, "close", counted)
    whole = plan_bands(mold, waves=6)
    needed, one = sum(work), max(s.block.responses.waves.S.size for s in whole.stretches)
    for share in (0.3, 0.9):
        work.clear()
        monkeypatch.setattr(layout_trials, "MOST_WORK", share * needed)
        short = plan_bands(mold, waves=6)
        assert sum(work) <= share * needed + one
        if short.best is None:
            assert short.is_cut_short
            assert "The search ended early" in say_plan(short).say
        else:
            assert short.best.at_mm == whole.best.at_mm
            assert short.best.holds_well


def test_what_the_work_allowed_leaves_out_is_told(monkeypatch):
    mold = squeeze.mold_of(FILE_WITHOUT_BANDS)
    whole = plan_bands(mold, waves=16)
    assert not whole.is_cut_short
    assert not any("Not tried" in remark for remark in say_plan(whole).remarks)
    monkeypatch.setattr(layout_trials, "MOST_WORK", 0.0)
    short = plan_bands(mold, waves=16)
    said = say_plan(short)
    assert short.is_cut_short
    assert short.best is None
    assert len(short.tried) + len(short.untried) == len(
        kinds_in_stock(whole.stretches[0].block.wrap_mm)
    )
    assert "The search ended early" in said.say
    assert "No number of bands is enough" not in said.say
    (left,) = [remark for remark in said.remarks if "Not tried" in remark]
    assert all(kind.name in left for kind in short.untried)
