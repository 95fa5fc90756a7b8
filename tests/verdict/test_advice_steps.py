"""Single steps of advice, by hand counts: what is tried, and which of what is tried is taken.

What seals is a rule of the test here, so that nothing is solved.
"""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

import squeeze
from squeeze.mold import section_of
from squeeze.mold.forces.band_sizes import SIZES
from squeeze.mold.forces.bands import GOOD_STRETCH, WORKING_STRETCH, size_of, stretch_of
from squeeze.verdict.advice import bands as by_bands
from squeeze.verdict.advice import cradle as by_cradle
from squeeze.verdict.advice import cut as by_cut
from squeeze.verdict.advice import outline as by_outline
from squeeze.verdict.advice.bevel import advise_bevel, largest_bevel_mm, least_bevel
from squeeze.verdict.advice.change import Change
from squeeze.verdict.advice.rubber_cost import RubberCost, rubber_of
from squeeze.verdict.advice.trial import Trials
from squeeze.verdict.casting.flash import HAIRLINE_MM
from squeeze.verdict.figures import Figures
from squeeze.verdict.figures.values import NO_FIGURES

SQUARE = {
    "length_mm": 120,
    "rubber": {"shore_a": 20},
    "block": {"shape": "square", "width_mm": 100, "bevel_mm": 10},
    "cavity": [{"name": "rod", "shape": "round", "diameter_mm": 60}],
    "cut": [{"path_mm": [[-50, 0], [50, 0]]}],
    "band": [{"stock": "64", "count": 4}],
}


def mold_of(**changed) -> squeeze.Mold:
    return squeeze.mold_of(SQUARE | changed)


def figures(seals: bool, **values) -> Figures:
    given = {"seals": seals, "grade": "Clean" if seals else "Leaks", "flash_thickness_mm": 0.0}
    return Figures(True, dict(NO_FIGURES.values) | given | values)


def trial_of(mold, seals: bool, **values):
    """Return a made-up trial of a mold."""
    return SimpleNamespace(
        mold=mold,
        figures=figures(seals, **values),
        wall_mm=20.0,
        closing=SimpleNamespace(lands=(1,)),
        is_clean_throughout=seals,
        clean_in=12 if seals else 0,
    )


class Rule:
    """Trials whose molds seal by a rule; notes which were tried."""

    def __init__(self, seals) -> None:
        self.seals = seals
        self.molds: list[squeeze.Mold] = []

    def try_out(self, make, words, least_wall_mm=0.0, vary=False):
        self.molds.append(make())
        return trial_of(self.molds[-1], self.seals(self.molds[-1]))

    def say(self, words: str) -> None:
        """Nobody listens."""

    def close(self, block, mold, pull=1.0):
        self.molds.append(mold)
        return trial_of(mold, self.seals(mold, pull))


def test_the_largest_bevel_leaves_the_wall_by_hand():
    """The flat of a leg b lies (100 - b) / sqrt 2 from the middle; the hole ends at 30."""
    for wall in (10.0, 15.0, 20.0):
        most = 100 - math.sqrt(2) * (30 + wall)
        found = largest_bevel_mm(mold_of(), wall)
        assert found == pytest.approx(max(math.floor(2 * most) / 2, 10.0))


def test_without_a_cavity_the_sides_bound_the_bevel():
    assert 45 <= largest_bevel_mm(mold_of(cavity=[]), 15.0) <= 50


@pytest.mark.parametrize("least", [10.5, 17.3, 24.0, 29.8])
def test_the_least_bevel_that_seals_is_found_to_half_a_millimetre(least):
    rule = Rule(lambda mold: mold.block.bevel_mm >= least)
    found = least_bevel(trial_of(mold_of(), False), 10.0, 30.0, rule)
    assert found.mold.block.bevel_mm == math.ceil(2 * least) / 2
    tried = [mold.block.bevel_mm for mold in rule.molds]
    assert len(tried) == len(set(tried))
    assert min(tried) >= 10.0


def test_no_bevel_is_found_where_none_seals():
    rule = Rule(lambda mold: False)
    assert least_bevel(trial_of(mold_of(), False), 10.0, 30.0, rule) is None
    assert max(mold.block.bevel_mm for mold in rule.molds) == 30.0


def test_where_no_bevel_seals_the_advice_names_the_largest():
    changes, said = advise_bevel(trial_of(mold_of(), False), Rule(lambda mold: False), 15.0)
    assert changes == []
    most = largest_bevel_mm(mold_of(), 15.0)
    assert said == [
        f"No bevel up to {most:g} mm, the largest that leaves 15 mm of wall, makes every land seal."
    ]


