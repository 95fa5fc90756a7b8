"""What loads do to a factorised section; each kind of load is solved once."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache, partial

import numpy as np

from squeeze.mold.forces.loads import Loads
from squeeze.solve.bands.outline_forces import (
    LoadTerm,
    check_pushes,
    load_terms,
    path_round,
)
from squeeze.solve.bands.wrap import BandPath
from squeeze.solve.contact.given_forces import GivenForces, given_forces
from squeeze.solve.factorised_section import FactorisedSection
from squeeze.solve.linear_solution import LoadCase

REMEMBERED = 64
"""Kinds and places of loads whose solution is kept: pushes that are dragged along the outline must
not pile up."""


class SolvedLoads:
    """The loads that one factorised section has carried.

    Every kind of load at a place is solved once; another pull or pressure there costs nothing.

    Parameters
    ----------
    model : FactorisedSection
    """

    def __init__(self, model: FactorisedSection) -> None:
        self.model = model
        self._solved = lru_cache(REMEMBERED)(partial(_solved_term, model))
        self._path = lru_cache(REMEMBERED)(partial(path_round, model.mesh))

    @property
    def kept(self) -> int:
        """How many solutions are kept."""
        return self._solved.cache_info().currsize

    def forget(self) -> None:
        """Drop what is kept: whoever measures a first solve wants none."""
        self._solved.cache_clear()
        self._path.cache_clear()

    def band_path(self, loads: Loads) -> BandPath:
        """Return the path of the bands round the undeformed block."""
        return self._path(Loads(grips=loads.grips))

    def given_forces(self, loads: Loads) -> GivenForces:
        """Return the forces of loads, with what they do to faces and pieces.

        Parameters
        ----------
        loads : Loads

        Returns
        -------
        GivenForces

        Raises
        ------
        BadInput
            When the pushes do not balance.
        """
        model = self.model
        terms = [(term, self._solved(term)) for term in load_terms(loads)]
        none = np.zeros(2 * len(model.mesh.points))
        pushes = (term.factor * unit.f for term, unit in terms if term.key[0] == "push")
        check_pushes(model.mesh.points, loads, sum(pushes, none))
        c, k = np.shape(model.factor.rigid)
        total = GivenForces(none, np.zeros(c), np.zeros(k), 0.0)
        return sum((term.factor * unit for term, unit in terms), total)

    def of_case(self, case: LoadCase) -> GivenForces:
        """Return the given forces of a case, those of bands as on their path.

        Raises
        ------
        BadInput
            When the pushes do not balance.
        """
        loads, path = case.loads, case.path
        if path is self.band_path(loads):
            return self.given_forces(loads)
        band = given_forces(self.model.factor, self.model.mesh.points, path.load)
        rest = self.given_forces(replace(loads, tension_n_per_mm=0.0))
        return rest + loads.tension_n_per_mm * band


def _solved_term(model: FactorisedSection, term: LoadTerm) -> GivenForces:
    return given_forces(model.factor, model.mesh.points, term.nodal_force(model.mesh))
