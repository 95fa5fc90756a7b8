"""The search for the fewest bands: which numbers and places are tried, and which are taken.

What a layout holds is a rule of the test here, so that nothing is solved.
"""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

import squeeze
from squeeze.mold.progress import silent
from squeeze.solve.along.loads import WIDTH_MM, BandAt, even_places
from squeeze.solve.outcome import Outcome
from squeeze.verdict.bands import given as given_module
from squeeze.verdict.bands import layout_trials as bench_module
from squeeze.verdict.bands import plan as plan_module
from squeeze.verdict.bands.barriers_along import SealAlong, resin_along_kpa
from squeeze.verdict.bands.kinds import BandKind, band_kinds, kinds_in_stock
from squeeze.verdict.bands.layout import SLACK
from squeeze.verdict.bands.layout_trials import LayoutTrials
from squeeze.verdict.bands.plan import BandPlan, KindResult, plan_bands
from squeeze.verdict.seal.barrier import YARDSTICK_KPA

MOLD = {
    "length_mm": 100,
    "rubber": {"shore_a": 20},
    "block": {"shape": "round", "diameter_mm": 90},
    "cavity": [{"name": "rod", "shape": "round", "diameter_mm": 30}],
    "cut": [{"path_mm": [[-45, 0], [45, 0]]}],
    "band": [{"tension_n": 2.0, "count": 3}],
}
MATRICES = 1000  # multiplications of one product


def mold_of(**changed) -> squeeze.Mold:
    return squeeze.mold_of(MOLD | changed)


def kind_of(pull_n: float = 2.0, name: str = "") -> BandKind:
    band = mold_of(band=[{"tension_n": pull_n}]).band[0]
    return BandKind(name or f"the band of {pull_n:g} N", band, pull_n, 6.0, None)


class Block:
    """A block along which a layout holds as much as the test says; it notes its loads."""

    def __init__(self, wrap_mm: float = 283.0, outcome=Outcome.CONVERGED) -> None:
        self.wrap_mm, self.outcome = wrap_mm, outcome
        self.asked: list[dict] = []
        self.responses = SimpleNamespace(waves=SimpleNamespace(S=np.zeros(MATRICES)))

    def close(self, bands=None, **loads):
        self.asked.append({"bands": bands, **loads})
        own = tuple(BandAt(z, 2.0, 6.0) for z in even_places(3, 100.0))
        bands = own if bands is None else tuple(bands)
        land = SimpleNamespace(pressure_kpa=np.array([0.0, 10.0]))
        return SimpleNamespace(
            bands=bands,
            smeared_n_per_mm=loads.get("smeared_n_per_mm", 0.0),
            resin_kpa=np.array([loads.get("resin_kpa") or 0.0]),
            products=7,
            outcome=self.outcome,
            lands=(land,),
            ends=SimpleNamespace(doubtful_mm=0.0),
        )


def stretch(block=None, from_mm=0.0, to_mm=100.0):
    return SimpleNamespace(block=block or Block(), from_mm=from_mm, to_mm=to_mm)


def pull_of(closing) -> float:
    """Return all that presses [N]."""
    return sum(band.tension_n for band in closing.bands) + 100.0 * closing.smeared_n_per_mm


@pytest.fixture
def rule(monkeypatch):
    """Let a layout hold as much as a rule of its closing says; by default its pull over 4 N."""
    rules = SimpleNamespace(margin=lambda closing: pull_of(closing) / 4.0)

    def seal_along(closing, from_mm=0.0, to_mm=np.inf):
        margin = float(rules.margin(closing))
        return SealAlong(margin, (margin,), 0, 1.0, 50.0, margin, "the outside", "'rod'")

    monkeypatch.setattr(bench_module, "seal_along", seal_along)
    return rules


def bench(mold=None, *stretches) -> LayoutTrials:
    return LayoutTrials(mold or mold_of(), stretches or (stretch(),))


def test_a_layout_is_put_without_the_mold_s_smeared_pull(rule):
    at = bench(mold_of(band=[{"tension_n_per_mm": 0.5}]))
    layout = at.put(kind_of(3.0), [20, 60, 80])
    (asked,) = at.stretches[0].block.asked
    assert asked["smeared_n_per_mm"] == 0.0
    assert not asked["check"]
    assert [band.at_mm for band in asked["bands"]] == [20, 60, 80]
    assert layout.margin == pytest.approx(9 / 4)
    assert layout.at_mm == (20.0, 60.0, 80.0)


