"""Loose pieces, and blocks that cuts part: held or not, by statics alone.

Two faces under an angle to each other may press a piece between them as hard as they like: unless
the coefficient of friction is the tangent of half that angle, nothing keeps it from going (the
wedge of elementary statics; from memory). Neither stiffness nor how the pressure is spread enters.
"""

import numpy as np
import pytest
from verification import Check, rows_test

import squeeze

SQUARE = {"shape": "square", "width_mm": 120}
ROUND = {"shape": "round", "diameter_mm": 120}


def ray(angle_deg, length=130.0):
    angle = np.radians(angle_deg)
    return [length * np.cos(angle), length * np.sin(angle)]


KEYSTONE = [[[0, 0], ray(60)], [[0, 0], ray(120)]]
PLUG = [[[x, 0], [x, 90]] for x in (-12, 12)]
TILTED = [[ray(200), ray(20)]]


def block(outline, paths):
    return squeeze.Block(
        squeeze.mold_of(
            {
                "length_mm": 100,
                "rubber": {"youngs_modulus_mpa": 0.6, "poisson": 0.499},
                "block": outline,
                "cavity": [{"shape": "round", "diameter_mm": 40}],
                "cut": [{"path_mm": path} for path in paths],
                "band": [{"tension_n_per_mm": 0.6}],
            }
        )
    )


def wedge(half_angle_deg):
    """Make a stiff wedge, wider at the top, between two stiff jaws that are pushed together."""
    lean = 60 * np.tan(np.radians(half_angle_deg))
    return squeeze.Block(
        squeeze.mold_of(
            {
                "length_mm": 100,
                "rubber": {"youngs_modulus_mpa": 50, "poisson": 0.3},
                "block": {"shape": "rectangle", "width_mm": 160, "height_mm": 100, "round_mm": 0},
                "cut": [
                    {"path_mm": [[s * (20 - lean), -60], [s * (20 + lean), 60]]} for s in (-1, 1)
                ],
                "push": [
                    {"at_mm": [s * 80, 0], "width_mm": 40, "force_n_per_mm": 0.5} for s in (-1, 1)
                ],
            }
        )
    )


HELD, LOOSE = "converged", "a piece is not held"


def threshold(block, low, high):
    """Bisect for the friction from which on the pieces are held."""
    assert block.close(friction=low, check=False).trust.outcome == LOOSE
    assert block.close(friction=high).trust.outcome == HELD
    while high - low > 5e-4 * high:
        middle = 0.5 * (low + high)
        held = block.close(friction=middle, check=False).trust.outcome == HELD
        low, high = (low, middle) if held else (middle, high)
    return 0.5 * (low + high)


@pytest.mark.parametrize(
    ("paths", "angle_deg"), [(KEYSTONE, 30), (TILTED, 20)], ids=["keystone", "halves"]
)
def test_the_least_friction_that_holds(paths, angle_deg):
    exact = np.tan(np.radians(angle_deg))
    found = threshold(block(SQUARE, paths), 0.99 * exact, 1.01 * exact)
    assert found == pytest.approx(exact, rel=1e-3)


@pytest.mark.parametrize("angle_deg", [5, 10, 17])
def test_a_stiff_wedge_sticks_or_slides(angle_deg):
    exact = np.tan(np.radians(angle_deg))
    made = wedge(angle_deg)
    assert made.close(friction=0.99 * exact, check=False).trust.outcome == LOOSE
    assert made.close(friction=1.01 * exact).trust.outcome == HELD
    assert threshold(made, 0.9 * exact, 1.1 * exact) == pytest.approx(exact, rel=1e-3)


@pytest.mark.parametrize("friction", [0.1, 0.5])
def test_at_a_given_friction_the_angle_decides(friction):
    exact = np.degrees(np.arctan(friction))
    for share, outcome in ((0.99, HELD), (1.01, LOOSE)):
        assert wedge(share * exact).close(friction=friction, check=False).trust.outcome == outcome


def going(closing):
    """Return pieces that go, the smallest first."""
    found = [piece for piece in closing.trust.pieces if piece.goes or piece.turns]
    return sorted(found, key=lambda piece: piece.area_mm2)


def test_a_keystone_goes_outwards_and_a_plug_inwards():
    for friction in (0.0, 0.3):
        (key,) = going(block(SQUARE, KEYSTONE).close(friction=friction, check=False))
        assert key.middle_mm[1] > 20
        assert key.goes == pytest.approx((0, 1), abs=0.1)
    (plug,) = going(block(ROUND, PLUG).close(friction=0.1, check=False))
    assert plug.middle_mm[1] > 20
    assert plug.goes == pytest.approx((0, -1), abs=1e-6)


@pytest.mark.parametrize("share", [0.0, 0.5, 0.99])
def test_a_wedge_goes_to_its_wide_side_and_the_jaws_meet(share):
    """Against one jaw the wedge slides along its face, the other jaw comes straight on."""
    angle = np.radians(10)
    smaller, larger = going(wedge(10).close(friction=share * np.tan(angle), check=False))
    assert np.abs(smaller.goes) == pytest.approx((np.sin(angle), np.cos(angle)), abs=1e-3)
    assert smaller.goes[1] > 0
    assert np.abs(larger.goes) == pytest.approx((1, 0), abs=0.01)
    assert larger.goes[0] * larger.middle_mm[0] < 0


@pytest.mark.parametrize("friction", [0.0, 0.2, 0.36])
def test_halves_of_a_tilted_cut_go_along_it(friction):
    (half,) = going(block(SQUARE, TILTED).close(friction=friction, check=False))
    along = np.array(half.goes) @ ray(20, 1.0)
    assert abs(along) == pytest.approx(1, abs=1e-3)


def test_a_wedged_piece_has_its_pressures_all_round():
    """The keystone of a round block: its two faces carry it against the band's push on its arc."""
    closing = block(ROUND, KEYSTONE).close(friction=0.3)
    T = closing.loads.tension_n_per_mm
    half = np.radians(30)
    for land, into in zip(closing.lands, (1, -1), strict=True):  # its right and its left face
        assert land.closed_share == 1
        rub = into * np.trapezoid(land.shear_kpa, land.s_mm) / 1000  # outwards on the keystone
        outwards = land.force_n_per_mm * np.sin(half) + rub * np.cos(half)
        assert outwards == pytest.approx(T * np.sin(half), rel=1e-3)


WEDGE = "wedge of elementary statics, tan of half the angle; from memory"
CHECKS = tuple(
    Check(
        problem,
        WEDGE,
        "least friction that holds it",
        float(np.tan(np.radians(angle))),
        lambda make=make, angle=angle: (
            threshold(make(), 0.9 * np.tan(np.radians(angle)), 1.1 * np.tan(np.radians(angle))),
            None,
        ),
        within=1e-3,
    )
    for problem, angle, make in (
        ("Stiff wedge of 20 degrees between jaws", 10, lambda: wedge(10)),
        ("Keystone of 60 degrees in a square block", 30, lambda: block(SQUARE, KEYSTONE)),
        ("Block parted by a cut that leans 20 degrees", 20, lambda: block(SQUARE, TILTED)),
    )
)
test_published = rows_test(CHECKS)
