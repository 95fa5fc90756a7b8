"""Any mold that can be typed either closes with a certified answer, or is refused in words."""

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import squeeze
from squeeze.solve import Outcome
from squeeze.solve.contact.problem import SLIDES

coordinate = st.integers(-700, 700).map(lambda k: k / 10)
place = st.tuples(coordinate, coordinate).map(list)


def radial(radii):
    """Points at even angles: an outline that may be hollow but never crosses itself."""
    angle = np.linspace(0, 2 * np.pi, len(radii), endpoint=False)
    return [[r * np.cos(a), r * np.sin(a)] for r, a in zip(radii, angle, strict=True)]


sizes = st.integers(40, 140).map(float)
outlines = st.one_of(
    st.fixed_dictionaries({"shape": st.just("round"), "diameter_mm": sizes}),
    st.fixed_dictionaries(
        {
            "shape": st.just("rectangle"),
            "width_mm": sizes,
            "height_mm": sizes,
            "bevel_mm": st.integers(0, 19),
            "round_mm": st.sampled_from([0, 0.5, 2, 8]),
        }
    ),
    st.fixed_dictionaries({"shape": st.just("oval"), "width_mm": sizes, "height_mm": sizes}),
    st.fixed_dictionaries(
        {"points_mm": st.lists(st.integers(15, 70), min_size=3, max_size=9).map(radial)}
    ),
)
cavities = st.lists(
    st.one_of(
        st.fixed_dictionaries(
            {"shape": st.just("round"), "diameter_mm": st.integers(4, 30), "centre_mm": place}
        ),
        st.fixed_dictionaries(
            {
                "shape": st.just("oval"),
                "width_mm": st.integers(4, 60),
                "height_mm": st.integers(4, 30),
                "centre_mm": place,
            }
        ),
    ),
    max_size=3,
)
cuts = st.lists(
    st.fixed_dictionaries(
        {
            "path_mm": st.lists(place, min_size=2, max_size=4),
            "friction": st.sampled_from([0.0, 0.0, 0.3, 1.0]),
            "gap_mm": st.sampled_from([0.0, 0.0, 0.1, [0.3, 0.0, 0.3]]),
        }
    ),
    max_size=3,
)
loads = st.sampled_from(
    [
        {"band": [{"tension_n_per_mm": 0.6}]},
        {"band": [{"stock": "64", "count": 4, "friction": 0.3}]},
        {"push": [{"pressure_kpa": 10}]},
        {"band": [{"tension_n_per_mm": 0.3}], "resin": {"head_mm": 150}},
        {},
    ]
)


@st.composite
def molds(draw):
    return {
        "length_mm": 100,
        "rubber": {"shore_a": draw(st.sampled_from([10, 20, 40]))},
        "block": draw(outlines),
        "cavity": draw(cavities),
        "cut": draw(cuts),
    } | draw(loads)


@st.composite
def likely_molds(draw):
    """Molds as people make them, a little off: cavities inside, cuts through them."""
    across = draw(st.integers(70, 130))
    holes = draw(st.integers(1, 3))
    pitch = across / (holes + 1)
    height = draw(st.integers(-15, 15))
    centres = [[-across / 2 + pitch * (k + 1), height] for k in range(holes)]
    tilt = draw(st.integers(-100, 100)) / 100
    ends = [[-across, height - tilt], [across, height + tilt]]
    path = draw(
        st.sampled_from(
            [ends, [ends[0], centres[-1]], [centres[0], ends[1]], [*ends[:1], [0, height]]]
        )
    )
    more = draw(
        st.sampled_from([[], [[[centres[0][0], height], [centres[0][0] + 3 * tilt, across]]]])
    )
    block = draw(
        st.sampled_from(
            [
                {"shape": "round", "diameter_mm": across},
                {"shape": "square", "width_mm": across, "bevel_mm": across // 9},
                {"shape": "oval", "width_mm": across, "height_mm": 0.8 * across},
            ]
        )
    )
    return {
        "length_mm": 100,
        "rubber": {"shore_a": 20},
        "block": block,
        "cavity": [
            {"shape": "round", "diameter_mm": 0.4 * pitch, "centre_mm": centre}
            for centre in centres
        ],
        "cut": [
            {"path_mm": p, "friction": draw(st.sampled_from([0.0, 0.3]))} for p in [path, *more]
        ],
    } | draw(loads)


def sticky(closing):
    """Whether every cut has friction: what is left over along a smooth cut may reach SLIDES."""
    return all(cut.friction > 0 for cut in closing.section.cuts)


def certified(closing):
    """Check an answer with nothing but its own figures; return its outcome."""
    trust = closing.trust
    if not closing.outcome.has_answer:
        assert all(np.isnan(land.pressure_kpa).all() for land in closing.lands)
        assert all(np.isnan(land.largest_gap_mm) for land in closing.lands)
        return trust.outcome
    for land in closing.lands:
        arrays = (land.pressure_kpa, land.gap_mm, land.slip_mm, land.shear_kpa)
        assert all(np.isfinite(a).all() for a in arrays)
        assert land.pressure_kpa.min() >= 0
        assert land.gap_mm.min() >= 0
        assert (land.pressure_kpa * land.gap_mm == 0).all()
    assert trust.force_balance < (1e-6 if sticky(closing) else 2 * SLIDES)
    # what friction at its limit leaves over shows in gaps as well
    assert trust.complementarity < max(1e-7, 20 * trust.force_balance)
    assert np.isfinite(closing.field.displacement_mm).all()
    assert all(piece.goes is None for piece in trust.pieces)
    return trust.outcome


def allowed(tables):
    """Outcomes that a mold may have: without friction the problem is convex, and gets solved."""
    if all(cut["friction"] == 0 for cut in tables["cut"]):
        return (None, Outcome.CONVERGED, Outcome.PIECE_NOT_HELD)
    return (None, *Outcome)


def answer(tables, fineness=0.4):
    """Outcome of a mold, or None when it is refused; refusals have to say what and where."""
    try:
        mold = squeeze.mold_of(tables)
        closing = squeeze.close(mold, fineness=fineness, check=False)
    except squeeze.BadInput as error:
        faults = error.faults
    else:
        return certified(closing)
    assert faults
    assert all(fault.key and len(fault.text) > 15 for fault in faults)
    return None


few = settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.too_slow])
many = settings(few, max_examples=600)


@few
@given(molds())
def test_anything_is_answered_or_refused(tables):
    assert answer(tables) in allowed(tables)


@settings(few, max_examples=5)
@given(likely_molds())
def test_molds_as_people_make_them(tables):
    assert answer(tables) in allowed(tables)


@pytest.mark.slow(minutes=True)
@many
@given(st.one_of(molds(), likely_molds()))
def test_a_great_many(tables):
    assert answer(tables, fineness=0.7) in allowed(tables)


@pytest.mark.parametrize("width_mm", [39.5, 40, 41])
def test_a_cavity_as_wide_as_the_block_is_refused(width_mm):
    hole = {"shape": "oval", "width_mm": width_mm, "height_mm": 4}
    tables = {
        "length_mm": 100,
        "rubber": {"shore_a": 10},
        "block": {"shape": "round", "diameter_mm": 40},
        "cavity": [hole],
    }
    assert answer(tables) is None
