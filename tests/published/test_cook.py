"""Cook's membrane: the gate against locking of nearly incompressible rubber.

R. D. Cook, J. Struct. Div. ASCE 100 (1974) 1851; incompressible variant after T. Elguedj et al.,
Comput. Methods Appl. Mech. Engrg. 197 (2008) 2732. From memory; `recompute_cook.py` beside this
file recomputes the digits with elements of high order. Triangles that lock miss them by tens of
percent. The stress is singular at the clamp's upper end and at (48, 60), where the traction meets a
free edge, so a mesh that is even there converges slowly, from below, and slowest at (48, 60).
"""

import numpy as np
import pytest
from scipy.sparse.linalg import spsolve
from verification import Check, rows_test

from squeeze.mold.geometry.loop import polygon_loop
from squeeze.mold.section.records import Material, Section
from squeeze.solve.elastic.element import elastic
from squeeze.solve.mesh.parting import parted_mesh
from squeeze.solve.mesh.triangulate import triangulate

CORNERS = ((0, 0), (48, 44), (48, 60), (0, 44))
NEARLY_INCOMPRESSIBLE = Material(250.0, 0.4999)
PLANE_STRESS = Material(15 / 16, 1 / 4)
"""Plane strain with E (1 - nu^2) and nu acts as plane stress of E and nu / (1 - nu): 1 and 1/3."""


def lift(material, force, fineness):
    """Upward displacement of the right edge at its middle (48, 52) and its top (48, 60) [mm]."""
    section = Section(polygon_loop(CORNERS), material)
    mesh = parted_mesh(section, triangulate(section, fineness))
    K = elastic(mesh, (material,)).K
    x, y = mesh.points.T
    f = np.zeros_like(mesh.points)
    for a, m, b in mesh.edges[0]:
        if x[[a, m, b]].min() > 48 - 1e-9:  # Simpson's weights are exact for an even traction
            f[[a, m, b], 1] += force / 16 * abs(y[b] - y[a]) * np.array([1, 4, 1]) / 6
    free = np.flatnonzero(np.repeat(x > 1e-9, 2))
    u = np.zeros(f.size)
    u[free] = spsolve(K[free][:, free], f.ravel()[free])
    right = np.flatnonzero(x > 48 - 1e-9)
    right = right[np.argsort(y[right])]
    return np.interp([52.0, 60.0], y[right], u[2 * right + 1])


@pytest.mark.parametrize(
    ("material", "force", "middle", "top"),
    [
        (NEARLY_INCOMPRESSIBLE, 100.0, 7.405, 7.771),
        (Material(240.565, 0.4999), 100.0, 7.695, 8.076),
        (PLANE_STRESS, 1.0, 23.968, 25.189),
    ],
)
def test_the_edge_lifts_as_published(material, force, middle, top):
    found = lift(material, force, fineness=4)
    assert found[0] == pytest.approx(middle, rel=2e-3)
    assert found[1] == pytest.approx(top, rel=4e-3)


def test_a_coarse_mesh_does_not_lock():
    middle, top = lift(NEARLY_INCOMPRESSIBLE, 100.0, fineness=1)
    assert middle == pytest.approx(7.405, rel=1e-2)
    assert top == pytest.approx(7.771, rel=2e-2)


def test_stiffness_hardly_depends_on_how_incompressible_it_is():
    nearly, more = (lift(Material(250.0, nu), 100.0, 2) for nu in (0.4999, 0.49999))
    assert more == pytest.approx(nearly, rel=1e-3)


COOK = (
    "R. D. Cook, J. Struct. Div. ASCE 100 (1974) 1851; T. Elguedj et al. 2008; from memory,"
    " recomputed here; not from a mold: it is clamped"
)
CHECKS = tuple(
    Check(
        f"Tapered panel clamped at one end, {what}",
        COOK,
        "lift of the loaded edge in its middle, mm",
        published,
        lambda material=material, force=force: (float(lift(material, force, 4)[0]), None),
        within=2e-3,
    )
    for what, material, force, published in (
        ("nearly incompressible", NEARLY_INCOMPRESSIBLE, 100.0, 7.405),
        ("plane stress", PLANE_STRESS, 1.0, 23.968),
    )
)
test_published = rows_test(CHECKS)
