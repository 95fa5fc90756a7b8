"""Searches of the advice: which bands, cuts and cradles are tried, and which are taken.

What seals is a rule of the test here, so that nothing is solved.
"""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest
from shapely.geometry import LineString

import squeeze
from squeeze.mold import section_of
from squeeze.mold.errors import BadInput
from squeeze.verdict.advice import bands as by_bands
from squeeze.verdict.advice import cradle as by_cradle
from squeeze.verdict.advice import cut as by_cut
from squeeze.verdict.advice import outline as by_outline
from squeeze.verdict.advice.changed_mold import (
    cavities_middle,
    keeps_outline,
    lengthened,
    reach_of,
    round_about,
    with_entry,
    with_outline,
)
from squeeze.verdict.figures import Figures
from squeeze.verdict.figures.values import NO_FIGURES

MOLD = {
    "length_mm": 120,
    "rubber": {"shore_a": 20},
    "block": {"shape": "square", "width_mm": 100, "bevel_mm": 10},
    "cavity": [{"name": "rod", "shape": "round", "diameter_mm": 20, "centre_mm": [0, 0]}],
    "cut": [{"name": "across", "path_mm": [[-50, 0], [50, 0]]}],
    "band": [{"tension_n": 2.0, "count": 4}],
}


def mold_of(**changed) -> squeeze.Mold:
    return squeeze.mold_of(MOLD | changed)


def figures(seals: bool, **values) -> Figures:
    given = {"seals": seals, "grade": "Clean" if seals else "Leaks", "flash_thickness_mm": 0.0}
    given |= {"leaks": 0 if seals else 1, "largest_gap_mm": 0.0, "margin": 1.0}
    return Figures(True, dict(NO_FIGURES.values) | given | values)


def trial_of(mold, seals: bool, **values):
    return SimpleNamespace(
        mold=mold,
        figures=figures(seals, **values),
        wall_mm=20.0,
        trust=SimpleNamespace(largest_strain_pct=2.0),
        closing=SimpleNamespace(lands=(1,), section=section_of(mold)),
        is_clean_throughout=seals,
        clean_in=12 if seals else 0,
    )


class Bench:
    """Trials whose molds seal by a rule of the mold and the pull; notes what was closed."""

    def __init__(self, seals, **values) -> None:
        self.seals, self.values = seals, values
        self.molds: list[squeeze.Mold] = []
        self.closed: list[tuple[int, float]] = []
        self.said: list[str] = []

    def say(self, words: str) -> None:
        self.said.append(words)

    def close(self, block, mold, pull=1.0):
        self.closed.append((mold.band[0].strands, pull))
        return trial_of(mold, self.seals(mold, pull))

    def try_out(self, make, words, least_wall_mm=0.0, vary=False):
        self.said.append(words)
        try:
            section_of(mold := make())
        except BadInput:
            return None
        self.molds.append(mold)
        values = {name: take(mold) for name, take in self.values.items()}
        return trial_of(mold, self.seals(mold), **values)


@pytest.fixture
def told(monkeypatch):
    """Let changes be their kind, sentence and mold."""
    for module in (by_bands, by_cradle, by_cut):
        monkeypatch.setattr(
            module,
            "change_of",
            lambda kind, say, now, then: SimpleNamespace(
                kind=kind, say=say, mold=then.mold, before=now.figures, after=then.figures,
                better=then.figures.seals,
            ),
        )  # fmt: skip


BLOCK = SimpleNamespace(section=section_of(mold_of()))


def advised(least_pull: float, now_seals: bool = False, **now_values):
    """Return the advice where four bands of 2 N, pulling together `least_pull` times, seal."""
    bench = Bench(lambda mold, pull: pull * mold.band[0].strands >= least_pull)
    now = trial_of(mold_of(), now_seals, **now_values)
    return by_bands.advise_bands(BLOCK, now, bench), bench


