"""What has to hold for any mold: scaling, symmetry, complementarity, no force from rigid motion."""

from functools import cache

import numpy as np
import pytest

import squeeze
from squeeze.mold import section_of
from squeeze.solve.elastic.element import elastic
from squeeze.solve.elastic.rigid import rigid_motions
from squeeze.solve.mesh.parting import parted_mesh
from squeeze.solve.mesh.triangulate import triangulate

T = 0.6
OUTLINE = np.array([[-60, -45], [62, -40], [58, 48], [-64, 56]])
HOLES = ((-30.0, 32.0, 10.0), (-8.0, 33.0, 12.0), (20.0, 30.0, 9.0))
AS_IT_IS = np.eye(2)
PATHS = ([[-80, 35], [-30, 32], [-8, 33], [20, 30]], [[80, 0], [35, 2]], [[-15, -60], [-8, -12]])


def mold(move=AS_IT_IS, shift=(0.0, 0.0), scale=1.0, E=0.6, nu=0.499, paths=PATHS, cut=None):
    """Make a lopsided block: three cavities on a cut, two cuts that end in rubber."""

    def moved(points):
        return (scale * (np.array(points, float) @ move.T + shift)).tolist()

    cavity = [
        {"shape": "round", "diameter_mm": d * scale, "centre_mm": moved([x, y])}
        for x, y, d in HOLES
    ]
    return squeeze.mold_of(
        {
            "length_mm": 100,
            "rubber": {"youngs_modulus_mpa": E, "poisson": nu},
            "block": {"points_mm": moved(OUTLINE), "round_mm": 3 * scale},
            "cavity": cavity,
            "cut": [{"path_mm": moved(path), **(cut or {})} for path in paths],
            "band": [{"tension_n_per_mm": T * scale}],
        }
    )


@pytest.fixture(scope="module")
def block():
    return squeeze.Block(mold())


@pytest.fixture(scope="module")
def closing(block):
    return block.close()


def joined(closing, name):
    return np.concatenate([getattr(land, name) for land in closing.lands])


def test_the_mold_is_worth_testing(closing):
    pressure = joined(closing, "pressure_kpa")
    assert closing.trust.outcome == "converged"
    assert len(closing.lands) == 5
    assert 0.3 < np.mean(pressure > 0) < 0.7


@pytest.mark.parametrize("times", [1e-3, 2.0, 50.0])
def test_twice_the_tension_twice_the_answer(block, closing, times):
    more = block.close(band_tension_n_per_mm=times * T)
    for name in ("pressure_kpa", "gap_mm", "slip_mm"):
        once = joined(closing, name)
        assert joined(more, name) == pytest.approx(times * once, abs=1e-9 * times * once.max())
    closed = joined(closing, "pressure_kpa") > 0
    assert ((joined(more, "pressure_kpa") > 0) == closed).all()


def test_an_unloaded_gap_breaks_that_proportion(block):
    once, twice = (block.close(band_tension_n_per_mm=k * T, gap_mm=0.2) for k in (1, 2))
    assert joined(twice, "pressure_kpa").sum() != pytest.approx(
        2 * joined(once, "pressure_kpa").sum(), rel=1e-2
    )


def test_pressures_do_not_depend_on_stiffness(closing):
    harder = squeeze.Block(mold(E=6.0)).close()
    once = joined(closing, "pressure_kpa")
    assert joined(harder, "pressure_kpa") == pytest.approx(once, abs=1e-9 * once.max())
    gap = joined(closing, "gap_mm")
    assert joined(harder, "gap_mm") == pytest.approx(gap / 10, abs=1e-9 * gap.max())


def test_pressure_and_gap_exclude_each_other(closing):
    pressure, gap = joined(closing, "pressure_kpa"), joined(closing, "gap_mm")
    assert pressure.min() >= 0
    assert gap.min() >= 0
    assert (pressure * gap == 0).all()
    assert closing.trust.complementarity < 1e-8
    assert closing.trust.force_balance < 1e-9


def test_faces_that_press_do_not_pass_through_each_other(closing):
    """What vanishes is the gap weighted with the pressure's functions; the gap itself wavers."""
    for land in closing.lands:
        t = np.gradient(np.column_stack([land.x_mm, land.y_mm]), axis=0)
        t /= np.hypot(*t.T)[:, None]
        jump = land.faces_mm[:, 0] - land.faces_mm[:, 1]
        apart = t[:, 0] * jump[:, 1] - t[:, 1] * jump[:, 0]
        largest = joined(closing, "gap_mm").max()
        assert apart.min() > -2e-3 * largest
        assert np.abs(apart[land.pressure_kpa > 0]).max(initial=0) < 2e-3 * largest