def test_all_of_the_bands_pull_is_smeared_over_the_length(rule):
    at = bench()
    layout = at.spread(kind_of(3.0), 5)
    assert at.stretches[0].block.asked[0]["smeared_n_per_mm"] == pytest.approx(15 / 100)
    assert layout.margin == pytest.approx(15 / 4)
    assert len(at.stretches[0].block.asked) == 2  # with slack bands too
    at.spread(kind_of(3.0), 5, resin_kpa=0.0)
    assert len(at.stretches[0].block.asked) == 3
    assert at.stretches[0].block.asked[-1]["resin_kpa"] == 0.0


def test_slack_bands_are_closed_with_eight_tenths_of_the_pull_where_that_may_do(rule):
    at = bench()
    kind = kind_of(2.0)
    layout = at.slackened(at.put(kind, [20, 40, 60, 80, 90]))  # 10 / 4 = 2.5, and 2.0 when slack
    assert layout.slack_margin == pytest.approx(SLACK * 2.5)
    slack = at.stretches[0].block.asked[-1]["bands"]
    assert [band.tension_n for band in slack] == pytest.approx([1.6] * 5)
    assert layout.holds_well
    rule.margin = lambda closing: max(pull_of(closing) / 4.0 - 0.5, 0.0)
    strong = at.slackened(at.put(kind_of(4.0), [20, 50, 80]))  # 3 - 0.5, slack 2.4 - 0.5
    assert (strong.margin, strong.slack_margin) == pytest.approx((2.5, 1.9))
    asked = len(at.stretches[0].block.asked)
    at.slackened(at.put(kind, [20, 50, 80]))  # too little as it is
    assert len(at.stretches[0].block.asked) == asked + 1


def test_an_even_spread_is_computed_once(rule):
    at = bench()
    kind = kind_of()
    first = at.even(kind, 3)
    assert first.at_mm == pytest.approx((100 / 6, 50, 500 / 6))
    asked = len(at.stretches[0].block.asked)
    assert at.even(kind, 3) is first
    assert len(at.stretches[0].block.asked) == asked
    assert at.even(kind_of(2.5), 3) is not first


def test_the_mold_s_own_bands_are_closed_as_they_are(rule):
    at = bench()
    assert at.given().at_mm == pytest.approx(even_places(3, 100.0))
    assert bench(mold_of(band=[])).given() is None
    assert at.given().kind is None


def test_work_is_counted_in_products_of_the_largest_matrices(rule, monkeypatch):
    at = bench(None, stretch(), stretch())
    at.put(kind_of(), [50])
    assert at.work == 2 * 7 * MATRICES
    left = at.stretches[0].block.asked[0]["most_work"]
    assert left == bench_module.MOST_WORK
    assert at.stretches[1].block.asked[0]["most_work"] == bench_module.MOST_WORK - 7 * MATRICES
    assert not at.is_spent
    for most, spent in ((15 * MATRICES, False), (15 * MATRICES - 1, True), (MATRICES, True)):
        monkeypatch.setattr(bench_module, "MOST_WORK", most)
        assert at.is_spent is spent
    at.put(kind_of(), [50])
    assert at.stretches[0].block.asked[-1]["most_work"] == 0.0


def test_the_widest_station_says_how_far_bands_are_stretched(rule):
    at = bench(None, stretch(Block(200.0)), stretch(Block(300.0)))
    assert at.wrap_mm == 300.0


# moving bands


STANDING = {"resin": {"head_mm": 50, "standing": True}}


def test_a_band_is_moved_by_fifths_and_then_tenths_of_the_pitch(rule):
    """The last of three, from 83.3 mm by 6.7 to 90, and by 3.3 to 93."""
    rule.margin = lambda closing: 3.0 - abs(closing.bands[-1].at_mm - 93.0) / 50.0
    at = bench(mold_of(**STANDING))
    moved = at.moved(at.even(kind_of(), 3), silent)
    assert moved.at_mm == pytest.approx((100 / 6, 50.0, 93.0))
    assert moved.margin == pytest.approx(3.0)
    assert moved.slack_margin == pytest.approx(3.0)  # closed slack, too: the rule minds no pull