@pytest.mark.usefixtures("told")
@pytest.mark.parametrize(("least", "count"), [(4.5, 6), (6.4, 8), (8.1, 11), (100.0, 125)])
def test_bands_that_are_advised_seal_when_they_pull_20_pct_less(least, count):
    """As few as that allows: 0.8 times the count reaches what is needed."""
    (changes, said), bench = advised(least)
    assert [each.mold.band[0].count for each in changes] == [count]
    assert count == math.ceil(least / 0.8)
    assert said == []
    assert {pull for _, pull in bench.closed} == {1.0, 0.8}
    assert (count - 1, 0.8) in bench.closed  # one less was tried, and did not do


@pytest.mark.usefixtures("told")
@pytest.mark.parametrize("least", [4.5, 8.1, 100.0])
def test_a_number_of_bands_is_closed_once_and_slack_only_where_it_seals(least):
    _, bench = advised(least)
    assert len(bench.closed) == len(set(bench.closed))
    full, slack = ({n for n, pull in bench.closed if pull == each} for each in (1.0, 0.8))
    assert slack == {n for n in full if n >= least}


@pytest.mark.usefixtures("told")
def test_a_block_that_seals_amply_gets_fewer_bands():
    (changes, said), _ = advised(1.5, now_seals=True, margin=9.0)
    assert [(each.kind, each.mold.band[0].count) for each in changes] == [("fewer bands", 3)]
    assert said == []
    assert advised(1.5, now_seals=True, margin=4.0)[0] == ([], [])


@pytest.mark.usefixtures("told")
def test_nothing_is_said_of_bands_where_there_are_none_or_nothing_to_press():
    bench = Bench(lambda mold, pull: True)
    for now in (trial_of(mold_of(band=[]), False), trial_of(mold_of(), False)):
        now.closing.lands = () if now.mold.band else (1,)
        assert by_bands.advise_bands(BLOCK, now, bench) == ([], [])
    idle = trial_of(mold_of(band=[{"tension_n_per_mm": 0.0}]), False)
    assert by_bands.advise_bands(BLOCK, idle, bench) == ([], [])
    assert bench.closed == []


@pytest.mark.usefixtures("told")
def test_tension_is_advised_to_a_hundredth():
    mold = mold_of(band=[{"tension_n_per_mm": 0.3}])
    bench = Bench(lambda each, pull: pull * each.band[0].tension_n_per_mm >= 0.5)
    (change,), _ = by_bands.advise_bands(BLOCK, trial_of(mold, False), bench)
    assert change.mold.band[0].tension_n_per_mm == pytest.approx(0.63)  # 0.5 / 0.8 = 0.625


@pytest.mark.usefixtures("told")
def test_the_kind_that_pulls_most_is_the_one_that_is_changed():
    mold = mold_of(band=[{"tension_n": 1.0, "count": 2}, {"tension_n": 2.0, "count": 4}])
    bench = Bench(lambda each, pull: each.band[1].strands >= 7)
    (change,), _ = by_bands.advise_bands(BLOCK, trial_of(mold, False), bench)
    assert [band.count for band in change.mold.band] == [2, 7]


@pytest.mark.usefixtures("told")
def test_shorter_bands_that_seal_in_the_same_number_are_no_more_bands():
    slack = {"width_mm": 6, "thickness_mm": 1, "flat_length_mm": 160.0, "count": 4}
    mold = mold_of(band=[slack])
    bench = Bench(lambda each, pull: each.band[0].flat_length_mm != 160.0)
    (change,), _ = by_bands.advise_bands(BLOCK, trial_of(mold, False), bench)
    assert change.mold.band[0].count == 4
    assert change.say.startswith("Shorter bands: 4")
    good = mold_of(band=[slack | {"flat_length_mm": 95.0}])
    bench = Bench(lambda each, pull: each.band[0].strands >= 6)
    (change,), _ = by_bands.advise_bands(BLOCK, trial_of(good, False), bench)
    assert change.mold.band[0].flat_length_mm == 95.0


def test_bands_weigh_by_what_all_strands_of_a_kind_pull():
    kinds = [{"tension_n_per_mm": 3.0}, {"tension_n": 2.0, "count": 2}]
    assert by_bands._strongest(mold_of(band=kinds), 380.0) == 1
    assert (
        by_bands._strongest(mold_of(band=[kinds[0] | {"tension_n_per_mm": 5.0}, kinds[1]]), 380.0)
        == 0
    )


