"""The band: T / R on arcs, nothing on flats, 2 T sin(turn / 2) at corners; hollows and mouths."""

import numpy as np
import pytest

import squeeze
from squeeze.mold import section_of
from squeeze.mold.forces.loads import Loads
from squeeze.solve import close
from squeeze.solve.bands import outline_forces
from squeeze.solve.bands.wrap import BandFriction, band_path, wrap
from squeeze.solve.mesh.parting import parted_mesh
from squeeze.solve.mesh.triangulate import triangulate

T = 0.6


def meshed(block, cuts=(), fineness=1.0):
    section = section_of(
        squeeze.mold_of(
            {
                "length_mm": 100,
                "rubber": {"youngs_modulus_mpa": 0.6, "poisson": 0.499},
                "block": block,
                "cut": [{"path_mm": path} for path in cuts],
            }
        )
    )
    return section, parted_mesh(section, triangulate(section, fineness))


def pushes(block, cuts=(), fineness=1.0):
    section, mesh = meshed(block, cuts, fineness)
    path = wrap(mesh.points, mesh.edges[0])
    return section, mesh, path, path.load.reshape(-1, 2)


def test_a_round_block_is_pushed_by_tension_over_radius():
    _, mesh, path, push = pushes({"shape": "round", "diameter_mm": 100})
    R, edge = 50.0, mesh.edges[0]
    assert path.length_mm == pytest.approx(2 * np.pi * R, rel=1e-5)
    middle = edge[:, 1]  # Simpson: a mid-side node carries 4/6 of its edge
    chord = np.hypot(*(mesh.points[edge[:, 2]] - mesh.points[edge[:, 0]]).T)
    inward = -np.sum(push[middle] * mesh.points[middle], axis=1) / R
    assert inward == pytest.approx(4 / 6 * chord / R, rel=2e-2)
    assert np.abs(push).sum(axis=1)[np.setdiff1d(np.arange(len(push)), edge)].max() == 0


def test_a_round_block_without_cavity_feels_even_pressure():
    """Under T / R all round the stress is T / R everywhere, and so is the contact pressure."""
    section, _ = meshed({"shape": "round", "diameter_mm": 100}, [[[-60, 12], [60, -9]]])
    (land,) = close(section, Loads(tension_n_per_mm=T)).lands
    assert land.pressure_kpa[1:-1] == pytest.approx(1000 * T / 50, rel=5e-3)
    assert land.pressure_kpa == pytest.approx(1000 * T / 50, rel=2e-2)


@pytest.mark.parametrize("reach", [1.0, 30.0])
def test_over_a_mouth_at_a_corner_the_band_runs_midway_between_its_two_sides(reach):
    """By hand: each lip is pulled along its own side, and towards the other lip by the mean.

    How long the sides are, and how the mesh divides them, is no matter.
    """
    corners = np.array([[0.0, 0.0], [reach, 0.0], [reach, 20.0], [0.0, 20.0]])
    points = np.vstack([corners, [[reach, 0.0]]])  # the second corner twice: a mouth
    edges = [(0, 1), (4, 2), (2, 3), (3, 0)]
    middles = [(points[a] + points[b]) / 2 for a, b in edges]
    outline = np.array([(a, 5 + k, b) for k, (a, b) in enumerate(edges)])
    push = wrap(np.vstack([points, middles]), outline).load.reshape(-1, 2)
    mean = np.array([1.0, 1.0]) / np.sqrt(2)
    assert push[1] == pytest.approx(mean - [1, 0], abs=1e-12)
    assert push[4] == pytest.approx([0, 1] - mean, abs=1e-12)


@pytest.mark.parametrize("round_mm", [0, 2, 20])
def test_a_corner_takes_all_and_a_flat_nothing(round_mm):
    block = {"shape": "square", "width_mm": 120, "round_mm": round_mm}
    _, mesh, path, push = pushes(block)
    x, y = mesh.points.T
    at_corner = (x > 60 - round_mm - 1e-6) & (y > 60 - round_mm - 1e-6)
    assert push[at_corner].sum(axis=0) == pytest.approx([-1, -1], abs=1e-12)  # 2 sin 45 along 45
    flat = (np.abs(x) < 60 - round_mm - 12) & (np.abs(y) > 60 - 1e-6)
    assert flat.any()
    assert np.abs(push[flat]).max() < 1e-14
    turns = 480 - 8 * round_mm + 2 * np.pi * round_mm
    assert path.length_mm == pytest.approx(turns, rel=1e-5)


