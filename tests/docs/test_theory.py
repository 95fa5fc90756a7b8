"""The page on theory names modules that are there, and bounds that the code has."""

from __future__ import annotations

import importlib
import re
from pathlib import Path

import pytest

from squeeze.solve.accuracy import errors, fine_spots, meshes, refined
from squeeze.solve.contact import holding, problem, springs
from squeeze.solve.large import change, equilibrium, newton
from squeeze.solve.large.loads import band

TOP = Path(__file__).parents[2]
PAGE = (TOP / "docs" / "theory.md").read_text(encoding="utf-8")
SECTIONS = re.split(r"^#+ ", PAGE, flags=re.MULTILINE)[1:]
MODULES = sorted(set(re.findall(r"`((?!tests/)[\w/]+\.py)`", PAGE)))
NAMED = sorted(set(re.findall(r"`(\w+)` in `([\w/]+\.py)`", PAGE)))
FORMULA = re.compile(r"^    \S", re.MULTILINE)


def module(path: str):
    """Import a module by its path under the package."""
    return importlib.import_module("squeeze." + path.removesuffix(".py").replace("/", "."))


def _times(factor: float) -> str:
    return {2.0: "twice"}[factor]


def _word(count: int) -> str:
    return {2: "two", 8: "eight"}[count]


def _power(bound: float) -> str:
    return f"{bound:.0e}".replace("e-0", "e-")


@pytest.mark.parametrize("path", MODULES)
def test_a_module_of_the_page_can_be_imported(path):
    assert module(path).__doc__


def test_names_on_the_page_are_those_of_the_code():
    assert NAMED
    for name, path in NAMED:
        assert hasattr(module(path), name), f"{path} has no {name}"


def test_files_of_tests_on_the_page_are_there():
    found = re.findall(r"`(tests/[\w/]+\.py)`", PAGE)
    assert found
    assert all((TOP / path).is_file() for path in found)


@pytest.mark.parametrize(
    "section",
    [each for each in SECTIONS if FORMULA.search(each)],
    ids=lambda section: section.splitlines()[0],
)
def test_beside_a_formula_stands_its_module(section):
    assert any(f"`{path}`" in section for path in MODULES)


@pytest.mark.parametrize(
    "sentence",
    [
        f"edges begin at 1/{fine_spots.EDGES_ACROSS} of the section",
        f"mesh with edges {_times(meshes.COARSER)} as long",
        f"off by more than {refined.ACCURACY_PCT:g} % of the highest",
        f"more than {_times(refined.GAP_SHARE)} that or {refined.GAP_MM:g} mm",
        f"with k = {errors.OF_PRESSURE:g} for pressures, {errors.OF_DISPLACEMENT:g} for gaps, slips"
        f" and castings, {errors.OF_STRAIN:g} for strain",
        f"a residual up to {_power(problem.SLIDES)} of the loads is accepted",
        f"A residual up to {_power(holding.LEFT_OVER)} of the loads is ignored",
        f"if they carry less than {_power(springs.CARRIED)} of the loads",
        f"sampled at {_word(band.PARTS)} places on each edge",
        f"less than {_power(newton.SETTLED)} of the loads",
        f"less than {_power(newton.GAP_ERROR)} of the widest gap",
        f"or with friction in {_word(equilibrium.FRICTION_PARTS)} parts",
        f"While the largest is under {100 * change.STANDS:g} % of the largest pressure or gap",
        f"hairline gaps of under {change.SMALL_GAP_MM:g} mm count as {change.SMALL_GAP_MM:g} mm",
    ],
)
def test_a_bound_on_the_page_is_that_of_the_code(sentence):
    assert sentence in " ".join(PAGE.split())
