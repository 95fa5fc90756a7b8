"""Where lines, arcs and ellipses meet: against samples, at touches, under rounding."""

import math

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from squeeze.mold.geometry.crossings import crossings
from squeeze.mold.geometry.curve import Arc, Line
from squeeze.mold.geometry.tolerance import ON_MM

PLACE = st.tuples(st.floats(-40, 40), st.floats(-40, 40))
FULL = 2 * math.pi


def circle(radius, centre=(0.0, 0.0)):
    return Arc(centre, (radius, radius), 0.0, FULL)


def ellipse(rx, ry, centre=(0.0, 0.0)):
    return Arc(centre, (rx, ry), 0.0, FULL)


LINES = st.builds(Line, PLACE, PLACE).filter(lambda line: line.length > 1)
ARCS = st.builds(
    lambda centre, r, start, sweep: Arc(centre, (r, r), start, sweep),
    PLACE,
    st.floats(1, 40),
    st.floats(-7, 7),
    st.floats(0.1, 6) | st.floats(-6, -0.1),
)
ELLIPSES = st.builds(
    lambda centre, rx, ry, start, sweep: Arc(centre, (rx, ry), start, sweep),
    PLACE,
    st.floats(1, 40),
    st.floats(1, 40),
    st.floats(-7, 7),
    st.floats(0.1, 6) | st.floats(-6, -0.1),
)
PIECES = LINES | ARCS | ELLIPSES


def side(piece, places):
    """Say how far places are off a whole curve, signed; about mm near it."""
    if isinstance(piece, Line):
        (x, y), (u, v) = piece.start, piece.end
        return ((u - x) * (places[:, 1] - y) - (v - y) * (places[:, 0] - x)) / piece.length
    r = (places - piece.centre) / piece.radii
    return ((r**2).sum(axis=1) - 1) / (2 * np.hypot(*(r / piece.radii).T) + 1e-9)


def clear_changes(a, b):
    """Return samples of `b` where it crosses whole `a`, clearly from side to side."""
    places = b.at(np.linspace(0, 1, 4001))
    off = side(a, places)
    before, after = off[:-80], off[80:]
    clear = (before * after < 0) & (np.minimum(np.abs(before), np.abs(after)) > 1e-3)
    changes = [k for k in np.flatnonzero(off[:-1] * off[1:] < 0) if 40 <= k < len(off) - 41]
    return [places[k] for k in changes if clear[k - 40]]


@settings(deadline=None, max_examples=300)
@given(PIECES, PIECES)
def test_crossings_lie_on_both_pieces_and_none_is_missed(a, b):
    found = crossings(a, b)
    for t, s in found:
        assert 0 <= t <= 1
        assert 0 <= s <= 1
        assert math.dist(a.place(t), b.place(s)) < 3 * ON_MM
    assert len(found) <= (2 if isinstance(a, Line) or isinstance(b, Line) else 4)
    step = np.hypot(*np.diff(b.at(np.linspace(0, 1, 4001)), axis=0).T).max() + 1e-3
    for place in clear_changes(a, b):
        on_a = math.dist(a.place(a.nearest(place)), place)
        inner = 0.01 < a.nearest(place) < 0.99
        if on_a < 1e-3 and inner:
            near = min((math.dist(b.place(s), place) for _, s in found), default=math.inf)
            assert near < 4 * step


@settings(deadline=None, max_examples=200)
@given(PIECES, PIECES)
@example(  # a root of the quartic that is none of the curves' goes round many times
    Arc((-9.0, 1.0), (32.0, 32.0), 0.0, -1.0), Arc((0.0, 0.0), (33.0, 1.0), 0.0, -1.0)
)
@example(  # a root at which the distance hardly changes: a step of Newton's would be infinite
    Arc((0.0, 1.1125369292536007e-308), (1.0, 1.0), 0.0, 1.0), Arc((0.0, 0.0), (2.0, 3.0), 0.0, 1.0)
)
def test_it_does_not_matter_which_piece_comes_first(a, b):
    there = sorted(crossings(a, b))
    back = sorted((t, s) for s, t in crossings(b, a))
    assert len(there) == len(back)
    for (t, _), (u, _) in zip(there, back, strict=True):
        assert math.dist(a.place(t), a.place(u)) < 1e-3


def test_two_circles():
    met = crossings(circle(5.0), circle(5.0, (6.0, 0.0)))
    assert sorted(circle(5.0).place(t) for t, _ in met) == [
        pytest.approx((3, -4)),
        pytest.approx((3, 4)),
    ]


