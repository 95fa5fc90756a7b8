"""Templates are true to size in every file form: measured from the files."""

from __future__ import annotations

import io
import math
import re
import shutil
import subprocess

import numpy as np
import pytest

ezdxf = pytest.importorskip("ezdxf")
from ezdxf import bbox  # noqa: E402
from pypdf import PdfReader  # noqa: E402
from svgelements import SVG, Path, SimpleLine  # noqa: E402

from squeeze.mold import mold_of, section_of  # noqa: E402
from squeeze.mold.geometry.curve import Arc  # noqa: E402
from squeeze.show.template.drawing import templates  # noqa: E402
from squeeze.show.template.dxf import as_dxf  # noqa: E402
from squeeze.show.template.pdf import (  # noqa: E402
    FOOT_MM,
    MARGIN_MM,
    OVERLAP_MM,
    PAPERS,
    template_pdf,
    tiles_of,
)
from squeeze.show.template.svg import as_svg  # noqa: E402

PT = 72 / 25.4
BOARD = {
    "name": "over",
    "covers": "top",
    "back": "round",
    "rise_mm": 10,
    "thickness_mm": 14,
    "material": "plywood",
}
FULL = {"name": "half", "covers": "all", "back": "round", "thickness_mm": 10, "material": "MDF"}


def mold(*cradles, width: float = 120, **more):
    return mold_of({
        "title": "Barrels", "length_mm": 140, "rubber": {"shore_a": 20},
        "block": {"shape": "square", "width_mm": width, "bevel_mm": 3},
        "cradle": list(cradles), "band": [{"stock": "64", "count": 3}],
    } | more)  # fmt: skip


def extent(template) -> tuple[float, float]:
    p = np.vstack([piece.at(piece.even(64)) for piece in template.outline])
    wide, high = np.ptp(p, axis=0)
    return float(wide), float(high)


@pytest.mark.parametrize("side", ["top", "bottom", "left", "right"])
def test_profile_is_as_large_as_the_piece_and_lies_on_its_seat(side):
    given = mold(BOARD | {"covers": side})
    piece = section_of(given).cradles[0]
    template = templates(given)[0]
    x0, y0, x1, y1 = piece.loop.polygon.bounds
    assert sorted(extent(template)) == pytest.approx(sorted((x1 - x0, y1 - y0)), abs=0.01)
    assert extent(template)[0] > extent(template)[1]  # seat down
    longest = max((p for p in template.outline if isinstance(p, Arc)), key=lambda p: p.length)
    assert longest.at(0.5)[0][1] > longest.at(0.0)[0][1]  # the back bulges up


@pytest.mark.parametrize("cradle", [BOARD, FULL, BOARD | {"crown_mm": 1.5}])
def test_outline_closes(cradle):
    for template in templates(mold(cradle)):
        for a, b in zip(template.outline, template.outline[1:] + template.outline[:1], strict=True):
            assert np.hypot(*(a.at(1.0)[0] - b.at(0.0)[0])) < 1e-5


def test_crown_is_sawn_into_the_seat():
    flat, proud = (templates(mold(BOARD | more))[0] for more in ({}, {"crown_mm": 1.5}))
    assert extent(proud)[1] == pytest.approx(extent(flat)[1], abs=0.01)
    p = np.vstack([piece.at([0.0]) for piece in proud.outline])
    middle = (p[:, 0].min() + p[:, 0].max()) / 2
    ends = p[np.abs(p[:, 0] - middle) > 0.499 * np.ptp(p[:, 0])]
    assert ends[:, 1].min() - p[:, 1].min() == pytest.approx(1.5, abs=0.02)


def test_saddle_on_an_oval_is_true():
    oval = {"shape": "oval", "width_mm": 120, "height_mm": 80}
    saddle = {
        "name": "s",
        "from_deg": 30,
        "to_deg": 150,
        "back": "round",
        "thickness_mm": 8,
        "material": "plaster",
    }
    given = mold(saddle, block=oval)
    x0, _, x1, _ = section_of(given).cradles[0].loop.polygon.bounds
    assert extent(templates(given)[0])[0] == pytest.approx(x1 - x0, abs=0.02)


def test_svg_measures_true():
    template = templates(mold(BOARD))[0]
    drawn = SVG.parse(io.StringIO(as_svg(template)), ppi=25.4)  # one unit = one mm
    outline = next(e for e in drawn.elements() if isinstance(e, Path) and e.id == "outline")
    x0, y0, x1, y1 = outline.bbox()
    assert (x1 - x0, y1 - y0) == pytest.approx(extent(template), abs=0.01)
    bar = next(e for e in drawn.elements() if isinstance(e, SimpleLine) and e.id == "check-bar")
    x0, _, x1, _ = bar.bbox()
    assert x1 - x0 == pytest.approx(100.0, abs=1e-3)
    assert re.search(r'width="[\d.]+mm"', as_svg(template))
    assert "print at 100 %" in as_svg(template)
    assert "this side up" in as_svg(template)


def test_svg_arcs_bend_the_right_way():
    template = templates(mold(FULL))[0]
    drawn = SVG.parse(io.StringIO(as_svg(template)), ppi=25.4)
    outline = next(e for e in drawn.elements() if isinstance(e, Path) and e.id == "outline")
    wide, high = extent(template)
    x0, y0, x1, y1 = outline.bbox()
    assert (x1 - x0, y1 - y0) == pytest.approx((wide, high), abs=0.01)


