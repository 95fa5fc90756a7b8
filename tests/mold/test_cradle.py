"""Cradle pieces and fillers as the mold file describes them: shapes, seats, faults in words."""

from __future__ import annotations

import math

import numpy as np
import pytest

from squeeze.mold import BadInput, fit_of, loads_of, mold_of, section_of, wrap_mm
from squeeze.mold.cradle.materials import MATERIALS
from squeeze.mold.geometry.curve import Arc
from squeeze.mold.geometry.curve_parts import seat_of

SQUARE = {"shape": "square", "width_mm": 120, "bevel_mm": 3, "round_mm": 0}
ROUND = {"shape": "round", "diameter_mm": 120}
BOARD = {"name": "b", "covers": "top", "thickness_mm": 18, "material": "plywood"}


def section(*cradles, block=SQUARE, **more):
    base = {"length_mm": 100, "rubber": {"youngs_modulus_mpa": 0.6}, "block": block}
    return section_of(mold_of(base | {"cradle": list(cradles)} | more))


def faults(*cradles, **more) -> str:
    with pytest.raises(BadInput) as caught:
        section(*cradles, **more)
    return str(caught.value)


def test_flat_board_covers_the_flat_and_no_more():
    (piece,) = section(BOARD | {"round_mm": 0}).cradles
    assert piece.loop.polygon.bounds == pytest.approx((-57, 60, 57, 78))
    assert piece.length_mm == pytest.approx(114)
    assert piece.material.youngs_modulus_mpa == MATERIALS["plywood"].youngs_modulus_mpa
    assert piece.friction == 0.3


@pytest.mark.parametrize(
    ("side", "box"),
    [
        ("bottom", (-57, -78, 57, -60)),
        ("left", (-78, -57, -60, 57)),
        ("right", (60, -57, 78, 57)),
    ],
)
def test_boards_sit_on_their_side(side, box):
    (piece,) = section(BOARD | {"covers": side}).cradles
    assert piece.loop.polygon.bounds == pytest.approx(box)


@pytest.mark.parametrize("given", [{"rise_mm": 10}, {"back_radius_mm": (57**2 + 100) / 20}])
def test_round_back_rises_as_told(given):
    (piece,) = section(BOARD | {"back": "round", "round_mm": 0} | given).cradles
    back = max((p for p in piece.loop.pieces if isinstance(p, Arc)), key=lambda p: p.length)
    assert back.radii[0] == pytest.approx((57**2 + 10**2) / 20)
    assert piece.loop.polygon.bounds[3] == pytest.approx(78)
    assert back.at([0.0, 1.0])[:, 1] == pytest.approx([68, 68])


def test_wide_board_stands_over():
    (piece,) = section(BOARD | {"width_mm": 120, "round_mm": 0}).cradles
    assert piece.loop.polygon.bounds == pytest.approx((-60, 60, 60, 78))
    assert piece.length_mm == pytest.approx(114)


def test_saddle_reaches_from_ray_to_ray():
    saddle = {"from_deg": 30, "to_deg": 150, "back": "round", "thickness_mm": 8}
    (piece,) = section(saddle | {"material": "plaster"}, block=ROUND).cradles
    assert piece.length_mm == pytest.approx(60 * math.radians(120))
    area = math.radians(120) / 2 * (68**2 - 60**2)
    assert piece.loop.area == pytest.approx(area, abs=4)  # less two rounded edges


@pytest.mark.parametrize("count", [2, 3, 4])
@pytest.mark.parametrize("apart", [0, 4])
def test_full_cradle_leaves_the_gaps_it_is_told(count, apart):
    full = {
        "name": "c",
        "covers": "all",
        "pieces": count,
        "apart_mm": apart,
        "back": "round",
        "thickness_mm": 8,
        "material": "MDF",
    }
    pieces = section(full, block=ROUND).cradles
    assert [p.name for p in pieces] == [f"c {k + 1}" for k in range(count)]
    for a, b in zip(pieces, [*pieces[1:], pieces[0]], strict=True):
        assert a.loop.polygon.distance(b.loop.polygon) == pytest.approx(apart, abs=0.01)


def test_drawn_piece_is_cut_to_fit():
    drawn = {"points_mm": [[-70, 30], [70, 30], [70, 80], [-70, 80]], "material": "soft foam"}
    (piece,) = section(drawn | {"round_mm": 0}, block=ROUND).cradles
    assert piece.loop.area == pytest.approx(
        140 * 50 - (math.pi * 60**2 / 3 - 30 * 52 + 0.5), rel=0.01
    )
    places = np.vstack(
        [p.at([0.0, 0.5, 1.0]) for p in seat_of(section(block=ROUND).outline, piece.loop)]
    )
    assert np.hypot(*places.T) == pytest.approx(np.full(len(places), 60.0))


def test_flush_drawn_piece_sits_on_the_flat():
    drawn = {"points_mm": [[-50, 60], [50, 60], [50, 75], [-50, 75]], "material": "soft foam"}
    (piece,) = section(drawn | {"round_mm": 0}).cradles
    assert piece.loop.area == pytest.approx(100 * 15, rel=1e-3)


