"""Saying no: the limit that binds, with the least change that would do."""

from collections import Counter

import pytest

import squeeze
from squeeze.design import screen
from squeeze.design.limits import limits_of
from squeeze.design.refusal import refusal_of
from squeeze.design.search import Found

BASE = {
    "length_mm": 140,
    "rubber": {"shore_a": 20},
    "block": {"shape": "round", "diameter_mm": 120},
    "cavity": [{"shape": "round", "diameter_mm": 20}],
    "cut": [{"path_mm": [[-60, 0], [60, 0]]}],
    "band": [{"tension_n": 3, "count": 5}],
    "pot": {"bore_mm": 60, "depth_mm": 100},
}


def refused(dropped, needs, failed=(), **more):
    mold = squeeze.mold_of(BASE | more)
    found = [
        Found("round", dropped=Counter(dropped), needs={k: v + 10 for k, v in needs.items()}),
        Found("square", needs=dict(needs)),
    ]
    return refusal_of(mold, limits_of(mold), found, failed)


@pytest.mark.parametrize(
    ("reason", "need", "limit", "change"),
    [
        (screen.FITS_NOT, 180.2, "pot", "A bore of 181 mm would do."),
        (screen.TOO_LONG, 140.0, "pot", "A pot 140 mm deep would do."),
        (screen.OVERSIZE, 61.3, "largest block", "A block of 62 mm would do."),
        (screen.WEAK, 0.178, "bands", "5 bands of 5 N each at this length would do."),
    ],
)
def test_the_least_change_is_named(reason, need, limit, change):
    told = refused({reason: 4}, {reason: need})
    assert told.limit == limit
    assert told.change == change


def test_bands_that_hang_loose_name_those_that_would_do():
    told = refused({screen.LOOSE: 4}, {screen.LOOSE: 250.0})
    assert "250 mm round" in told.change
    assert "size" in told.change


def test_a_shape_that_stays_open_is_no_matter_of_bands():
    told = refused({screen.OPEN: 9}, {})
    assert told.limit == "shape"
    assert told.change.startswith("Move the cut")
    told = refused({screen.OPEN: 9}, {}, design={"cradle": False})
    assert told.change.startswith("Allow a cradle")


def test_bands_that_are_too_weak_bind_before_the_pot():
    told = refused({screen.WEAK: 1, screen.FITS_NOT: 30}, {screen.WEAK: 0.3, screen.FITS_NOT: 99})
    assert told.limit == "bands"
