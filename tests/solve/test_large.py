"""Large deformation: tangent, potential of the bands, sliding faces, what the answer obeys."""

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from scipy.sparse import coo_array

import squeeze
from squeeze.mold.forces.loads import Loads
from squeeze.solve import Block
from squeeze.solve.large.faces.current_rows import current_rows
from squeeze.solve.large.faces.pairing import pairing
from squeeze.solve.large.loads.band import hull, outline_samples, stiffness
from squeeze.solve.large.rubber.body import State, body_of, corner_fields, unloaded
from squeeze.solve.outcome import Outcome

SQUARE = {
    "length_mm": 100,
    "rubber": {"youngs_modulus_mpa": 0.6},
    "block": {"shape": "square", "width_mm": 60, "bevel_mm": 2},
    "cavity": [{"shape": "round", "diameter_mm": 16}],
    "cut": [{"path_mm": [[-30, 0], [30, 0]]}],
    "band": [{"tension_n_per_mm": 0.15}],
}


@pytest.fixture(scope="module")
def block():
    return Block(squeeze.mold_of(SQUARE), 0.7)


@pytest.fixture(scope="module")
def shaken(block):
    """Return a state with nothing at rest, bubbles and mean stress included."""
    rng = np.random.default_rng(4)
    x = block.mesh.points
    u = np.column_stack([0.03 * x[:, 1], 0.4 * np.sin(x[:, 0] / 15)])
    m = len(block.mesh.triangles)
    return State(
        (u + 1e-3 * rng.normal(size=u.shape)).ravel(),
        1e-3 * rng.normal(size=(m, 2)),
        1e-3 * rng.normal(size=(m, 3)),
    )


def test_without_displacement_the_tangent_is_the_linear_stiffness(block):
    body = body_of(block.mesh, block.section.materials)
    found = body.tangent(unloaded(block.mesh))
    rows, columns = np.repeat(body.dofs, 12, axis=1), np.tile(body.dofs, (1, 12))
    size = 2 * len(block.mesh.points)
    K = coo_array((found.K.ravel(), (rows.ravel(), columns.ravel())), shape=(size, size))
    assert abs(K.tocsc() - block.elastic.K).max() < 1e-12 * abs(block.elastic.K).max()


def test_force_is_the_derivative_of_the_energy(block, shaken):
    """Along a motion of nodes, with the mean stress that goes with it."""
    body = body_of(block.mesh, block.section.materials)
    soft = replace(body, kappa=np.full_like(body.kappa, 1.0))
    d = np.cos(np.arange(len(shaken.u)) / 7.0)

    def settled(u):
        """Return the state whose mean stress and bubbles are in equilibrium."""
        state = replace(shaken, u=u)
        for _ in range(12):
            state = soft.tangent(state).moved(soft, state, np.zeros_like(u))
        return state

    h = 1e-4
    more, less = (soft.energy(settled(shaken.u + step * d)) for step in (h, -h))
    slope = (more - less) / (2 * h)
    force, _ = soft.internal_force(settled(shaken.u))
    assert slope == pytest.approx(force @ d, rel=2e-5)


def test_a_block_turned_by_90_degrees_carries_nothing(block):
    body = body_of(block.mesh, block.section.materials)
    x = block.mesh.points
    turned = np.column_stack([-x[:, 1], x[:, 0]]) - x
    force, least = body.internal_force(replace(unloaded(block.mesh), u=turned.ravel()))
    assert np.abs(force).max() < 1e-12
    assert least == pytest.approx(1.0)


@pytest.mark.parametrize("stretch", [0.7, 1.4])
def test_even_stretch_in_plane_strain_has_the_closed_form(block, stretch):
    """Cauchy stress of incompressible neo-Hookean rubber: s_1 - s_2 = G (l^2 - 1/l^2)."""
    body = body_of(block.mesh, block.section.materials)
    x = block.mesh.points
    u = np.column_stack([(stretch - 1) * x[:, 0], (1 / stretch - 1) * x[:, 1]])
    state = replace(unloaded(block.mesh), u=u.ravel())
    stress, _, found = corner_fields(block.mesh, body, state)
    G = body.G[0]
    assert stress[..., 0] - stress[..., 1] == pytest.approx(G * (stretch**2 - stretch**-2))
    assert found.max() == pytest.approx(max(stretch, 1 / stretch))


