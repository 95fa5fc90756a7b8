"""Cuts part the mesh: as many pieces as there should be, each with three motions without energy."""

import numpy as np
import pytest
from numpy.linalg import eigvalsh

import squeeze
from squeeze.mold import section_of
from squeeze.solve.elastic.element import elastic
from squeeze.solve.mesh.parting import parted_mesh
from squeeze.solve.mesh.triangulate import triangulate

ACROSS, DOWN = [[-50, 0], [50, 0]], [[0, 50], [0, -50]]
CUTS = {
    "none": ([], 1),
    "slit": ([[[-50, 0], [5, 0]]], 1),
    "through": ([ACROSS], 2),
    "kinked": ([[[-50, -8], [-10, 6], [15, -12], [50, 9]]], 2),
    "T": ([ACROSS, [[3, 50], [3, 0]]], 3),
    "T from a slit": ([ACROSS, [[-12, 0], [-12, -15]]], 2),
    "crossing": ([ACROSS, DOWN], 4),
    "slits that cross": ([[[-50, 0], [20, 0]], [[0, 50], [0, -18]]], 2),
    "three through one place": ([ACROSS, [[-50, -50], [50, 50]], [[-50, 50], [50, -50]]], 6),
    "island": (
        [
            [[-50, -9], [50, -9]],
            [[-50, 9], [50, 9]],
            [[-11, 50], [-11, -50]],
            [[11, 50], [11, -50]],
        ],
        9,
    ),
    "ladder": ([[[-50, -9], [50, -9]], [[-50, 9], [50, 9]], [[4, 9], [4, -9]]], 4),
}


def mold(cuts, cavity=(), **tables):
    base = {
        "length_mm": 100,
        "rubber": {"youngs_modulus_mpa": 0.6, "poisson": 0.4999},
        "block": {"shape": "rectangle", "width_mm": 70, "height_mm": 60},
        "cavity": list(cavity),
        "cut": [{"path_mm": path} for path in cuts],
        "band": [{"tension_n_per_mm": 0.6}],
    }
    return squeeze.mold_of(base | tables)


def parted(cuts, cavity=(), fineness=0.3):
    section = section_of(mold(cuts, cavity))
    mesh = parted_mesh(section, triangulate(section, fineness))
    return mesh, elastic(mesh, (section.material,)).K


@pytest.mark.parametrize("name", CUTS)
def test_three_motions_without_energy_for_each_piece(name):
    cuts, pieces = CUTS[name]
    mesh, K = parted(cuts)
    assert mesh.piece.max() + 1 == pieces
    energy = eigvalsh(K.toarray()) / K.diagonal().max()
    assert np.abs(energy[: 3 * pieces]).max() < 1e-12
    assert energy[3 * pieces] > 1e-9


def test_a_cut_through_a_cavity_frees_one_side_when_it_leaves_on_both():
    hole = [{"shape": "round", "diameter_mm": 20}]
    for path, pieces in (([[-50, 0], [0, 0]], 1), (ACROSS, 2)):
        mesh, K = parted([path], hole)
        energy = eigvalsh(K.toarray()) / K.diagonal().max()
        assert mesh.piece.max() + 1 == pieces
        assert (np.abs(energy) < 1e-12).sum() == 3 * pieces


@pytest.mark.parametrize("name", CUTS)
def test_both_faces_of_a_land_lie_in_the_same_place(name):
    mesh, _ = parted(CUTS[name][0], fineness=1)
    for land in mesh.lands:
        assert np.abs(mesh.points[land.left] - mesh.points[land.right]).max() < 1e-12
        inside = land.left[1:-1] != land.right[1:-1]
        assert inside.all()
        assert (mesh.base[land.left] == mesh.base[land.right]).all()


def test_a_cut_that_ends_in_rubber_keeps_its_end_whole():
    mesh, _ = parted(CUTS["slit"][0])
    (land,) = mesh.lands
    assert land.left[0] != land.right[0]
    assert land.left[-1] == land.right[-1]


@pytest.mark.parametrize("name", ["through", "crossing", "island", "ladder"])
def test_every_piece_is_in_balance_or_named_as_not_held(name):
    closing = squeeze.Block(mold(CUTS[name][0])).close(check=False)
    assert len(closing.trust.pieces) == CUTS[name][1]
    if closing.trust.outcome == "converged":
        assert closing.trust.force_balance < 1e-8
        assert all(piece.goes is None for piece in closing.trust.pieces)
    else:
        assert closing.trust.outcome == "a piece is not held"
        assert any(piece.goes is not None or piece.turns for piece in closing.trust.pieces)


def test_pieces_that_symmetry_holds_are_held():
    outcomes = {
        name: squeeze.Block(mold(CUTS[name][0])).close(check=False).trust.outcome
        for name in ("through", "crossing")
    }
    assert set(outcomes.values()) == {"converged"}


@pytest.mark.parametrize("rise_mm", [0.0, 1e-7, 0.03])
def test_a_cut_at_a_slant_is_as_straight_as_a_level_one(rise_mm):
    """Rounding of its places must not pass for a kink that keeps the halves from sliding."""
    hole = {"shape": "round", "diameter_mm": 14, "centre_mm": [0, 2]}
    block = {"shape": "round", "diameter_mm": 70}
    slanted = mold([[[-70, 2 - rise_mm], [70, 2 + rise_mm]]], [hole], block=block)
    trust = squeeze.close(slanted, fineness=0.7).trust
    assert trust.outcome == "converged"


def test_a_cut_bent_where_it_was_carried_to_a_place_near_by_is_straight():
    """Its places lie within 0.02 mm of the typed line; that is no ramp to hold the halves."""
    holes = [
        {"shape": "round", "diameter_mm": 28 / 3, "centre_mm": [x, 1]} for x in (-35 / 3, 35 / 3)
    ]
    block = {"shape": "round", "diameter_mm": 70}
    band = [{"stock": "64", "count": 4, "friction": 0.3}]
    path = [[-70, 0.91], [70, 1.09]]
    trust = squeeze.Block(mold([path], holes, block=block, band=band)).close().trust
    assert trust.outcome == "converged"
    assert trust.force_balance < 1e-3


def test_the_middle_of_a_piece_is_its_centre_of_area_on_any_mesh():
    """Half a square: a quarter of its width from the cut."""
    halves = squeeze.mold_of(
        {
            "length_mm": 100,
            "rubber": {"shore_a": 20},
            "block": {"shape": "square", "width_mm": 80},
            "cut": [{"path_mm": [[-40, 0], [40, 0]]}],
            "band": [{"tension_n_per_mm": 0.4}],
        }
    )
    for fineness, finer in ((0.5, ()), (1.0, ((30.0, 5.0, 0.2),))):
        pieces = squeeze.Block(halves, fineness, finer).close().trust.pieces
        middles = sorted(piece.middle_mm for piece in pieces)
        assert [x for x, _ in middles] == pytest.approx([0, 0], abs=0.1)
        assert sorted(y for _, y in middles) == pytest.approx([-20, 20], abs=0.1)