@pytest.mark.parametrize("leg_mm", [5, 25])
def test_a_bevel_shares_the_corner_between_two(leg_mm):
    block = {"shape": "square", "width_mm": 120, "bevel_mm": leg_mm, "round_mm": 0}
    _, mesh, _, push = pushes(block)
    corner = np.hypot(*(mesh.points - [60 - leg_mm, 60]).T) < 1e-6
    assert np.hypot(*push[corner].sum(axis=0)) == pytest.approx(2 * np.sin(np.pi / 8))


HOLLOW = [[-50, -40], [50, -40], [50, 40], [0, 5], [-50, 40]]


@pytest.mark.parametrize("round_mm", [0, 3])
def test_a_band_bridges_a_hollow(round_mm):
    block = {"points_mm": HOLLOW, "round_mm": round_mm}
    section, mesh, path, push = pushes(block)
    assert path.length_mm == pytest.approx(section.outline.polygon.convex_hull.length, rel=1e-4)
    inside = (mesh.points[:, 1] > -30) & (mesh.points[:, 1] < 30) & (np.abs(mesh.points[:, 0]) < 40)
    assert np.abs(push[inside]).max() == 0
    top = (mesh.points[:, 1] > 30) & (mesh.points[:, 0] > 30)
    assert push[top].sum(axis=0) == pytest.approx([-1, -1], abs=1e-6)
    assert push.sum(axis=0) == pytest.approx([0, 0], abs=1e-13)


@pytest.mark.parametrize(
    "block",
    [
        {"shape": "round", "diameter_mm": 100},
        {"shape": "square", "width_mm": 100, "bevel_mm": 20},
        {"shape": "oval", "width_mm": 140, "height_mm": 80},
    ],
)
@pytest.mark.parametrize("path", [[[0, 0], [0, 90]], [[0, 0], [90, 55]], [[-90, -20], [90, 35]]])
def test_the_mouth_of_a_cut_is_not_pulled_open(block, path):
    """A band that dragged the lips along would pull each with all of its tension, 1 here."""
    _, mesh, path_, push = pushes(block, [path])
    _, _, whole, _ = pushes(block)
    assert path_.length_mm == pytest.approx(whole.length_mm, rel=1e-4)
    assert push.sum(axis=0) == pytest.approx([0, 0], abs=1e-13)
    ends = [face[end] for land in mesh.lands for face in (land.left, land.right) for end in (0, -1)]
    lips = [n for n in ends if n in mesh.edges[0]]
    mouths = 1 if path[0] == [0, 0] else 2
    assert len(lips) == 2 * mouths
    assert np.hypot(*push[lips].T).max() < 0.1


def test_the_lips_press_with_what_the_whole_outline_feels():
    section, _ = meshed({"shape": "round", "diameter_mm": 100}, [[[0, 10], [0, 60]]])
    (land,) = close(section, Loads(tension_n_per_mm=T), fineness=2).lands
    assert land.pressure_kpa[-1] == pytest.approx(1000 * T / 50, rel=3e-2)


def test_friction_of_the_band_lets_the_pull_fall_with_the_turn():
    """Euler 1769, Eytelwein 1808: exp(-mu x turning), both ways round from where it was pulled."""
    drag = BandFriction(0.5, np.pi / 2)
    turn = np.array([0, 0.3, np.pi / 2, np.pi, -np.pi / 2, -0.3])
    t = np.column_stack([np.cos(np.pi / 2 + turn), np.sin(np.pi / 2 + turn)])
    assert drag.pull(t) == pytest.approx(np.exp(-0.5 * np.abs(turn)))
    assert 1 / drag.pull(t)[[2, 3]] == pytest.approx([2.1933, 4.8105], abs=5e-5)


@pytest.mark.parametrize("friction", [0.0, 0.5])
def test_pushes_balance_in_force_and_moment_whatever_the_friction(friction):
    _, mesh = meshed({"points_mm": HOLLOW}, [[[-60, -7], [60, 9]]])
    load = wrap(mesh.points, mesh.edges[0], BandFriction(friction, 0.3)).load.reshape(-1, 2)
    x, y = mesh.points.T
    size = np.abs(load).sum()
    assert load.sum(axis=0) == pytest.approx([0, 0], abs=1e-13 * size)
    assert np.sum(x * load[:, 1] - y * load[:, 0]) == pytest.approx(0, abs=1e-11 * size)


def test_the_path_of_the_bands_is_found_once_for_a_block(monkeypatch):
    found = []

    def counted(points, outline, loads):
        found.append(loads)
        return band_path(points, outline, loads)

    monkeypatch.setattr(outline_forces, "band_path", counted)
    mold = squeeze.load("studies/barrels/barrels-round.toml")
    block = squeeze.Block(mold, fineness=0.35)
    for pull in (0.1, 0.2, 0.3):
        block.close(band_tension_n_per_mm=pull)
    assert len(found) == 1
