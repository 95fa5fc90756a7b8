"""Drawings come in as they were drawn: units, transforms, curves to 0.01 mm, faults with places."""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from shapely.geometry import Point

import squeeze
from squeeze.mold import BadInput, dump, section_of
from squeeze.mold.drawing.arcs import as_arcs
from squeeze.mold.drawing.strokes import Corner, Stroke, bezier
from squeeze.mold.drawing.tables import stroke_chords
from squeeze.show.template.drawing import templates
from squeeze.show.template.dxf import as_dxf
from squeeze.show.template.svg import as_svg

ezdxf = pytest.importorskip("ezdxf")

MOLD = """
length_mm = 80
[rubber]
shore_a = 20
[block]
drawing = "{name}"
{more}
"""
SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" xmlns:a="http://example.org/a" width="{wide}"'
    ' height="{high}" viewBox="0 0 {box}">{body}</svg>'
)


def svg(body: str, wide: str = "100mm", high: str = "100mm", box: str = "100 100") -> str:
    return SVG.format(body=body, wide=wide, high=high, box=box)


def block_of(folder: Path, text: str, name: str = "outline.svg", more: str = ""):
    (folder / name).write_text(text, encoding="utf-8")
    (folder / "m.toml").write_text(MOLD.format(name=name, more=more), encoding="utf-8")
    return squeeze.load(folder / "m.toml")


def outline_of(folder: Path, text: str, name: str = "outline.svg", more: str = ""):
    return section_of(block_of(folder, text, name, more)).outline


def faults_of(folder: Path, text: str, name: str = "outline.svg", more: str = "") -> str:
    with pytest.raises(BadInput) as told:
        block_of(folder, text, name, more)
    return str(told.value)


def test_transforms_and_units_are_taken_as_a_drawing_program_nests_them(tmp_path):
    """A circle of 10 user units, in a group that is moved in one that is scaled: r = 20 mm."""
    body = (
        '<g id="page" transform="scale(2)"><g transform="translate(5 10) rotate(30)">'
        '<circle id="rim" cx="8" cy="3" r="10"/></g></g>'
    )
    loop = outline_of(tmp_path, svg(body))
    assert loop.length == pytest.approx(math.tau * 20, rel=1e-6)
    c, s = math.cos(math.pi / 6), math.sin(math.pi / 6)
    x, y = 2 * (5 + 8 * c - 3 * s), 100 - 2 * (10 + 8 * s + 3 * c)
    assert loop.polygon.centroid.x == pytest.approx(x, abs=1e-4)
    assert loop.polygon.centroid.y == pytest.approx(y, abs=1e-4)


@pytest.mark.parametrize("mirror", ["scale(-1 1)", "scale(1 -1)", "skewX(20) skewX(-20)"])
def test_mirrored_arcs_bulge_the_way_they_are_seen(tmp_path, mirror):
    body = f'<path transform="translate(50 50) {mirror}" d="M0 -20 A20 20 0 0 1 0 20 Z"/>'
    loop = outline_of(tmp_path, svg(body))
    assert loop.area == pytest.approx(math.pi * 200, rel=1e-5)
    side = -1 if "-1 1" in mirror else 1
    assert loop.polygon.centroid.x - 50 == pytest.approx(side * 4 * 20 / (3 * math.pi), abs=0.01)


@pytest.mark.parametrize(
    ("wide", "box", "side"),
    [
        ("100mm", "100 100", 50.0),
        ("4in", "400 400", 12.7),
        ("10cm", "200 200", 25.0),
        ("288pt", "96 96", 4 * 25.4 * 50 / 96),
    ],
)
def test_the_unit_of_the_page_counts(tmp_path, wide, box, side):
    body = '<rect x="10" y="10" width="50" height="50"/>'
    loop = outline_of(tmp_path, svg(body, wide, wide, box), more="round_mm = 0")
    assert loop.length == pytest.approx(4 * side, rel=1e-6)


def test_a_drawing_without_a_unit_is_asked_for_it(tmp_path):
    body = '<rect x="10" y="10" width="50" height="50"/>'
    text = svg(body, "100", "100")
    told = faults_of(tmp_path, text)
    assert "m.toml:6: block.drawing: does not state its unit" in told
    assert outline_of(tmp_path, text, more='units = "mm"\nround_mm = 0').length == pytest.approx(
        200
    )
    assert outline_of(
        tmp_path, text, more='units = "px"\nround_mm = 0\nscale = 2'
    ).length == pytest.approx(200 * 25.4 / 96 * 2)


