"""A closing with other stiffness, friction and pull of the bands.

What a person at the bench does not know closely is varied: the rubber's modulus by +/- 25 %, the
friction between a low and a high value, the pull of bands and pushes by +/- 20 %. All variations
use the factor of one block. A modulus k times as high with the loads L has the displacements of
the given modulus with the loads L/k, and k times its pressures, so not even E needs a new factor;
only fillers and cradle pieces, which keep their own stiffness, do.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from squeeze.mold.forces.loads import Loads
from squeeze.mold.rubber import SPREAD
from squeeze.mold.section.records import Section
from squeeze.mold.tables.values import MOST_FRICTION
from squeeze.solve.allowance import Allowance
from squeeze.solve.block import Block
from squeeze.solve.closing import Closing
from squeeze.solve.land import Land

STIFFNESS = (1 - SPREAD, 1.0, 1 + SPREAD)
"""Times the given modulus."""


PULL = (0.8, 1.2)
"""Times the given pull of bands and pushes."""


ROUGH = 0.5
"""High friction of a cut for which little or none is given (common practice: clean rubber on
rubber grips; release agent takes that away)."""


LEFT_OVER = 100.0
"""A variation stops with more left out of balance than a closing: what it gives is a range."""


Friction = dict[str, float]


Case = tuple[float, str, float]
"""Stiffness, friction, pull of a variation."""


def friction_bounds(friction: float) -> tuple[float, float]:
    """Return the low and the high coefficient between which a given `friction` is varied.

    Half and twice of it, at least up to `ROUGH`, and no more than a file may hold.

    Examples
    --------
    >>> friction_bounds(0.3), friction_bounds(0.0), friction_bounds(2.0)
    ((0.15, 0.6), (0.0, 0.5), (1.0, 3.0))
    """
    return friction / 2, min(max(2 * friction, ROUGH), MOST_FRICTION)


def varied_closings(
    block: Block,
    given: Closing,
    cases: list[Case],
    friction: Mapping[str, Friction],
    allowance: Allowance,
) -> Iterator[tuple[Case, Closing]]:
    """Yield each case's closing; `friction` gives the coefficients of the cuts by its word.

    It ends early when the allowance is used up. The softer the rubber, the farther the same
    loads grow in it.
    """
    theory = deformation_of(given)
    before: tuple[str, float] | None = None
    after: Closing | None = None
    for k, word, pull in sorted(cases, key=lambda case: (case[1], case[2], -case[0])):
        after = after if before == (word, pull) else None
        wanted = pulled(given.loads, pull)
        closing = allowance.close(
            block,
            scaled(wanted, 1 / k),
            friction=friction[word],
            deformation=theory,
            start=given,
            after=after,
            left_over=LEFT_OVER,
        )
        if allowance.ran_out:
            return
        before, after = (word, pull), closing if closing.deformation.is_large else None
        yield (k, word, pull), as_stiff(closing, k, wanted)


def varied_with_bodies(
    block: Block,
    given: Closing,
    cases: list[Case],
    friction: Mapping[str, Friction],
    allowance: Allowance,
) -> Iterator[tuple[Case, Closing]]:
    """Yield each case's closing where other bodies keep their stiffness: a factor a stiffness.

    `friction` gives the coefficients of the cuts by its word. It ends early when the allowance
    is used up.
    """
    theory = deformation_of(given)
    stiff, own = 1.0, block
    before: tuple[float, str] | None = None
    after: Closing | None = None
    for k, word, pull in sorted(cases):
        # what the resin presses stays: with it the loads do not grow in proportion
        is_on_path = before == (k, word) and not given.loads.cavity_mpa
        if k != stiff:
            own = block  # one more factor at a time: they are what fills the memory
            own = block if k == 1 else _stiffer(block, k)
            stiff = k
        loads = pulled(given.loads, pull)
        closing = allowance.close(
            own,
            loads,
            friction=friction[word],
            deformation=theory,
            start=given,
            after=after if is_on_path else None,
            left_over=LEFT_OVER,
        )
        if allowance.ran_out:
            return
        before, after = (k, word), closing if closing.deformation.is_large else None
        yield (k, word, pull), closing


def _stiffer(block: Block, times: float) -> Block:
    """Return a block of rubber `times` as stiff on the same mesh."""
    return Block(stiffer(block.section, times), block.fineness, block.finer)


def deformation_of(given: Closing) -> str:
    """Return the deformation that an answer stands on, ``"small"`` or ``"large"``."""
    return "large" if given.deformation.is_large else "small"


def pulled(loads: Loads, times: float) -> Loads:
    """Return loads with the pull of bands and all pushes `times` as high; resin stays."""
    return replace(scaled(loads, times), cavity_mpa=loads.cavity_mpa)


def scaled(loads: Loads, times: float) -> Loads:
    """Return all loads `times` as high."""
    return loads.scaled(times)


def as_stiff(closing: Closing, times: float, loads: Loads) -> Closing:
    """Return a closing under loads / `times` as that of rubber `times` as stiff under `loads`.

    Displacements are the same, pressures `times` as high. The field's stresses are left out.
    """
    lands = tuple(_pressed(land, times) for land in closing.lands)
    return replace(closing, lands=lands, loads=loads)


def _pressed(land: Land, times: float) -> Land:
    return replace(land, pressure_kpa=times * land.pressure_kpa, shear_kpa=times * land.shear_kpa)


def stiffer(section: Section, times: float) -> Section:
    """Return a section whose block has `times` the modulus; other bodies keep theirs."""
    E = times * section.material.youngs_modulus_mpa
    return replace(section, material=replace(section.material, youngs_modulus_mpa=E))
