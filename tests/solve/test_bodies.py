"""Several bodies: bonded fillers, cradle pieces on the block, and pieces on pieces."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from squeeze.mold.forces.loads import Loads, Push
from squeeze.mold.geometry.curve import Arc, Line
from squeeze.mold.geometry.loop import Loop, circle, polygon_loop
from squeeze.mold.section.records import (
    Cavity,
    CradlePiece,
    Cut,
    CutStretch,
    Filler,
    Material,
    Section,
)
from squeeze.solve import Block, Outcome
from squeeze.solve.mesh.parting import parted_mesh
from squeeze.solve.mesh.triangulate import triangulate

RUBBER = Material(0.6, 0.499)
PLYWOOD = Material(2000.0, 0.3)
BANDS = Loads(tension_n_per_mm=0.6)
TOP_CUT = Cut("top", (CutStretch(((0.0, 20.0), (0.0, 60.0)), 0.0),), 40.0)


def box(x0: float, y0: float, x1: float, y1: float) -> Loop:
    return polygon_loop([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])


def square(**more) -> Section:
    return Section(box(-60, -60, 60, 60), RUBBER, (Cavity("c", circle(20)),), (TOP_CUT,), **more)


def board(x0: float, y0: float, x1: float, y1: float, **more) -> CradlePiece:
    return CradlePiece("board", box(x0, y0, x1, y1), **({"material": PLYWOOD} | more))


def pressure(section: Section, loads: Loads = BANDS, fineness: float = 1.0):
    closing = Block(section, fineness).close(loads)
    assert closing.trust.outcome is Outcome.CONVERGED
    land = closing.lands[0]
    return land.s_mm, land.pressure_kpa


def apart(a, b, skip_mm: float = 0.0) -> float:
    """Largest difference of two pressures along the same cut, over the largest pressure."""
    (s, p), (r, q) = a, b
    at = s[(s >= skip_mm) & (s <= s[-1] - skip_mm)]
    return float(np.abs(np.interp(at, s, p) - np.interp(at, r, q)).max() / q.max())


SOFT = replace(RUBBER)


@pytest.mark.parametrize(
    "loops",
    [
        (circle(12, (30, 30)),),
        (box(-70, -70, -20, -5), box(-20, -70, 10, -30)),  # over the edges, and side by side
        (box(5, 10, 40, 40),),  # reaches into the cavity
        (box(0, 30, 30, 50),),  # one side along the cut
        (box(-15, 30, 15, 50),),  # parted by the cut
        (box(-60, 30, 60, 60),),  # the whole top, flush with the outline
    ],
)
def test_filler_of_the_same_rubber_changes_nothing(loops):
    fillers = tuple(Filler(f"f{k}", loop, SOFT) for k, loop in enumerate(loops))
    filled, plain = (square(fillers=f) for f in (fillers, ()))
    assert apart(pressure(filled, fineness=2), pressure(plain, fineness=2), 3.0) < 0.01


def test_filler_areas_and_materials():
    section = square(fillers=(Filler("f", box(-70, -70, -20, -30), Material(2.0, 0.49)),))
    mesh = parted_mesh(section, triangulate(section))
    p = mesh.points[mesh.triangles[:, :3]]
    d, e = p[:, 1] - p[:, 0], p[:, 2] - p[:, 0]
    area = 0.5 * np.bincount(mesh.body, d[:, 0] * e[:, 1] - d[:, 1] * e[:, 0])
    assert area[1] == pytest.approx(40 * 30, rel=1e-12)
    assert mesh.piece.max() == 0
    assert section.materials[1].youngs_modulus_mpa == 2.0


def test_hard_filler_makes_the_block_stiffer():
    soft = Block(square()).close(BANDS).cavities[0]
    hard = Filler("f", box(-60, -60, 60, -30), Material(50.0, 0.45))
    stiff = Block(square(fillers=(hard,))).close(BANDS).cavities[0]
    assert abs(stiff.area_change_pct) < 0.95 * abs(soft.area_change_pct)


def test_stiff_half_in_series_follows_the_rule_of_mixtures():
    """Bar of two materials in series, nu = 0: shortening = F (L1/E1 + L2/E2)/A."""
    filler = Filler("f", box(-5, 0, 5, 60), Material(6.0, 0.0))
    bar = Section(box(-5, -60, 5, 60), Material(0.6, 0.0), fillers=(filler,))
    pushes = (Push((0, 60), 10, 0.006), Push((0, -60), 10, 0.006))
    field = Block(bar).close(Loads(pushes=pushes)).field
    ends = [np.abs(field.points_mm[:, 1] - y) < 1e-9 for y in (-60, 60)]
    low, high = (field.displacement_mm[end, 1].mean() for end in ends)
    assert low - high == pytest.approx(0.006 * 60 * (1 / 0.6 + 1 / 6.0), rel=1e-3)


def ring_piece(number: int, count: int = 4, material: Material = RUBBER) -> CradlePiece:
    """One of `count` touching pieces of a ring from R = 50 to R = 60."""
    turn = 2 * np.pi / count
    a, b = number * turn + 0.1, (number + 1) * turn + 0.1
    inner, outer = ([(r * np.cos(t), r * np.sin(t)) for t in (a, b)] for r in (50.0, 60.0))
    loop = Loop(
        (
            Arc((0.0, 0.0), (60.0, 60.0), a, turn),
            Line(outer[1], inner[1]),
            Arc((0.0, 0.0), (50.0, 50.0), b, -turn),
            Line(inner[0], outer[0]),
        )
    )
    return CradlePiece(f"piece {number + 1}", loop, material)


RADIAL = Cut("r", (CutStretch(((0.0, 20.0), (0.0, 50.0)), 0.0),), 30.0)


@pytest.mark.parametrize("count", [2, 3, 4])
def test_ring_of_pieces_of_the_same_rubber_is_the_bigger_block(count):
    pieces = tuple(ring_piece(k, count) for k in range(count))
    inner = Section(circle(50), RUBBER, (Cavity("c", circle(20)),), (RADIAL,), cradles=pieces)
    a, b, T = 20.0, 60.0, BANDS.tension_n_per_mm
    closing = Block(inner).close(BANDS)
    land = closing.lands[0]
    po = 1000 * T / b
    lame = po * b**2 / (b**2 - a**2) * (1 + a**2 / (a + land.s_mm) ** 2)
    assert land.pressure_kpa == pytest.approx(lame, rel=0.006)
    radial = po * b**2 / (b**2 - a**2) * (1 - a**2 / 50**2)
    for seat in closing.seats:
        assert seat.pressure_kpa == pytest.approx(np.full(len(seat.s_mm), radial), rel=0.01)
    assert len(closing.joints) == count
    total = sum(seat.length_mm for seat in closing.seats)
    assert total == pytest.approx(2 * np.pi * 50, rel=2e-3)  # chords


def test_bonded_seat_of_the_same_rubber_is_the_bigger_block():
    """A board of rubber with friction that holds it everywhere against a block that is taller."""
    cut = Cut("in", (CutStretch(((-60.0, -10.0), (60.0, -10.0)), 0.0),), 120.0)
    whole = Section(box(-60, -60, 60, 60), RUBBER, cuts=(cut,))
    low = Section(box(-60, -60, 60, 30), RUBBER, cuts=(cut,))
    fitted = replace(low, cradles=(board(-60, 30, 60, 60, material=RUBBER, friction=3.0),))
    pushes = (Push((0, 60), 80, 0.01), Push((0, -60), 80, 0.01), Push((60, 20), 60, 0.01))
    loads = Loads(pushes=(*pushes, Push((-60, 20), 60, 0.01)), all_round_mpa=0.02)
    one, other = pressure(fitted, loads), pressure(whole, loads)
    assert apart(one, other, 3.0) < 0.01
    seat = Block(fitted).close(loads).seats[0]
    assert seat.closed_share == 1.0
    assert np.abs(seat.slip_mm).max() < 0.003  # held in the mean over each place's hat


def boards(material: Material = PLYWOOD, **more) -> tuple[CradlePiece, ...]:
    made = board(-50, 60, 50, 75), board(-50, -75, 50, -60)
    kept = {"material": material} | more
    return tuple(
        replace(piece, name=name, **kept)
        for piece, name in zip(made, ("over", "under"), strict=True)
    )


def test_seats_carry_what_the_band_puts_on_their_piece():
    block = Block(square(cradles=boards(friction=0.3)))
    closing = block.close(BANDS)
    assert closing.trust.outcome is Outcome.CONVERGED
    force = BANDS.tension_n_per_mm * block_band(block).reshape(-1, 2)
    for name, body in (("over", 1), ("under", 2)):
        nodes = np.unique(block.mesh.triangles[block.mesh.body == body])
        carried = sum(seat.force_n_per_mm for seat in closing.seats if seat.cut == name)
        assert carried == pytest.approx(abs(force[nodes, 1].sum()), rel=1e-9)
    assert closing.trust.force_balance < 1e-10


def block_band(block: Block) -> np.ndarray:
    from squeeze.solve.bands.wrap import wrap

    return wrap(block.mesh.points, block.mesh.outside).load


def test_band_goes_round_block_and_boards():
    wrap = Block(square(cradles=boards())).close(BANDS).wrap
    corner = np.hypot(10, 15)
    assert wrap.wrap_mm == pytest.approx(2 * 100 + 2 * 120 + 4 * corner, rel=1e-12)
    assert np.abs(wrap.push_n_per_mm.sum(axis=0)).max() < 1e-12


def test_stiffer_boards_converge_to_a_rigid_one():
    E = [2e2, 2e3, 2e4, 2e5]
    found = [pressure(square(cradles=boards(Material(e, 0.3), friction=0.3)))[1] for e in E]
    step = [float(np.abs(b - a).max()) for a, b in pairwise(found)]
    assert step[1] < 0.3 * step[0]
    assert step[2] < 0.2 * step[1]
    assert step[2] < 0.01 * found[-1].max()


def test_loose_seat_closes_where_the_rubber_reaches_it():
    """A seat crowned by more than the rubber gives stays open at its ends."""
    x = np.linspace(-1, 1, 41)
    section = square(cradles=boards(friction=0.3, gap_mm=tuple(3.0 * x**2), length_mm=100.0))
    closing = Block(section).close(Loads(tension_n_per_mm=0.1))
    seat = closing.seats
    assert seat[0].pressure_kpa[0] == 0
    assert seat[0].gap_mm[0] > 1.0
    assert sum(s.force_n_per_mm for s in seat if s.cut == "over") > 0


def test_all_round_pressure_goes_round_the_outside():
    """On fitted boards of rubber, even pressure is even pressure everywhere."""
    section = Section(box(-60, -60, 60, 60), RUBBER, cradles=boards(RUBBER))
    closing = Block(section).close(Loads(all_round_mpa=0.01))
    for seat in closing.seats:
        assert seat.pressure_kpa == pytest.approx(np.full(len(seat.s_mm), 10.0), rel=2e-3)


def test_board_that_nothing_presses_is_named():
    section = square(cradles=(boards()[0],))
    pushes = (Push((60, 0), 40, 0.01), Push((-60, 0), 40, 0.01))
    closing = Block(section).close(Loads(pushes=pushes), check=False)
    assert closing.trust.outcome in (Outcome.PIECE_NOT_HELD, Outcome.CONVERGED)
    force = sum(seat.force_n_per_mm for seat in closing.seats)
    assert np.isnan(force) if closing.outcome is Outcome.PIECE_NOT_HELD else abs(force) < 1e-9