def test_beziers_are_arcs_that_keep_to_them():
    control = np.array([[0, 0], [30, 50], [60, -40], [80, 20]], float)
    curve = bezier(control)
    corners = (*as_arcs(curve), Corner((80.0, 20.0)))
    line = np.array(stroke_chords(Stroke(corners, False, ""), 0.0005))
    places = curve.at(np.linspace(0, 1, 2001))
    away = np.hypot(*(places[:, None] - line[None]).transpose(2, 0, 1)).min(axis=1)
    step = np.hypot(*np.diff(line, axis=0).T)
    # a place may lie between two points of the line
    assert np.sqrt(np.maximum(away**2 - (step.max() / 2) ** 2, 0)).max() < 0.01
    assert len(corners) < 40


def test_an_oval_has_the_area_of_an_ellipse(tmp_path):
    body = '<ellipse cx="50" cy="50" rx="40" ry="20" transform="rotate(25 50 50)"/>'
    loop = outline_of(tmp_path, svg(body))
    assert loop.area == pytest.approx(math.pi * 40 * 20, rel=2e-4)
    middle, c, s = np.array([50, 50]), math.cos(math.radians(25)), math.sin(math.radians(25))
    x, y = ((loop.points(0.001) - middle) @ np.array([[c, s], [-s, c]])).T
    level = np.hypot(x / 40, y / 20)
    assert np.abs(level - 1).max() * 20 < 0.021


def test_a_layer_is_chosen_by_id_or_label(tmp_path):
    body = (
        '<g a:label="mold"><rect id="box" x="10" y="10" width="60" height="50"/></g>'
        '<circle id="bead" cx="30" cy="40" r="6"/>'
    )
    assert 'name one with layer: "box", "bead"' in faults_of(tmp_path, svg(body))
    loops = [
        outline_of(tmp_path, svg(body), more=f'layer = "{name}"\nround_mm = 0')
        for name in ("mold", "box")
    ]
    assert [loop.area for loop in loops] == pytest.approx([3000, 3000])
    told = faults_of(tmp_path, svg(body), more='layer = "lid"')
    assert 'm.toml:7: block.layer: has nothing called "lid"; it has "' in told


def test_open_paths_gaps_and_crossings_are_told_with_their_places(tmp_path):
    told = faults_of(tmp_path, svg('<path d="M10 10 H60 V60 H20"/>'))
    assert "is open: it begins at (10, 90) mm and ends at (20, 40) mm" in told
    told = faults_of(tmp_path, svg('<path d="M10 10 H60 V60 H10 V10.3"/>'))
    assert "has a gap of 0.30 mm between (10, 90) mm and (10, 89.7) mm" in told
    told = faults_of(tmp_path, svg('<path d="M10 10 L60 60 H10 L60 10 Z"/>'))
    assert "m.toml:6: block.drawing: the outline crosses or touches itself at (35, 65)" in told
    told = faults_of(
        tmp_path, svg('<path d="M10 10 L60 60 H10 L60 10 Z"/>'), more="origin_mm = [35, 65]"
    )
    assert "crosses or touches itself at (0, 0)" in told  # and not at some 1e-15
    told = faults_of(tmp_path, svg('<path d="M10 10 C90 90 90 10 10 70 Z"/>'))
    assert "crosses or touches itself at (" in told


def test_what_is_no_drawing_is_told(tmp_path):
    assert "neither an SVG nor a DXF" in faults_of(tmp_path, "", "outline.png")
    assert "cannot be read as SVG" in faults_of(tmp_path, "<svg", "outline.svg")
    assert "cannot be read as DXF" in faults_of(tmp_path, "0\nNONSENSE", "outline.dxf")
    (tmp_path / "m.toml").write_text(MOLD.format(name="none.svg", more=""))
    with pytest.raises(BadInput, match=r'm.toml:6: block.drawing: "none.svg" cannot be read'):
        squeeze.load(tmp_path / "m.toml")
    with pytest.raises(BadInput, match="read together with the mold file"):
        squeeze.parse(MOLD.format(name="none.svg", more=""))


def dxf(folder: Path, draw, units: int = 4, name: str = "outline.dxf") -> str:
    drawing = ezdxf.new("R2010", units=units)
    draw(drawing)
    drawing.saveas(folder / name)
    return (folder / name).read_text(encoding="utf-8")


