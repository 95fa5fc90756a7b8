"""The square of four barrels, bevel 3: bands leave its middle open, round-backed boards close it.

The figures to compare with come from one coarse prototype (E 0.6 MPa, nu 0.499, T 0.6 N/mm, boards
of E 2000 MPa, nu 0.3, seats and cut without friction), so within a few kPa.
"""

from __future__ import annotations

import numpy as np
import pytest

from squeeze.mold import mold_of
from squeeze.solve import Block, Closing, Outcome
from squeeze.verdict.cradle import cradle_notes

BARRELS = {
    "length_mm": 140,
    "rubber": {"youngs_modulus_mpa": 0.6, "poisson": 0.499},
    "block": {"shape": "square", "width_mm": 120, "bevel_mm": 3},
    "cavity": [
        {"shape": "round", "diameter_mm": 10, "centre_mm": [x, 40]} for x in (-24, -8, 8, 24)
    ],
    "cut": [{"name": "across", "path_mm": [[-60, 40], [60, 40]]}],
    "band": [{"tension_n_per_mm": 0.6}],
}
SIDES = ("top", "bottom", "left", "right")


def closed(**cradle) -> Closing:
    boards = [{"name": side, "covers": side} | cradle for side in SIDES] if cradle else []
    closing = Block(mold_of(BARRELS | {"cradle": boards})).close()
    assert closing.trust.outcome is Outcome.CONVERGED
    assert closing.trust.force_balance < 1e-9
    return closing


def boards(rise_mm: float, E: float = 2000.0, **more) -> Closing:
    stuff = {"youngs_modulus_mpa": E, "poisson": 0.3, "friction": 0.0}
    back = {"back": "round", "rise_mm": rise_mm, "thickness_mm": rise_mm + 4}
    return closed(**(back | stuff | more))


def between_cavities(closing: Closing) -> tuple[float, float]:
    p = np.concatenate([land.pressure_kpa for land in closing.lands[1:4]])
    return float(p.min()), float(p.max())


def test_bands_alone_leave_the_middle_open():
    middle = closed().lands[2]
    assert middle.closed_share == 0
    assert np.interp(0.0, middle.x_mm, middle.gap_mm) == pytest.approx(0.96, abs=0.05)


@pytest.mark.parametrize(
    ("rise", "E", "low", "high"), [(10, 2000, 8, 27), (4, 2000, 5, 16), (10, 5, 4, 12)]
)
def test_round_backed_boards_close_every_land(rise, E, low, high):
    closing = boards(rise, E)
    assert min(land.closed_share for land in closing.lands) == 1.0
    found = between_cavities(closing)
    assert found[0] > 0.6 * low
    assert found[1] < 1.3 * high
    assert found[1] > 0.6 * high


def test_plywood_closes_them_too():
    closing = closed(back="round", rise_mm=10, thickness_mm=14, material="plywood")
    assert min(land.closed_share for land in closing.lands) == 1.0


def test_seats_carry_the_bands_to_rounding():
    closing = boards(10)
    wrap = closing.wrap
    assert wrap is not None
    push = wrap.push_n_per_mm
    for seat_side, axis, sign in (("top", 1, 1), ("right", 0, 1), ("bottom", 1, -1)):
        on = sign * wrap.points_mm[:, axis] > 60 + 1e-6
        on &= np.abs(wrap.points_mm[:, 1 - axis]) < 57
        carried = sum(s.force_n_per_mm for s in closing.seats if s.cut == seat_side)
        assert carried == pytest.approx(-sign * push[on, axis].sum(), rel=1e-9)


def test_touching_pieces_starve_the_block_and_it_is_told():
    full = {"name": "c", "covers": "all", "pieces": 2, "back": "round", "thickness_mm": 8}
    stuff = {"material": "plywood", "friction": 0.3, "joint_deg": 0}
    apart, touching = (
        Block(mold_of(BARRELS | {"cradle": [full | stuff | {"apart_mm": gap}]})).close()
        for gap in (4, 0)
    )
    carried = sum(joint.force_n_per_mm for joint in touching.joints)
    assert carried > 0.5 * 2 * 0.6
    means = [np.mean([land.mean_pressure_kpa for land in c.lands]) for c in (apart, touching)]
    assert means[1] < 0.5 * means[0]
    assert any("keeps" in note and "'c 1' and 'c 2'" in note for note in cradle_notes(touching))
    assert not any("keeps" in note for note in cradle_notes(apart))


def test_clamped_boards_close_what_faces_them_and_not_what_lies_along():
    """Boards pressed on two faces close a cut that faces them; friction holds one that does not."""
    stiff = {"material": "plywood", "thickness_mm": 18, "friction": 0.3}
    found = []
    for sides, at in ((("top", "bottom"), (0, 78)), (("left", "right"), (78, 0))):
        pads = [{"at_mm": [k * v for v in at], "width_mm": 60, "force_n_per_mm": 1.2}
                for k in (1, -1)]  # fmt: skip
        boards = [{"name": side, "covers": side} | stiff for side in sides]
        data = BARRELS | {"cradle": boards, "push": pads, "band": []}
        closing = Block(mold_of(data)).close()
        assert closing.trust.outcome is Outcome.CONVERGED
        found.append(float(np.mean([land.closed_share for land in closing.lands])))
    assert found[0] == 1.0
    assert found[1] < 0.6


def test_a_stiffer_board_is_a_rigid_board_in_the_end():
    found = [between_cavities(boards(10, E))[0] for E in (2e2, 2e3, 2e4, 2e5)]
    step = np.abs(np.diff(found))
    assert step[1] < 0.3 * step[0]
    assert step[2] < 0.2 * step[1]


def test_a_piece_without_friction_on_a_slope_is_named():
    """A wedge-shaped piece slides off; the outcome says so, the notes stay silent."""
    wedge = {"name": "wedge", "points_mm": [[-40, 60], [40, 60], [40, 90], [-40, 65]],
             "material": "plywood", "friction": 0.0}  # fmt: skip
    closing = Block(mold_of(BARRELS | {"cradle": [wedge]})).close(check=False)
    assert closing.trust.outcome is Outcome.PIECE_NOT_HELD
    assert cradle_notes(closing) == []
