"""The course of advice: what is tried on what, what is dropped, and what is said of the rest.

What a change gives is set by the tests here, so that nothing is solved.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from types import SimpleNamespace

import pytest

import squeeze
from squeeze.verdict.advice import advice as course
from squeeze.verdict.advice.advice import (
    COARSER,
    NOT_AGAIN,
    SHUT,
    SMALL_ALONE,
    STATIONS,
    UNPRESSED,
    Advice,
    advise,
    pressed,
)
from squeeze.verdict.figures import NO_FIGURES, Figures

MOLD = {
    "length_mm": 100,
    "rubber": {"shore_a": 20},
    "block": {"shape": "square", "width_mm": 100, "bevel_mm": 5},
    "cavity": [{"name": "rod", "shape": "round", "diameter_mm": 20}],
    "cut": [
        {"name": "a", "path_mm": [[-50, 0], [50, 0]]},
        {"name": "b", "path_mm": [[0, 0], [0, 50]]},
    ],
    "band": [{"tension_n_per_mm": 0.6}],
}
ROUND = {"shape": "round", "diameter_mm": 80}


def mold_of(**changed) -> squeeze.Mold:
    return squeeze.mold_of(MOLD | changed)


def figures(seals: bool = False, solved: bool = True, **values) -> Figures:
    given = {"seals": seals, "grade": "Clean" if seals else "Leaks", "leaks": 0 if seals else 1}
    return Figures(solved, dict(NO_FIGURES.values) | given | values)


def trial(mold=None, seals: bool = False, wall_mm=15.0, confirmed=True, **values):
    lands = (SimpleNamespace(cut="a"), SimpleNamespace(cut="a"), SimpleNamespace(cut="b"))
    deformation = SimpleNamespace(is_confirmed=confirmed)
    return SimpleNamespace(
        mold=mold or mold_of(),
        closing=SimpleNamespace(lands=lands, deformation=deformation),
        figures=figures(seals, **values),
        wall_mm=wall_mm,
        clean_in=0,
        is_clean_throughout=False,
    )


def change(kind: str, say: str = "", mold=None, harms=()):
    return SimpleNamespace(kind=kind, say=say or kind, mold=mold or mold_of(), harms=harms)


@dataclass
class Bench:
    """Trials that close nothing; the tests set what they give."""

    tried: int = 1
    refused: int = 2
    left_out: int = 0
    fineness: float | None = None
    blocks: tuple = ("fine", "fine")
    large: SimpleNamespace = field(default_factory=lambda: SimpleNamespace(ran_out=False))
    now: SimpleNamespace = field(default_factory=trial)
    asked: list = field(default_factory=list)

    def block(self, mold, words):
        return self.blocks[0]

    def coarse_enough(self, block):
        return self.blocks[1]

    def close(self, block, mold, deformation="small", **how):
        self.asked.append((block, deformation, how))
        return replace_of(self.now, mold=mold)

    def again(self, mold, words, vary=False):
        self.asked.append((mold, words, vary))
        return trial(mold, seals=True)


def replace_of(each, **changed):
    return SimpleNamespace(**vars(each) | changed)


@pytest.mark.parametrize(
    ("wall_mm", "asked", "kept"),
    [(25.0, None, 10.0), (7.0, None, 7.0), (None, None, 10.0), (7.0, 12.0, 12.0), (25.0, 3.0, 3.0)],
)
def test_the_wall_that_is_kept_is_10_mm_or_the_present_one_or_what_was_asked(wall_mm, asked, kept):
    assert course._least_wall(trial(wall_mm=wall_mm), asked) == kept


def test_bands_or_pushes_press_and_no_band_does_not():
    assert pressed(mold_of())
    assert not pressed(mold_of(band=[]))
    assert pressed(mold_of(band=[], push=[{"pressure_kpa": 5}]))


@pytest.fixture
def bench(monkeypatch):
    """Let advice be worked out on a bench that closes nothing; two of three lands leak."""
    made = Bench()
    seal = SimpleNamespace(unreached=(), locked=(), leaky=(True, True, False))
    monkeypatch.setattr(course, "Trials", lambda *_, **__: made)
    monkeypatch.setattr(course, "seal_of", lambda closing: seal)
    monkeypatch.setattr(course, "usual_fineness", lambda section: 1.0)
    monkeypatch.setattr(course, "ranked", list)
    monkeypatch.setattr(
        course, "change_of", lambda kind, say, now, then: change(kind, say, then.mold)
    )
    made.seal = seal
    return made


def kinds(monkeypatch, **given):
    """Set what each kind of change gives: changes and sentences, or a function."""
    seen = {}

    def of(name):
        def advised(*asked):
            seen[name] = asked
            found = given.get(name, ([], []))
            return found() if callable(found) else found

        return advised

    for name in ("bands", "cradle", "cut", "bevel", "outline"):
        monkeypatch.setattr(course, f"advise_{name}", of(name))
    return seen


def test_cuts_along_which_it_leaks_are_moved_and_without_an_answer_all(bench, monkeypatch):
    seen = kinds(monkeypatch)
    advise(mold_of())
    assert seen["cut"][1] == ["a"]
    bench.now = trial(solved=False)
    advise(mold_of())
    assert seen["cut"][1] == ["a", "b"]


def test_bevels_and_outlines_keep_the_wall(bench, monkeypatch):
    seen = kinds(monkeypatch)
    bench.now = trial(wall_mm=8.0)
    assert advise(mold_of()).least_wall_mm == 8.0
    assert seen["bevel"][-1] == seen["outline"][-1] == 8.0


def test_the_counts_of_the_bench_are_told(bench, monkeypatch):
    kinds(monkeypatch)
    bench.tried, bench.refused, bench.left_out = 7, 3, 4
    found = advise(mold_of())
    assert (found.tried, found.refused, found.left_out) == (7, 3, 4)
    assert found.before is not None
    loose = advise(mold_of(band=[]))
    assert (loose.say, loose.tried, loose.refused) == ((UNPRESSED,), 7, 3)


@pytest.mark.parametrize("shut", ["unreached", "locked"])
def test_of_a_block_that_no_cut_opens_nothing_else_is_tried(bench, monkeypatch, shut):
    seen = kinds(monkeypatch)
    setattr(bench.seal, shut, ("rod",))
    found = advise(mold_of())
    assert found.say == (SHUT,)
    assert found.changes == ()
    assert seen == {}


def test_a_large_block_is_closed_on_its_coarser_mesh_first(bench, monkeypatch):
    """Changes are compared on one mesh; what is confirmed is compared on that mesh, too."""
    seen = kinds(monkeypatch)
    advise(mold_of())
    assert [each[0] for each in bench.asked] == ["fine", "fine"]
    bench.asked.clear()
    bench.blocks = "fine", "coarse"
    advise(mold_of())
    assert [each[0] for each in bench.asked] == ["fine", "coarse", "fine"]
    assert seen["bands"][0] == "coarse"
    assert bench.asked[-1][1] == "auto"


def test_no_more_than_six_changes_are_advised(bench, monkeypatch):
    many = [change("bands", f"no {k}") for k in range(9)]
    kinds(monkeypatch, bands=(many, []))
    assert [each.say for each in advise(mold_of()).changes] == [f"no {k}" for k in range(6)]
    assert bench.asked[1][2] == {"and_again": True}


def test_where_nothing_helps_the_block_is_not_spared_for_a_change(bench, monkeypatch):
    kinds(monkeypatch)
    advise(mold_of())
    assert bench.asked[1][2] == {"and_again": False}


def test_of_stations_only_the_first_section_was_tried(bench, monkeypatch):
    kinds(monkeypatch)
    assert STATIONS not in advise(mold_of()).say
    several = mold_of(station=[{"at_mm": 20}, {"at_mm": 80}])
    assert advise(several).say[-1] == STATIONS


def test_rubber_is_told_of_the_bevel_and_of_the_round_block_that_are_advised(bench, monkeypatch):
    said = []
    monkeypatch.setattr(course, "costs", lambda *given: said.append(given) or ())
    monkeypatch.setattr(course, "_clean_round", lambda mold, trials: None)
    bevel = change("bevel", mold=mold_of(block=MOLD["block"] | {"bevel_mm": 20}))
    round_ = change("outline", mold=mold_of(block=ROUND))
    kinds(monkeypatch, bevel=([bevel], []), outline=([round_], []))
    monkeypatch.setattr(
        course, "_confirmed", lambda block, now, found, trials: (now, tuple(found), [])
    )
    square, rounded = mold_of(), mold_of(block=ROUND)
    advise(square)
    assert said[-1] == (square, bevel.mold, round_.mold)
    advise(rounded)
    assert said[-1] == (rounded, bevel.mold, None)
    kinds(monkeypatch, bands=([change("bands")], []))
    advise(square)
    assert said[-1] == (square, None, None)


def all_kinds(bench):
    return course._tried("block", trial(), ["a"], bench, 10.0)


def test_only_kinds_that_were_tried_to_the_end_say_that_nothing_helps(bench, monkeypatch):
    def short():
        bench.left_out += 2
        return [change("bevel")], ["No bevel."]

    kinds(monkeypatch, bevel=short, cradle=([], ["No cradle."]), outline=([], ["No outline."]))
    found, said = all_kinds(bench)
    assert [each.kind for each in found] == ["bevel"]
    assert said[:2] == ["No cradle.", "No outline."]
    assert said[2] == "Not tried, because this block takes long to compute: more bevels."
    assert len(said) == 3


@pytest.mark.parametrize(
    ("fineness", "tried", "is_told"), [(0.5, 2, True), (0.5, 1, False), (None, 2, False)]
)
def test_a_coarser_mesh_is_told_where_something_was_tried_on_it(
    bench, monkeypatch, fineness, tried, is_told
):
    kinds(monkeypatch)
    bench.fineness, bench.tried = fineness, tried
    assert (COARSER in all_kinds(bench)[1]) == is_told


def carried(bench, monkeypatch, cuts, better=True):
    """Return the changes that carry short cuts on, and the mold that was tried."""
    made = []

    def try_out(make, words):
        made.append(make())
        return trial(made[-1], seals=True)

    bench.try_out = try_out
    monkeypatch.setattr(
        course,
        "change_of",
        lambda kind, say, now, then: SimpleNamespace(kind=kind, say=say, better=better),
    )
    return course._carried_on(trial(mold_of(cut=cuts)), bench), made


@pytest.mark.parametrize(
    ("path", "whole"),
    [
        ([[-50, 0], [30, 0]], [(-50, 0), (50, 0)]),
        ([[-30, 0], [50, 0]], [(-50, 0), (50, 0)]),
        ([[-30, 0], [30, 0]], [(-50, 0), (50, 0)]),
    ],
)
def test_an_end_that_stops_in_rubber_is_carried_on_and_no_other(bench, monkeypatch, path, whole):
    other = {"name": "b", "path_mm": [[0, 0], [0, 50]]}
    (found,), (mold,) = carried(bench, monkeypatch, [other, {"name": "a", "path_mm": path}])
    assert (found.kind, found.say) == ("cut", "Carry 'a' on to the outside")
    assert mold.cut[1].path_mm == tuple(whole)
    assert mold.cut[0].path_mm == ((0, 0), (0, 50))


def test_several_short_cuts_are_carried_on_together_and_only_if_that_helps(bench, monkeypatch):
    cuts = [
        {"name": "a", "path_mm": [[-30, 0], [30, 0]]},
        {"name": "b", "path_mm": [[0, 0], [0, 30]]},
    ]
    (found,), _ = carried(bench, monkeypatch, cuts)
    assert found.say == "Carry 'a' and 'b' on to the outside"
    assert carried(bench, monkeypatch, cuts, better=False)[0] == ()
    whole = [{"name": "a", "path_mm": [[-50, 0], [50, 0]]}]
    assert carried(bench, monkeypatch, whole) == ((), [])


def confirmed(bench, *found):
    return course._confirmed("block", trial(), list(found), bench)


def test_what_is_advised_is_closed_again_and_dropped_where_it_cannot_be_had(bench):
    bench.again = lambda mold, words, vary=False: None if words == "b" else trial(mold)
    before, kept, doubts = confirmed(bench, change("bands", "a"), change("bevel", "b"))
    assert [each.say for each in kept] == ["a"]
    assert doubts == []
    assert before.mold == mold_of()


def test_what_runs_out_of_work_on_the_way_is_named_apart(bench):
    """The first was closed at large deformation; with the second the work ran out."""

    def again(mold, words, vary=False):
        bench.large.ran_out = words == "b"
        return trial(mold, confirmed=words == "a")

    bench.again = again
    _, kept, doubts = confirmed(bench, *(change("bands", each) for each in "abc"))
    assert [each.say for each in kept] == ["a"]
    assert doubts == [NOT_AGAIN.format(what="b; c")]


def test_where_the_last_one_stands_at_small_deformation_it_is_kept(bench):
    def again(mold, words, vary=False):
        bench.large.ran_out = True
        return trial(mold, confirmed=True)

    bench.again = again
    _, kept, doubts = confirmed(bench, change("bands", "a"))
    assert [each.say for each in kept] == ["a"]
    assert doubts == []


def test_where_the_mold_itself_took_all_work_everything_is_small(bench):
    bench.large.ran_out = True
    bench.again = lambda mold, words, vary=False: trial(mold, confirmed=False)
    _, kept, doubts = confirmed(bench, change("bands", "a"), change("bevel", "b"))
    assert [each.say for each in kept] == ["a", "b"]
    assert doubts == [SMALL_ALONE]
    assert confirmed(bench)[2] == []


def test_a_round_block_is_told_with_the_width_that_it_was_closed_with(bench, monkeypatch):
    wider = mold_of(block=ROUND | {"diameter_mm": 85})
    monkeypatch.setattr(course, "_clean_round", lambda mold, trials: trial(wider, seals=True))
    found = change("outline", "Pour a round block of 80 mm instead", mold_of(block=ROUND))
    oval = mold_of(block={"shape": "oval", "width_mm": 90, "height_mm": 80})
    _, kept, _ = confirmed(bench, found, change("outline", "oval", oval))
    assert [each.say for each in kept] == ["Pour a round block of 85 mm instead", "oval"]
    monkeypatch.setattr(course, "_clean_round", lambda mold, trials: None)
    assert confirmed(bench, found)[1] == ()


@pytest.mark.parametrize(
    ("clean", "taken", "closed"),
    [
        ((12, 12, 12, 12), 80, 1),
        ((8, 9, 12, 12), 85, 3),
        ((8, 10, 9, 10), 82, 4),
        ((8, 8, 8, 8), 80, 4),
        ((None, 3, None, 2), 82, 4),
        ((None, None, None, None), None, 4),
    ],
)
def test_the_first_round_block_that_is_clean_throughout_is_taken_or_the_cleanest(
    bench, clean, taken, closed
):
    """The one that was found, 80 mm, then 2, 5 and 10 mm wider."""
    by_width = dict(zip((80, 82, 85, 90), clean, strict=True))
    asked = []

    def again(mold, words, vary=False):
        assert vary
        width = mold.block.diameter_mm
        asked.append(width)
        assert words == f"Pour a round block of {width:g} mm instead"
        count = by_width[width]
        if count is None:
            return None
        return replace_of(trial(mold), clean_in=count, is_clean_throughout=count == 12)

    bench.again = again
    found = course._clean_round(mold_of(block=ROUND), bench)
    assert (found.mold.block.diameter_mm if found else None) == taken
    assert len(asked) == closed


def test_no_wider_round_block_is_closed_once_the_work_has_run_out(bench):
    asked = []

    def again(mold, words, vary=False):
        asked.append(words)
        bench.large.ran_out = True
        return replace_of(trial(mold), clean_in=3)

    bench.again = again
    found = course._clean_round(mold_of(block=ROUND), bench)
    assert found.mold.block.diameter_mm == 80
    assert len(asked) == 1


def test_advice_without_changes_is_not_at_a_price():
    harm = (SimpleNamespace(words="worse"),)
    whole = Advice(figures(), (change("bands", harms=harm),), (), (), 10.0, 1, 0)
    assert whole.at_a_price
    assert not replace(whole, changes=()).at_a_price
    assert not replace(whole, changes=(*whole.changes, change("bevel"))).at_a_price
    assert whole.left_out == 0
    assert repr(whole) == "Advice: 1 changes, 1 molds tried\n  1. bands"