class Touching:
    """Trials at large deformation whose faces touch from a pull on."""

    def __init__(self, from_times: float, lost_from: float = math.inf) -> None:
        self.from_times, self.lost_from = from_times, lost_from
        self.pulls: list[float] = []
        self.starts: list[object] = []

    def say(self, words: str) -> None:
        """Nobody listens."""

    def close(self, block, mold, deformation, start, within):
        assert deformation == "large"
        times = mold.band[0].tension_n_per_mm / 0.5
        self.pulls.append(times)
        self.starts.append(start)
        gap = 0.0 if times >= self.from_times else 0.3
        lands = (SimpleNamespace(largest_gap_mm=0.0), SimpleNamespace(largest_gap_mm=gap))
        deformed = SimpleNamespace(is_large=times < self.lost_from)
        return SimpleNamespace(closing=SimpleNamespace(lands=lands, deformation=deformed))


def touching(bench) -> list[str]:
    mold = mold_of(band=[{"tension_n_per_mm": 0.5}])
    block = SimpleNamespace(fineness=1.0, remeshed=lambda fineness: "coarse")
    return by_bands._touching(block, mold, 0, bench)


@pytest.mark.parametrize("times", [1.8, 3.1, 5.4])
def test_the_pull_at_which_faces_touch_is_found_to_a_tenth(times):
    bench = Touching(times)
    (said,) = touching(bench)
    told = float(said.split("about ")[1].split(" times")[0])
    assert told == pytest.approx(times, abs=0.11)
    assert max(bench.pulls) == pytest.approx(6.0)
    assert bench.starts[0] is None
    assert all(start is not None for start in bench.starts[1:])  # each goes on from the last


def test_faces_that_never_touch_are_told_and_a_block_that_is_lost_is_not():
    assert touching(Touching(9.0)) == ["Even 6 times the pull leaves its faces apart."]
    assert touching(Touching(9.0, lost_from=5.0)) == []
    assert touching(Touching(3.0, lost_from=2.9)) == []


@pytest.mark.parametrize(
    ("changed", "helps", "says_shape"),
    [
        ({}, False, True),
        ({}, True, False),
        ({"push": [{"pressure_kpa": 3}]}, False, False),
        ({"cut": [MOLD["cut"][0] | {"gap_mm": 0.2}]}, False, False),
    ],
)
def test_more_bands_are_denied_where_the_shape_alone_decides(
    monkeypatch, changed, helps, says_shape
):
    """Pushes and gaps do not grow with the pull, so there nothing is said of all numbers."""
    monkeypatch.setattr(by_bands, "bands_help", lambda *_: helps)
    monkeypatch.setattr(by_bands, "seal_of", lambda closing: closing)
    monkeypatch.setattr(by_bands, "_touching", lambda *_: ["touches"])
    asked = []
    block = SimpleNamespace(close=lambda **how: asked.append(how), section=BLOCK.section)
    mold = mold_of(**changed)
    said = by_bands._no_help(block, mold, mold.band[0], 50.0, None)
    assert (said == [by_bands.MORE_BANDS, "touches"]) == says_shape
    if "push" not in changed and "cut" not in changed:
        assert asked == [{"resin_kpa": 0.0, "check": False}]


# places of a cut


def _cross(a, b) -> float:
    return float(a[0] * b[1] - a[1] * b[0])


def moved(mold, number=0) -> dict[str, squeeze.Mold]:
    return {say: make() for say, make in by_cut.moves(mold, number)}


def test_a_cut_is_shifted_by_shares_of_half_the_narrowest_cavity():
    """0.3 and 0.6 of 10 mm, to both sides of it; 0.3 of 10 deep in the cavity at least."""
    shifts = {say: mold for say, mold in moved(mold_of()).items() if say.startswith("Move")}
    assert sorted(shifts) == sorted(
        f"Move the cut 'across' by (0.0, {dy:.1f}) mm" for dy in (3.0, -3.0, 6.0, -6.0)
    )
    for say, mold in shifts.items():
        dy = float(say.split(", ")[1].split(")")[0])
        assert {y for _, y in mold.cut[0].path_mm} == {dy}


