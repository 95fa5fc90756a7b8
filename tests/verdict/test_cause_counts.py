"""What resin lifts, shapes leave open and bands pull, on made-up lands and plain shapes."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

import squeeze
from squeeze.mold import section_of
from squeeze.mold.forces.loads import Loads
from squeeze.mold.geometry.loop import circle
from squeeze.verdict.cause import causes_of
from squeeze.verdict.cause import resin as resin_module
from squeeze.verdict.cause.pull import called, name_of_band, no_pull, pulls_as, shorter_band
from squeeze.verdict.cause.resin import between_faces, direction, length_along, lifted, resin_lifts
from squeeze.verdict.cause.shape import flat_over, open_by_shape, straight_share

# causes: what the resin lifts


def rows(*lands, cavities=(), p=0.01, tension=0.5, enters=True):
    section = SimpleNamespace(
        cavities=[SimpleNamespace(name=name, loop=circle(r, at)) for name, r, at in cavities]
    )
    loads = SimpleNamespace(cavity_mpa=p, tension_n_per_mm=tension, enters_cuts=enters)
    return SimpleNamespace(lands=lands, loads=loads, section=section)


def row(cut, a, b):
    (x0, y0), (x1, y1) = a, b
    length = math.hypot(x1 - x0, y1 - y0)
    return SimpleNamespace(
        cut=cut, x_mm=np.array([x0, x1], float), y_mm=np.array([y0, y1], float), length_mm=length
    )


FLAT = (
    row("a", (-50, 0), (-20, 0)), row("a", (-10, 0), (10, 0)), row("a", (16, 0), (50, 0)),
    row("b", (0, -40), (0, -20)),
)  # fmt: skip
HOLES = (("left", 5.0, (-15, 0)), ("right", 3.0, (13, 0)), ("low", 9.0, (0, -30)))


def test_the_resin_lifts_by_the_width_of_the_cavities_along_a_cut(monkeypatch):
    """10 kPa on 10 and 6 mm of the cut a."""
    ends = {id(FLAT[0]): ["left"], id(FLAT[1]): ["left", "right"], id(FLAT[2]): ["right"]}
    monkeypatch.setattr(
        resin_module,
        "land_ends",
        lambda land, section: [
            SimpleNamespace(text=f"'{name}'") for name in ends.get(id(land), ["low"])
        ],
    )
    closing = rows(*FLAT, cavities=HOLES)
    assert resin_lifts(closing, [FLAT[0]]) == pytest.approx(0.16, rel=0.01)
    assert resin_lifts(closing, [FLAT[3]]) == pytest.approx(0.18, rel=0.01)
    assert resin_lifts(closing, FLAT) == pytest.approx(0.18, rel=0.01)
    assert resin_lifts(closing) == pytest.approx(0.18, rel=0.01)  # the widest of all
    assert resin_lifts(rows(*FLAT)) == 0.0
    assert lifted(rows(*FLAT, cavities=HOLES, tension=0.07), [FLAT[0]])
    assert not lifted(rows(*FLAT, cavities=HOLES, tension=0.09), [FLAT[0]])


def test_resin_between_the_faces_presses_from_end_to_end():
    assert between_faces(rows(*FLAT)) == pytest.approx(1.0)
    assert between_faces(rows(*FLAT, enters=False)) == 0.0
    assert between_faces(rows()) == 0.0
    assert length_along(rows(*FLAT), "a") == pytest.approx(100)
    assert length_along(rows(*FLAT), "b") == pytest.approx(20)
    slanted = row("c", (0, 0), (30, 40))
    assert length_along(rows(slanted), "c") == pytest.approx(50)
    assert direction(slanted) == pytest.approx([0.6, 0.8])
    assert direction(row("c", (5, 5), (5, 5))) == pytest.approx([0, 0])


# causes: the shape


BLOCK = {
    "length_mm": 100,
    "rubber": {"shore_a": 20},
    "block": {"shape": "rectangle", "width_mm": 100, "height_mm": 60, "round_mm": 0},
}


def outline(**block):
    return section_of(squeeze.mold_of(BLOCK | {"block": block or BLOCK["block"]}))


def test_the_straight_share_counts_sides_over_a_twentieth_of_the_round():
    assert straight_share(outline()) == pytest.approx(1.0)
    assert straight_share(outline(shape="round", diameter_mm=90)) == 0.0
    square = outline(shape="square", width_mm=100, round_mm=20)
    assert straight_share(square) == pytest.approx(240 / (240 + 2 * math.pi * 20))
    bevel = outline(shape="square", width_mm=100, bevel_mm=4, round_mm=0)  # flats of 5.7 mm
    whole = 4 * 92 + 16 * math.sqrt(2)
    assert straight_share(bevel) == pytest.approx(4 * 92 / whole)


@pytest.mark.parametrize(
    ("a", "b", "found"),
    [
        ((-40, 10), (40, 10), ("top", 20.0)),
        ((-40, -10), (40, -10), ("bottom", 20.0)),
        ((-40, 5), (40, 5), None),  # 25 mm deep: over four tenths of 60
        ((-40, 7), (40, 7), ("top", 23.0)),
        ((-20, -20), (-20, 20), ("left", 30.0)),
        ((-9, -20), (-9, 20), None),  # 41 of 100 mm
        ((30, -29), (30, 29), ("right", 20.0)),
        ((-30, 0), (30, 38), None),  # aslant by 32 degrees
        ((-30, 5), (30, 29), ("top", 13.0)),  # by 22 degrees
        ((-52, 20), (52, 20), None),  # longer than the flat
    ],
)
def test_a_cut_runs_under_a_flat_that_is_near_along_it_and_longer(a, b, found):
    under = flat_over(row("a", a, b), outline())
    if found is None:
        assert under is None
    else:
        assert under is not None
        assert under[0] == found[0]
        assert under[1] == pytest.approx(found[1])


def shaped(section, *lands, tension=0.5):
    closing = SimpleNamespace(section=section, loads=SimpleNamespace(tension_n_per_mm=tension))
    return [(each.kind, each.why) for each in open_by_shape(closing, lands, None, False)]


def gaping(a, b, gap_mm):
    return SimpleNamespace(**vars(row("a", a, b)), largest_gap_mm=gap_mm)


def test_the_widest_of_the_open_lands_says_which_shape_it_is():
    under, across = gaping((-40, 10), (40, 10), 0.3), gaping((0, -25), (0, 25), 0.5)
    ((kind, why),) = shaped(outline(), under)
    assert kind == "flat"
    assert why.startswith("The cut runs 20 mm under the flat top,")
    assert [kind for kind, _ in shaped(outline(), under, across)] == ["corners"]
    assert [kind for kind, _ in shaped(outline(shape="round", diameter_mm=90), across)] == ["shape"]
    assert shaped(outline(), under, tension=0.0) == []
    assert shaped(outline(), gaping((-40, 10), (40, 10), 0.0)) == []
    cradled = replace(outline(), cradles=(1,))
    assert [kind for kind, _ in shaped(cradled, under)] == ["shape"]


# causes: bands and gaps


def band_mold(*bands, **changed):
    return squeeze.mold_of(BLOCK | {"band": bands} | changed)


def pulls(mold, tension=0.5, pushed=False):
    loads = SimpleNamespace(tension_n_per_mm=tension, is_pushed=pushed)
    closing = SimpleNamespace(loads=loads, section=section_of(mold))
    return [(each.kind, each.why, each.do) for each in no_pull(closing, mold, False)]


def test_bands_as_long_as_the_block_is_round_hang_loose():
    """Once round 100 x 60 mm is 320: flat bands of 160 mm do not stretch."""
    sizes = {"width_mm": 6, "thickness_mm": 1}
    tight, loose = sizes | {"flat_length_mm": 159}, sizes | {"flat_length_mm": 160.0}
    ((kind, why, do),) = pulls(band_mold(tight, loose))
    assert kind == "loose band"
    assert why == "Band 2 hangs loose round 320 mm and does not pull."
    assert do.startswith("Take shorter bands, ")
    assert [each[0] for each in pulls(band_mold(loose), tension=0.0)] == ["loose band", "no pull"]
    assert [each[0] for each in pulls(band_mold(), tension=0.0)] == ["no pull"]
    assert pulls(band_mold(), tension=0.0, pushed=True) == []


def test_bands_are_called_by_name_or_size_and_their_flat_length():
    mold = band_mold({"stock": "64"}, {"tension_n": 2.0, "name": "grey"}, {"tension_n": 2.0})
    names = [name_of_band(k, band) for k, band in enumerate(mold.band, start=1)]
    assert names == ["Band 1 (size 64)", "Band 2 ('grey')", "Band 3"]
    size = SimpleNamespace(flat_length_mm=50.8, width_mm=6.0, thickness_mm=1.0)
    assert called("32", size) == "size 32 (51 mm long when flat)"
    assert called("", size, inches=True) == "2.00 in long when flat"


def test_a_band_pulls_as_its_section_and_its_stretch_say():
    """A0 (s - 1 / s^2), s = 200 / (2 x 50) and 200 / (2 x 80)."""
    short = SimpleNamespace(flat_length_mm=50.0, width_mm=6.0, thickness_mm=1.0)
    long = SimpleNamespace(flat_length_mm=80.0, width_mm=3.0, thickness_mm=1.5)
    exact = 6.0 * (2 - 1 / 4) / (4.5 * (1.25 - 1 / 1.25**2))
    assert pulls_as(short, long, 200.0) == pytest.approx(exact)


def test_shorter_bands_are_as_wide_and_stretch_well():
    band = band_mold({"width_mm": 6, "thickness_mm": 1, "flat_length_mm": 160}).band[0]
    said = shorter_band(band, 320.0)
    stretch = float(said.split("stretch to ")[1].split()[0])
    assert said.startswith("shorter bands, ")
    assert 1.5 <= stretch <= 3.0
    flat = float(said.split(" mm long")[0].split()[-1].strip("("))
    assert stretch == pytest.approx(320 / (2 * flat), abs=0.06)


def troubled(closed, *, named=True, **cut):
    cuts = tuple(replace(each, **cut) for each in closed.section.cuts)
    closing = replace(
        closed, section=replace(closed.section, cuts=cuts), loads=Loads(tension_n_per_mm=5.0)
    )
    seal = SimpleNamespace(needed_kpa=2.0, leaks=())
    lands = closing.lands[:1] if named else ()
    return [(each.kind, each.why) for each in causes_of(closing, seal, lands)]


def test_films_and_gaps_of_cuts_in_trouble_are_causes(closed):
    assert troubled(closed) == []
    ((kind, why),) = troubled(closed, gap_mm=(0.1, 0.2), bow_mm=0.3)
    assert kind == "gap"
    assert "'across' stands open by up to 0.50 mm before" in why
    ((kind, why),) = troubled(closed, film_mm=(0.1, 0.25))
    assert kind == "film"
    assert why.startswith("A film of 0.25 mm in the cut 'across' holds")
    assert troubled(closed, named=False, gap_mm=(0.1,), film_mm=(0.2,)) == []
