"""Every kind of mold file to start from loads, closes, and needs no mending."""

from __future__ import annotations

import pytest

import squeeze
from squeeze.mold import parse
from squeeze.show.start import start
from squeeze.show.start_kinds import KINDS
from squeeze.verdict.head import NOTHING_TO_MEND


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_is_complete(kind):
    mold = parse(start(f"A mold of {kind}", kind))
    assert mold.title == f"A mold of {kind}"
    assert mold.pot is not None
    assert mold.resin is not None
    assert None not in (mold.resin.viscosity_mpa_s, mold.rubber.price_per_kg)
    assert mold.resin.standing == (kind == "figurine")


LARGE = ("figurine", "bars", "knobs")


@pytest.mark.parametrize(
    "kind", [pytest.param(k, marks=[pytest.mark.slow] if k in LARGE else []) for k in KINDS]
)
def test_each_kind_is_good(kind):
    mold = parse(start(f"A mold of {kind}", kind))
    head = squeeze.judge(squeeze.close(mold, check=False), mold=mold).head
    assert head.good, head
    assert head.do == NOTHING_TO_MEND  # no band is stretched too little or too much