def test_the_bands_force_and_stiffness_are_derivatives_of_their_length(block):
    outside = outline_samples(block.mesh)
    x = block.mesh.points
    y = x + 0.02 * x * (1 - (x[:, ::-1] / 30) ** 2)  # flats bulge, so that no node joins or leaves
    d = np.column_stack([np.cos(x[:, 0] / 11.0 + 1.0), np.sin(x[:, 1] / 13.0 + x[:, 0] / 9)])
    h = 1e-5
    here, after, before = (hull(outside, y + step * d) for step in (0, h, -h))
    slope = (after.length_mm - before.length_mm) / (2 * h)
    assert slope == pytest.approx(here.slope @ d.ravel(), rel=1e-7)
    change = (after.slope - before.slope) / (2 * h)
    assert stiffness(here, x.size) @ d.ravel() == pytest.approx(change, abs=1e-6)


def test_unloaded_the_band_pushes_as_the_linear_one(block):
    """But for the roundings: it runs straight from one of eight samples on an edge to the next."""
    path = block.close(deformation="small").wrap
    found = hull(outline_samples(block.mesh), block.mesh.points)
    assert found.length_mm == pytest.approx(path.wrap_mm, rel=1e-5)
    assert np.abs(found.slope.reshape(-1, 2).sum(axis=0)).max() < 1e-12


def test_unloaded_the_contact_rows_are_the_linear_ones(block):
    found = current_rows(pairing(block.mesh, block.section.seams), block.mesh.points)
    assert abs(found.normal - block.contact_rows.normal).max() < 1e-12
    assert abs(found.along - block.contact_rows.along).max() < 1e-12
    assert found.weight == pytest.approx(block.contact_rows.weight)
    assert found.counts.all()


def test_the_stiffness_of_pressed_faces_is_the_derivative_of_their_force(block):
    pairs = pairing(block.mesh, block.section.seams)
    x = block.mesh.points
    slid = np.where(block.mesh.piece[:, None] == 0, [[1.3, 0.0]], [[0.0, 0.0]])
    y = x + slid + np.column_stack([0.04 * x[:, 1], 0.3 * np.sin(x[:, 0] / 15)])
    found = current_rows(pairs, y)
    assert not found.counts.all() or found.weight.sum() < block.contact_rows.weight.sum()
    p = np.where(found.counts, 1.0 + np.sin(np.arange(len(found.gap))) ** 2, 0.0)
    d = np.column_stack([np.cos(x[:, 0] / 9), np.sin(x[:, 1] / 7 + x[:, 0] / 11)])
    h = 1e-6
    change = (
        current_rows(pairs, y + h * d).normal.T @ p - current_rows(pairs, y - h * d).normal.T @ p
    ) / (2 * h)
    assert found.turning(p) @ d.ravel() == pytest.approx(-change, abs=2e-6)


def test_the_opening_of_faces_is_the_derivative_of_their_gaps(block):
    pairs = pairing(block.mesh, block.section.seams)
    x = block.mesh.points
    d = np.column_stack([np.cos(x[:, 0] / 9), np.sin(x[:, 1] / 7 + x[:, 0] / 11)])
    h = 1e-6
    for way in (0.0, 1.3):
        slid = np.where(block.mesh.piece[:, None] == 0, [[way, 0.0]], [[0.0, 0.0]])
        y = x + slid + np.column_stack([0.04 * x[:, 1], 0.3 * np.sin(x[:, 0] / 15)])
        change = (current_rows(pairs, y + h * d).gap - current_rows(pairs, y - h * d).gap) / (2 * h)
        assert current_rows(pairs, y).opening @ d.ravel() == pytest.approx(change, abs=1e-8)


def test_two_blocks_slid_by_a_third_keep_an_even_pressure():
    """Even pressure acts evenly on faces whose nodes do not meet, and ends where a face does."""
    plain = {k: v for k, v in SQUARE.items() if k != "cavity"}
    block = Block(squeeze.mold_of(plain), 0.7)
    pairs = pairing(block.mesh, block.section.seams)
    top = int(np.argmax([block.mesh.points[block.mesh.piece == k, 1].mean() for k in (0, 1)]))
    slid = np.where(block.mesh.piece[:, None] == top, [[20.0, 0.0]], [[0.0, 0.0]])
    found = current_rows(pairs, block.mesh.points + slid)
    assert found.weight.sum() == pytest.approx(40.0, abs=1e-9)
    force = (found.normal.T @ np.ones(len(found.gap))).reshape(-1, 2)
    for piece in (0, 1):
        on = block.mesh.piece == piece
        assert abs(force[on, 1].sum()) == pytest.approx(40.0, abs=1e-9)
    assert force.sum(axis=0) == pytest.approx([0.0, 0.0], abs=1e-12)
    # moments of the same line of action cancel, wherever the nodes are
    at = block.mesh.points + slid
    assert float((at[:, 0] * force[:, 1] - at[:, 1] * force[:, 0]).sum()) == pytest.approx(
        0.0, abs=1e-9
    )