def test_a_slanted_cut_is_shifted_square_to_itself():
    cut = [{"name": "slant", "path_mm": [[-50, -50], [50, 50]]}]
    for say, mold in moved(mold_of(cut=cut)).items():
        if say.startswith("Move"):
            (a, b) = np.array(mold.cut[0].path_mm)
            along = (b - a) / np.hypot(*(b - a))
            assert along == pytest.approx([math.sqrt(0.5)] * 2, abs=1e-3)
            off = abs(_cross(along, a))
            assert off == pytest.approx(3.0, abs=0.1) or off == pytest.approx(6.0, abs=0.1)


def test_a_cut_right_through_is_turned_about_its_cavity_by_steps_of_15_degrees():
    turns = {say: mold for say, mold in moved(mold_of()).items() if say.startswith("Turn")}
    ways = ("counter-clockwise", "clockwise")
    said = [f"{angle} degrees {way}" for angle in (15, 30, 45, 60) for way in ways]
    said.append("90 degrees counter-clockwise")
    assert list(turns) == [f"Turn the cut 'across' by {each}" for each in said]
    for say, mold in turns.items():
        a, b = np.array(mold.cut[0].path_mm)
        angle = float(say.split(" by ")[1].split()[0]) * (1 if "counter" in say else -1)
        found = math.degrees(math.atan2(*(b - a)[::-1]))
        assert found == pytest.approx(angle, abs=0.1)
        assert LineString([a, b]).distance(section_of(mold_of()).cavities[0].loop.polygon) == 0
        assert abs(_cross(b - a, a)) / np.hypot(*(b - a)) == pytest.approx(0, abs=0.1)


def test_a_cut_that_begins_in_the_cavity_goes_to_the_other_sides_too():
    one_way = moved(mold_of(cut=[{"name": "out", "path_mm": [[0, 0], [50, 0]]}]))
    turned = [say for say in one_way if say.startswith("Turn")]
    assert {"Turn the cut 'out' by 180 degrees counter-clockwise",
            "Turn the cut 'out' by 135 degrees clockwise",
            "Turn the cut 'out' by 90 degrees clockwise"} <= {*turned}  # fmt: skip
    assert len(turned) == 13


def test_cuts_that_meet_others_or_open_nothing_stay():
    apart = [*MOLD["cut"], {"name": "low", "path_mm": [[-50, -30], [50, -30]]}]
    tee = [*MOLD["cut"], {"name": "up", "path_mm": [[30, 0], [30, 50]]}]
    assert moved(mold_of(cut=tee)) == {}
    assert moved(mold_of(cut=apart), 1) == {}
    assert moved(mold_of(cut=apart), 0) != {}


def test_a_bent_cut_is_not_shifted_or_turned():
    bent = [{"name": "bent", "path_mm": [[-50, 0], [0, 0], [50, 10]]}]
    assert {say.split()[0] for say in moved(mold_of(cut=bent))} == {"Instead"}


def test_knife_work_is_the_length_in_rubber():
    assert by_cut.knife_mm(mold_of()) == pytest.approx(80, abs=0.01)
    two = [*MOLD["cut"], {"name": "low", "path_mm": [[-50, -30], [50, -30]]}]
    assert by_cut.knife_mm(mold_of(cut=two)) == pytest.approx(180, abs=0.01)


@pytest.mark.usefixtures("told")
def test_of_moves_that_seal_the_one_with_the_least_knife_work_is_taken():
    """A cut straight out of the cavity is 40 mm in rubber, one right through 80."""
    (found,), said = by_cut.advise_cut(
        trial_of(mold_of(), False), ["across"], Bench(lambda m: True)
    )
    assert found.say.startswith("Instead of the cut 'across', a cut straight from 'rod' out to")
    assert said == []
    through = Bench(lambda mold: len(mold.cut) == 1 and mold.cut[0].name == "across")
    (found,), _ = by_cut.advise_cut(trial_of(mold_of(), False), ["across"], through)
    assert by_cut.knife_mm(found.mold) == pytest.approx(80, abs=0.2)


