"""Plain sentences on a mold that can be computed but deserves a word of caution."""

from __future__ import annotations

from squeeze.mold.fit import fit_of
from squeeze.mold.forces.bands import band_notes
from squeeze.mold.forces.loads import wrap_mm
from squeeze.mold.rubber import SPREAD, material
from squeeze.mold.section.records import Section
from squeeze.mold.tables.mold import Mold


def notes_of(mold: Mold, section: Section) -> list[str]:
    """Return what the person at the bench should know about how the mold was read."""
    notes = [_hardness(mold)] if mold.rubber.shore_a is not None else []
    notes += _names_no_load(mold)
    return notes + band_notes(mold, wrap_mm(section)) + _amounts(mold, section)


def _amounts(mold: Mold, section: Section) -> list[str]:
    """Return how much resin it takes, and whether it stands in the pot."""
    _, resin, *room = fit_of(mold, section).say
    if room:
        room.append(
            "The pot's pressure acts inside and outside alike and closes no cut; never go above"
            " what is marked on the vessel."
        )
    return ([resin] if section.cavities else []) + room


def _hardness(mold: Mold) -> str:
    E = material(mold.rubber).youngs_modulus_mpa
    return (
        f"Shore A {mold.rubber.shore_a:g} is read as E = {E:.2f} MPa, which is good to"
        f" +/- {100 * SPREAD:.0f} %: {(1 - SPREAD) * E:.2f} to {(1 + SPREAD) * E:.2f} MPa."
    )


def _names_no_load(mold: Mold) -> list[str]:
    loaded = mold.push or any(band.strands for band in mold.band)
    return [] if loaded else ["Nothing presses the block together: no band and no push is given."]