def test_dxf_measures_true():
    template = templates(mold(BOARD))[0]
    drawing = ezdxf.read(io.StringIO(as_dxf(template)))
    assert drawing.header["$INSUNITS"] == 4  # millimetres
    sawn = [e for e in drawing.modelspace() if e.dxf.layer == "SAW"]
    box = bbox.extents(sawn)
    assert (box.size.x, box.size.y) == pytest.approx(extent(template), abs=0.02)
    assert {e.dxftype() for e in sawn} == {"LINE", "ARC"}
    assert any("over" in e.dxf.text for e in drawing.modelspace().query("TEXT"))
    assert not drawing.audit().errors


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_pdf_pages_bar_and_words(paper):
    made = templates(mold(BOARD))
    reader = PdfReader(io.BytesIO(template_pdf(made, paper)))
    assert len(reader.pages) == len(made)
    for page in reader.pages:
        size = sorted((float(page.mediabox.width), float(page.mediabox.height)))
        assert size == pytest.approx(sorted(v * PT for v in PAPERS[paper]), abs=0.01)
        assert "100 %" in page.extract_text()
    assert reader.trailer["/Root"]["/ViewerPreferences"]["/PrintScaling"] == "/None"
    assert "this side up" in reader.pages[0].extract_text()


def lines_of(raw: bytes) -> np.ndarray:
    """Straight strokes of an unpacked PDF, as length across and up [mm]."""
    found = re.findall(rb"n ([\d.]+) ([\d.]+) m ([\d.]+) ([\d.]+) l S", raw)
    ends = np.array(found, float) / PT
    return ends[:, 2:] - ends[:, :2]


def test_pdf_bar_is_100_mm():
    strokes = lines_of(template_pdf(templates(mold(BOARD)), "a4", compress=False))
    across = strokes[np.abs(strokes[:, 1]) < 1e-6, 0]
    assert np.any(np.abs(across - 100.0) < 1e-3)


def test_pdf_is_the_same_each_time():
    made = templates(mold(BOARD))
    assert template_pdf(made, "a4") == template_pdf(made, "a4")


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("width", [120, 300, 500])
def test_tiles_cover_the_template_and_overlap(paper, width):
    made = templates(mold(FULL, width=width))
    for template in made:
        tiles = tiles_of(template, paper)
        for count, step, inner, length in zip(
            (tiles.columns, tiles.rows), tiles.step_mm, tiles.inner_mm,
            (template.width_mm, template.height_mm), strict=True,
        ):  # fmt: skip
            assert inner - step == OVERLAP_MM
            assert (count - 1) * step + inner >= length - 1e-6
        assert tiles.inner_mm[0] <= tiles.paper_mm[0] - 2 * MARGIN_MM
        assert tiles.inner_mm[1] <= tiles.paper_mm[1] - 2 * MARGIN_MM - FOOT_MM
    sheets = sum(tiles_of(t, paper).columns * tiles_of(t, paper).rows for t in made)
    assert len(PdfReader(io.BytesIO(template_pdf(made, paper))).pages) == sheets


def test_rule_has_the_grooves_where_the_bands_are():
    made = templates(mold(BOARD, band=[{"stock": "64", "at_mm": [20, 70, 120]}]))
    rule = made[-1]
    assert rule.name == "rule"
    places = sorted(float(line[0, 0]) for line in rule.dashed)
    middles = np.reshape(places, (-1, 2)).mean(axis=1)
    assert np.diff(middles) == pytest.approx([50, 50])
    assert np.diff(np.reshape(places, (-1, 2)), axis=1).ravel() == pytest.approx([7.35] * 3)
    assert extent(rule)[0] == pytest.approx(140)


def test_no_cradle_no_template():
    assert templates(mold()) == ()


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="there is no pdftoppm to draw sheets")
def test_printed_sheet_measures_true(tmp_path):
    """Draw a sheet at 254 dots an inch, 10 dots a mm, and measure the bar and the board."""
    (tmp_path / "t.pdf").write_bytes(template_pdf(templates(mold(BOARD)), "a4"))
    call = ["pdftoppm", "-r", "254", "-gray", "-f", "1", "-l", "1", "t.pdf", "t"]
    subprocess.run(call, cwd=tmp_path, check=True)
    (file,) = tmp_path.glob("t*.pgm")
    raw = file.read_bytes()
    wide, high = map(int, re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", raw).groups())
    dark = np.frombuffer(raw[-wide * high :], np.uint8).reshape(high, wide) < 128
    assert (wide, high) == pytest.approx((2100, 2970), abs=1)
    foot = dark[high - round((MARGIN_MM + FOOT_MM) * 10) + 30 :]
    longest = max(_longest_run(row) for row in foot)
    assert longest == pytest.approx(1000, abs=12)


def _longest_run(row: np.ndarray) -> int:
    edges = np.flatnonzero(np.diff(np.concatenate([[0], row.astype(int), [0]])))
    return int(max(edges[1::2] - edges[::2], default=0))


def test_width_of_the_full_cradle_by_hand():
    """Two halves round a 120 mm square: the outer circle is half a diagonal and 10 mm in radius."""
    template = templates(mold(FULL | {"round_mm": 0, "apart_mm": 0}))[0]
    corner = math.hypot(60 - 3 - 2 * math.tan(math.pi / 8), 60)  # where bevel and flat meet
    outer = extent(template)[0] / 2
    assert corner + 9.4 < outer < math.hypot(57, 60) + 10