def alike(one, other, order=slice(None), rel=0.01):
    """Compare land by land; meshes differ, so pressures are compared away from the lands' ends."""
    for a, b in zip(one.lands, other.lands[order], strict=True):
        assert b.force_n_per_mm == pytest.approx(a.force_n_per_mm, rel=rel, abs=rel * T)
        assert b.largest_gap_mm == pytest.approx(a.largest_gap_mm, rel=rel, abs=rel * 0.1)
        s = np.linspace(0.1, 0.9, 9)
        pa, pb = (np.interp(s, c.s_mm / c.length_mm, c.pressure_kpa) for c in (a, b))
        assert pb == pytest.approx(pa, abs=0.03 * joined(one, "pressure_kpa").max())


FINER = 1.6
"""Two meshes of one mold are so fine that their answers differ by less than `alike` allows."""


@cache
def finer():
    return squeeze.Block(mold(), FINER).close()


MIRRORS = [np.diag([-1.0, 1.0]), np.diag([1.0, -1.0]), np.array([[0.0, 1.0], [1.0, 0.0]])]


@pytest.mark.parametrize("mirror", MIRRORS)
def test_a_mirrored_mold_gives_the_mirrored_answer(mirror):
    one, other = finer(), squeeze.Block(mold(mirror), FINER).close()
    alike(one, other)
    for a, b in zip(one.lands, other.lands, strict=True):
        assert np.array([b.x_mm[0], b.y_mm[0]]) == pytest.approx(
            mirror @ [a.x_mm[0], a.y_mm[0]], abs=1e-9
        )


@pytest.mark.parametrize("angle_deg", [17, 90, pytest.param(233, marks=pytest.mark.slow)])
def test_a_turned_and_moved_mold_gives_the_same_answer(angle_deg):
    c, s = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    turned = mold(np.array([[c, -s], [s, c]]), shift=(120.0, -35.0))
    alike(finer(), squeeze.Block(turned, FINER).close())


def test_a_mold_of_twice_the_size_under_twice_the_tension(closing):
    """Meshes are alike but not the same to the last place, so ends of lands are left out."""
    double = squeeze.Block(mold(scale=2.0)).close()
    top = joined(closing, "pressure_kpa").max()
    for a, b in zip(closing.lands, double.lands, strict=True):
        s = np.linspace(0.1, 0.9, 9)
        pa, pb = (np.interp(s, c.s_mm / c.length_mm, c.pressure_kpa) for c in (a, b))
        assert pb == pytest.approx(pa, abs=1e-2 * top)
        assert b.largest_gap_mm == pytest.approx(2 * a.largest_gap_mm, rel=1e-2, abs=1e-3)
        assert b.force_n_per_mm == pytest.approx(2 * a.force_n_per_mm, rel=1e-2)


def test_a_cut_drawn_from_its_other_end_gives_the_same_answer(closing):
    reverse = squeeze.Block(mold(paths=[path[::-1] for path in PATHS])).close()
    for a, b in zip(closing.lands[:3], reverse.lands[2::-1], strict=True):
        assert b.pressure_kpa[::-1] == pytest.approx(a.pressure_kpa, abs=0.3)
        assert b.gap_mm[::-1] == pytest.approx(a.gap_mm, abs=5e-3)
        assert b.slip_mm[::-1] == pytest.approx(a.slip_mm, abs=5e-3)


def test_rigid_motion_gives_no_force():
    section = section_of(mold())
    mesh = parted_mesh(section, triangulate(section))
    K = elastic(mesh, (section.material,)).K
    motions = rigid_motions(mesh)
    assert motions.shape[1] == 3 * (mesh.piece.max() + 1)
    assert np.abs(K @ motions).max() < 1e-11 * np.abs(K.diagonal()).max()
    assert np.abs((K - K.T).data).max() < 1e-14 * np.abs(K.diagonal()).max()


def test_a_block_without_loads_stays_as_it_is(block):
    still = block.close(band_tension_n_per_mm=0.0)
    assert still.trust.outcome == "converged"
    assert not joined(still, "pressure_kpa").any()
    assert np.abs(still.field.displacement_mm).max() == pytest.approx(0, abs=1e-12)
    assert still.wrap is None