def test_a_round_or_a_sealing_block_needs_no_bevel():
    rule = Rule(lambda mold: True)
    good = trial_of(mold_of(), True)
    round_ = trial_of(mold_of(block={"shape": "round", "diameter_mm": 100}), False)
    for each in (good, round_):
        assert advise_bevel(each, rule, 5.0) == ([], [])
    assert rule.molds == []


def test_pull_grows_by_whole_bands_and_hundredths_of_tension():
    assert by_bands.with_pull(mold_of(), 0, 1.3).band[0].strands == 6  # 5.2
    assert by_bands.with_pull(mold_of(), 0, 1.25).band[0].strands == 5
    smeared = mold_of(band=[{"tension_n_per_mm": 0.30}])
    assert by_bands.with_pull(smeared, 0, 1.011).band[0].tension_n_per_mm == pytest.approx(0.31)
    assert by_bands.with_pull(smeared, 0, 1.1).band[0].tension_n_per_mm == pytest.approx(0.33)


def test_the_strongest_kind_of_band_is_the_one_that_pulls_most_together():
    weak, strong = {"tension_n": 3.0, "count": 2}, {"tension_n": 1.0, "count": 9}
    assert by_bands._strongest(mold_of(band=[weak, strong]), 380.0) == 1
    assert by_bands._strongest(mold_of(band=[strong, weak]), 380.0) == 0


def test_no_more_bands_are_tried_than_fit_side_by_side():
    """Bands 6.35 mm wide, narrower where stretched; at most so many lie on 120 mm."""
    few = mold_of(band=[{"width_mm": 10, "thickness_mm": 1, "flat_length_mm": 100, "count": 2}])
    most = by_bands._most_times(few, 0, 2 * 100 * 1.0)  # not stretched: as wide as flat
    assert most == pytest.approx(12 / 2)
    crowded = mold_of(band=[{"width_mm": 40, "thickness_mm": 1, "flat_length_mm": 100, "count": 4}])
    assert by_bands._most_times(crowded, 0, 200.0) == 1.0
    assert by_bands._most_times(mold_of(band=[{"tension_n_per_mm": 1.0}]), 0, 380.0) == (
        by_bands.MOST_TIMES
    )


def test_bands_stretched_too_little_become_shorter_ones_of_the_same_kind():
    wrap = 150.0
    slack = mold_of(band=[{"stock": "64", "count": 4}])
    assert stretch_of(slack.band[0], wrap) < WORKING_STRETCH[0]
    band = by_bands._with_shorter(slack, 0, wrap).band[0]
    assert stretch_of(band, wrap) >= WORKING_STRETCH[0]
    before, after = size_of(slack.band[0]), size_of(band)
    assert (before.width_mm, before.thickness_mm) == (after.width_mm, after.thickness_mm)
    assert band.strands == 4
    well = mold_of(band=[{"stock": "64", "count": 4}])
    assert by_bands._with_shorter(well, 0, 2 * SIZES["64"].flat_length_mm * GOOD_STRETCH) is well


def counted(least: float):
    """Return `seals(times)` for four bands of which `least` are needed, and what it has tried."""
    tried: dict[float, SimpleNamespace] = {}

    def seals(times: float) -> bool:
        tried[times] = trial_of(by_bands.with_pull(mold_of(), 0, times), False)
        return tried[times].mold.band[0].strands >= least

    return seals, tried


@pytest.mark.parametrize(("least", "near"), [(9, 2.26), (9, 2.24), (12, 3.01)])
def test_the_least_whole_number_of_bands_near_the_boundary_is_taken(least, near):
    seals, tried = counted(least)
    found = by_bands._least(mold_of(), 0, near, seals, tried)
    assert found.mold.band[0].strands == least


def test_no_number_of_bands_is_taken_where_none_seals():
    seals, tried = counted(1000)
    assert by_bands._least(mold_of(), 0, 2.0, seals, tried) is None


def test_the_fewest_bands_lie_two_walls_apart():
    now = trial_of(mold_of(), True)  # a wall of 20 mm: bands up to 40 mm apart on 120
    assert by_bands._fewest(now, 0) == 3
    assert by_bands._fewest(trial_of(mold_of(length_mm=121), True), 0) == 4
    now.wall_mm = 500.0
    assert by_bands._fewest(now, 0) == 1
    now.wall_mm = None
    assert by_bands._fewest(now, 0) == 6


