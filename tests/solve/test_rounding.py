"""No topology hangs on the last digits: sections off by rounding give the same mesh and answer."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from squeeze.mold import BadInput, dict_of, mold_of, section_of
from squeeze.mold.geometry.curve import Arc, Line
from squeeze.mold.geometry.loop import Loop
from squeeze.solve.block import Block
from squeeze.solve.mesh.parting import parted_mesh
from squeeze.solve.mesh.triangulate import triangulate
from tests.solve.conftest import random_tables

ULPS, NANO = "a few ulps", 1e-9
SIZES = st.sampled_from([ULPS, NANO])


def jolted(values, size, rng):
    """Return numbers off by up to three ulps each, or by up to `size` [mm]."""
    v = np.asarray(values, float)
    off = np.spacing(v) * rng.integers(-3, 4, v.shape) if size == ULPS else size * rng.uniform(
        -1, 1, v.shape
    )  # fmt: skip
    return tuple(map(float, v + off))


def jolted_piece(piece, size, rng):
    if isinstance(piece, Line):
        return Line(jolted(piece.start, size, rng), jolted(piece.end, size, rng))
    radii = jolted(piece.radii, size, rng)
    turn = size if size == ULPS else size / max(radii)
    start, sweep = jolted((piece.start_rad, piece.sweep_rad), turn, rng)
    radii = (radii[0], radii[0]) if piece.is_circular else radii
    return Arc(jolted(piece.centre, size, rng), radii, start, sweep)


def jolted_section(section, size, rng):
    """Return the section with every figure of every curve off by rounding, each alone."""

    def loop(loop):
        return Loop(tuple(jolted_piece(piece, size, rng) for piece in loop.pieces))

    def stretch(s):
        return replace(s, points=tuple(jolted(p, size, rng) for p in s.points))

    return replace(
        section,
        outline=loop(section.outline),
        cavities=tuple(replace(each, loop=loop(each.loop)) for each in section.cavities),
        fillers=tuple(replace(each, loop=loop(each.loop)) for each in section.fillers),
        cradles=tuple(replace(each, loop=loop(each.loop)) for each in section.cradles),
        cuts=tuple(
            replace(cut, stretches=tuple(map(stretch, cut.stretches))) for cut in section.cuts
        ),
    )


LENGTHS = (
    "diameter_mm",
    "width_mm",
    "height_mm",
    "bevel_mm",
    "thickness_mm",
    "apart_mm",
    "rise_mm",
)
PLACES = ("centre_mm", "path_mm", "points_mm")


def jolted_tables(tables, size, rng):
    """Return the tables of a mold with every length and every coordinate off by rounding."""
    found = {}
    for key, value in tables.items():
        if isinstance(value, dict):
            found[key] = jolted_tables(value, size, rng)
        elif isinstance(value, list | tuple) and value and isinstance(value[0], dict):
            found[key] = [jolted_tables(each, size, rng) for each in value]
        elif key in PLACES:
            flat = jolted(np.ravel(value), size, rng)
            found[key] = np.reshape(flat, np.shape(value)).tolist()
        else:
            found[key] = abs(jolted([value], size, rng)[0]) if key in LENGTHS else value
    return found


def topology(section):
    """Return all of the parted mesh that is a whole number."""
    mesh = parted_mesh(section, triangulate(section))
    return {
        "corners": len(mesh.base),
        "triangles": mesh.triangles.tolist(),
        "bodies": mesh.body.tolist(),
        "pieces": mesh.piece.tolist(),
        "lands": [(f.cut, f.land, f.left.tolist(), f.right.tolist()) for f in mesh.lands],
        "seats": [(f.cut, f.land, f.left.tolist(), f.right.tolist()) for f in mesh.seats],
        "joints": [(f.cut, f.land, f.left.tolist(), f.right.tolist()) for f in mesh.joints],
        "edges": [edges.tolist() for edges in mesh.edges],
        "outside": mesh.outside.tolist(),
    }


def counts(section):
    """Count the curves, pieces of curves and stretches of cuts of a section."""
    loops = [len(loop.pieces) for loop in section.loops]
    return loops, [len(s.points) for cut in section.cuts for s in cut.stretches]


RUBBER = {"youngs_modulus_mpa": 0.6, "poisson": 0.4999}


def full_cradle(width, bevel, pieces, apart, thickness):
    return {
        "length_mm": 100,
        "rubber": RUBBER,
        "block": {"shape": "square", "width_mm": width, "bevel_mm": bevel},
        "cut": [{"path_mm": [[0, -width], [0, width]]}],
        "band": [{"tension_n_per_mm": 0.5}],
        "cradle": [
            {
                "covers": "all",
                "pieces": pieces,
                "apart_mm": apart,
                "thickness_mm": thickness,
                "back": "round",
                "material": "plywood",
            }
        ],
    }


FULL_CRADLES = list(
    product((64, 80, 96, 120, 150), (5, 12.5, 20, 28.1), (2, 3, 4), (0, 1, 4, 6, 10), (12,))
)
"""300 ordinary full cradles on beveled squares: pieces end on corners, on cuts, on each other."""


def check_full_cradle(figures, seed):
    mold = mold_of(full_cradle(*figures))
    section = section_of(mold)
    assert len(section.cradles) == figures[2]
    wanted = topology(section)
    assert len(set(wanted["bodies"])) == 1 + figures[2]
    assert len({cut for cut, *_ in wanted["seats"]}) == figures[2]
    assert bool(wanted["joints"]) == (figures[3] == 0)
    rng = np.random.default_rng(seed)
    for size in (ULPS, NANO):
        assert topology(jolted_section(section, size, rng)) == wanted
        again = section_of(mold_of(jolted_tables(full_cradle(*figures), size, rng)))
        assert topology(again) == wanted


SAMPLE = np.random.default_rng(11).permutation(len(FULL_CRADLES))


@pytest.mark.parametrize("number", SAMPLE[:2])
def test_full_cradles_on_beveled_squares(number):
    check_full_cradle(FULL_CRADLES[number], number)


@pytest.mark.slow
@pytest.mark.parametrize("number", SAMPLE[2:])
def test_every_full_cradle_on_a_beveled_square(number):
    check_full_cradle(FULL_CRADLES[number], number)


def typed(tables):
    """Return tables with their numbers as people type them: to a tenth of a millimetre."""
    if isinstance(tables, dict):
        return {key: value if key == "rubber" else typed(value) for key, value in tables.items()}
    if isinstance(tables, list | tuple):
        return [typed(each) for each in tables]
    return round(tables, 1) if isinstance(tables, float) else tables


BODIES = {
    "nothing": {},
    "a board": {"cradle": [{"covers": "top", "back": "round", "thickness_mm": 14, "rise_mm": 4,
                            "material": "plywood"}]},
    "a full cradle that touches": {"cradle": [{"covers": "all", "pieces": 4, "apart_mm": 0,
                                               "thickness_mm": 10, "back": "round",
                                               "material": "MDF"}]},
    "a filler that ends on an edge": {"filler": [{"shape": "rectangle", "width_mm": 400,
                                                  "height_mm": 12, "centre_mm": [0, -21],
                                                  "shore_a": 30}]},
    "an oval filler": {"filler": [{"shape": "oval", "width_mm": 300, "height_mm": 24,
                                   "centre_mm": [0, -26], "shore_a": 30}]},
}  # fmt: skip


def outcome(tables):
    try:
        return section_of(mold_of(tables))
    except BadInput as error:
        return sorted(fault.key for fault in error.faults)


@settings(deadline=None, max_examples=6)
@given(st.integers(0, 10**6), st.sampled_from(sorted(BODIES)), SIZES)
def test_any_mold_off_by_rounding_is_the_same_mold(seed, body, size):
    tables = typed(random_tables(seed)) | BODIES[body]
    rng = np.random.default_rng(seed)
    section, again = outcome(tables), outcome(jolted_tables(tables, size, rng))
    if isinstance(section, list):
        assert again == section
        return
    assert counts(again) == counts(section)
    wanted = topology(section)
    assert topology(again) == wanted
    assert topology(jolted_section(section, size, rng)) == wanted


@settings(deadline=None, max_examples=3)
@given(st.integers(0, 10**6), st.sampled_from(sorted(BODIES)), SIZES)
def test_and_has_the_same_answer(seed, body, size):
    tables = typed(random_tables(seed, cavities=1, cuts=2)) | BODIES[body]
    for cut in tables["cut"]:
        cut["friction"] = 0.4  # without friction loose pieces slide, and there is no answer
    if isinstance(outcome(tables), list):
        return
    mold = mold_of(tables)
    answers, outcomes = [], []
    for each in (mold, mold_of(jolted_tables(dict_of(mold), size, np.random.default_rng(seed)))):
        closing = Block(each).close(check=False)
        outcomes.append(closing.outcome)
        faces = (*closing.lands, *closing.seats)
        answers.append([(np.array(f.pressure_kpa), np.array(f.gap_mm)) for f in faces])
    assert outcomes[0] == outcomes[1]
    highest = max((p.max() for p, _ in answers[0]), default=0.0)
    for (p, gap), (q, other) in zip(*answers, strict=True):
        assert np.allclose(p, q, rtol=0, atol=1e-6 * np.nan_to_num(highest) + 1e-9, equal_nan=True)
        assert np.allclose(gap, other, rtol=1e-6, atol=1e-6, equal_nan=True)
