"""The course of one trial: which meshes are closed, from where, and what is varied."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import pytest

import squeeze
from squeeze.mold.forces.loads import Loads
from squeeze.verdict.advice import trial as trial_module
from squeeze.verdict.advice.trial import Trials
from squeeze.verdict.figures import Figures
from squeeze.verdict.figures.values import NO_FIGURES

MOLD = squeeze.mold_of(
    {
        "length_mm": 100,
        "rubber": {"shore_a": 20},
        "block": {"shape": "square", "width_mm": 100},
        "band": [{"tension_n_per_mm": 0.5}],
    }
)


def figures(grade="Clean") -> Figures:
    return Figures(True, dict(NO_FIGURES.values) | {"grade": grade, "seals": grade == "Clean"})


class Work:
    """An allowance that notes what is closed, and says whether the rest of it will do."""

    def __init__(self, closing, suffices=True) -> None:
        self.closing, self.enough, self.ran_out = closing, suffices, False
        self.asked: list[tuple] = []
        self.needed: list[int] = []

    def close(self, block, loads, deformation="small", start=None):
        self.asked.append((block.name, loads, deformation, start))
        return replace(self.closing, title=f"on {block.name}")

    def suffices(self, coarse, unknowns):
        self.needed.append(unknowns)
        return self.enough


def block_of(name, unknowns=1000, fineness=1.0, coarse=None):
    block = SimpleNamespace(
        name=name, section=None, fineness=fineness,
        mesh=SimpleNamespace(points=SimpleNamespace(size=unknowns)),
    )  # fmt: skip

    def remeshed(fineness):
        assert fineness == block.fineness / 2
        return coarse or block_of(f"coarse {name}", fineness=fineness)

    block.remeshed = remeshed
    return block


@pytest.fixture
def bench(closed, monkeypatch):
    """Return a bench whose work is counted, and the grade that all closings have."""
    loads = Loads(tension_n_per_mm=0.5, cavity_mpa=0.002)
    made = Trials()
    made.grade, made.varied = "Clean", []
    monkeypatch.setattr(trial_module, "loads_of", lambda mold, section: loads)
    monkeypatch.setattr(trial_module, "figures_of", lambda closing, mold: figures(made.grade))
    monkeypatch.setattr(trial_module, "wall_mm", lambda section: 15.0)
    monkeypatch.setattr(
        trial_module, "errors_of",
        lambda fine, coarse, fineness, coarser: (fine.title, coarse.title, fineness, coarser),
    )  # fmt: skip
    made.large = Work(closed)
    return made


def test_a_trial_closes_once_at_small_deformation(bench):
    found = bench.close(block_of("b"), MOLD)
    ((name, loads, deformation, start),) = bench.large.asked
    assert (name, deformation, start) == ("b", "small", None)
    assert (loads.tension_n_per_mm, loads.cavity_mpa) == (0.5, 0.002)
    assert found.closing.errors is None
    assert (bench.tried, found.wall_mm, found.mold) == (1, 15.0, MOLD)


def test_slack_bands_pull_less_and_the_resin_stays(bench):
    bench.close(block_of("b"), MOLD, pull=0.8)
    loads = bench.large.asked[0][1]
    assert (loads.tension_n_per_mm, loads.cavity_mpa) == (pytest.approx(0.4), 0.002)


def test_large_deformation_begins_where_a_coarser_mesh_has_ended(bench):
    """Both together say how far the answer is off."""
    found = bench.close(block_of("b"), MOLD, "auto")
    assert [(name, how) for name, _, how, _ in bench.large.asked] == [
        ("coarse b", "auto"), ("b", "auto"),
    ]  # fmt: skip
    assert [start and start.title for *_, start in bench.large.asked] == [None, "on coarse b"]
    assert found.closing.errors == ("on b", "on coarse b", 1.0, 0.5)
    assert bench.large.needed == [1000]
    assert not bench.large.ran_out
    bench.close(block_of("b"), MOLD, "auto", and_again=True)
    assert bench.large.needed[-1] == 2000


def test_where_the_rest_of_the_work_will_not_do_small_deformation_has_to(bench, closed):
    bench.large = Work(closed, suffices=False)
    found = bench.close(block_of("b"), MOLD, "auto")
    assert [(name, how, start) for name, _, how, start in bench.large.asked] == [
        ("coarse b", "auto", None), ("b", "small", None),
    ]  # fmt: skip
    assert bench.large.ran_out
    assert found.closing.errors is None


def test_a_coarse_mesh_that_is_there_is_not_made_again(bench):
    block = block_of("b")
    bench.coarsened = block, block_of("kept", fineness=0.4)
    found = bench.close(block, MOLD, "auto")
    assert [name for name, *_ in bench.large.asked] == ["kept", "b"]
    assert found.closing.errors[3] == 0.4
    bench.large.asked.clear()
    bench.close(block_of("other"), MOLD, "auto")
    assert [name for name, *_ in bench.large.asked] == ["coarse other", "other"]


def test_a_block_without_a_coarser_mesh_begins_from_nothing(bench):
    block = block_of("b")
    block.remeshed = lambda fineness: block
    found = bench.close(block, MOLD, "auto")
    assert [name for name, *_ in bench.large.asked] == ["b"]
    assert found.closing.errors is None


def test_a_closing_to_begin_from_saves_the_coarser_mesh(bench, closed):
    work = Work(closed)
    found = bench.close(block_of("b"), MOLD, "large", start=closed, within=work)
    ((name, _, how, start),) = work.asked
    assert (name, how) == ("b", "large")
    assert start is closed
    assert found.closing.errors is None
    assert bench.large.asked == []


@pytest.fixture
def varied(bench, monkeypatch):
    """Return a function that varies a trial: how many variations are of which grade."""

    def vary(*grades, left_out=0, says=True, deformation="small"):
        asked = []

        def uncertainty(block, closing, coarse, allowance):
            asked.append((block.name, coarse, allowance))
            variations = [SimpleNamespace(figures=figures(grade)) for grade in grades]
            return SimpleNamespace(variations=variations, left_out=left_out)

        monkeypatch.setattr(trial_module, "uncertainty", uncertainty)
        monkeypatch.setattr(trial_module, "varies", lambda closing: says)
        return bench.close(block_of("b"), MOLD, deformation, vary=True), asked

    return vary


def test_variations_are_counted_that_have_nothing_to_mend(varied, bench):
    found, asked = varied("Clean", "Fine line", "Flash", "Leaks")
    assert (found.clean_in, found.varied) == (2, 4)
    assert not found.is_clean_throughout
    assert asked == [("b", None, bench.large)]
    assert varied("Clean", "Fine line")[0].is_clean_throughout


def test_variations_begin_from_the_coarser_mesh_where_there_is_one(varied):
    _, ((_, coarse, _),) = varied("Clean", deformation="auto")
    assert (coarse[0].name, coarse[1].title) == ("coarse b", "on coarse b")


@pytest.mark.parametrize(
    ("grade", "says", "left_out"), [("Leaks", True, 0), ("Clean", False, 0), ("Clean", True, 1)]
)
def test_what_has_to_be_mended_or_cannot_be_varied_counts_as_not_varied(
    varied, bench, grade, says, left_out
):
    bench.grade = grade
    found, asked = varied("Clean", "Clean", says=says, left_out=left_out)
    assert (found.clean_in, found.varied) == (0, 0)
    assert bool(asked) is (left_out > 0)


def test_what_is_closed_again_is_at_large_deformation_while_the_work_lasts(bench, monkeypatch):
    monkeypatch.setattr(bench, "block", lambda mold, words: block_of(words))
    bench.again(MOLD, "Bevel it")
    assert bench.large.asked[-1][:1] == ("once more: Bevel it",)
    assert bench.large.asked[-1][2] == "auto"
    bench.large.ran_out = True
    bench.again(MOLD, "Bevel it")
    assert bench.large.asked[-1][2] == "small"
    monkeypatch.setattr(bench, "block", lambda mold, words: None)
    assert bench.again(MOLD, "Bevel it") is None