@pytest.fixture
def told(monkeypatch):
    """Let changes of bands be their sentence."""
    monkeypatch.setattr(by_bands, "change_of", lambda kind, say, now, then: (kind, say))


def with_strain(trial, pct: float):
    trial.trust = SimpleNamespace(largest_strain_pct=pct)
    return trial


@pytest.mark.usefixtures("told")
def test_more_or_fewer_bands_are_told_with_their_number():
    def said(before, after, **how):
        now, then = (
            with_strain(trial_of(mold_of(band=[band]), True), 3.0) for band in (before, after)
        )
        return by_bands._bands_change(then, now, 0, **how)

    four, six = ({"stock": "64", "count": count} for count in (4, 6))
    assert said(four, six) == [("bands", "More bands: 6 of size 64 instead of 4")]
    assert said(six, four, fewer=True) == [
        ("fewer bands", "Fewer bands would do: 4 of size 64 instead of 6")
    ]
    low, high = ({"tension_n_per_mm": tension} for tension in (0.2, 0.5))
    assert said(low, high) == [("bands", "More tension: 0.5 instead of 0.2 N/mm")]
    assert said(high, low, fewer=True) == [
        ("fewer bands", "Less tension would do: 0.2 instead of 0.5 N/mm")
    ]
    assert said(four, four) == []
    assert by_bands._bands_change(None, trial_of(mold_of(), True), 0) == []


@pytest.mark.usefixtures("told")
@pytest.mark.parametrize(
    ("before", "after", "is_said"), [(3.0, 90.0, True), (95.0, 90.0, False), (1.0, 1.0, False)]
)
def test_more_bands_that_strain_the_rubber_far_say_so(before, after, is_said):
    now = with_strain(trial_of(mold_of(), False), before)
    more = by_bands.with_pull(mold_of(), 0, 2.0)
    ((_, say),) = by_bands._bands_change(with_strain(trial_of(more, True), after), now, 0)
    assert say.endswith(f"strains the rubber by {after:.0f} %") == is_said


@pytest.mark.usefixtures("told")
@pytest.mark.parametrize(
    ("margin", "least", "count"), [(9.0, 5, 5), (9.0, 1, 3), (5.0, 5, 5), (4.9, 5, None)]
)
def test_fewer_bands_are_advised_where_the_margin_is_ample(margin, least, count):
    """Never fewer than three: farther apart than two walls the pressure would wave."""
    eight = mold_of(band=[{"stock": "64", "count": 8}])
    now = with_strain(trial_of(eight, True, margin=margin), 3.0)
    tried: dict[float, SimpleNamespace] = {}

    def seals(times: float) -> bool:
        mold = by_bands.with_pull(eight, 0, times)
        tried[times] = with_strain(trial_of(mold, True), 3.0)
        return mold.band[0].strands >= least

    changes = by_bands._fewer(eight, 0, now, seals, tried)
    says = [f"Fewer bands would do: {count} of size 64 instead of 8"] if count else []
    assert [say for _, say in changes] == says


@pytest.mark.usefixtures("told")
@pytest.mark.parametrize(("least", "tension"), [(0.233, 0.24), (0.0, 0.01)])
def test_less_tension_is_advised_to_a_hundredth(least, tension):
    mold = mold_of(band=[{"tension_n_per_mm": 0.8}])
    now = with_strain(trial_of(mold, True, margin=9.0), 3.0)
    tried: dict[float, SimpleNamespace] = {}

    def seals(times: float) -> bool:
        tried[times] = with_strain(trial_of(by_bands.with_pull(mold, 0, times), True), 3.0)
        return tried[times].mold.band[0].tension_n_per_mm >= least

    ((kind, say),) = by_bands._fewer(mold, 0, now, seals, tried)
    assert kind == "fewer bands"
    assert say == f"Less tension would do: {tension:g} instead of 0.8 N/mm"


def deaf(mold: squeeze.Mold, most: float, monkeypatch) -> list[str]:
    """Return what is said where no pull seals."""
    monkeypatch.setattr(by_bands, "bands_help", lambda *_: True)
    monkeypatch.setattr(by_bands, "seal_of", lambda closing: closing)
    block = SimpleNamespace(close=lambda **_: None, section=None)
    return by_bands._no_help(block, mold, mold.band[0], most, Trials())