def test_a_band_is_moved_alone_where_halves_are_not_alike(rule):
    at = bench(mold_of(**STANDING))
    begun = at.put(kind_of(), (10.0, 50.0, 90.0))
    assert at._shifted(begun, 2, 3.4).at_mm == (10.0, 50.0, 93.0)
    assert at._shifted(begun, 2, 7.0).at_mm == (10.0, 50.0, 97.0)
    assert at._shifted(begun, 2, 8.0) is None  # half over the end
    assert at._shifted(begun, 0, -7.0).at_mm == (3.0, 50.0, 90.0)
    assert at._shifted(begun, 0, -8.0) is None


def test_moving_has_to_pay_a_twentieth(rule):
    for gain, is_moved in ((1.06, True), (1.04, False)):
        start = {even_places(2, 100.0)}

        def margin(closing, gain=gain, start=start):
            return 3.0 if tuple(b.at_mm for b in closing.bands) in start else 3.0 * gain

        rule.margin = margin
        at = bench()
        begun = at.even(kind_of(), 2)
        assert (at.moved(begun, silent) is not begun) is is_moved


def test_bands_of_a_block_whose_halves_are_alike_are_moved_in_pairs(rule):
    rule.margin = lambda closing: 2.0 + 0.05 * abs(closing.bands[0].at_mm - 50.0)
    at = bench()
    moved = at.moved(at.even(kind_of(), 3), silent)
    assert moved.at_mm[0] + moved.at_mm[-1] == pytest.approx(100.0)
    assert moved.at_mm[0] < 100 / 6
    assert moved.at_mm[1] == 50.0


@pytest.mark.parametrize(
    ("changed", "stretches", "is_even"),
    [
        ({}, 1, True),
        ({}, 2, False),
        ({"resin": {"head_mm": 50}}, 1, True),
        ({"resin": {"head_mm": 50, "standing": True}}, 1, False),
        ({"cut": [MOLD["cut"][0] | {"along_mm": [0, 60]}]}, 1, False),
    ],
)
def test_halves_are_alike_without_stations_standing_resin_and_cuts_in_part(
    changed, stretches, is_even
):
    assert bench(mold_of(**changed), *(stretch() for _ in range(stretches))).is_even is is_even


@pytest.mark.parametrize(
    ("places", "k", "by_mm", "to"),
    [
        ((25.0, 75.0), 0, 4.4, (29.0, 71.0)),
        ((25.0, 75.0), 1, 4.4, (21.0, 79.0)),
        ((20.0, 50.0, 80.0), 1, 6.0, (20.0, 56.0, 80.0)),
        ((25.0, 75.0), 0, 22.0, (47.0, 53.0)),
        ((25.0, 75.0), 0, 23.0, None),  # 48 and 52: bands 6 mm wide would lie on each other
        ((10.0, 30.0, 70.0, 90.0), 0, -7.0, (3.0, 30.0, 70.0, 97.0)),
        ((10.0, 30.0, 70.0, 90.0), 0, -8.0, None),  # half over the end
        ((25.0, 75.0), 0, 10.0, None),  # overhangs of 35 mm, over half of the pitch of 30
    ],
)
def test_a_band_is_moved_to_whole_millimetres_where_it_may_lie(rule, places, k, by_mm, to):
    """Never on another band or over an end, and never so that overhangs pass half a pitch."""
    at = bench()
    found = at._shifted(at.put(kind_of(), places), k, by_mm)
    if to is not None and max(to[0], 100 - to[-1]) > 0.505 * (to[1] - to[0]):
        to = None
    assert (None if found is None else found.at_mm) == to


@pytest.mark.parametrize(
    ("pull_n", "count", "is_moved"),
    [(2.0, 5, False), (2.0, 4, True), (2.2, 3, True), (1.9, 3, False), (7.0, 1, False)],
)
def test_only_a_spread_that_just_misses_is_worth_moving(rule, monkeypatch, pull_n, count, is_moved):
    """Slack, they hold 2.0, 1.6, 1.32, 1.14 and 1.4 times the resin; 1.2 is six tenths of 2.

    One band alone has no place better than the middle.
    """
    at, moved = bench(), []
    monkeypatch.setattr(at, "moved", lambda layout, progress: moved.append(layout) or layout)
    at.placed(kind_of(pull_n), count, silent)
    assert bool(moved) is is_moved


# heads


