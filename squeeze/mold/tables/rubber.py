"""The block's rubber: how hard it is, what it costs, how it is mixed."""

from __future__ import annotations

from typing import Annotated, Any

from squeeze.mold.tables.loads import WASTE_PERCENT
from squeeze.mold.tables.table import KeyFaults, Table, exactly_one
from squeeze.mold.tables.values import number, parts


class RubberTable(Table):
    """The block's rubber.

    Attributes
    ----------
    shore_a : float or None
        Hardness, Shore A.
    youngs_modulus_mpa : float or None
        E, in place of the hardness [MPa].
    poisson : float or None
        nu; when it is not given it follows from E and the bulk modulus.
    bulk_modulus_mpa : float
        K, 1000 MPa unless given.
    density_g_cm3 : float
        1.1 unless given (common practice for mold silicones).
    price_per_kg : float or None
        In any currency.
    mix_by_weight : tuple of float or None
        Mixing ratio on the pot, such as (100, 10).
    waste_percent : float
        What stays in the mixing vessel and on the stick; 10 unless given (common practice).
    shrinkage_percent : float or None
        Linear shrinkage while curing, from the data sheet.
    """

    shore_a: Annotated[float | None, number(5, 80, "Shore A")] = None
    youngs_modulus_mpa: Annotated[float | None, number(0.05, 50, "MPa")] = None
    poisson: Annotated[float | None, number(0, 0.49999)] = None
    bulk_modulus_mpa: Annotated[float, number(100, 5000, "MPa")] = 1000.0
    density_g_cm3: Annotated[float, number(0.5, 3, "g/cm3")] = 1.1
    price_per_kg: Annotated[float | None, number(0, 1e6)] = None
    mix_by_weight: Annotated[tuple[float, ...] | None, parts()] = None
    waste_percent: Annotated[float, number(0, 100, "%")] = WASTE_PERCENT
    shrinkage_percent: Annotated[float | None, number(0, 5, "%")] = None

    @classmethod
    def rules(cls, given: dict[str, Any]) -> KeyFaults:
        """Yield what is wrong unless there is one stiffness and one measure of compressibility.

        `given` is the raw table.
        """
        forms = ("shore_a", "youngs_modulus_mpa")
        yield from exactly_one(given, {key: (key,) for key in forms}, "how stiff the rubber is")
        if "poisson" in given and "bulk_modulus_mpa" in given:
            yield (
                "poisson",
                "given together with bulk_modulus_mpa; each follows from the other, so"
                " give one of them",
            )