def test_what_no_number_of_bands_does_is_said_with_the_number(monkeypatch):
    assert deaf(mold_of(), 5.0, monkeypatch) == [
        "Even 20 bands of size 64, side by side, do not make it seal: take stronger ones, or change"
        " the shape."
    ]
    (said,) = deaf(mold_of(), by_bands.MOST_TIMES, monkeypatch)
    assert said.startswith("Even 50 times the pull does not make it seal")


def change(kind: str, before: Figures, after: Figures) -> Change:
    mold = mold_of()
    cost: RubberCost = rubber_of(mold)
    return Change(kind, kind, mold, before, after, 15.0, 15.0, cost, cost, 0.0, 0.0)


LEAKING = figures(False, leaks=3, largest_gap_mm=0.5, flash_thickness_mm=0.5, largest_shift_mm=0.3)
SEALED = figures(True, leaks=0, largest_gap_mm=0.0, flash_thickness_mm=0.2, largest_shift_mm=0.3)


def but(of: Figures, **values) -> Figures:
    return replace(of, values=dict(of.values) | values)


@pytest.mark.parametrize(
    ("before", "after", "better"),
    [
        (LEAKING, SEALED, True),
        (SEALED, LEAKING, False),
        (LEAKING, but(LEAKING, leaks=2), True),
        (LEAKING, but(LEAKING, leaks=3), False),
        (LEAKING, but(LEAKING, largest_gap_mm=0.39), True),
        (LEAKING, but(LEAKING, largest_gap_mm=0.41), False),
        (SEALED, but(SEALED, flash_thickness_mm=0.09), True),
        (SEALED, but(SEALED, flash_thickness_mm=0.11), False),
        (but(SEALED, grade="Clean"), but(SEALED, flash_thickness_mm=0.0, grade="Leaks"), False),
    ],
)
def test_a_change_is_better_where_it_seals_leaks_less_or_halves_the_flash(before, after, better):
    assert change("bevel", before, after).better is better


@pytest.mark.parametrize(
    ("values", "better"),
    [
        ({"largest_shift_mm": 0.2}, True),
        ({"largest_shift_mm": 0.3}, False),
        ({"largest_shift_mm": 0.2, "largest_gap_mm": HAIRLINE_MM}, True),
        ({"largest_shift_mm": 0.2, "largest_gap_mm": 2 * HAIRLINE_MM}, False),
        ({"largest_shift_mm": 0.2, "seals": False}, False),
    ],
)
def test_fewer_bands_are_better_where_they_squash_less_and_open_nothing(values, better):
    assert change("fewer bands", SEALED, but(SEALED, **values)).better is better


def test_walls_of_round_blocks_run_from_the_least_to_the_present_size():
    walls = by_outline._round_walls(mold_of(), 10.0)
    assert walls[0] == 10
    corner = 0.5 * math.hypot(100, 100) - 30  # a round block about the square
    assert walls[-1] == math.ceil(corner)
    assert walls == sorted(set(walls))
    assert len(walls) == by_outline.GRID
    assert by_outline._round_walls(mold_of(cavity=[]), 10.0) == []


@pytest.mark.parametrize(("width", "height"), [(120, 60), (60, 120)])
def test_ovals_keep_the_long_axis_and_grow_the_short_one_to_a_circle(width, height):
    block = {"shape": "rectangle", "width_mm": width, "height_mm": height}
    hole = [{"name": "rod", "shape": "round", "diameter_mm": 20}]
    mold = mold_of(block=block, cavity=hole, cut=[{"path_mm": [[-width / 2, 0], [width / 2, 0]]}])
    made = [make() for _, make in by_outline._ovals(mold)]
    assert made[-1].block.diameter_mm == 120
    ovals = [(each.block.width_mm, each.block.height_mm) for each in made[:-1]]
    long, short = (0, 1) if width > height else (1, 0)
    assert {each[long] for each in ovals} == {120}
    assert [each[short] for each in ovals] == [60, 80, 100]


def test_corners_are_tried_with_radii_that_take_more_off_than_the_bevel():
    made = [make().block for _, make in by_outline._corners(mold_of())]
    radii = [math.floor(share * 50) for share in np.linspace(0, 0.95, by_outline.GRID + 1)[1:]]
    assert [each.round_mm for each in made] == [r for r in radii if r > 2 + 10]
    assert {each.bevel_mm for each in made} == {0.0}
    round_ = mold_of(block={"shape": "round", "diameter_mm": 100})
    assert list(by_outline._corners(round_)) == []