def test_the_head_is_that_of_the_worst_section_under_the_mean_pull(rule, monkeypatch):
    loads, molds = [], []

    def close(block, **how):
        loads.append(how)
        return block

    grades = iter(["Clean", "Leaks", "Flash"])
    monkeypatch.setattr(
        bench_module,
        "judge",
        lambda closing, mold: (
            molds.append(mold) or SimpleNamespace(head=SimpleNamespace(grade=next(grades)))
        ),
    )
    sections = [SimpleNamespace(close=lambda **how: how) for _ in range(3)]
    stretches = [stretch() for _ in sections]
    for each, section in zip(stretches, sections, strict=True):
        each.block.block = section
    at = bench(None, *stretches)
    monkeypatch.setattr(at, "head_work", SimpleNamespace(close=close))
    layout = at.put(kind_of(3.0), [20, 50, 80, 90])
    assert at.head(layout).grade == "Leaks"
    assert [each["band_tension_n_per_mm"] for each in loads] == pytest.approx([0.12] * 3)
    assert {each["deformation"] for each in loads} == {"auto"}
    assert {each.band for each in molds} == {()}
    loads.clear()
    grades = iter(["Clean", "Clean", "Fine line"])
    assert at.own_head(is_shut=False).grade == "Fine line"
    assert loads == [{"deformation": "auto"}] * 3
    grades = iter(["Cannot be opened"] * 3)
    assert at.own_head(is_shut=True).grade == "Cannot be opened"
    assert len(loads) == 3  # a block that no cut opens is closed at small deformation


def test_the_strain_is_that_of_the_worst_section_under_the_mean_pull(rule):
    asked = []

    def close(strain):
        def closed(**how):
            asked.append(how)
            return SimpleNamespace(trust=SimpleNamespace(largest_strain_pct=strain))

        return closed

    stretches = [stretch(), stretch()]
    for each, strain in zip(stretches, (4.0, 7.0), strict=True):
        each.block.block = SimpleNamespace(close=close(strain))
    at = bench(None, *stretches)
    assert at.strain_pct(at.put(kind_of(3.0), [20, 50])) == 7.0
    assert asked == [{"band_tension_n_per_mm": pytest.approx(0.06), "check": False}] * 2


# how many


class Table:
    """A bench on which so many bands of a pull hold; it notes what was tried."""

    length_mm = 100.0

    def __init__(self, needed_n: float, spent_after: int | None = None) -> None:
        self.needed_n, self.spent_after = needed_n, spent_after
        self.tried: list[tuple[str, int]] = []
        self.mold = mold_of()
        self.bare = 1.0
        self.outcome = Outcome.CONVERGED

    @property
    def is_spent(self) -> bool:
        return self.spent_after is not None and len(self.tried) >= self.spent_after

    def layout(self, kind, count):
        holds = kind.pull_n * count >= self.needed_n
        return SimpleNamespace(
            kind=kind, at_mm=tuple(range(count)), holds_well=holds, margin=kind.pull_n * count,
            outcome=self.outcome,
        )  # fmt: skip

    def spread(self, kind, count, resin_kpa=None):
        self.tried.append((kind.name, -count))
        found = self.layout(kind, count)
        land = SimpleNamespace(pressure_kpa=np.array([2.0, 5.0]))
        found.closings = (SimpleNamespace(lands=(land,)),)
        if resin_kpa is not None:
            found.margin = self.bare
        return found

    def placed(self, kind, count, progress):
        self.tried.append((kind.name, count))
        return self.layout(kind, count)


def test_numbers_are_tried_upwards_until_one_holds():
    table = Table(7.0)
    found = plan_module._try(table, kind_of(2.0, "A"), 60, silent)
    assert table.tried == [("A", -16), ("A", 1), ("A", 2), ("A", 3), ("A", 4)]
    assert len(found.found.at_mm) == 4
    assert (found.most, found.stopped_at) == (16, None)


def test_where_the_most_that_fit_do_not_hold_no_number_is_tried():
    table = Table(1000.0)
    found = plan_module._try(table, kind_of(2.0, "A"), 60, silent)
    assert table.tried == [("A", -16)]
    assert (found.found, found.stopped_at) == (None, None)
    lost = Table(1.0)
    lost.outcome = Outcome.PIECE_NOT_HELD
    assert plan_module._try(lost, kind_of(2.0, "A"), 60, silent).found is None
    assert len(lost.tried) == 1


