"""Outlines about models: the smallest of a kind that leaves the wall."""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from squeeze.design.blocks.outline_sizes import reach_along_directions, sizes_of
from squeeze.design.blocks.outlines import (
    UNIT_MM,
    OutlineKind,
    block_of,
    kinds_of,
    middle_for,
    scale_for,
)
from squeeze.design.blocks.work import box_steps
from squeeze.mold.shapes.outline import loop_of
from squeeze.mold.shapes.registry import SHAPES
from squeeze.mold.tables.design import OUTLINES
from squeeze.mold.tables.shape import BlockTable

KINDS = kinds_of(OUTLINES)
HULL = np.array([(-29.0, -5.0), (29.0, -5.0), (31.0, 0.0), (29.0, 5.0), (-29.0, 5.0)])


def block_about(kind, points, wall_mm, aspect=1.0, share=0.0, step_mm=1.0):
    """Return the smallest block of a kind about points."""
    size = scale_for(kind, reach_along_directions(points), wall_mm, aspect, share)
    return block_of(kind, size * UNIT_MM, aspect, share, step_mm)


def outside(block):
    return loop_of(BlockTable.model_validate(block)).polygon


def test_every_shape_gives_its_kinds():
    assert {kind.shape for kind in KINDS} == set(OUTLINES)
    assert {kind.corner for kind in KINDS if kind.shape == "square"} == {"bevel", "radius"}


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.words)
@pytest.mark.parametrize("share", [0.1, 0.9])
@pytest.mark.parametrize("wall", [3.0, 14.0])
def test_the_wall_is_left_and_no_smaller_block_leaves_it(kind, share, wall):
    aspect = 0.7 if kind.has_height else 1.0
    share *= kind.most_share
    middle = middle_for(kind, reach_along_directions(HULL), wall, aspect, share)
    block = block_about(kind, HULL - middle, wall, aspect, share, step_mm=1e-4)
    models = shapely.Polygon(HULL - middle)
    assert outside(block).contains(models)
    left = outside(block).exterior.distance(models)
    assert wall - 0.02 <= left <= wall + 0.15  # corners keep 2 mm of radius at any size


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.words)
@pytest.mark.parametrize("share", [0.0, 0.3, 0.9])
def test_sizes_by_closed_forms_are_those_of_the_curve(kind, share):
    aspect = 0.6 if kind.has_height else 1.0
    block = block_of(kind, 80.0, aspect, share * kind.most_share)
    curve = loop_of(BlockTable.model_validate(block))
    x0, y0, x1, y1 = curve.polygon.bounds
    sizes = sizes_of(block)
    assert sizes.area_mm2 == pytest.approx(curve.area, rel=1e-3)  # the curve is taken as chords
    assert sizes.girth_mm == pytest.approx(curve.length, rel=1e-6)
    assert sizes.size_mm == pytest.approx((x1 - x0, y1 - y0), rel=1e-4)
    across = 2 * shapely.minimum_bounding_radius(curve.polygon)
    assert across * (1 - 1e-4) <= sizes.across_mm <= across * (1 + 1e-3)


def test_a_drawn_outline_has_no_closed_form():
    with pytest.raises(ValueError, match="drawn"):
        sizes_of({"shape": "drawn", "points_mm": ((0, 0), (9, 0), (0, 9))})


def test_the_smallest_round_block_about_a_disc_is_known():
    angles = np.linspace(0, 2 * math.pi, 400, endpoint=False)
    disc = np.array([7.0, -3.0]) + 12.0 * np.column_stack([np.cos(angles), np.sin(angles)])
    kind = OutlineKind("round")
    middle = middle_for(kind, reach_along_directions(disc), 10.0, 1.0, 0.0)
    assert middle == pytest.approx([7.0, -3.0], abs=0.05)
    block = block_about(kind, disc - middle, 10.0)
    assert block == {"shape": "round", "diameter_mm": 44.0}


def test_the_smallest_square_block_about_a_square_is_known():
    square = np.array([(-8.0, -8.0), (8.0, -8.0), (8.0, 8.0), (-8.0, 8.0)])
    block = block_about(OutlineKind("square", "bevel"), square, 10.0, share=0.05)
    assert block["width_mm"] == 36.0


def test_a_shape_of_the_registry_alone_gets_its_figures(monkeypatch):
    """What makes it tall, and whether it has corners, stands there and nowhere else."""
    lozenge = replace(
        SHAPES["rectangle"],
        word="lozenge",
        corners=((0, -1), (1, 0), (0, 1), (-1, 0)),
        most_bevel=0.1,
    )
    bean = replace(SHAPES["oval"], word="bean")
    monkeypatch.setitem(SHAPES, "lozenge", lozenge)
    monkeypatch.setitem(SHAPES, "bean", bean)
    beveled, rounded, plain = kinds_of(("lozenge", "bean"))
    assert (beveled.most_share, rounded.most_share, plain.most_share) == (0.1, 0.45, 0.0)
    sizes = {"width_mm": 100.0, "height_mm": 70.0}
    assert block_of(beveled, 100.0, 0.7, 0.1) == {"shape": "lozenge", **sizes, "bevel_mm": 7.0}
    assert block_of(rounded, 100.0, 0.7, 0.1) == {"shape": "lozenge", **sizes, "round_mm": 7.0}
    assert block_of(plain, 100.0, 0.7, 0.0) == {"shape": "bean", **sizes}


def test_a_box_has_a_board_for_each_side_of_any_shape(monkeypatch):
    """A shape is entered in the registry alone: its box is counted from its corners there."""
    corners = [(math.cos(a), math.sin(a)) for a in np.arange(8) * math.tau / 8]
    octagon = replace(SHAPES["hexagon"], word="octagon", corners=tuple(corners))
    monkeypatch.setitem(SHAPES, "octagon", octagon)
    hexagon = BlockTable.model_validate({"shape": "hexagon", "width_mm": 80, "bevel_mm": 8})
    drawn = BlockTable.model_validate({"points_mm": [[0, 0], [80, 0], [60, 50]], "round_mm": 0})
    assert box_steps(hexagon.model_copy(update={"shape": "octagon"})) == 8 + 8
    assert box_steps(hexagon) == 6 + 6
    assert box_steps(drawn) == 3