@pytest.mark.usefixtures("told")
def test_only_cuts_that_leak_are_moved_and_none_with_a_gap_along_it():
    cuts = [*MOLD["cut"], {"name": "low", "path_mm": [[-50, -8], [50, -8]]}]
    bench = Bench(lambda mold: False)
    by_cut.advise_cut(trial_of(mold_of(cut=cuts), False), ["low"], bench)
    assert bench.molds
    assert all(mold.cut[0].path_mm == ((-50, 0), (50, 0)) for mold in bench.molds)
    seals = Bench(lambda mold: False)
    flashes = trial_of(mold_of(cut=cuts), True, flash_thickness_mm=0.3)
    by_cut.advise_cut(flashes, [], seals)
    assert len(seals.molds) > len(bench.molds)
    spread = [MOLD["cut"][0] | {"gap_mm": [0.0, 0.1]}]
    bench = Bench(lambda mold: False)
    assert by_cut.advise_cut(trial_of(mold_of(cut=spread), False), ["across"], bench) == ([], [])
    assert bench.molds == []
    for none in (mold_of(cavity=[]), mold_of()):
        done = trial_of(none, none.cavity != (), flash_thickness_mm=0.0)
        assert by_cut.advise_cut(done, ["across"], bench) == ([], [])


@pytest.mark.usefixtures("told")
def test_where_no_move_seals_it_is_said_and_none_is_offered():
    found, said = by_cut.advise_cut(trial_of(mold_of(), False), ["across"], Bench(lambda m: False))
    assert found == []
    assert said == ["No place of the cuts that was tried makes every land seal."]


def result(say, done, leaks=1, flash=0.2, width=100.0):
    block = {"shape": "square", "width_mm": width}
    cut = [{"name": "across", "path_mm": [[-width / 2, 0], [width / 2, 0]]}]
    after = figures(done, leaks=0 if done else leaks, flash_thickness_mm=flash)
    return SimpleNamespace(
        say=say, before=figures(False), after=after, mold=mold_of(block=block, cut=cut)
    )


def test_the_best_move_seals_else_it_leaks_least_and_then_flashes_least():
    """A longer knife line counts only among those that seal."""
    long, short = result("long", True, flash=0.0, width=120), result("short", True, flash=0.04)
    two, one = result("two", False, leaks=2, flash=0.1), result("one", False, flash=0.3)
    thin = result("thin", False, flash=0.2)
    assert by_cut._best([two, one, long, short]) == [short]
    assert by_cut._best([two, one]) == [one]
    assert by_cut._best([one, thin, two]) == [thin]
    assert by_cut._best([]) == []


# cradles


@pytest.mark.usefixtures("told")
def test_the_first_cradle_that_seals_is_taken():
    bench = Bench(lambda mold: len(mold.cradle) == 4)
    (found,), said = by_cradle.advise_cradle(trial_of(mold_of(), False), bench)
    assert found.say.startswith("Round-backed boards of plywood on top, right, bottom and left, 18")
    assert found.mold.cradle[0].rise_mm == 5.0
    assert said == []
    assert [len(mold.cradle) for mold in bench.molds] == [2, 2, 2, 2, 4]


@pytest.mark.usefixtures("told")
def test_where_none_seals_the_one_that_leaks_least_is_offered():
    """Of those that leak alike, the one that stands open least; of like ones the first."""

    def leaks(mold):
        return 3 if len(mold.cradle) == 2 else 2

    def gap(mold):
        return 0.5 if len(mold.cradle) == 1 else mold.cradle[0].rise_mm / 10

    bench = Bench(lambda mold: False, leaks=leaks, largest_gap_mm=gap)
    (found,), said = by_cradle.advise_cradle(trial_of(mold_of(), False), bench)
    assert len(found.mold.cradle) == 4
    assert found.mold.cradle[0].rise_mm == 5.0
    assert said == ["No cradle that was tried makes every land seal."]
    assert len(bench.molds) == 8