@pytest.mark.parametrize(
    ("spent_after", "stopped_at", "tried"), [(1, 0, 1), (2, 0, 2), (4, 2, 4), (5, None, 5)]
)
def test_a_search_that_ends_early_says_after_how_many(spent_after, stopped_at, tried):
    """The number in whose midst the work ran out does not count; one that holds does."""
    table = Table(7.0, spent_after)
    found = plan_module._try(table, kind_of(2.0, "A"), 60, silent)
    assert found.stopped_at == stopped_at
    assert len(table.tried) == tried
    assert (found.found is None) == (stopped_at is not None)


def test_no_number_of_bands_between_holding_and_the_most_is_enough():
    """Spread it holds, at places it does not: all numbers were tried, so none ended early."""
    table = Table(1.0)
    table.placed = lambda kind, count, progress: SimpleNamespace(holds_well=False)
    found = plan_module._try(table, kind_of(2.0), 3, silent)
    assert (found.found, found.most, found.stopped_at) == (None, 3, None)


@pytest.mark.parametrize(("width", "most", "fit"), [(6.0, 60, 16), (6.0, 9, 9), (250.0, 60, 1)])
def test_as_many_bands_fit_as_lie_side_by_side(width, most, fit):
    assert plan_module._fit(Table(1.0), replace(kind_of(), width_mm=width), most) == fit


def test_other_kinds_are_tried_with_no_more_bands_than_the_best_so_far():
    table = Table(7.0)
    kinds = [kind_of(2.0, "A"), kind_of(4.0, "B"), kind_of(1.0, "C")]
    tried = plan_module._try_all(table, kinds, silent)
    assert [each.most for each in tried] == [16, 4, 2]
    assert [len(each.found.at_mm) if each.found else None for each in tried] == [4, 2, None]
    short = plan_module._try_all(Table(7.0, spent_after=3), kinds, silent)
    assert [each.kind.name for each in short] == ["A"]
    none = plan_module._try_all(Table(7.0, spent_after=0), kinds, silent)
    assert [each.stopped_at for each in none] == [0]


def test_sixty_bands_of_a_kind_are_tried_at_most():
    """A hundred narrow ones would lie side by side."""
    narrow = replace(kind_of(0.001, "A"), width_mm=1.0)
    for found in (plan_module._try_all(Table(7.0), [narrow], silent),
                  plan_module._most_alone(Table(7.0), [narrow])):  # fmt: skip
        assert [each.most for each in found] == [60]


def test_of_a_shut_block_only_the_most_is_shown():
    table = Table(7.0)
    (found,) = plan_module._most_alone(table, [kind_of(2.0, "A")])
    assert table.tried == [("A", -16)]
    assert (found.found, found.most, found.stopped_at) == (None, 16, None)


def result(kind, most=16):
    return KindResult(kind, None, most, SimpleNamespace(margin=kind.pull_n))


@pytest.mark.parametrize(
    ("bare", "changed", "is_shape"),
    [
        (0.0, {}, True),
        (4e-6, {}, True),
        (6e-6, {}, False),
        (1.0, {}, False),
        (0.0, {"push": [{"pressure_kpa": 5}]}, False),
        (0.0, {"cut": [MOLD["cut"][0] | {"gap_mm": 0.1}]}, False),
    ],
)
def test_the_shape_leaves_open_what_no_pull_bars_without_resin(bare, changed, is_shape):
    """Under a millionth of the highest pressure, 5 kPa, nothing bars."""
    table = Table(7.0)
    table.bare, table.mold = bare, mold_of(**changed)
    tried = [result(kind_of(1.0, "A")), result(kind_of(3.0, "B"), most=9)]
    assert plan_module._is_shape(table, tried) is is_shape
    assert table.tried in ([("B", -9)], [])
    assert not plan_module._is_shape(table, [])
    spent = Table(7.0, spent_after=0)
    spent.bare = 0.0
    assert not plan_module._is_shape(spent, tried)
    during = Table(7.0, spent_after=1)
    during.bare = 0.0
    assert not plan_module._is_shape(during, tried)


def test_one_band_more_is_told_where_the_work_reaches_for_it():
    table = Table(7.0)
    best = table.layout(kind_of(2.0, "A"), 4)
    assert len(plan_module._one_more(table, best, silent).at_mm) == 5
    assert plan_module._one_more(Table(7.0, spent_after=1), best, silent) is None


