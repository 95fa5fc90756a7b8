"""The record of the loads."""

from dataclasses import fields

import pytest

from squeeze.mold.forces.loads import Loads, Push

EVERY = Loads(0.6, (Push((0.0, 60.0), 20.0, 0.01),), 0.002, 0.001)


def test_scaling_leaves_no_load_as_it_was():
    twice = EVERY.scaled(2.0)
    for entry in fields(Loads):
        before, after = getattr(EVERY, entry.name), getattr(twice, entry.name)
        if isinstance(before, float):
            assert before > 0, f"{entry.name} is not tried here"
            assert after == pytest.approx(2 * before)
    assert twice.pushes[0].pressure_mpa == pytest.approx(0.02)


@pytest.mark.parametrize("loads", [Loads(pushes=EVERY.pushes), Loads(all_round_mpa=0.01)])
def test_pushes_and_pressure_all_round_push(loads):
    assert loads.is_pushed


def test_bands_and_resin_do_not_push():
    assert not Loads(0.6, cavity_mpa=0.001).is_pushed
