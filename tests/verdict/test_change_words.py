"""What is said of a change, and in which order changes come: made-up figures before and after."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import pytest

import squeeze
from squeeze.mold.errors import BadInput
from squeeze.verdict.advice.change import EFFORT, Change, ranked, say_figures, say_harms
from squeeze.verdict.advice.harm import Harm
from squeeze.verdict.advice.rubber_cost import RubberCost, costs, rubber_of, wall_mm
from squeeze.verdict.advice.trial import Trial, Trials, coarse_block, reaches_aim, wanted
from squeeze.verdict.figures import Figures
from squeeze.verdict.figures.values import NO_FIGURES

MOLD = {
    "length_mm": 100,
    "rubber": {"shore_a": 20, "density_g_cm3": 1.1, "price_per_kg": 30},
    "block": {"shape": "square", "width_mm": 100, "bevel_mm": 0, "round_mm": 0},
    "cavity": [
        {"name": "rod", "shape": "square", "width_mm": 20, "round_mm": 0, "centre_mm": [10, 0]}
    ],
    "cut": [{"name": "across", "path_mm": [[-50, 0], [50, 0]]}],
    "band": [{"tension_n_per_mm": 0.6}],
}
BEFORE = {
    "seals": False,
    "grade": "Leaks",
    "leaks": 3,
    "margin": 0.0,
    "largest_gap_mm": 0.96,
    "flash_thickness_mm": 0.9,
    "largest_shift_mm": 0.3,
}
AFTER = BEFORE | {
    "seals": True,
    "grade": "Clean",
    "leaks": 0,
    "margin": 2.34,
    "largest_gap_mm": 0.02,
    "flash_thickness_mm": 0.0,
}


def figures(given, solved=True, **more) -> Figures:
    return Figures(solved, dict(NO_FIGURES.values) | given | more)


def change(kind="bands", before=None, after=None, harms=(), **more) -> Change:
    cost = RubberCost("this block", 1000.0, 1100.0, None)
    given = Change(
        kind, kind, squeeze.mold_of(MOLD), figures(before or BEFORE), figures(after or AFTER),
        15.0, 15.0, cost, cost, 0.0, 0.0, harms,
    )  # fmt: skip
    return replace(given, **more)


def test_a_change_is_told_by_what_is_other_after_it():
    """The castings are off as before, and the block takes as much rubber."""
    assert say_figures(change()) == (
        "seals instead of 3 leaks; weakest barrier 2.3 instead of 0.0 times the resin's pressure;"
        " widest gap 0.02 instead of 0.96 mm; flash 0 instead of 0.90 mm"
    )


def test_wall_and_rubber_are_told_where_they_change():
    less = RubberCost("this block", 900.0, 990.4, None)
    text = say_figures(change(wall_mm=12.0, rubber=less, clean_in=11, varied=12))
    assert (
        "; least wall 12 instead of 15 mm; rubber 990 instead of 1100 g; clean in 11 of 12" in text
    )
    assert "least wall" not in say_figures(change(wall_mm=None))
    assert "least wall" not in say_figures(change(wall_before_mm=None))
    assert "least wall 0.472 instead of 0.591 in" in say_figures(change(wall_mm=12.0), True)


def test_where_there_was_no_answer_the_figures_after_stand_alone():
    text = say_figures(replace(change(), before=NO_FIGURES))
    assert text.startswith("seals; as it is, there is no answer; weakest barrier 2.3 times the")
    assert "widest gap 0.02 mm" in text
    assert "castings off by 0.30 mm" in text
    assert "instead" not in text


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        (BEFORE, AFTER, "seals instead of 3 leaks"),
        (AFTER, AFTER, "still seals"),
        (BEFORE, BEFORE | {"leaks": 1}, "1 leak instead of 3 leaks"),
        (BEFORE, BEFORE, "still 3 leaks"),
        (AFTER, BEFORE, "3 leaks instead of sealing"),
        (AFTER | {"leaks": 1}, AFTER, "still seals"),
    ],
)
def test_sealing_is_told_first(before, after, said):
    assert say_figures(change(before=before, after=after)).split("; ")[0] == said


def test_harms_are_told_with_lengths_where_they_have_one():
    harms = (Harm("'rod' is off by", 0.3, 0.6), Harm("the land a to b leaks"))
    said = say_harms(change(harms=harms))
    assert said == "Worse: 'rod' is off by 0.60 instead of 0.30 mm; the land a to b leaks."
    half = (Harm("grows", None, 0.6), Harm("shrinks", 0.3, None))
    assert say_harms(change(harms=half)) == "Worse: grows; shrinks."
    assert "0.024 instead of 0.012 in" in say_harms(change(harms=harms), inches=True)


# which comes first


def test_of_changes_that_do_the_work_comes_before_the_margin():
    """Bands lie on a block that is there; an outline asks for another box."""
    made = [change(kind) for kind in EFFORT if kind != "fewer bands"]
    assert ranked(made[::-1]) == made
    tight, ample = change("cut"), change("cut", after=AFTER | {"margin": 5.0})
    assert ranked([tight, ample]) == [ample, tight]
    assert ranked([ample, change("bands")])[0].kind == "bands"


def test_where_none_reaches_the_aim_those_that_improve_stay_and_leak_least_first():
    one, two = (change("cut", after=BEFORE | {"leaks": n, "margin": 0.5}) for n in (1, 2))
    same = change("bands", after=BEFORE)
    assert ranked([two, same, one]) == [one, two]
    seals = change("outline")
    assert ranked([one, seals, two]) == [seals]
    lost = change("bands", after=NO_FIGURES.values)
    assert ranked([replace(lost, after=NO_FIGURES)]) == []


def test_flash_that_is_left_comes_after_none():
    flashes = change("bands", after=AFTER | {"flash_thickness_mm": 0.2, "grade": "Flash"})
    assert ranked([flashes, change("outline")])[0].kind == "outline"


# trials


class Says:
    def __init__(self) -> None:
        self.said: list[str] = []

    def __call__(self, words: str, *_: float) -> None:
        self.said.append(words)


def test_a_bench_starts_with_nothing_tried():
    bench = Trials()
    assert (bench.tried, bench.refused, bench.left_out, bench.meshed) == (0, 0, 0, 0)
    assert (bench.usual, bench.fineness, bench.coarsened) == (1.0, None, None)
    assert not bench.large.ran_out


def test_what_cannot_be_drawn_is_refused_and_what_leaves_too_little_wall_is_not_closed():
    says = Says()
    bench = Trials(says)

    def wrong():
        return squeeze.mold_of(MOLD | {"cavity": [MOLD["cavity"][0] | {"width_mm": 200}]})

    assert bench.try_out(wrong, "too wide") is None
    assert (bench.tried, bench.refused, bench.left_out) == (0, 1, 0)
    assert bench.try_out(lambda: squeeze.mold_of(MOLD), "thin", least_wall_mm=30.1) is None
    assert (bench.tried, bench.refused, bench.meshed) == (0, 1, 0)
    bench.usual = 0.3
    found = bench.try_out(lambda: squeeze.mold_of(MOLD), "kept", least_wall_mm=30.0)
    assert found is not None
    assert found.wall_mm == pytest.approx(30.0, abs=1e-3)
    assert (found.clean_in, found.varied, found.is_clean_throughout) == (0, 0, False)
    assert (bench.tried, bench.refused) == (1, 1)
    assert bench.meshed > 0
    assert says.said == ["kept"]
    bench.most_meshed = bench.meshed - 1
    assert bench.try_out(lambda: squeeze.mold_of(MOLD), "more") is None
    assert bench.left_out == 1
    bench.most_meshed = bench.meshed
    assert bench.try_out(lambda: squeeze.mold_of(MOLD), "more") is not None


def test_a_block_is_clean_throughout_where_it_was_varied_and_every_variation_is():
    given = Trial(squeeze.mold_of(MOLD), None, figures(AFTER), 15.0)
    assert not given.is_clean_throughout
    assert replace(given, clean_in=12, varied=12).is_clean_throughout
    assert not replace(given, clean_in=11, varied=12).is_clean_throughout


def test_what_is_wanted_of_a_change_hangs_on_whether_it_seals():
    leaks, seals = (SimpleNamespace(figures=figures(each)) for each in (BEFORE, AFTER))
    flashes = SimpleNamespace(figures=figures(AFTER, flash_thickness_mm=0.3))
    assert wanted(leaks) == "makes every land seal"
    assert wanted(seals) == "seals without flash"
    assert reaches_aim(leaks, flashes)
    assert not reaches_aim(flashes, flashes)
    assert reaches_aim(flashes, seals)
    assert not reaches_aim(leaks, None)


def test_a_coarse_block_has_edges_twice_as_long_or_is_the_block_itself():
    asked = []

    def remeshed(fineness):
        asked.append(fineness)
        if fineness < 0.4:
            raise BadInput([])
        return "coarse"

    block = SimpleNamespace(fineness=1.0, remeshed=remeshed)
    assert coarse_block(block) == "coarse"
    assert asked == [0.5]
    block.fineness = 0.7
    assert coarse_block(block) is block
    block.fineness = 1e-9
    coarse_block(block)
    assert asked[-1] == squeeze.solve.load_case.LEAST_FINENESS


def test_a_large_block_takes_a_quarter_of_the_work():
    small = SimpleNamespace(mesh=SimpleNamespace(points=SimpleNamespace(size=12_000)))
    bench = Trials()
    most_meshed, most = bench.most_meshed, bench.large.most
    assert bench.coarse_enough(small) is small
    assert (bench.fineness, bench.most_meshed, bench.large.most) == (None, most_meshed, most)
    coarse = SimpleNamespace(fineness=0.5)
    large = SimpleNamespace(
        mesh=SimpleNamespace(points=SimpleNamespace(size=12_001)), fineness=1.0,
        remeshed=lambda fineness: coarse,
    )  # fmt: skip
    assert bench.coarse_enough(large) is coarse
    assert bench.coarsened == (large, coarse)
    assert bench.fineness == 0.5
    assert (bench.most_meshed, bench.large.most) == (most_meshed / 4, most / 4)


# rubber


def test_rubber_weighs_and_costs_what_the_section_says():
    """100 x 100 less 20 x 20 mm, 100 mm long: 960 cm3."""
    cost = rubber_of(squeeze.mold_of(MOLD))
    assert cost.volume_cm3 == pytest.approx(960)
    assert cost.mass_g == pytest.approx(1056)
    assert cost.price == pytest.approx(31.68)
    assert cost.what == "this block"
    free = {"shore_a": 20, "density_g_cm3": 1.1}
    assert rubber_of(squeeze.mold_of(MOLD | {"rubber": free})).price is None


def test_the_wall_is_the_least_distance_from_any_cavity_to_the_outside():
    """From x = 20 to 50; a corner of the other lies 14 mm from the top."""
    section = squeeze.mold.section_of(squeeze.mold_of(MOLD))
    assert wall_mm(section) == pytest.approx(30, abs=1e-3)
    two = [*MOLD["cavity"], {"name": "b", "shape": "square", "width_mm": 8, "centre_mm": [-20, 32]}]
    both = squeeze.mold.section_of(squeeze.mold_of(MOLD | {"cavity": two}))
    assert wall_mm(both) == pytest.approx(14, abs=1e-3)
    none = squeeze.mold.section_of(squeeze.mold_of(MOLD | {"cavity": []}))
    assert wall_mm(none) is None


def test_a_round_block_with_the_same_wall_is_weighed_beside():
    """A circle about a square of 20 mm, and 30 mm round it: 88.3, so 89 mm."""
    mold = squeeze.mold_of(MOLD)
    this, round_ = costs(mold)
    assert round_.what == "a round one of 89 mm with the same least wall"
    assert round_.volume_cm3 == pytest.approx((3.14159265 / 4 * 89**2 - 400) / 10, rel=1e-4)
    beveled = squeeze.mold_of(MOLD | {"block": MOLD["block"] | {"bevel_mm": 20}})
    said = [each.what for each in costs(mold, beveled)]
    assert said == ["this block", "with bevels of 20 mm it", round_.what]
    assert costs(mold, beveled)[1].volume_cm3 == pytest.approx(this.volume_cm3 - 2 * 20 * 20 / 10)


@pytest.mark.parametrize(
    "changed",
    [
        {"cavity": []},
        {"block": {"shape": "round", "diameter_mm": 120}},
        {"station": [{"at_mm": 20}, {"at_mm": 80}]},
    ],
)
def test_no_round_block_is_weighed_where_there_is_none_to_compare(changed):
    assert len(costs(squeeze.mold_of(MOLD | changed))) == 1