def test_seats_stand_off_as_told():
    flat = section(BOARD | {"seat": "flat", "width_mm": 60}, block=ROUND).cradles[0]
    half = math.asin(0.5)
    assert flat.gap_mm[0] == pytest.approx(60 * (1 - math.cos(half)) * math.cos(half), rel=0.02)
    assert min(flat.gap_mm) == pytest.approx(0, abs=1e-6)
    proud = section(BOARD | {"crown_mm": 2}).cradles[0].gap_mm
    assert proud[0] == proud[-1] == 2
    assert proud[len(proud) // 2] == 0
    hollow = section(BOARD | {"crown_mm": -2}).cradles[0].gap_mm
    assert hollow[0] == 0
    assert max(hollow) == 2
    assert section(BOARD | {"loose_mm": 1.5}).cradles[0].gap_mm == (1.5,)
    assert section(BOARD | {"gap_mm": [0, 1, 0]}).cradles[0].gap_mm == (0, 1, 0)


def test_bands_go_round_boards_and_the_pot_holds_them():
    mold = mold_of(
        {
            "length_mm": 100,
            "rubber": {"shore_a": 20},
            "block": SQUARE,
            "cradle": [BOARD | {"round_mm": 0}],
            "pot": {"bore_mm": 200, "depth_mm": 200},
        }
    )
    made = section_of(mold)
    over = 114 + 2 * 18 + 2 * math.hypot(3, 3)  # up the board's ends, over the bevels below
    tilted = 2 * (math.hypot(3, 21) - 18 - math.hypot(3, 3))  # corner to corner past the bevels
    sides = 2 * 114 + 114 + 2 * math.hypot(3, 3)
    assert wrap_mm(made) == pytest.approx(over + tilted + sides, abs=1e-6)
    assert fit_of(mold, made).widest_mm == pytest.approx(2 * math.hypot(57, (78 + 60) / 2))


def test_push_stands_on_the_board_not_under_it():
    base = {"length_mm": 100, "rubber": {"shore_a": 20}, "block": SQUARE, "cradle": [BOARD]}
    push = {"at_mm": [0, 60], "width_mm": 20, "force_n_per_mm": 1}
    mold = mold_of(base | {"push": [push, push | {"at_mm": [0, -60]}]})
    assert [p.at_mm[1] for p in loads_of(mold, section_of(mold)).pushes] == pytest.approx([78, -60])


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"material": "cheese"}, "is not known; allowed are soft foam"),
        ({"youngs_modulus_mpa": 3}, "given together"),
        ({"from_deg": 3, "to_deg": 40}, "given together"),
        ({"rise_mm": 18}, "leaves 0.00 mm at the ends"),
        ({"back_radius_mm": 40}, "less than half of the piece's width"),
        ({"back": "flat", "rise_mm": 3}, 'goes with back = "round" only'),
        ({"thickness_mm": 0.2}, "out of range"),
        ({"pieces": 3}, 'goes with covers = "all" only'),
        ({"seat": "crowned"}, "crown_mm: is missing"),
        ({"seat": "flat", "loose_mm": 1}, 'goes with seat = "loose" only'),
        ({"round_mm": 40}, "does not fit the corner"),
        ({"thicknes_mm": 3}, 'did you mean "thickness_mm"?'),
    ],
)
def test_faults_are_told(change, said):
    assert said in faults(BOARD | change)


def test_collisions_are_told_with_their_place():
    wide = BOARD | {"width_mm": 130}
    beside = wide | {"name": "side", "covers": "right"}
    assert "overlaps the piece 'b' at (6" in faults(wide, beside)
    near = {
        "name": "near",
        "points_mm": [[57.1, 61], [80, 61], [80, 55], [57.1, 55]],
        "material": "plaster",
    }
    assert "comes within 0.09 mm of the piece 'b'" in faults(BOARD, near)
    reach = {"name": "r", "points_mm": [[-80, 0], [80, 0], [80, 10], [-80, 10]], "material": "MDF"}
    assert "2 stretches of the piece's edge lie outside the block" in faults(reach)
    low = {"name": "low", "from_deg": 200, "to_deg": 340, "thickness_mm": 10, "material": "MDF"}
    assert "cradle.low: the piece" in faults(low)


def test_seat_that_ends_beside_a_cut_is_told():
    cut = {"path_mm": [[56.9, 60], [0, 0], [-60, 0]]}
    assert "the seat ends 0.10 mm from where the cut 'cut 1' comes out" in faults(BOARD, cut=[cut])


def filler(**more) -> dict:
    return {"shape": "square", "width_mm": 20, "shore_a": 30} | more


def test_fillers_are_bodies_of_their_own_hardness():
    (made,) = section(filler=[filler(centre_mm=[50, 50])]).fillers
    assert made.name == "filler 1"
    assert made.material.youngs_modulus_mpa == pytest.approx(1.1424, rel=1e-4)
    assert made.loop.area == pytest.approx(400)


def test_fillers_save_rubber():
    mold = {"length_mm": 100, "rubber": {"shore_a": 20}, "block": ROUND}
    plain = mold_of(mold)
    saved = mold_of(mold | {"filler": [filler()]})
    less = fit_of(plain, section_of(plain)).rubber_cm3 - fit_of(saved, section_of(saved)).rubber_cm3
    assert less == pytest.approx(40)


@pytest.mark.parametrize(
    ("entries", "said"),
    [
        ([filler(centre_mm=[200, 0])], "filler.filler 1: lies nowhere in the rubber"),
        ([filler(), filler(centre_mm=[5, 5])], "overlaps the filler 'filler 1'"),
        ([filler(), filler(centre_mm=[20.1, 0])], "leaves a part thinner than 0.3 mm"),
        ([filler(round_mm=3), filler(centre_mm=[20, 0], round_mm=3)], "tapers to"),
        ([filler(shape="round", diameter_mm=20, width_mm=None)], None),
        ([filler(), filler(centre_mm=[20, 0])], None),
        ([filler(youngs_modulus_mpa=1)], "given together"),
    ],
)
def test_filler_faults(entries, said):
    if said is None:
        assert len(section(filler=entries).fillers) == len(entries)
    else:
        assert said in faults(filler=entries)
