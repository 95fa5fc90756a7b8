"""Saying no: the limit that binds, with the least change that would do."""

from collections import Counter
from dataclasses import replace

import pytest

import squeeze
from squeeze.design import jobs, lifted
from squeeze.design.answer import DesignFigures
from squeeze.design.blocks.limits import limits_of
from squeeze.design.search import given_up, screen
from squeeze.design.search.drafts import Draft, Found
from squeeze.design.words.refusal import least_change, refusal_of, relaxed
from squeeze.mold.forces.band_sizes import SIZES
from squeeze.study import MemoryStore

BASE = {
    "length_mm": 140,
    "rubber": {"shore_a": 20},
    "block": {"shape": "round", "diameter_mm": 120},
    "cavity": [{"shape": "round", "diameter_mm": 20}],
    "cut": [{"path_mm": [[-60, 0], [60, 0]]}],
    "band": [{"tension_n": 3, "count": 5}],
    "pot": {"bore_mm": 60, "depth_mm": 100},
}


def draft(block, bands=None):
    cut = [{"path_mm": [[-200, 0], [200, 0]]}]
    data = {k: v for k, v in BASE.items() if k != "pot"} | {"block": block, "cut": cut}
    data |= {"band": bands or BASE["band"]}
    return Draft(data, "round", block.get("diameter_mm", 100.0), 0.2, 9, 4, 3, 0.0, 0.0, True)


SMALL = draft({"shape": "round", "diameter_mm": 180.5})
LARGE = draft({"shape": "rectangle", "width_mm": 200, "height_mm": 190})


def refused(dropped, needs=None, lifted=None, failed=(), **more):
    mold = squeeze.mold_of(BASE | more)
    needs = needs or {}
    found = [
        Found("round", dropped=Counter(dropped), needs={k: v + 10 for k, v in needs.items()}),
        Found("square", needs=dict(needs)),
    ]
    return refusal_of(mold, limits_of(mold), found, failed, lifted or {})


@pytest.mark.parametrize(
    ("reason", "limit", "change"),
    [
        (given_up.FITS_NOT, "pot", "A bore of 181 mm would do."),
        (given_up.TOO_LONG, "pot", "A pot 140 mm deep would do."),
        (given_up.OVERSIZE, "largest block", "One of 180 x 180 mm would do."),
    ],
)
def test_the_least_change_is_that_of_the_smallest_block_which_holds(reason, limit, change):
    told = refused({reason: 4}, lifted={reason: [LARGE, SMALL]})
    assert (told.limit, told.change) == (limit, change)


def test_the_pull_that_would_do_is_named_for_the_bands_at_hand():
    told = refused({given_up.WEAK: 4}, {given_up.WEAK: 0.178})
    assert told.limit == "bands"
    assert told.change == "5 bands of 5 N each at this length would do."


def test_bands_that_hang_loose_name_those_that_would_do():
    bands = [{"stock": "84", "count": 5}]
    told = refused(
        {given_up.LOOSE: 4}, lifted={given_up.LOOSE: [draft(SMALL.data["block"], bands)]}
    )
    assert told.change.startswith("Five bands of size 84 would do: round, 180.5 mm")


def test_bands_too_weak_name_a_size_that_would_do_where_there_is_one():
    bands = [{"stock": "84", "count": 5}]
    lifted = {given_up.WEAK: [draft(SMALL.data["block"], bands)]}
    told = refused({given_up.WEAK: 4}, {given_up.WEAK: 0.178}, lifted)
    assert told.change.startswith("Five bands of size 84 would do: round, 180.5 mm")
    mold = squeeze.mold_of(BASE)
    found = [Found("round", dropped=Counter({given_up.WEAK: 2}))]
    assert set(relaxed(mold, found)[given_up.WEAK].design.band_stock) == set(SIZES)


def test_blocks_that_ask_a_limit_to_give_least_come_first():
    wide = draft({"shape": "rectangle", "width_mm": 190, "height_mm": 30})
    lighter = replace(LARGE, rubber_g=1.0)
    assert least_change(given_up.FITS_NOT, [lighter, wide, SMALL]) == [SMALL, wide, lighter]
    assert least_change(given_up.OVERSIZE, [lighter, SMALL, wide]) == [wide, SMALL, lighter]
    assert least_change(given_up.APART, [SMALL, lighter]) == [lighter, SMALL]