def test_differences_from_the_linear_answer_fall_with_the_load(block):
    loads = (0.02, 0.01, 0.005)
    change = []
    for pull in loads:
        small, large = (
            block.close(band_tension_n_per_mm=pull, deformation=theory)
            for theory in ("small", "large")
        )
        pairs = zip(small.lands, large.lands, strict=True)
        size = max(land.pressure_kpa.max() for land in large.lands)
        change.append(max(np.abs(a.pressure_kpa - b.pressure_kpa).max() for a, b in pairs) / size)
    orders = [math.log2(a / b) for a, b in pairwise(change)]
    assert all(0.9 < order < 1.1 for order in orders)


def test_auto_keeps_to_the_linear_answer_where_that_stands(block):
    little, much = (
        block.close(band_tension_n_per_mm=pull, deformation="auto") for pull in (0.002, 0.4)
    )
    assert not little.deformation.is_large
    assert little.deformation.change < 0.02
    assert little.deformation.is_confirmed
    assert much.deformation.is_large
    assert much.deformation.small is not None
    assert much.deformation.tangents <= 20


def test_the_answer_is_in_balance_and_obeys_the_contact_conditions(block):
    closing = block.close(band_tension_n_per_mm=0.4, deformation="large")
    assert closing.outcome is Outcome.CONVERGED
    assert closing.trust.residual < 1e-6
    assert closing.trust.force_balance < 1e-6
    assert closing.trust.complementarity < 1e-5
    for land in closing.lands:
        assert (land.pressure_kpa >= 0).all()
        assert (land.gap_mm >= 0).all()
        assert (land.pressure_kpa * land.gap_mm == 0).all()


def test_lengths_and_pull_over_length_scaled_alike_give_the_same_shape():
    twice = {
        "length_mm": 100,
        "rubber": {"youngs_modulus_mpa": 0.6},
        "block": {"shape": "square", "width_mm": 120, "bevel_mm": 4, "round_mm": 4},
        "cavity": [{"shape": "round", "diameter_mm": 32}],
        "cut": [{"path_mm": [[-60, 0], [60, 0]]}],
        "band": [{"tension_n_per_mm": 0.8}],
    }
    once = SQUARE | {"band": [{"tension_n_per_mm": 0.4}]}
    a, b = (Block(squeeze.mold_of(mold), 0.7).close(deformation="large") for mold in (once, twice))
    for one, other in zip(a.lands, b.lands, strict=True):
        assert other.mean_pressure_kpa == pytest.approx(one.mean_pressure_kpa, rel=2e-3)


def test_more_load_than_it_bears_is_a_named_outcome():
    """A tall slippery slanted cut slides off: no number without a certificate."""
    mold = SQUARE | {
        "cut": [{"path_mm": [[-30, -25], [30, 25]]}],
        "band": [{"tension_n_per_mm": 6.0}],
    }
    closing = Block(squeeze.mold_of(mold), 0.5).close(deformation="large", check=False)
    if not closing.deformation.is_large:
        assert closing.deformation.outcome in (Outcome.NOT_SETTLED, Outcome.UNSTABLE)
        assert closing.deformation.share < 1.0
        assert not closing.deformation.is_confirmed
    else:
        assert closing.trust.residual < 1e-5


def test_bands_of_known_size_slacken_as_the_block_gives_way():
    mold = squeeze.mold_of(
        SQUARE | {"band": [{"stock": "33", "count": 12}], "rubber": {"youngs_modulus_mpa": 0.3}}
    )
    block = Block(mold, 0.7)
    closing = block.close(deformation="large")
    assert closing.wrap is not None
    assert closing.wrap.wrap_mm < block.close(deformation="small").wrap.wrap_mm
    assert closing.wrap.tension_n_per_mm < closing.loads.tension_n_per_mm
    assert closing.wrap.tension_n_per_mm == pytest.approx(
        closing.loads.pull_n_per_mm(closing.wrap.wrap_mm), rel=1e-9
    )


