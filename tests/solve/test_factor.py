"""The compliance that falls out of one factorisation is what solving column by column gives."""

from pathlib import Path

import numpy as np
import pytest
from scipy.sparse import csc_array, diags_array
from scipy.sparse.linalg import splu

import squeeze
from squeeze.solve.elastic import schur as rooms
from squeeze.solve.elastic.dissection import dissection, halved, neighbours

BARRELS = Path(__file__).parents[2] / "studies" / "barrels" / "barrels.toml"

CUTS = {
    "slit": [[[0, 0], [60, 0]]],
    "through a cavity": [[[-60, 0], [60, 0]]],
    "crossing": [[[-60, 15], [60, 15]], [[0, 60], [0, -60]]],
}


def mold(name, friction=0.0):
    return squeeze.mold_of(
        {
            "length_mm": 100,
            "rubber": {"youngs_modulus_mpa": 0.6, "poisson": 0.4999},
            "block": {"shape": "square", "width_mm": 80, "bevel_mm": 10},
            "cavity": [{"shape": "round", "diameter_mm": 24, "centre_mm": [0, 0]}],
            "cut": [{"path_mm": path, "friction": friction} for path in CUTS[name]],
            "band": [{"tension_n_per_mm": 0.6}],
        }
    )


@pytest.fixture(scope="module", params=CUTS)
def block(request):
    return squeeze.Block(mold(request.param))


def solved(block, right):
    """Solve with the pinned stiffness alone; (2 n, k)."""
    free = np.sort(block.factor.order)
    out = np.zeros((block.factor.rows.shape[1], right.shape[1]))
    out[free] = splu(csc_array(block.elastic.K[free][:, free])).solve(right[free])
    return out


def test_compliance_is_rows_times_inverse_times_rows(block):
    B = block.factor.rows
    C = B @ solved(block, B.T.toarray())
    assert block.factor.C == pytest.approx(C, abs=1e-8 * np.abs(C).max())
    assert np.linalg.eigvalsh(block.factor.C).min() > -1e-10 * np.abs(C).max()


def test_what_loads_open_and_where_they_move(block):
    B, f = block.factor.rows, np.random.default_rng(1).normal(size=block.factor.rows.shape[1])
    traction = np.random.default_rng(2).normal(size=B.shape[0])
    u = solved(block, np.column_stack([f, f + B.T @ traction]))
    opened = block.factor.free_gaps(f)
    assert opened == pytest.approx(B @ u[:, 0], abs=1e-8 * np.abs(B @ u[:, 0]).max())
    moved = block.factor.displaced(f, opened, traction)
    assert moved == pytest.approx(u[:, 1], abs=1e-8 * np.abs(u[:, 1]).max())


def test_three_pins_a_piece(block):
    pinned = block.factor.rows.shape[1] - len(block.factor.order)
    assert pinned == 3 * (block.mesh.piece.max() + 1)


@pytest.mark.parametrize("name", CUTS)
def test_it_does_not_matter_which_nodes_are_pinned(name, monkeypatch):
    one = squeeze.Block(mold(name, friction=0.4)).close()

    def others(mesh):
        found = []
        for piece in range(mesh.piece.max() + 1):
            nodes = np.flatnonzero(mesh.piece == piece)
            p = mesh.points[nodes]
            a, b = nodes[np.argmax(p[:, 0] - p[:, 1])], nodes[np.argmin(p[:, 0] - p[:, 1])]
            across = int(np.argmin(np.abs(mesh.points[b] - mesh.points[a])))
            found += [2 * a, 2 * a + 1, 2 * b + across]
        return np.array(found)

    monkeypatch.setattr(rooms, "pins", others)
    other = squeeze.Block(mold(name, friction=0.4)).close()
    assert other.trust.outcome == one.trust.outcome == "converged"
    largest = max(land.pressure_kpa.max() for land in one.lands)
    for a, b in zip(one.lands, other.lands, strict=True):
        assert b.pressure_kpa == pytest.approx(a.pressure_kpa, abs=1e-8 * largest)
        assert b.shear_kpa == pytest.approx(a.shear_kpa, abs=1e-8 * largest)
        assert b.gap_mm == pytest.approx(a.gap_mm, abs=1e-8)
    u, v = one.field.displacement_mm, other.field.displacement_mm
    assert v == pytest.approx(u, abs=1e-8 * np.abs(u).max())


def test_the_order_takes_every_node_once(block):
    order = dissection(block.mesh.points, block.mesh.triangles)
    assert np.array_equal(np.sort(order), np.arange(len(block.mesh.points)))


def test_the_order_keeps_the_factor_sparse(block):
    nodes = dissection(block.mesh.points, block.mesh.triangles)
    pinned = np.setdiff1d(np.arange(block.elastic.K.shape[0]), block.factor.order)
    by_order = (2 * nodes[:, None] + np.arange(2)).ravel()
    by_order = by_order[~np.isin(by_order, pinned)]
    options = {"diag_pivot_thresh": 0.0, "options": {"SymmetricMode": True}}

    def entries(order, spec):
        K = csc_array(block.elastic.K[order][:, order])
        return splu(K, permc_spec=spec, **options).nnz

    ours = entries(by_order, "NATURAL")
    assert ours < 1.3 * entries(np.sort(by_order), "MMD_AT_PLUS_A")


def test_faces_that_have_slid_do_not_fill_the_factor():
    """Contact then couples nodes that no triangle joins; the order has to know of it."""
    mesh = squeeze.Block(squeeze.load(BARRELS)).mesh
    base, which = np.unique(mesh.base, return_inverse=True)
    points, triangles = mesh.points[base], which[mesh.triangles]
    on = np.unique(which[np.concatenate([land.left.ravel() for land in mesh.lands])])
    on = on[np.argsort(points[on, 0])]
    links = np.column_stack([on[:-4], on[4:]])
    halves = halved(points, triangles)

    def entries(order, linked):
        ends = [links.T, links.T[::-1]] if linked else []
        i, j = np.hstack(
            [[np.repeat(triangles, 6, 1).ravel(), np.tile(triangles, 6).ravel()], *ends]
        )
        n = len(points)
        A = csc_array((-np.ones(len(i)), (i, j)), shape=(n, n)) + diags_array(np.full(n, 1e3))
        how = {"diag_pivot_thresh": 0.0, "options": {"SymmetricMode": True}}
        return splu(csc_array(A[order][:, order]), permc_spec="NATURAL", **how).nnz

    apart = entries(halves.order(), linked=False)
    assert entries(halves.order(), linked=True) > 1.4 * apart
    assert entries(halves.order(links), linked=True) < 1.15 * apart


def test_neighbours_are_mutual(block):
    triangles = block.mesh.triangles
    beside = neighbours(triangles, len(block.mesh.points))
    for k, row in enumerate(beside):
        for side, other in enumerate(row):
            if other != k:
                assert k in beside[other]
                ends = {triangles[k, side], triangles[k, (side + 1) % 3]}
                assert ends < set(triangles[other, :3].tolist())