@pytest.mark.usefixtures("told")
@pytest.mark.parametrize(
    ("changed", "seals"),
    [
        ({}, True),
        ({"band": [], "push": [{"pressure_kpa": 5}]}, False),
        ({"cut": []}, False),
        ({"push": [{"at_mm": [50, 0], "width_mm": 20, "force_n_per_mm": 0.1}]}, False),
        ({"cradle": [{"covers": "top", "back": "flat", "thickness_mm": 18, "material": "plywood"}]},
         False),
    ],
)  # fmt: skip
def test_no_cradle_is_tried_where_none_is_wanted_or_none_fits(changed, seals):
    bench = Bench(lambda mold: True)
    assert by_cradle.advise_cradle(trial_of(mold_of(**changed), seals), bench) == ([], [])
    assert bench.molds == []


@pytest.mark.usefixtures("told")
def test_pressure_all_round_does_not_keep_a_cradle_off():
    bench = Bench(lambda mold: False)
    by_cradle.advise_cradle(trial_of(mold_of(push=[{"pressure_kpa": 5}]), False), bench)
    assert len(bench.molds) == 8


def test_backs_rise_by_5_10_or_16_mm():
    rises = [tables[0].get("rise_mm") for _, tables in by_cradle.cradles(mold_of())]
    assert rises == [10.0, 16.0, 10.0, 16.0, 5.0, 10.0, 16.0, None]


def test_boards_are_6_mm_thick_at_their_ends_at_least():
    for _, tables in by_cradle.cradles(mold_of()):
        for board in tables[:2]:
            assert board["thickness_mm"] == max(18.0, board.get("rise_mm", 0.0) + 6.0)


# changed molds


def test_a_new_outline_keeps_its_middle_where_it_is_told():
    """A cut, a cavity and the place where a band is pulled move against it."""
    band = [{"tension_n": 2.0, "friction": 0.2, "pulled_at_mm": [0, 50]}]
    hole = [MOLD["cavity"][0] | {"centre_mm": [10, 4]}]
    mold = with_outline(
        mold_of(band=band, cavity=hole), {"shape": "round", "diameter_mm": 90}, (5.0, -3.0)
    )
    assert mold.cavity[0].centre_mm == (5.0, 7.0)
    assert mold.band[0].pulled_at_mm == (-5.0, 53.0)
    assert {y for _, y in mold.cut[0].path_mm} == {3.0}
    far = reach_of(mold_of())
    assert far == math.ceil(100 * math.sqrt(2))
    assert [x for x, _ in mold.cut[0].path_mm] == [-50 - far - 5, 50 + far - 5]


def test_only_ends_at_the_outside_are_carried_on():
    outside = section_of(mold_of()).outline.polygon
    assert lengthened([(-50, 0), (20, 0)], outside, 30.0) == [(-80, 0), (20, 0)]
    assert lengthened([(0, 0), (0, 49.0)], outside, 10.0) == [(0, 0), (0, 59.0)]
    assert lengthened([(0, 0), (0, 48.9)], outside, 10.0) == [(0, 0), (0, 48.9)]
    bent = [(-50, 0), (0, 0), (30, 40)]
    assert lengthened(bent, outside, 10.0) == [(-60, 0), (0, 0), (30, 40)]
    bent = [(-50, 0), (0, 10), (50, 47.5)]
    x, y = lengthened(bent, outside, 10.0)[-1]
    assert (x, y) == pytest.approx((50 + 8, 47.5 + 6))  # along the last stretch, 4 : 3


@pytest.mark.parametrize(
    ("changed", "keeps"),
    [
        ({}, False),
        ({"push": [{"pressure_kpa": 5}]}, False),
        ({"push": [{"at_mm": [50, 0], "width_mm": 20, "force_n_per_mm": 0.1}]}, True),
        ({"cut": [MOLD["cut"][0] | {"gap_mm": 0.1}]}, False),
        ({"cut": [MOLD["cut"][0] | {"gap_mm": [0.1, 0.2]}]}, True),
        ({"cut": [MOLD["cut"][0] | {"film_mm": 0.2, "film_at_mm": [0, 15]}]}, True),
        ({"filler": [{"shape": "round", "diameter_mm": 8, "centre_mm": [0, -30], "shore_a": 30}]},
         True),
        ({"cradle": [{"covers": "top", "back": "flat", "thickness_mm": 18, "material": "plywood"}]},
         True),
    ],
)  # fmt: skip
def test_what_was_made_for_an_outline_keeps_it(changed, keeps):
    assert keeps_outline(mold_of(**changed)) is keeps