def test_two_ellipses_cross_four_times():
    a, b = ellipse(5.0, 2.0), ellipse(2.0, 5.0)
    k = 10 / math.sqrt(29)  # x = y on x^2/25 + y^2/4 = 1
    met = sorted(a.place(t) for t, _ in crossings(a, b))
    wanted = sorted([(k, k), (k, -k), (-k, k), (-k, -k)])
    assert np.allclose(met, wanted, atol=1e-12)


def test_like_ellipses_meet_as_circles_do():
    a, b = ellipse(10.0, 5.0), ellipse(10.0, 5.0, (12.0, 0.0))
    met = sorted(a.place(t) for t, _ in crossings(a, b))
    assert np.allclose(met, [(6, -4), (6, 4)])


TOUCHES = {
    "line and circle": (circle(7.0), Line((-20.0, 7.0), (20.0, 7.0)), (0, 7)),
    "line and ellipse": (ellipse(9.0, 4.0), Line((-20.0, -4.0), (20.0, -4.0)), (0, -4)),
    "circles outside": (circle(7.0), circle(3.0, (0.0, 10.0)), (0, 7)),
    "circle inside": (circle(7.0), circle(3.0, (-4.0, 0.0)), (-7, 0)),
    "circle in ellipse": (ellipse(9.0, 4.0), circle(1.0, (0.0, 3.0)), (0, 4)),
    "ellipses outside": (ellipse(9.0, 4.0), ellipse(5.0, 2.0, (14.0, 0.0)), (9, 0)),
    "an end on a line": (Line((0.0, 0.0), (10.0, 0.0)), Line((4.0, 0.0), (7.0, 9.0)), (4, 0)),
    "an end on a circle": (circle(5.0), Line((3.0, 4.0), (30.0, 40.0)), (3, 4)),
}


@pytest.mark.parametrize("name", TOUCHES)
@pytest.mark.parametrize("off", [0.0, 1e-15, -1e-15, 1e-9, -1e-9])
def test_a_touch_is_one_place_whatever_the_last_digits(name, off):
    a, b, place = TOUCHES[name]
    if isinstance(b, Line):
        b = Line((b.start[0], b.start[1] + off), (b.end[0], b.end[1] - off / 3))
    else:
        b = Arc((b.centre[0] + off, b.centre[1] - off / 3), b.radii, b.start_rad, b.sweep_rad)
    met = [a.place(t) for t, _ in crossings(a, b)]
    assert len(met) == 1
    assert met[0] == pytest.approx(place, abs=1e-4)


@pytest.mark.parametrize("a", [circle(6.0), ellipse(8.0, 3.0), Line((0.0, 0.0), (9.0, 3.0))])
def test_a_curve_on_itself_meets_in_no_single_place(a):
    assert crossings(a, a) == []
    if isinstance(a, Arc):
        shifted = Arc((1e-9, -1e-9), a.radii, 0.3, 2.0)
        assert crossings(a, shifted) == []


@settings(deadline=None, max_examples=200)
@given(PIECES, PIECES, st.integers(0, 2**32 - 1), st.sampled_from([1e-14, 1e-9]))
def test_rounding_moves_crossings_and_makes_none(a, b, seed, size):
    before = crossings(a, b)
    steep = [turn(a.tangent(t), b.tangent(s)) for t, s in before]
    ends = [min(t, 1 - t, s, 1 - s) for t, s in before]
    after = crossings(moved(a, seed, size), moved(b, seed + 1, size))
    if min(map(abs, steep), default=1) > 1e-3 and min(ends, default=1) > 1e-4:
        assert len(after) >= len(before)
    for t, s in before:
        if abs(turn(a.tangent(t), b.tangent(s))) > 1e-3 and 1e-4 < min(t, 1 - t, s, 1 - s):
            away = [math.dist(a.place(t), a.place(u)) for u, _ in after]
            assert min(away) < 1e-5


def turn(u, v):
    """Return the sine of the angle between two unit vectors."""
    return u[0] * v[1] - u[1] * v[0]


def moved(piece, seed, size):
    """Return the piece with every figure off by up to `size` [mm]."""
    rng = np.random.default_rng(seed)

    def off(values):
        return tuple(float(v + size * rng.uniform(-1, 1)) for v in values)

    if isinstance(piece, Line):
        return Line(off(piece.start), off(piece.end))
    radii = off(piece.radii)
    radii = (radii[0], radii[0]) if piece.is_circular else radii
    start, sweep = off((piece.start_rad, piece.sweep_rad))
    return Arc(off(piece.centre), radii, start, sweep)