@pytest.mark.parametrize(("mu", "alike"), [(0.0, 1e-4), (0.3, 0.02)])
def test_loads_that_pass_another_case_go_on_from_it(block, mu, alike):
    """Friction depends on the history of the loads: other shares of them, a little other shear."""
    how = {"friction": mu, "deformation": "large"}
    half = block.close(Loads(0.1), **how)
    after = block.close(Loads(0.15), after=half, **how)
    alone = block.close(Loads(0.15), **how)
    assert after.deformation.is_large
    assert after.deformation.tangents < alone.deformation.tangents
    for one, other in zip(after.lands, alone.lands, strict=True):
        assert one.pressure_kpa == pytest.approx(
            other.pressure_kpa, abs=alike * other.pressure_kpa.max()
        )
        assert one.gap_mm == pytest.approx(other.gap_mm, abs=alike * other.gap_mm.max() + 1e-6)


def test_more_may_be_left_over_where_a_range_is_wanted(block):
    closings = [block.close(deformation="large", left_over=much) for much in (1.0, 100.0)]
    exact, rough = closings
    assert rough.deformation.tangents <= exact.deformation.tangents
    assert rough.trust.residual < 1e-4
    for one, other in zip(rough.lands, exact.lands, strict=True):
        assert one.mean_pressure_kpa == pytest.approx(other.mean_pressure_kpa, rel=1e-2)
        assert one.largest_gap_mm == pytest.approx(other.largest_gap_mm, rel=1e-2)


@pytest.mark.parametrize("mu", [0.0, 0.3])
def test_a_start_from_a_coarser_mesh_saves_steps_and_changes_nothing(block, mu):
    near = Block(squeeze.mold_of(SQUARE), 0.6).close(deformation="large", friction=mu)
    alone = block.close(deformation="large", friction=mu)
    found = block.close(deformation="large", friction=mu, start=near)
    assert found.deformation.tangents < alone.deformation.tangents
    for one, other in zip(found.lands, alone.lands, strict=True):
        for name in ("pressure_kpa", "shear_kpa", "gap_mm"):
            here, there = getattr(one, name), getattr(other, name)
            assert here == pytest.approx(there, abs=1e-4 * np.abs(there).max() + 1e-9)


def test_a_start_that_leads_nowhere_is_left(block):
    """The displacements of a far larger load are no start: the loads then grow from none."""
    far = Block(squeeze.mold_of(SQUARE), 0.5).close(
        deformation="large", band_tension_n_per_mm=3 * block.close().loads.tension_n_per_mm
    )
    found = block.close(deformation="large", start=far)
    assert found.lands[0].largest_gap_mm == pytest.approx(
        block.close(deformation="large").lands[0].largest_gap_mm, rel=1e-4
    )


def test_a_word_that_is_no_theory_is_refused(block):
    with pytest.raises(squeeze.BadInput, match="medium"):
        block.close(Loads(0.1), deformation="medium")


def test_a_sharp_block_that_bears_the_band_at_its_corners_alone_has_an_answer():
    """It ended in a traceback: no stretch of the outline lies under the band."""
    found = squeeze.close(
        squeeze.mold_of(
            {
                "length_mm": 100,
                "rubber": {"shore_a": 20},
                "block": {"shape": "square", "width_mm": 100, "round_mm": 0},
                "cavity": [{"shape": "round", "diameter_mm": 20}],
                "cut": [{"path_mm": [[-50, 0], [50, 0]], "bow_mm": 0.3}],
                "band": [{"tension_n_per_mm": 0.3}],
            }
        ),
        deformation="large",
    )
    assert found.outcome.has_answer


LOOSE = """
title = "a block that slides in a loose cradle"
length_mm = 120.0
[rubber]
shore_a = 55.0
[block]
shape = "square"
width_mm = 100.0
[[cut]]
path_mm = [[70.0, -80.0], [0.0, 0.0]]
friction = 0.04
[[cavity]]
shape = "round"
diameter_mm = 10.0
centre_mm = [0.0, 0.0]
[[band]]
tension_n = 0.4
count = 1
pulled_at_mm = [0.0, 30.0]
[[cradle]]
covers = "all"
pieces = 4
apart_mm = 4.0
joint_deg = 10.4
thickness_mm = 12.0
back = "round"
material = "printed plastic"
loose_mm = 1.0
"""


def test_springs_on_loose_pieces_do_not_slow_the_steps():
    """What holds such a block is weaker than the springs between steps: 13 steps, not 9, once."""
    closing = squeeze.Block(squeeze.parse(LOOSE), 0.6).close(deformation="large")
    assert closing.deformation.tangents <= 10
