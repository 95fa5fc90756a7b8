"""Masses and prices as they are weighed and paid at the bench."""

from __future__ import annotations

from squeeze.verdict.quantities import Amount


def weigh(amount: Amount) -> str:
    """Return what to weigh of each part, and what it costs."""
    said = grams(amount.mass_g)
    if amount.parts_g:
        said += f" = {' + '.join(grams(part) for part in amount.parts_g)}"
    return said + ("" if amount.price is None else f", price {amount.price:.2f}")


def grams(mass: float) -> str:
    """Return a mass as a scale at the bench shows it [g]."""
    return f"{mass:.0f} g" if mass >= 20 else f"{mass:.1f} g"