def test_the_first_outline_that_seals_is_taken():
    candidates = [(f"bevel {b}", lambda b=b: mold_of(block=SQUARE["block"] | {"bevel_mm": b}))
                  for b in (12, 14, 16)]  # fmt: skip
    now = trial_of(mold_of(), False)
    rule = Rule(lambda mold: mold.block.bevel_mm >= 14)
    found = by_outline._first(iter(candidates), rule, 5.0, now)
    assert found.mold.block.bevel_mm == 14
    assert by_outline._first(iter(candidates), Rule(lambda mold: False), 5.0, now) is None


@pytest.mark.parametrize("least_mm", [10, 13, 17, 31, 40])
def test_the_least_round_block_is_found_to_a_millimetre_of_its_wall(least_mm):
    rule = Rule(lambda mold: mold.block.diameter_mm >= 60 + 2 * least_mm)
    now = trial_of(mold_of(), False)
    found = by_outline._least_round(mold_of(), rule, 10.0, now)
    assert found.mold.block.diameter_mm == pytest.approx(60 + 2 * least_mm)


def test_wider_round_blocks_are_two_five_and_ten_millimetres_wider():
    mold = mold_of(block={"shape": "round", "diameter_mm": 100})
    assert [each.block.diameter_mm for each in by_outline.wider_rounds(mold)] == [102, 105, 110]


def test_the_outline_to_pour_is_told_in_words():
    round_ = mold_of(block={"shape": "round", "diameter_mm": 101})
    oval = mold_of(block={"shape": "oval", "width_mm": 120, "height_mm": 90})
    corners = mold_of(block={"shape": "square", "width_mm": 100, "round_mm": 30})
    said = [by_outline.said_of_outline(each) for each in (round_, oval, corners)]
    assert [
        "round block of 101 mm" in said[0],
        "120 x 90 mm" in said[1],
        "of 30 mm" in said[2],
    ] == ([True] * 3)


@pytest.mark.parametrize(
    ("path", "is_flat"),
    [
        ([[-50, 0], [50, 0]], True),
        ([[0, -50], [0, 50]], False),
        ([[-50, 10], [50, -10]], True),
        ([[10, -50], [-10, 50]], False),
    ],
)
def test_boards_lie_on_the_sides_that_a_cut_faces(path, is_flat):
    assert by_cradle._lies_flat(mold_of(cut=[{"path_mm": path}])) is is_flat


TWO = [
    {"name": name, "shape": "round", "diameter_mm": 16, "centre_mm": [x, 10]}
    for name, x in (("left", -20), ("right", 20))
]


def cuts_out(*names: str) -> dict[str, squeeze.Mold]:
    """Return the molds, by what is said, in which cavities get cuts of their own."""
    mold = mold_of(cavity=TWO, cut=[{"name": "across", "path_mm": [[-50, 10], [50, 10]]}])
    opened = [each for each in section_of(mold).cavities if each.name in names]
    return {say: make() for say, make in by_cut._out(mold, 0, opened)}


def test_cuts_straight_out_start_in_the_middle_of_their_cavity_and_miss_the_others():
    one = cuts_out("left")
    assert [say.rpartition(" ")[2] for say in one] == ["top", "bottom", "left"]  # right is beyond
    for say, mold in one.items():
        assert say.startswith("Instead of the cut 'across', a cut straight from 'left' out to the ")
        (cut,) = mold.cut
        start, end = np.array(cut.path_mm)
        assert tuple(start) == pytest.approx((-20, 10))
        way = {"top": (0, 1), "bottom": (0, -1), "left": (-1, 0)}[say.rpartition(" ")[2]]
        assert (end - start) / np.hypot(*(end - start)) == pytest.approx(way)
        assert max(np.abs(end)) > 50


def test_cuts_out_start_to_a_tenth_of_a_millimetre():
    hole = [{"name": "rod", "shape": "round", "diameter_mm": 16, "centre_mm": [3.337, -2.062]}]
    mold = mold_of(cavity=hole, cut=[{"name": "across", "path_mm": [[-50, -2], [50, -2]]}])
    made = [make() for _, make in by_cut._out(mold, 0, section_of(mold).cavities)]
    assert [each.cut[0].path_mm[0] for each in made] == [(3.3, -2.1)] * 4


def test_two_cavities_get_a_cut_each():
    both = cuts_out("left", "right")
    assert [say.rpartition(" ")[2] for say in both] == ["top", "bottom"]
    for say, mold in both.items():
        assert "a cut each straight from 'left', 'right' out to the" in say
        assert sorted(cut.path_mm[0][0] for cut in mold.cut) == pytest.approx([-20, 20])