# the whole plan


class Plans(Table):
    """A bench for whole plans: the mold's own bands hold 3, heads are clean."""

    wrap_mm = 283.0
    grade = "Clean"
    asked_own = ()

    def given(self):
        return self.layout(kind_of(1.0, "own"), 3) if self.mold.band else None

    def put(self, kind, places):
        return self.layout(kind, len(places))

    def even(self, kind, count):
        return self.layout(kind, count)

    def moved(self, layout, progress):
        return layout

    def head(self, layout):
        return SimpleNamespace(grade=self.grade)

    def own_head(self, is_shut):
        self.asked_own = (*self.asked_own, is_shut)
        return SimpleNamespace(grade="own")

    def strain_pct(self, layout):
        return 8.0


@pytest.fixture
def planned(monkeypatch):
    """Return a function that plans on a made-up bench: `planned(needed_n, mold, **bench)`."""

    def plan(needed_n, mold=None, lands=(1,), unreached=(), stock=False, **changed) -> BandPlan:
        table = Plans(needed_n)
        for name, value in changed.items():
            setattr(table, name, value)
        mesh = SimpleNamespace(lands=lands)
        each = SimpleNamespace(block=SimpleNamespace(block=SimpleNamespace(mesh=mesh)))
        monkeypatch.setattr(plan_module, "station_blocks", lambda *_: (each,))

        def made(own, stretches):
            table.mold = own
            return table

        monkeypatch.setattr(plan_module, "LayoutTrials", made)
        monkeypatch.setattr(plan_module, "_unreached", lambda stretches, layout: unreached)
        monkeypatch.setattr(plan_module, "pitch_rule", lambda block, width: width)
        plan.table = table
        return plan_bands(mold or mold_of(), stock=stock)

    return plan


TWO_KINDS = [{"tension_n": 2.0, "name": "weak"}, {"tension_n": 4.0, "name": "strong"}]


def test_the_kind_with_the_fewest_bands_is_taken_and_of_two_the_weaker(planned):
    found = planned(7.0, mold_of(band=TWO_KINDS))
    assert found.best.kind.name == "'strong'"
    assert [len(each.at_mm) for each in (found.less, found.best, found.even, found.more)] == [
        1, 2, 2, 3,
    ]  # fmt: skip
    assert found.strain_pct == 8.0
    assert not found.shape_leaves_open
    assert found.untried == ()
    assert found.own is None
    assert found.rules == (6.0,)
    assert repr(found) == "BandPlan: 2 bands ('strong') at 0, 1 mm"
    assert planned(2.0, mold_of(band=TWO_KINDS[::-1])).best.kind.name == "'weak'"


def test_own_bands_are_graded_where_those_found_hold_but_flash(planned):
    found = planned(7.0, grade="Flash")
    assert (found.head.grade, found.own.grade) == ("Flash", "own")
    assert planned.table.asked_own == (False,)
    assert planned(7.0, grade="Fine line").own is None
    assert planned(1e9, grade="Flash").own is None


def test_where_no_number_holds_there_is_no_best_and_the_own_bands_are_graded(planned):
    found = planned(1e9)
    assert (found.best, found.even, found.less, found.more) == (None,) * 4
    assert found.strain_pct == 0.0
    assert found.head.grade == "own"
    assert not found.holds
    assert repr(found) == "BandPlan: no number of bands holds"
    assert found.rules == (6.0,)
    assert found.shown is found.tried[0].limit
    assert planned(1e9, bare=0.0).shape_leaves_open


def test_trade_sizes_are_tried_where_asked_for_or_where_none_is_named(planned):
    sizes = [kind.name for kind in kinds_in_stock(283.0)]
    named = planned(1e9)
    assert [each.kind.name for each in named.tried] == ["the band of 2 N"]
    for found in (planned(1e9, stock=True), planned(1e9, mold_of(band=[]))):
        assert [each.kind.name for each in found.tried] == sizes
    widest = planned(1e9, stock=True)
    assert widest.rules == (min(each.kind.width_mm for each in widest.tried),)


def test_where_there_is_no_band_to_try_the_rule_is_that_of_a_usual_one(planned, monkeypatch):
    monkeypatch.setattr(plan_module, "kinds_in_stock", lambda wrap_mm: ())
    found = planned(7.0, mold_of(band=[]))
    assert (found.tried, found.best, found.shown) == ((), None, None)
    assert found.rules == (WIDTH_MM,)
    assert not found.shape_leaves_open