TWO = [
    {"name": name, "shape": "round", "diameter_mm": 16, "centre_mm": [x, 10]}
    for name, x in (("left", -20), ("right", 24))
]


def test_a_round_block_stands_about_the_middle_of_all_cavities():
    """Two holes 44 mm apart and 16 wide: a circle of radius 30 about (2, 10)."""
    mold = mold_of(cavity=TWO, cut=[{"path_mm": [[-50, 10], [50, 10]]}])
    middle, radius = cavities_middle(section_of(mold))
    assert middle == pytest.approx((2, 10), abs=0.01)
    assert radius == pytest.approx(30, abs=0.01)
    made = round_about(mold, 15.0)
    assert made.block.diameter_mm == 90
    centres = np.array([each.centre_mm for each in made.cavity])
    assert centres == pytest.approx(np.array([(-22, 0), (22, 0)]), abs=0.01)
    assert round_about(mold, 15.2).block.diameter_mm == 91


def test_entries_of_a_list_are_changed_one_by_one():
    kinds = [{"tension_n": 2.0}, {"tension_n": 3.0, "at_mm": [20, 60]}]
    changed = with_entry(mold_of(band=kinds), "band", 1, at_mm=None, count=5)
    assert [band.strands for band in changed.band] == [1, 5]
    assert changed.band[1].tension_n == 3.0


# outlines


def test_rounder_outlines_come_with_the_least_rubber_first_and_two_at_most(monkeypatch):
    made = []

    def change_of(kind, say, now, then):
        made.append(then.mold)
        rubber = SimpleNamespace(
            mass_g={"round": 5.0, "oval": 3.0, "square": 4.0}[then.mold.block.shape]
        )
        return SimpleNamespace(kind=kind, say=say, mold=then.mold, rubber=rubber)

    monkeypatch.setattr(by_outline, "change_of", change_of)
    now = trial_of(mold_of(), False)
    changes, said = by_outline.advise_outline(now, Bench(lambda mold: True), 10.0)
    assert said == []
    assert [each.mold.block.shape for each in changes] == sorted(
        (each.mold.block.shape for each in changes), key={"oval": 0, "square": 1, "round": 2}.get
    )
    assert len(changes) == min(len(made), 2)
    assert {each.kind for each in changes} == {"outline"}


@pytest.mark.parametrize(("changed", "seals"), [({}, True), ({"cut": []}, False)])
def test_no_outline_is_tried_where_nothing_has_to_be_mended(changed, seals):
    bench = Bench(lambda mold: True)
    assert by_outline.advise_outline(trial_of(mold_of(**changed), seals), bench, 10.0) == ([], [])
    assert bench.molds == []


def test_where_no_outline_seals_or_may_be_changed_that_is_said():
    now = trial_of(mold_of(), False)
    assert by_outline.advise_outline(now, Bench(lambda mold: False), 10.0) == (
        [], ["No rounder outline that was tried makes every land seal."],
    )  # fmt: skip
    kept = mold_of(cut=[MOLD["cut"][0] | {"gap_mm": [0.1, 0.2]}])
    bench = Bench(lambda mold: True)
    changes, (said,) = by_outline.advise_outline(trial_of(kept, False), bench, 10.0)
    assert changes == []
    assert "belongs to its outline" in said
    assert bench.molds == []


def test_a_size_is_told_with_its_middle():
    off = {"shape": "drawn", "points_mm": [[-20, -10], [60, -10], [60, 30], [-20, 30]]}
    mold = mold_of(block=off, cavity=[], cut=[{"path_mm": [[-20, 0], [60, 0]]}])
    size, middle = by_outline._size(mold)
    assert size == pytest.approx((80, 40))
    assert middle == pytest.approx((20, 10))
