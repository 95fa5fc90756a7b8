"""Large deformation of a mesh that is turned, mirrored or scaled: the same answer, moved alike."""

from dataclasses import replace

import numpy as np
import pytest

import squeeze
from squeeze.mold.forces.loads import Loads
from squeeze.solve import Block
from squeeze.solve.large.deformation import band_pull
from squeeze.solve.large.equilibrium import deform
from squeeze.solve.large.faces.pairing import pairing
from squeeze.solve.large.reference import LargeCase, reference_model
from squeeze.solve.outcome import Outcome

PULL = 0.5
MOLD = {
    "length_mm": 100,
    "rubber": {"youngs_modulus_mpa": 0.6},
    "block": {"shape": "square", "width_mm": 100, "bevel_mm": 3},
    "cavity": [{"shape": "round", "diameter_mm": 8, "centre_mm": [x, 32]} for x in (-22, -6, 12)],
    "cut": [{"path_mm": [[-50, 32], [50, 32]]}],
}


def moved(mesh, A):
    """Return a mesh moved by a matrix (2, 2); a mirrored one goes round the other way."""
    triangles = mesh.triangles
    if np.linalg.det(A) < 0:
        triangles = triangles[:, [0, 2, 1, 5, 4, 3]]

        def swapped(faces):
            return tuple(replace(face, left=face.right, right=face.left) for face in faces)

        mesh = replace(
            mesh,
            lands=swapped(mesh.lands),
            seats=swapped(mesh.seats),
            joints=swapped(mesh.joints),
            outside=mesh.outside[::-1, ::-1],
            edges=tuple(edges[::-1, ::-1] for edges in mesh.edges),
        )
    return replace(mesh, points=mesh.points @ np.asarray(A).T, triangles=triangles)


@pytest.fixture(scope="module")
def block():
    return Block(squeeze.mold_of(MOLD), 0.5)


def deformed(block, A, pull, friction):
    mesh, loads = moved(block.mesh, A), Loads(tension_n_per_mm=pull)
    case = LargeCase(
        loads,
        band_pull(loads),
        (),
        np.full_like(block.contact_rows.friction, friction),
        pairing(mesh, block.section.seams),
    )
    return deform(reference_model(mesh, block.section, block.resin_paths), case)


@pytest.fixture(scope="module", params=[0.0, 0.3])
def friction(request):
    return request.param


@pytest.fixture(scope="module")
def as_it_is(block, friction):
    return deformed(block, np.eye(2), PULL, friction)


def figures(found):
    weight = np.where(found.faces.counts, found.faces.weight, np.inf)
    return found.faces.gap / weight, found.faces.slid, found.contact.p


TURNED = np.array([[np.cos(0.6458), -np.sin(0.6458)], [np.sin(0.6458), np.cos(0.6458)]])  # 37 deg


@pytest.mark.parametrize(
    ("A", "scale"),
    [(TURNED, 1.0), (3 * np.eye(2), 3.0), (np.diag([-1.0, 1.0]), 1.0), (np.diag([1.0, -1.0]), 1.0)],
    ids=["turned by 37 degrees", "three times the size", "mirrored", "upside down"],
)
def test_the_answer_moves_with_the_block(block, as_it_is, friction, A, scale):
    found = deformed(block, A, scale * PULL, friction)
    assert as_it_is.outcome is found.outcome is Outcome.CONVERGED
    gap, slid, pressure = figures(as_it_is)
    other_gap, other_slid, other_pressure = figures(found)
    widest = gap.max()
    assert widest > 0.01
    assert other_gap == pytest.approx(scale * gap, abs=1e-4 * scale * widest)
    way = np.sign(np.linalg.det(A)) * scale  # left and right change places in a mirror
    assert other_slid == pytest.approx(way * slid, abs=1e-4 * scale * np.abs(slid).max())
    assert other_pressure == pytest.approx(pressure, abs=1e-3 * pressure.max())


def test_slip_is_that_of_the_linear_answer_where_loads_are_small(block):
    small, large = (
        block.close(band_tension_n_per_mm=1e-4, friction=0.2, deformation=theory)
        for theory in ("small", "large")
    )
    for one, other in zip(small.lands, large.lands, strict=True):
        size = np.abs(one.slip_mm).max()
        assert size > 0
        assert other.slip_mm == pytest.approx(one.slip_mm, abs=5e-3 * size)


@pytest.mark.parametrize(
    ("stock", "cuts"),
    [
        pytest.param(None, [], id="no cut, a constant pull", marks=pytest.mark.slow),
        pytest.param("33", [], id="no cut, bands that slacken", marks=pytest.mark.slow),
        pytest.param(
            None, MOLD["cut"], id="a slippery cut, a constant pull", marks=pytest.mark.slow
        ),
        pytest.param("33", MOLD["cut"], id="a slippery cut, bands that slacken"),
    ],
)
def test_the_work_of_the_bands_is_the_energy_stored(stock, cuts):
    """Without friction, over a stretch of the load path.

    d(energy) = -share d(V) with V(length) the potential of all bands; integrated by parts, so that
    Gauss's rule runs over the share. Faces that slide on each other take nothing.
    """
    table = {"tension_n_per_mm": 0.3} if stock is None else {"stock": stock, "count": 8}
    block = Block(squeeze.mold_of(MOLD | {"band": [table], "cut": cuts}), 0.6)
    pull_of = band_pull(block._own_loads)
    pairs = pairing(block.mesh, block.section.seams)
    prepared = reference_model(block.mesh, block.section, block.resin_paths)

    def reached(share):
        """Energy stored and length of the bands at a share of their pull."""

        def part(length):
            pull, rate = pull_of(length)
            return share * pull, share * rate

        case = LargeCase(block._own_loads, part, (), np.zeros(pairs.places), pairs)
        found = deform(prepared, case)
        assert found.outcome is Outcome.CONVERGED
        return prepared.body.energy(found.state), found.band.length_mm

    first, last = 0.9, 1.0
    stored_0, length_0 = reached(first)
    stored_1, length_1 = reached(last)
    at, weights = np.polynomial.legendre.leggauss(4)
    at, weights = 0.5 * (1 + at), 0.5 * weights

    def potential(length):
        way = length - length_0
        return way * sum(weights * [pull_of(length_0 + part * way)[0] for part in at])

    inner = (last - first) * sum(
        weight * potential(reached(first + part * (last - first))[1])
        for part, weight in zip(at, weights, strict=True)
    )
    work = inner - last * potential(length_1)
    assert stored_1 - stored_0 == pytest.approx(work, rel=2e-6)
