"""Stiffness of rubber from its hardness."""

from __future__ import annotations

from squeeze.mold.section.records import Material
from squeeze.mold.tables.cradle import FillerTable
from squeeze.mold.tables.rubber import RubberTable

SPREAD = 0.25
"""Half-width of the band round any modulus that comes from a hardness: +/- 25 %."""


def gent(shore_a: float) -> float:
    """Return Young's modulus [MPa] of rubber of hardness `shore_a`.

    A. N. Gent, On the relation between indentation hardness and Young's modulus,
    Trans. IRI 34 (1958) 46.

    >>> round(gent(20), 5)
    0.73192
    """
    return 0.0981 * (56 + 7.62336 * shore_a) / (0.137505 * (254 - 2.54 * shore_a))


def poisson(youngs_modulus_mpa: float, bulk_modulus_mpa: float) -> float:
    """Return Poisson's ratio nu = (3 K - E)/(6 K).

    E is `youngs_modulus_mpa` and K is `bulk_modulus_mpa` [MPa].
    """
    return (3 * bulk_modulus_mpa - youngs_modulus_mpa) / (6 * bulk_modulus_mpa)


def material(rubber: RubberTable | FillerTable) -> Material:
    """Return the elastic constants of a mold's rubber, or of a filler."""
    E = rubber.youngs_modulus_mpa
    if E is None:
        assert rubber.shore_a is not None  # one of the two is always there
        E = gent(rubber.shore_a)
    nu = poisson(E, rubber.bulk_modulus_mpa) if rubber.poisson is None else rubber.poisson
    return Material(E, nu)
