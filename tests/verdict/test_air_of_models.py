"""Air in sliced models, from their meshes, against closed forms."""

from __future__ import annotations

import math
import re
from functools import partial

import numpy as np
import pytest

from squeeze.mold.model.mesh import read_model
from squeeze.mold.model.slices import Sliced, slice_models
from squeeze.mold.tables.channels import SprueTable
from squeeze.show.text.air import say_air
from squeeze.verdict.air.pockets import Filling, air_in, air_of
from squeeze.verdict.air.void import void_of, void_of_models

trimesh = pytest.importorskip("trimesh")


def sliced(folder, mesh, axis: str, turn_deg: float = 0.0, stations: int = 9) -> Sliced:
    path = folder / "a.stl"
    mesh.export(path)
    return slice_models([read_model(path, axis, "mm", turn_deg)], stations)


def air(found: Sliced, **sprue):
    mold = found.mold
    if sprue:
        table = SprueTable(diameter_mm=6, height_mm=30, **sprue)
        mold = mold.model_copy(update={"sprue": table})

    return air_in(mold, Filling(partial(void_of_models, found.placed), "models", ""))


def test_the_grid_of_a_mesh_holds_its_volume_better_than_that_of_a_few_stations(tmp_path):
    ball = trimesh.creation.icosphere(subdivisions=4, radius=20)
    found = sliced(tmp_path, ball, "z", stations=3)
    volume = 4 / 3 * math.pi * 20**3
    fine = void_of_models(found.placed)
    coarse = void_of(found.mold)
    assert fine.filled.sum() * fine.cell_mm3 == pytest.approx(volume, rel=0.01)
    assert coarse.filled.sum() * coarse.cell_mm3 != pytest.approx(volume, rel=0.02)
    assert not air(found).pockets


@pytest.mark.slow
def test_a_tilted_ring_keeps_what_lies_above_its_sprue(tmp_path):
    """The sprue stands on the ridge of the low side; wanted by quadrature."""
    big, small, tilt = 30.0, 8.0, math.radians(20)
    ring = trimesh.creation.torus(big, small, major_sections=128, minor_sections=64)
    found = sliced(tmp_path, ring, "x", 20.0)  # seen from the start: its left side goes down
    level = small - big * math.sin(tilt)
    at = (-big * math.cos(tilt), level)
    caught = air(found, at_mm=at)
    n, whole = (240, 120, 40), (math.tau, math.tau, small)
    middles = ((np.arange(k) + 0.5) * full / k for k, full in zip(n, whole, strict=True))
    phi, theta, rho = np.meshgrid(*middles, indexing="ij")
    out = big + rho * np.cos(theta)
    high = out * np.cos(phi) * math.sin(tilt) + rho * np.sin(theta) * math.cos(tilt)
    cell = math.tau / n[0] * math.tau / n[1] * small / n[2]
    wanted = float(np.sum(out * rho * (high > level)) * cell)
    assert caught.volume_mm3 == pytest.approx(wanted, rel=0.1)
    (pocket,) = caught.pockets
    assert pocket.at_mm[0] == pytest.approx(big * math.cos(tilt), abs=2)
    assert pocket.at_mm[2] == pytest.approx(found.mold.length_mm / 2, abs=2)
    assert caught.tilt is not None
    assert abs(caught.tilt.about_length_deg) == pytest.approx(20, abs=5)  # level again
    assert caught.tilt.volume_mm3 < 0.1 * wanted
    assert caught.other_sprue is not None
    assert caught.other_sprue.volume_mm3 < 0.05 * wanted
    assert caught.other_sprue.at_mm[0] == pytest.approx(pocket.at_mm[0], abs=2)
    said = " ".join(say_air(caught))
    assert "of air stays in 'a 2', with the sprue at (-" in said
    assert re.search(r"Held with its left side raised by \d+ degrees it keeps no air", said)


@pytest.mark.slow
def test_two_rings_keep_twice_the_air_and_another_sprue_mends_one(tmp_path):
    """The sprue that is moved is that of one cavity; the air of the other stays."""
    ring = trimesh.creation.torus(20, 6, major_sections=64, minor_sections=32)
    path = tmp_path / "a.stl"
    ring.export(path)
    models = [read_model(path, "x", "mm", 20.0) for _ in range(2)]
    found = slice_models(models, 7)
    left = found.placed[0].at_mm[0]
    tilt = math.radians(20)
    middle = left + models[0].size_mm[0] / 2
    low = (middle - 20 * math.cos(tilt), 6 - 20 * math.sin(tilt))
    caught = air(found, at_mm=low)
    alone = [p for p in caught.pockets if p.at_mm[0] < 0]
    assert len(alone) == 1
    # the ring that the sprue does not lead to has one at its own highest place
    assert all(p.at_mm[0] < 0 for p in caught.pockets)
    assert caught.other_sprue is not None
    assert caught.other_sprue.at_mm[0] < 0


def test_a_vent_through_another_cavity_is_told(tmp_path):
    import squeeze

    dip = [[-30, -20], [30, -20], [30, 20], [10, 20], [10, -5], [-10, -5], [-10, 20], [-30, 20]]
    mold = squeeze.mold_of(
        {
            "length_mm": 60,
            "rubber": {"shore_a": 20},
            "block": {"shape": "rectangle", "width_mm": 120, "height_mm": 120},
            "cavity": [
                {"name": "u", "points_mm": dip, "round_mm": 0},
                {"name": "bead", "shape": "round", "diameter_mm": 16, "centre_mm": [20, 40]},
            ],
            "sprue": {"diameter_mm": 8, "height_mm": 40, "at_mm": [-20, 20]},
        }
    )
    (pocket,) = air_of(mold).pockets
    assert pocket.through == ("bead",)
    assert pocket.at_mm[0] == pytest.approx(20, abs=1)  # the middle of the arm's flat top
    assert pocket.at_mm[2] == pytest.approx(30, abs=1)
