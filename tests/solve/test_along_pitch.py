"""Ripple under even pitches, short waves at a lip, and the mesh of many waves: by closed forms."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest

from squeeze.solve.along import pitch as pitch_module
from squeeze.solve.along import section_mesh
from squeeze.solve.along.long_block import waves_for
from squeeze.solve.along.pitch import KEEPS, PitchRule, _at_places, pitch_rule, ripple
from squeeze.solve.along.section_mesh import coarse_enough
from squeeze.solve.along.surface import AT_LIP, BELOW, SHORT, Surface, _pressure_at, surface
from squeeze.solve.load_case import LEAST_FINENESS

LENGTH_MM = 60.0
WAVES = 12


def rule(ripple, pitch=(10.0, 20.0, 40.0)):
    pitch, ripple = np.array(pitch), np.array(ripple, float)
    return PitchRule(pitch, ripple, ripple - 1.0, np.full(len(pitch), np.nan), 6.0)


@pytest.mark.parametrize(
    ("ripple", "widest"),
    [
        ((1.0, 0.95, 0.85), 30.0),  # halfway between the last that keeps 0.9 and the next
        ((1.0, 0.6, 0.95), 12.5),  # the first fall counts
        ((0.95, 0.9, 0.5), 20.0),
        ((0.89, 0.5, 0.1), 0.0),
        ((0.9, 0.5, 0.1), 10.0),
        ((1.0, 0.99, 0.9), 40.0),
        ((1.0, 0.8, np.nan), 15.0),
    ],
)
def test_the_widest_pitch_is_where_the_line_between_two_falls_below_the_share(ripple, widest):
    assert KEEPS == 0.9
    assert rule(ripple).widest_mm("cavity") == pytest.approx(widest)
    assert rule(ripple).widest_mm("middle", keeps=-0.1) == pytest.approx(widest)
    assert np.isnan(rule(ripple).widest_mm("outside"))
    assert np.isnan(rule((), ()).widest_mm("cavity"))


def long_block(decay, count=WAVES, pushes=0.0):
    """Return a block whose places press with a tension's waves, each fading by exp(-k decay).

    Pushes add the same everywhere; the second place pulls.
    """
    numbers = np.pi * np.arange(16 * count) / LENGTH_MM
    fades = np.exp(-np.outer(numbers, [decay, decay])) * [1.0, -1.0]

    def bonded_waves(tension):
        even = np.zeros((count, 3))
        even[0, :2] = pushes
        even[:, :2] += tension[:count, None] * fades[:count]
        return even

    none = SimpleNamespace(rest=lambda tension, numbers, z: np.zeros((len(z), 2)))
    rows = SimpleNamespace(weight=np.ones(2))
    return SimpleNamespace(
        length_mm=LENGTH_MM, count=count, numbers=numbers, bonded_waves=bonded_waves,
        surface=none, block=SimpleNamespace(contact_rows=rows),
    )  # fmt: skip


@pytest.mark.parametrize("parts", [1, 2, 3, 4])
@pytest.mark.parametrize("pushes", [0.0, 5.0])
def test_ripple_of_an_even_pitch_is_that_of_its_own_waves(parts, pushes):
    """Bands at a pitch P make T / P (1 + 2 sum sinc(b n / P) cos(2 pi n z / P)).

    Each wave fades by exp(-2 pi n d / P); the least stands midway between bands.
    """
    P, b, d = 2 * LENGTH_MM / parts, 6.0, 9.0
    found = ripple(long_block(d, pushes=pushes), P, b)
    n = np.arange(1, (WAVES - 1) // parts + 1)
    fades = np.sinc(n * b / P) * np.exp(-2 * np.pi * n * d / P) * (-1.0) ** n
    assert found[0] == pytest.approx(1 + 2 * fades.sum(), rel=1e-3)
    assert np.isnan(found[1])


def test_a_rule_has_the_pitches_down_to_four_steps_and_wider_than_a_band(monkeypatch):
    """Of 60 mm and 12 waves: 120 / n for n up to 6, ascending."""
    asked = []
    monkeypatch.setattr(pitch_module, "_at_places", lambda block, one: one)

    def noted(block, pitch, width):
        asked.append(pitch)
        return pitch, width, 0.5

    monkeypatch.setattr(pitch_module, "ripple", noted)
    found = pitch_rule(long_block(9.0), 6.0)
    assert found.pitch_mm == pytest.approx([20, 24, 30, 40, 60, 120])
    assert found.cavity == pytest.approx(found.pitch_mm)
    assert (found.middle == 6.0).all()
    assert (found.outside == 0.5).all()
    assert pitch_rule(long_block(9.0), 24.0).pitch_mm == pytest.approx([30, 40, 60, 120])
    assert pitch_rule(long_block(9.0, count=1), 6.0).pitch_mm == pytest.approx([120])


def test_the_worst_land_counts_at_cavities_in_middles_and_outside():
    """Lands of three, four and three places: two from a hole to the outside, one in rubber."""
    lands = [
        SimpleNamespace(left=np.array(nodes)) for nodes in ([1, 8, 2], [3, 8, 8, 4], [8, 8, 8])
    ]
    edges = (np.array([[2, 5, 4]]), np.array([[1, 6, 3]]))
    mesh = SimpleNamespace(edges=edges, lands=lands)
    rows = SimpleNamespace(begins=np.array([0, 3, 7, 10]))
    block = SimpleNamespace(block=SimpleNamespace(mesh=mesh, contact_rows=rows))
    ripples = np.array([0.8, 0.95, 0.4, 0.7, 0.1, 0.9, 0.3, 0.1, np.nan, 0.1])
    assert _at_places(block, ripples) == (0.7, 0.9, 0.3)
    ripples[[0, 3]] = np.nan
    assert np.isnan(_at_places(block, ripples)[0])


@pytest.mark.parametrize(("length", "waves"), [(20, 16), (90, 20), (100, 22), (216, 48), (900, 48)])
def test_places_stand_four_and_a_half_millimetres_apart_sixteen_to_forty_eight(length, waves):
    assert waves_for(length) == waves


def solved(fineness=1.0, unknowns=200, places=5):
    def remeshed(fineness):
        return solved(fineness, unknowns=unknowns // 2)

    return SimpleNamespace(
        fineness=fineness, mesh=SimpleNamespace(points=np.zeros((unknowns // 2, 2))),
        contact_rows=SimpleNamespace(weight=np.ones(places)), remeshed=remeshed,
    )  # fmt: skip


def test_edges_grow_by_the_root_of_what_is_too_much_and_waves_go_last(monkeypatch):
    """200 unknowns in 20 waves; where 2000 are allowed edges are sqrt(2) longer."""
    mold = SimpleNamespace(cut=[SimpleNamespace(along_mm=None)])
    block = solved()
    for allowed in (np.inf, 4000.0, 9000.0):
        assert coarse_enough(block, mold, allowed, 20) == (block, 20)
    coarse, waves = coarse_enough(block, mold, 2000.0, 20)
    assert coarse.fineness == pytest.approx(math.sqrt(0.5))
    assert waves == 20
    assert coarse_enough(solved(2.0), mold, 2000.0, 20)[0].fineness == pytest.approx(math.sqrt(2))
    assert coarse_enough(block, mold, 1900.0, 20)[1] == 19
    least, waves = coarse_enough(block, mold, 20.0, 20)
    assert (least.fineness, waves) == (LEAST_FINENESS, 16)
    done = solved(LEAST_FINENESS)
    assert coarse_enough(done, mold, 3600.0, 20) == (done, 18)
    # memory: 20 waves of 5 x 5 compliances, or of 15 x 15 where a cut takes a part of the length
    monkeypatch.setattr(section_mesh, "MOST_ENTRIES", 20 * 10**2)
    assert coarse_enough(block, mold, 4000.0, 20) == (block, 20)
    part = SimpleNamespace(cut=[SimpleNamespace(along_mm=[0, 9])])
    assert coarse_enough(block, part, 4000.0, 20)[0].fineness == pytest.approx(10 / 15)


def test_a_lip_feels_the_pressure_of_the_edges_beside_it():
    """A land down from a side that a band presses by 0.02 a mm, to a flat that it does not.

    A mid-side bears two thirds of its edge's pressure; the land's steps are 1, 2 and 3 mm.
    """
    land = [(0, 0), (0, -0.5), (0, -1), (0, -2), (0, -3), (0, -4.5), (0, -6)]
    top = [(-2, 0), (-1, 0), (1, 0), (2, 0)]
    foot = [(-2, -6), (-1, -6), (1, -6), (2, -6)]
    points = np.array([*land, *top, *foot], float)
    outside = np.array([[0, 8, 7], [10, 9, 0], [11, 12, 6], [6, 13, 14]])
    face = SimpleNamespace(left=np.arange(7), right=np.array([7, 1, 2, 3, 4, 5, 11]))
    mesh = SimpleNamespace(points=points, faces=[face], edges=(outside,), outside=outside)
    rows = SimpleNamespace(weight=np.ones(4), begins=np.array([0, 4]))
    material = SimpleNamespace(material=SimpleNamespace(poisson=0.45))
    block = SimpleNamespace(mesh=mesh, contact_rows=rows, section=material)
    band = np.zeros((len(points), 2))
    band[8], band[9] = [0.0, -2 / 3 * 0.01 * 2], [0.0, -2 / 3 * 0.03 * 2]
    band[12, 1], band[13, 1] = 2 / 3 * 0.02 * 2, 1e-12
    pressure = _pressure_at(block, band.ravel())
    found = [pressure[k] for k in (7, 0, 10, 11, 6, 14)]
    assert found == pytest.approx([0.01, 0.02, 0.03, 0.02, 0, 0])
    assert pressure[6] == pressure[14] == 0.0  # beside a flat, and on it
    found = surface(block, band.ravel())
    assert found.depth == pytest.approx([0, 1, 3, 0])
    assert found.curvature == pytest.approx([0.015, 0.015, 0.015, 0.0])  # both lips
    assert found.stress == pytest.approx(0.9 * found.curvature)
    below, short = [BELOW / 1.0, BELOW / 3.0], SHORT / 6.0
    assert found.from_k == pytest.approx([
        max(AT_LIP / 1.0, short), below[0], below[0], max(AT_LIP / 3.0, short),
    ])  # fmt: skip


def test_the_closed_form_begins_above_its_wave_and_never_for_a_flat():
    """Waves just below and above `from_k`, 1 / mm; depths just within and beyond twelve waves."""
    place = Surface(np.array([0.5, 11.9, 12.1]), np.array([0.1, 0.0, 0.0]), np.zeros(3), np.ones(3))
    found = place.mended(np.full((2, 3), 7.0), np.array([2.0, 2.0]), np.array([1.0, 1.001]))
    assert found[0].tolist() == [7.0, 7.0, 0.0]
    assert found[1, 1:].tolist() == [7.0, 0.0]
    assert found[1, 0] == pytest.approx(0.2 * math.exp(-0.5005))
