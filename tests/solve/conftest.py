"""Random molds with many cuts, and the contact problem of a block."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

import squeeze
from squeeze.solve import close as linear_close
from squeeze.solve.contact.problem import ContactProblem
from squeeze.solve.land import Land

Tables = dict[str, Any]


def random_tables(seed: int, cavities: int = 2, cuts: int = 3) -> Tables:
    """Tables of a mold: any outline, with straight, radial, joining and hooked cuts."""
    rng = np.random.default_rng(seed)
    block, width, height = _outline(rng)
    centres = [
        [float(rng.uniform(-0.35, 0.35) * width), float(rng.uniform(-0.35, 0.35) * height)]
        for _ in range(cavities)
    ]
    holes = [
        {"shape": "round", "diameter_mm": float(rng.uniform(8, 28)), "centre_mm": centre}
        for centre in centres
    ]
    paths = [_path(rng, centres, min(width, height)) for _ in range(cuts)]
    return {
        "length_mm": 100,
        "rubber": {"youngs_modulus_mpa": 0.6, "poisson": 0.4999},
        "block": block,
        "cavity": holes,
        "cut": [{"path_mm": path} for path in paths],
        "band": [{"tension_n_per_mm": 0.6}],
    }


def _outline(rng: np.random.Generator) -> tuple[Tables, float, float]:
    shape = str(rng.choice(["square", "round", "rectangle", "oval"]))
    width, height = float(rng.uniform(70, 150)), float(rng.uniform(60, 120))
    if shape == "round":
        return {"shape": shape, "diameter_mm": width}, width, width
    if shape == "square":
        bevel = float(rng.choice([0, rng.uniform(3, 22)]))
        return {"shape": shape, "width_mm": width, "bevel_mm": bevel}, width, width
    return {"shape": shape, "width_mm": width, "height_mm": height}, width, height


def _path(rng: np.random.Generator, centres: list, size: float) -> list[list[float]]:
    angle = rng.uniform(0, 2 * np.pi)
    d, n = (np.array([np.cos(angle + k), np.sin(angle + k)]) for k in (0, np.pi / 2))
    kind = rng.integers(0, 5)
    if kind == 1 and centres:  # from a cavity to the outside
        start = np.array(centres[rng.integers(len(centres))])
        ends = [start, start + 200 * d]
    elif kind == 2 and len(centres) > 1:  # from cavity to cavity
        ends = list(np.array(centres)[rng.permutation(len(centres))[:2]])
    elif kind == 3:  # from the outside into the rubber, with a hook
        inner = rng.uniform(0.1, 0.3) * size * d
        ends = [200 * d, inner, inner + rng.uniform(5, 25) * n]
    else:  # right through
        ends = [
            rng.uniform(-0.25, 0.25) * size * n - 200 * d,
            rng.uniform(-0.25, 0.25) * size * n + 200 * d,
        ]
    return [[float(x), float(y)] for x, y in ends]


@pytest.fixture(scope="session")
def tables_of() -> Callable[..., Tables]:
    return random_tables


@pytest.fixture(scope="session")
def problem_of() -> Callable[[squeeze.Block], ContactProblem]:
    return lambda block: block.problem(resin_kpa=0.0)


@pytest.fixture(autouse=True, scope="module")
def small_deformation():
    """Let `squeeze.close` keep to small deformation.

    Closed forms, invariants and counts here are those of the linear model.
    """
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(linear_close.__kwdefaults__, "deformation", "small")
        yield


@pytest.fixture
def land_of() -> Callable[..., Land]:
    """Make a land of pressures, gaps and distances; places stand 1 mm apart unless told."""

    def land(pressure, gap=None, s=None) -> Land:
        n = len(pressure)
        s = np.arange(float(n)) if s is None else np.array(s, float)
        gap = np.zeros(n) if gap is None else np.array(gap, float)
        none, no = np.zeros(n), np.zeros(n, bool)
        pressure, faces = np.array(pressure, float), np.zeros((n, 2, 2))
        return Land("a", 0, s, s, none, pressure, gap, none, none, no, no, faces)

    return land
