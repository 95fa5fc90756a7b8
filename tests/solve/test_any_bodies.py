"""Random blocks with fillers and cradles: meshed to the areas drawn, and certified or named."""

from __future__ import annotations

import numpy as np
import pytest

from squeeze.mold import BadInput, loads_of, mold_of, section_of
from squeeze.solve import Block, Outcome
from squeeze.solve.contact.problem import SLIDES

NAMED = {Outcome.CONVERGED, Outcome.PIECE_NOT_HELD, Outcome.NOT_UNIQUE}
SIDES = ("top", "bottom", "left", "right")


def random_mold(seed: int):
    """Return a mold with up to three fillers and one of four kinds of cradle."""
    rng = np.random.default_rng(seed)
    blocks = (
        {"shape": "square", "width_mm": 120, "bevel_mm": float(rng.choice([0, 3, 15]))},
        {"shape": "round", "diameter_mm": 110},
        {"shape": "oval", "width_mm": 140, "height_mm": 90},
    )
    turn = rng.uniform(0, np.pi)
    far = 100 * np.array([np.cos(turn), np.sin(turn)])
    return mold_of({
        "length_mm": 100,
        "rubber": {"youngs_modulus_mpa": 0.6},
        "block": blocks[rng.integers(3)],
        "cavity": [{"shape": "round", "diameter_mm": 20}] if rng.random() < 0.6 else [],
        "cut": [{"path_mm": [-far, far], "friction": 0.3}],
        "filler": [_filler(rng) for _ in range(rng.integers(0, 4))],
        "cradle": _cradle(rng),
        "band": [{"tension_n_per_mm": 0.3}],
    })  # fmt: skip


def _filler(rng) -> dict:
    at = {"centre_mm": rng.uniform(-50, 50, 2).round(1), "shore_a": 30}
    if rng.random() < 0.5:
        return at | {"shape": "round", "diameter_mm": round(rng.uniform(8, 30), 1)}
    wide, high = rng.uniform(8, 40, 2).round(1)
    return at | {"shape": "rectangle", "width_mm": wide, "height_mm": high}


def _cradle(rng) -> list[dict]:
    stuff = {"material": str(rng.choice(["plywood", "soft foam", "plaster"])), "back": "round"}
    board = stuff | {"thickness_mm": 15, "seat": "flat"}
    begin = round(rng.uniform(0, 360))
    kinds = (
        [board | {"covers": side} for side in SIDES[: rng.integers(1, 5)]],
        [stuff | {"covers": "all", "pieces": int(rng.integers(2, 5)), "thickness_mm": 8,
                  "apart_mm": float(rng.choice([0, 3])), "joint_deg": round(rng.uniform(0, 90))}],
        [stuff | {"from_deg": begin, "to_deg": begin + round(rng.uniform(30, 170)),
                  "thickness_mm": 8, "crown_mm": round(rng.uniform(-1, 1), 2)}],
        [{"points_mm": [[-70, 30], [70, 30], [50, 90], [-50, 90]], "material": "MDF"}],
        [],
    )  # fmt: skip
    return kinds[rng.integers(5)]


def made(mold) -> tuple:
    """Return the section, or None, and its faults."""
    try:
        return section_of(mold), ()
    except BadInput as error:
        return None, error.faults


def areas(block: Block) -> np.ndarray:
    p = block.mesh.points[block.mesh.triangles[:, :3]]
    d, e = p[:, 1] - p[:, 0], p[:, 2] - p[:, 0]
    return 0.5 * np.bincount(block.mesh.body, d[:, 0] * e[:, 1] - d[:, 1] * e[:, 0])


SEEDS = [pytest.param(k, marks=() if k < 12 else pytest.mark.slow) for k in range(24)]


@pytest.mark.parametrize("seed", SEEDS)
def test_any_bodies(seed):
    mold = random_mold(seed)
    section, faults = made(mold)
    assert all(fault.key.startswith(("filler", "cradle")) for fault in faults)
    if section is None:
        return
    block = Block(section)
    found = areas(block)
    bodies = 1 + len(section.fillers)
    rubber = section.outline.area - sum(cavity.loop.area for cavity in section.cavities)
    assert found[:bodies].sum() == pytest.approx(rubber, rel=0.02)  # chords
    for area, piece in zip(found[bodies:], section.cradles, strict=True):
        assert area == pytest.approx(piece.loop.area, rel=0.02)
    closing = block.close(loads_of(mold, section), check=False)
    assert closing.trust.outcome in NAMED
    if closing.outcome.has_answer:
        assert closing.trust.force_balance < SLIDES
        assert closing.trust.residual < 1e-9 + 2 * closing.trust.force_balance
        # what friction at its limit leaves over shows in gaps as well
        assert closing.trust.complementarity < max(1e-6, 20 * closing.trust.force_balance)
        assert abs(closing.wrap.push_n_per_mm.sum(axis=0)).max() < 1e-9
        for seat in (*closing.seats, *closing.lands):
            assert (seat.pressure_kpa >= 0).all()
            assert (seat.pressure_kpa * seat.gap_mm == 0).all()