def test_bulges_are_arcs(tmp_path):
    """A box 80 x 40 with two half circles for its short sides."""

    def draw(drawing):
        points = [(0, 0, 0), (80, 0, 1), (80, 40, 0), (0, 40, 1)]
        drawing.modelspace().add_lwpolyline(points, format="xyb", close=True)

    loop = outline_of(tmp_path, dxf(tmp_path, draw), "outline.dxf")
    assert loop.area == pytest.approx(80 * 40 + math.pi * 20**2, rel=1e-9)
    assert loop.length == pytest.approx(160 + math.tau * 20, rel=1e-9)


def test_splines_keep_to_a_hundredth(tmp_path):
    points = [(0, 0), (40, -10), (80, 0), (90, 40), (50, 60), (5, 45)]
    made = {}

    def draw(drawing):
        made["it"] = drawing.modelspace().add_spline()
        made["it"].set_closed([(x, y, 0) for x, y in points])

    loop = outline_of(tmp_path, dxf(tmp_path, draw), "outline.dxf")
    tool = made["it"].construction_tool()
    knots = np.array(tool.knots())
    degree = tool.order - 1
    span = np.linspace(knots[degree], knots[-degree - 1], 800)
    places = np.array([(p.x, p.y) for p in tool.points(span)])
    assert loop.distances(places).max() < 0.011


def test_lines_and_arcs_join_whichever_way_they_run(tmp_path):
    def draw(drawing):
        space = drawing.modelspace()
        space.add_line((10, 0), (70, 0))
        space.add_line((80, 40), (80, 10))
        space.add_arc((70, 10), 10, 270, 360)
        space.add_line((80, 40), (10, 40.005))
        space.add_line((10, 0), (10, 40))

    loop = outline_of(tmp_path, dxf(tmp_path, draw), "outline.dxf")
    assert loop.area == pytest.approx(70 * 40 - (1 - math.pi / 4) * 100, rel=2e-4)


def test_units_of_a_dxf_count_and_unitless_ones_are_asked(tmp_path):
    def draw(drawing):
        drawing.layers.add("RIM")
        drawing.modelspace().add_circle((0, 0), 1, dxfattribs={"layer": "RIM"})

    assert outline_of(
        tmp_path, dxf(tmp_path, draw, units=1), "outline.dxf"
    ).length == pytest.approx(math.tau * 25.4)
    text = dxf(tmp_path, draw, units=0)
    assert "does not state its unit" in faults_of(tmp_path, text, "outline.dxf")
    more = 'units = "cm"\nlayer = "RIM"'
    assert outline_of(tmp_path, text, "outline.dxf", more).length == pytest.approx(math.tau * 10)
    told = faults_of(tmp_path, text, "outline.dxf", 'units = "cm"\nlayer = "LID"')
    assert 'has nothing on a layer "LID"; it has "RIM"' in told


def test_inserted_blocks_are_taken_where_they_stand(tmp_path):
    def draw(drawing):
        block = drawing.blocks.new("rim")
        block.add_circle((0, 0), 5)
        drawing.modelspace().add_blockref("rim", (30, 40), dxfattribs={"xscale": 3, "yscale": 3})

    loop = outline_of(tmp_path, dxf(tmp_path, draw), "outline.dxf")
    assert loop.area == pytest.approx(math.pi * 15**2, rel=1e-4)
    assert loop.polygon.centroid.x == pytest.approx(30, abs=1e-3)


def loop_of_dxf(folder, draw, more: str = "round_mm = 0"):
    """Return the outline that a drawing in mm gives; `draw` puts it into its model space."""
    drawing = ezdxf.new("R2010", units=ezdxf.units.MM)
    draw(drawing.modelspace())
    drawing.saveas(folder / "a.dxf")
    (folder / "m.toml").write_text(MOLD.format(name="a.dxf", more=more), encoding="utf-8")
    return section_of(squeeze.load(folder / "m.toml")).outline


@pytest.mark.parametrize("major", [(90, 0), (0, 90), (60, 30)])
def test_an_ellipse_keeps_to_a_hundredth_however_large(tmp_path, major):
    loop = loop_of_dxf(tmp_path, lambda space: space.add_ellipse((10, 5), (*major, 0), 0.6))
    a = math.hypot(*major)
    along = np.array(major) / a
    away = loop.points(0.001) - np.array([10, 5])
    u, v = away @ along, away @ np.array([-along[1], along[0]])
    # off the ellipse by so much, to first order: f / |grad f|
    f = (u / a) ** 2 + (v / (0.6 * a)) ** 2 - 1
    off = f / (2 * np.hypot(u / a**2, v / (0.6 * a) ** 2))
    assert np.abs(off).max() < 0.0115
    assert loop.area == pytest.approx(math.pi * a * 0.6 * a, rel=1e-4)


