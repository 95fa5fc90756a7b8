"""Leaks, flash, castings, variations, advice and rubber, in words and as JSON."""

from __future__ import annotations

import io
import json
from dataclasses import replace

import pytest
from rich.console import Console

import squeeze
from squeeze.show.export import as_text
from squeeze.show.text.verdict import (
    advice_lines,
    castings,
    cost_lines,
    decision_json,
    flash_line,
    seal_lines,
    variation_lines,
)
from squeeze.solve.outcome import Outcome
from squeeze.verdict import judge
from squeeze.verdict.advice.advice import Advice, advise
from squeeze.verdict.advice.rubber_cost import costs
from squeeze.verdict.figures import figures_of
from squeeze.verdict.uncertainty import uncertainty

MOLD = {
    "length_mm": 100,
    "rubber": {"youngs_modulus_mpa": 0.6, "price_per_kg": 30},
    "block": {"shape": "rectangle", "width_mm": 120, "height_mm": 50},
    "cavity": [{"shape": "round", "diameter_mm": 12, "centre_mm": [x, 0]} for x in (-24, 24)],
    "cut": [{"path_mm": [[-60, 0], [60, 0]]}],
    "band": [{"tension_n_per_mm": 0.6}],
}


@pytest.fixture(scope="module")
def flat():
    """Close a flat block that leaks between its cavities, and vary it."""
    mold = squeeze.mold_of(MOLD)
    block = squeeze.Block(mold)
    closing = block.close()
    return closing, judge(closing, mold=mold), uncertainty(block, closing)


@pytest.fixture(scope="module")
def advice():
    """Look for what would help it, on a coarse mesh: these tests are about the words."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("squeeze.verdict.advice.trial.Block", lambda m, _: squeeze.Block(m, 0.4))
        return advise(squeeze.mold_of(MOLD))


def test_leaks_are_told_with_their_lands(gaping, closed):
    (leak,) = seal_lines(gaping, judge(gaping))
    assert leak.startswith("Leak: resin gets from 'barrel 1' to 'barrel 2' along land 2")
    weakest, even = seal_lines(closed, judge(closed))
    assert "presses least evenly" in even
    assert weakest.startswith("The weakest barrier, between ")
    assert "times as hard as the resin" in weakest


def test_without_an_answer_nothing_is_told(made_up):
    closing = made_up(outcome=Outcome.STEP_LIMIT).closing()
    assert seal_lines(closing, judge(closing)) == []


def test_flash_is_told_with_the_thresholds_of_its_grades(gaping):
    (line,) = flash_line(judge(gaping).flash)
    assert line.startswith("Flash: heavy flash. It is 0.75 mm thick at most")
    for bound in ("clean under 0.01 mm", "fine line under 0.05 mm", "flash under 0.1 mm"):
        assert bound in line


def test_castings_are_one_row_each(gaping):
    screen = Console(file=io.StringIO(), width=100)
    screen.print(castings(judge(gaping)))
    lines = screen.file.getvalue().splitlines()
    assert max(map(len, lines)) <= 100
    assert sum("heavy flash" in line for line in lines) == 2


@pytest.mark.slow
def test_every_advice_stands_with_before_and_after(advice):
    lines = advice_lines(advice)
    assert lines[0].startswith("1. ")
    assert sum("seals instead of 1 leak" in line for line in lines) == len(advice.changes)


def test_variations_tell_bands(flat):
    *_, varied = flat
    first, second = variation_lines(varied)
    assert "12 variations" in first
    assert "as given" in second


def test_price_is_told_when_there_is_one():
    (line,) = cost_lines(costs(squeeze.mold_of(MOLD)))
    assert line.count("price") == 2
    bare = squeeze.mold_of(MOLD | {"rubber": {"shore_a": 20}})
    assert "price" not in cost_lines(costs(bare))[0]


@pytest.mark.slow
def test_json_holds_it_all_and_nothing_that_is_not_finite(flat, advice):
    closing, verdict, varied = flat
    text = as_text(closing, verdict, decision_json(verdict, varied, advice, advice.costs))
    data = json.loads(text)
    assert data["seal"]["leaks"][0]["lands"] == [1]
    assert data["flash"]["grade"] == "heavy flash"
    assert len(data["castings"]) == 2
    assert len(data["variations"]["variations"]) == 12
    assert {"low", "high", "given", "name"} == set(data["variations"]["ranges"][0])
    assert data["advice"]["changes"][0]["after"]["seals"] is True
    again = squeeze.mold_of(data["advice"]["changes"][0]["mold"])
    assert again == advice.changes[0].mold
    assert data["rubber"][0]["volume_cm3"] > 0


def test_inches_are_told_in_all_of_it(flat):
    closing, _, varied = flat
    verdict = judge(replace(closing), inches=True)
    lines = [
        *seal_lines(closing, verdict, True),
        *flash_line(verdict.flash, True),
        *variation_lines(varied, True),
    ]
    assert not any(" mm" in line for line in lines)


@pytest.mark.slow
def test_advice_is_told_in_inches(advice):
    assert any(" in;" in line for line in advice_lines(advice, True))


def test_what_is_told_already_is_not_told_again(flat):
    figures = figures_of(flat[0], squeeze.mold_of(MOLD))
    advice = Advice(figures, (), ("No luck.", "No more luck."), (), 10.0, 1, 0)
    assert {"No luck.", "No more luck."} <= set(advice_lines(advice))
    assert "No luck." not in advice_lines(advice, printed=("No luck.",))