def test_a_change_is_promised_only_for_a_block_that_holds_when_computed_in_full(monkeypatch):
    """Of each kind the first is asked, and the first that holds is told."""
    asked = []

    def made_up(mold, wishes):
        asked.append(mold.block.diameter_mm or mold.block.width_mm)
        seals = 12 if mold.block.shape == "rectangle" else 11
        return DesignFigures(
            900.0, None, 9, 4, 3.0, 0, 0, 0, "Clean", seals, seals, seals, 3, 9, 90, 5, False
        )

    monkeypatch.setattr(jobs, "certify", made_up)
    larger = draft({"shape": "round", "diameter_mm": 190.5})
    other = replace(LARGE, kind="rectangle")
    free = squeeze.mold_of({k: v for k, v in BASE.items() if k != "pot"})
    given = free, MemoryStore(), jobs.InProcess()
    assert lifted._first_that_holds([SMALL, larger, other], *given) == [other]
    assert asked == [180.5, 200]
    assert lifted._first_that_holds([SMALL, larger], *given) == []


def test_where_lifting_the_limit_does_not_do_no_change_is_promised():
    told = refused({given_up.FITS_NOT: 4}, lifted={given_up.FITS_NOT: []})
    assert told.limit == "pot"
    assert told.change == ""


def test_a_shape_that_stays_open_is_no_matter_of_bands():
    told = refused({given_up.OPEN: 9})
    assert told.limit == "shape"
    assert told.change.startswith("Move the cut")
    told = refused({given_up.OPEN: 9}, design={"cradle": False})
    assert told.change.startswith("Allow a cradle")


def test_one_limit_is_lifted_at_a_time():
    mold = squeeze.mold_of(BASE | {"design": {"most_width_mm": 40}})
    found = [Found("round", dropped=Counter({given_up.FITS_NOT: 2, given_up.OVERSIZE: 1}))]
    lifted = relaxed(mold, found)
    assert set(lifted) == {given_up.FITS_NOT, given_up.OVERSIZE}
    assert lifted[given_up.FITS_NOT].pot is None
    assert lifted[given_up.FITS_NOT].design.most_width_mm == 40
    assert lifted[given_up.OVERSIZE].design.most_width_mm is None
    assert lifted[given_up.OVERSIZE].pot == mold.pot


def test_bands_too_weak_to_hold_the_pieces_are_named_before_the_pot():
    """The resin pushes every block apart; that one more does not fit the pot is not the reason."""
    told = refused({given_up.APART: 89, given_up.FITS_NOT: 1}, lifted={given_up.APART: [SMALL]})
    assert told.limit == "bands"
    assert "do not hold its pieces together" in told.say
    assert "would do" in told.change


def test_a_block_that_the_resin_pushes_apart_is_given_up_for_its_bands():
    data = {k: v for k, v in BASE.items() if k != "pot"}
    data |= {"band": [{"tension_n": 0.05, "count": 5}], "resin": {"pressure_kpa": 8}}
    with pytest.raises(given_up.Unfit) as told:
        screen.screen(data, limits_of(squeeze.mold_of(data)))
    assert told.value.reason == given_up.APART


def test_a_block_that_half_of_its_bands_do_not_hold_is_not_given_up():
    """By statics: the bands press with twice their pull, the resin takes pressure times width."""
    pull, resin = 0.13, 0.008 * 20  # N/mm
    assert pull < resin < screen.SLACK * 2 * pull
    data = {k: v for k, v in BASE.items() if k != "pot"}
    data |= {"band": [{"tension_n": pull * 140 / 5, "count": 5}]}
    data |= {"resin": {"pressure_kpa": 8, "enters_cuts": False}}
    got = screen.screen(data, limits_of(squeeze.mold_of(data)))
    assert got.most_pull == pytest.approx(pull)
    assert got.margin.at[0] == pytest.approx(screen.SLACK * pull)
    assert 0 < got.margin.values[0] < got.margin.values[1]