def test_a_part_of_an_ellipse_and_a_line_close_an_outline(tmp_path):
    def draw(space):
        space.add_ellipse((0, 0), (50, 0, 0), 0.5, 0, math.pi)
        space.add_line((-50, 0), (50, 0))

    assert loop_of_dxf(tmp_path, draw).area == pytest.approx(math.pi * 50 * 25 / 2, rel=1e-4)


@pytest.mark.parametrize("kind", ["light", "old", "arcs"])
def test_what_is_mirrored_is_taken_as_it_is_seen(tmp_path, kind):
    """A bay on the right of a plate; mirrored, programs write it as seen from below."""
    corners = [(0, 0, 0), (80, 0, 0), (80, 20, -1), (80, 40, 0), (80, 60, 0), (0, 60, 0)]

    def draw(space):
        if kind == "light":
            made = [space.add_lwpolyline(corners, format="xyb", close=True)]
        elif kind == "old":
            made = [space.add_polyline2d(corners, format="xyb", close=True)]
        else:
            ends = [*pairwise(corners[:3]), *pairwise(corners[3:]), (corners[-1], corners[0])]
            made = [space.add_line(a[:2], b[:2]) for a, b in ends]
            made.append(space.add_arc((80, 30), 10, 90, 270))
        for entity in made:
            entity.transform(ezdxf.math.Matrix44.scale(-1, 1, 1))

    loop = loop_of_dxf(tmp_path, draw)
    assert loop.area == pytest.approx(80 * 60 - math.pi * 10**2 / 2, rel=1e-9)
    assert loop.polygon.bounds == pytest.approx((-80, 0, 0, 60), abs=1e-6)
    assert not loop.polygon.contains(Point(-72, 30))  # the bay is on the left now


def test_every_body_and_every_cut_may_be_drawn(tmp_path):
    body = (
        '<rect id="block" x="0" y="0" width="100" height="80"/>'
        '<circle id="bead" cx="50" cy="40" r="8"/>'
        '<rect id="old" x="10" y="60" width="20" height="10"/>'
        '<path id="knife" d="M0 40 H20 Q25 30 30 40 H100"/>'
        '<path id="board" d="M20 5 V-15 H80 V5 Z"/>'
    )
    (tmp_path / "all.svg").write_text(svg(body, "100mm", "80mm", "100 80"))
    keys = {
        "block": "[block]\nround_mm = 2",
        "bead": "[[cavity]]",
        "old": "[[filler]]\nshore_a = 25",
        "knife": "[[cut]]",
        "board": '[[cradle]]\nmaterial = "plywood"',
    }
    tables = "\n".join(
        f'{head}\ndrawing = "all.svg"\nlayer = "{name}"\norigin_mm = [50, 40]'
        for name, head in keys.items()
    )
    text = f"length_mm = 60\n[rubber]\nshore_a = 20\n[[band]]\ntension_n = 3\n{tables}"
    (tmp_path / "m.toml").write_text(text)
    mold = squeeze.load(tmp_path / "m.toml")
    section = section_of(mold)
    assert section.cavities[0].loop.area == pytest.approx(math.pi * 64, rel=1e-9)
    assert section.fillers[0].loop.area == pytest.approx(200)
    assert section.cradles[0].loop.area == pytest.approx(60 * 15, rel=0.01)
    assert max(y for _, y in mold.cut[0].path_mm) == pytest.approx(5, abs=0.01)
    closing = squeeze.close(mold, fineness=0.5, deformation="small")
    assert closing.outcome.has_answer
    assert squeeze.parse(dump(mold)) == mold


CRADLES = {
    "board": ({"shape": "square", "width_mm": 100}, {"covers": "top"}),
    "full": ({"shape": "round", "diameter_mm": 90}, {"covers": "all", "pieces": 3}),
    "saddle": (
        {"shape": "oval", "width_mm": 120, "height_mm": 80},
        {"from_deg": 40, "to_deg": 140},
    ),
}