def test_kinds_that_were_left_out_are_kept(planned):
    found = planned(7.0, mold_of(band=TWO_KINDS), spent_after=2)
    assert [each.name for each in found.untried] == ["'strong'"]
    assert found.is_cut_short
    assert not planned(7.0, mold_of(band=TWO_KINDS)).is_cut_short


def test_a_block_that_no_cut_opens_gets_one_layout_to_show(planned):
    found = planned(7.0, mold_of(band=TWO_KINDS), unreached=("rod",))
    assert planned.table.tried == [("'weak'", -16)]
    assert planned.table.asked_own == (True,)
    assert found.unreached == ("rod",)
    assert found.untried == ()
    assert not found.holds
    assert not found.is_cut_short


def test_nothing_is_planned_where_nothing_is_cut(planned):
    found = planned(7.0, lands=())
    assert found.nothing_cut
    assert found.holds
    assert found.unreached == ()
    assert planned.table.tried == []
    assert repr(found) == "BandPlan: nothing is cut"
    assert found.shown is found.given


def test_the_best_limit_is_shown_where_no_number_holds(planned):
    found = planned(1e9, mold_of(band=TWO_KINDS))
    assert found.shown is found.tried[1].limit
    assert replace(found, tried=()).shown is found.given
    assert replace(found, tried=(), given=None).shown is None


# kinds, and what bands are held against


def test_kinds_of_a_mold_are_named_as_the_file_names_them():
    bands = [
        {"stock": "64"},
        {"tension_n": 2.5, "name": "grey"},
        {"tension_n": 2.5},
        {"width_mm": 6, "thickness_mm": 1, "flat_length_mm": 80},
        {"width_mm": 6, "thickness_mm": 1, "flat_length_mm": 160},  # 283 / 320: slack
    ]
    found = band_kinds(mold_of(band=bands), 283.0)
    assert [each.name for each in found] == ["size 64", "'grey'", "the band of 2.5 N", "band 4"]
    assert [each.stretch is None for each in found] == [False, True, True, False]
    assert found[3].stretch == pytest.approx(283 / 160)
    assert found[3].width_mm == pytest.approx(6 / np.sqrt(283 / 160))
    places = found[3].layout([60, 20], 283.0)
    assert [each.at_mm for each in places] == [20.0, 60.0]
    assert {each.tension_n for each in places} == {found[3].pull_n}


def test_lands_are_held_against_the_resin_or_the_yardstick():
    dry, wet, foot = (
        SimpleNamespace(resin_kpa=np.array(each)) for each in ([0.0, 0.0], [2.0, 2.0], [3.0, 0.0])
    )
    assert list(resin_along_kpa(dry)) == [YARDSTICK_KPA] * 2
    assert list(resin_along_kpa(wet)) == [2.0, 2.0]
    assert list(resin_along_kpa(foot)) == [3.0, 0.01]


def test_own_bands_are_closed_slack_where_their_margin_may_do(monkeypatch):
    pulls = []

    class Stretch(SimpleNamespace):
        pass

    def close(bands, smeared_n_per_mm, check):
        pulls.append((sum(band.tension_n for band in bands), smeared_n_per_mm))
        return SimpleNamespace(bands=tuple(bands), outcome=Outcome.CONVERGED)

    margins = iter((2.6, 2.2, 2.4))
    monkeypatch.setattr(given_module, "seal_along", lambda *_: SealAlong(next(margins), (1.0,)))
    station = Stretch(block=SimpleNamespace(close=close, wrap_mm=283.0), from_mm=0.0, to_mm=100.0)
    mold = mold_of(band=[{"tension_n": 2.0, "count": 3}, {"tension_n_per_mm": 0.1}])
    found = given_module.given_layout(mold, (station,))
    assert (found.margin, found.slack_margin) == (2.6, 2.2)
    assert pulls == [(6.0, pytest.approx(0.1)), (pytest.approx(4.8), pytest.approx(0.08))]
    assert found.kind is None
    tight = given_module.given_layout(mold, (station,))
    assert (tight.margin, tight.slack_margin) == (2.4, pytest.approx(SLACK * 2.4))
    assert len(pulls) == 3
