"""What a person sees at the prompt: short texts, one callback for progress, types for checkers."""

from __future__ import annotations

from importlib.resources import files

import pytest

import squeeze
from squeeze.design.answer import DesignAnswer, Refusal
from squeeze.study.cradles.comparison import CradleComparison, CradleRow

MOLD = """
title = "Two rods"
length_mm = 60

[rubber]
shore_a = 20

[block]
shape = "square"
width_mm = 60

[[cavity]]
name = "rod"
shape = "round"
diameter_mm = 12

[[cut]]
name = "across"
path_mm = [[-30, 0], [30, 0]]

[[band]]
tension_n_per_mm = 0.6
"""


@pytest.fixture(scope="module")
def block():
    return squeeze.Block(squeeze.parse(MOLD), fineness=0.5)


@pytest.fixture(scope="module")
def closing(block):
    return block.close()


def test_a_closing_is_told_in_a_line_a_land(closing):
    lines = repr(closing).splitlines()
    assert lines[0].startswith("Closing: converged, ")
    assert len(lines) == 1 + len(closing.lands)
    assert all("'across' land" in line and "% closed" in line for line in lines[1:])


def test_records_are_short(block, closing):
    every = [block.mold, block, closing, block.press(), *closing.lands, squeeze.judge(closing)]
    every += [closing.field, closing.wrap, closing.trust, closing.deformation, *closing.cavities]
    assert {type(each).__name__: n for each in every if (n := len(repr(each))) > 800} == {}


def test_answers_of_every_door_are_short(block, closing):
    """What `advise`, `uncertainty` and the others return is read at the prompt, too."""
    mold = block.mold
    row = CradleRow("saddle", 0.6, None, None, "it does not fit", {})
    answers = [
        squeeze.advise(mold),
        squeeze.uncertainty(block, closing),
        squeeze.plan_bands(mold, stock=True, fineness=0.5),
        CradleComparison((row,)),
        block.problem(),
        squeeze.LongBlock(mold, 4, 0.5).close(),
        DesignAnswer("", (), None, 7, 0, (), refusal=Refusal("pot", "It is too wide.", "")),
    ]
    shown = {type(each).__name__: repr(each) for each in answers}
    assert {name: len(text) for name, text in shown.items() if len(text) > 4000} == {}
    assert shown["Advice"].startswith("Advice: ")
    assert shown["Uncertainty"].startswith("Uncertainty: 12 variations; it seals in ")
    assert shown["BandPlan"].startswith("BandPlan: ")
    assert shown["CradleComparison"].endswith("\n  saddle, 0.6 N/mm: it does not fit")
    assert shown["DesignAnswer"] == "DesignAnswer: It is too wide."


def test_a_mold_without_a_title_is_a_section_at_the_prompt(block):
    untitled = squeeze.Block(block.mold.model_copy(update={"title": ""}), fineness=0.35)
    assert repr(untitled).startswith("Block: a section, ")


def test_a_mold_shows_what_was_given_and_no_defaults(block):
    shown = repr(block.mold)
    assert "shore_a=20.0" in shown
    assert "poisson" not in shown
    assert "None" not in shown


def test_progress_takes_words_and_the_share(block):
    heard = []
    block.close(deformation="large", progress=lambda what, share=None: heard.append((what, share)))
    assert {what for what, _ in heard} == {"as it deforms"}
    shares = [share for _, share in heard]
    assert shares == sorted(shares)
    assert shares[-1] == 1.0


def test_checkers_find_the_types():
    assert files("squeeze").joinpath("py.typed").is_file()