@pytest.mark.parametrize("kind", CRADLES)
@pytest.mark.parametrize(("write", "ending"), [(as_svg, "svg"), (as_dxf, "dxf")])
def test_what_is_exported_comes_in_again_the_same(tmp_path, write, ending, kind):
    block, cradle = CRADLES[kind]
    cradle = cradle | {"thickness_mm": 20, "back": "round", "material": "MDF"}
    tables = {"length_mm": 80, "rubber": {"shore_a": 20}, "block": block, "cradle": [cradle]}
    sawn = [made for made in templates(squeeze.mold_of(tables)) if made.outline]
    assert len(sawn) >= len(section_of(squeeze.mold_of(tables)).cradles)
    for made in sawn:
        name = f"outline.{ending}"
        (tmp_path / name).write_text(write(made), encoding="utf-8")
        layer = "outline" if ending == "svg" else "SAW"
        text = (tmp_path / name).read_text(encoding="utf-8")
        loop = outline_of(tmp_path, text, name, f'layer = "{layer}"\nround_mm = 0')
        sent = np.vstack([piece.at(piece.even(40)) for piece in made.outline])
        came = loop.points(0.001)
        assert np.ptp(came, axis=0) == pytest.approx(np.ptp(sent, axis=0), abs=2e-3)
        away = loop.distances(sent - sent.min(axis=0) + came.min(axis=0))
        assert away.max() < 0.01


def banded(tmp_path, path: str, more: str = "") -> squeeze.Mold:
    """Return a square of 100 mm with a board on top and a band that is drawn."""
    (tmp_path / "bands.svg").write_text(
        svg(f'<path id="band" d="{path}"/>', "120mm", "140mm", "120 140")
    )
    text = (
        'length_mm = 60\n[rubber]\nshore_a = 20\n[block]\nshape = "square"\nwidth_mm = 100\n'
        '[[cradle]]\ncovers = "top"\nwidth_mm = 100\nthickness_mm = 18\nmaterial = "MDF"\n'
        "[[band]]\ntension_n = 3\n"
        f'drawing = "bands.svg"\nlayer = "band"\norigin_mm = [60, 60]\n{more}'
    )
    (tmp_path / "m.toml").write_text(text)
    return squeeze.load(tmp_path / "m.toml")


ROUND_BLOCK_AND_BOARD = "M10 130 V12 H110 V130 Z"
"""In the drawing y runs down: the block from y = -50 to 50, the board on it up to 68."""


def test_a_drawn_band_that_lies_on_the_hull_changes_nothing(tmp_path):
    mold = banded(tmp_path, ROUND_BLOCK_AND_BOARD)
    assert mold.band[0].drawing is None
    assert squeeze.parse(dump(mold)) == mold


@pytest.mark.parametrize(
    ("path", "off", "place"),
    [
        ("M10 130 V30 H110 V130 Z", "18.0 mm", r"\(-?\d+(\.\d+)?, (50|68)\)"),
        ("M10 130 V12 H110 V130 L60 120 Z", "10.0 mm", r"\(0, -40\)"),
    ],
)
def test_a_drawn_band_off_the_hull_is_told_with_its_place(tmp_path, path, off, place):
    with pytest.raises(squeeze.BadInput, match=rf"band\.1\.drawing: lies {off} off .* at {place}"):
        banded(tmp_path, path)


def test_a_drawn_band_is_closed(tmp_path):
    with pytest.raises(squeeze.BadInput, match=r"m\.toml:\d+: band\.1\.drawing: "):
        banded(tmp_path, "M10 130 V12 H110 V130")


def test_a_drawn_band_without_its_folder_is_refused():
    text = (
        'length_mm = 60\n[rubber]\nshore_a = 20\n[block]\nshape = "square"\nwidth_mm = 100\n'
        '[[band]]\ntension_n = 3\ndrawing = "bands.svg"\n'
    )
    with pytest.raises(squeeze.BadInput, match="a drawing is read together with the mold file"):
        squeeze.parse(text)


@pytest.mark.parametrize("outline", [{"shape": "oval", "width_mm": 120, "height_mm": 70}, None])
def test_the_hull_drawn_as_a_band_comes_in_again(tmp_path, outline):
    block = outline or {"points_mm": [[-50, -40], [50, -40], [50, 40], [0, 10], [-50, 40]]}
    data = {"length_mm": 60, "rubber": {"shore_a": 20}, "block": block}
    hull = section_of(squeeze.mold_of(data)).hull
    path = "M" + " L".join(f"{x + 100:.4f} {100 - y:.4f}" for x, y in hull.exterior.coords) + " Z"
    (tmp_path / "hull.svg").write_text(svg(f'<path d="{path}"/>', "200mm", "200mm", "200 200"))
    band = {"tension_n": 3}
    bare = squeeze.mold_of(data | {"band": [band]})
    told = dump(bare) + '\ndrawing = "hull.svg"\norigin_mm = [100, 100]\n'
    (tmp_path / "m.toml").write_text(told)
    assert squeeze.load(tmp_path / "m.toml") == bare
