"""The story of the low block: its web opens, wide bevels and a round outline close it."""

from __future__ import annotations

from pathlib import Path

import pytest

from squeeze import Block, load

WIDE = Path(__file__).resolve().parents[2] / "studies" / "wide"


def block(name: str) -> Block:
    return Block(load(WIDE / f"{name}.toml"), fineness=0.7)


def test_friction_has_no_say_on_the_low_block():
    """Both halves are mirror images, so nothing slides: the gap is the same on any faces."""
    low = block("wide")
    closings = [low.close(friction=friction, deformation="large") for friction in (0.0, 1.0)]
    slippery, rough = (closing.lands[1].largest_gap_mm for closing in closings)
    assert all(closing.deformation.is_large for closing in closings)
    assert slippery == pytest.approx(rough, rel=1e-3)
    assert slippery > 0.3
    assert closings[0].lands[1].closed_share == 0
    assert closings[0].lands[0].closed_share > 0.9


@pytest.mark.parametrize("name", ["wide-beveled", "wide-round"])
def test_another_outline_closes_its_web(name):
    closing = block(name).close(deformation="auto")
    assert closing.deformation.is_confirmed
    assert closing.lands[1].closed_share > 0.9
    assert closing.lands[1].mean_pressure_kpa > 2.06  # twice 100 mm of resin
