"""A section meshed and factorised once, closed under as many load cases as wanted."""

from __future__ import annotations

import time
from dataclasses import replace
from functools import lru_cache, partial
from typing import Any

from squeeze.mold.forces.loads import Loads, loads_of
from squeeze.mold.progress import Progress, silent
from squeeze.mold.section.records import Section
from squeeze.mold.tables.mold import Mold
from squeeze.solve.certified import certified
from squeeze.solve.closing import Closing, Pressing
from squeeze.solve.contact.problem import ContactProblem, contact_problem
from squeeze.solve.contact.rows import ContactRows, with_friction_and_gap
from squeeze.solve.contact.wetting import ResinPaths
from squeeze.solve.elastic.element import Elastic
from squeeze.solve.elastic.schur import Factor
from squeeze.solve.factorised_section import factorised_section
from squeeze.solve.large.carried import beginning
from squeeze.solve.large.deformation import check_deformation, deformed_closing, is_deformed
from squeeze.solve.large.equilibrium import MOST_TANGENTS
from squeeze.solve.large.reference import reference_model
from squeeze.solve.linear_closing import linear_closing, pressing
from squeeze.solve.linear_solution import LoadCase, linear_solution, solved_contact
from squeeze.solve.load_case import (
    Friction,
    Gap,
    case_loads,
    case_section,
    check_fineness,
    checked_section,
)
from squeeze.solve.mesh.parting import Mesh, parted_mesh
from squeeze.solve.mesh.size import FineSpot
from squeeze.solve.mesh.triangulate import triangulate
from squeeze.solve.solved_loads import SolvedLoads
from squeeze.solve.trust import Seconds

_PICKLED = ("section", "mold", "fineness", "finer", "mesh", "_mesh_seconds")


class Block:
    """One section of a block: mesh and factor are made when it is built, each `close` is cheap.

    Nothing changes after it is built, so several threads may call `close` at once. It can be
    pickled; the factor is then made anew, from the same mesh, where it is unpickled.

    Parameters
    ----------
    mold : Mold or Section
    fineness : float
        1 = the default mesh; 2 halves every edge.
    finer : tuple of (x, y, size)
        Places where edges are as short as `size` [mm]; they grow with the distance from there.

    Raises
    ------
    BadInput
        When the argument is neither a mold nor a section, `fineness` is not a number from 0.25 to
        8, or the section cannot be meshed.

    Examples
    --------
    >>> import squeeze
    >>> block = squeeze.Block(squeeze.load("studies/barrels/barrels-round.toml"))
    >>> once, twice = (block.close(band_tension_n_per_mm=pull) for pull in (0.5, 1.0))
    >>> bool(abs(twice.lands[0].mean_pressure_kpa / once.lands[0].mean_pressure_kpa - 2) < 1e-9)
    True
    """

    def __init__(
        self, mold: Mold | Section, fineness: float = 1.0, finer: tuple[FineSpot, ...] = ()
    ):
        fineness = check_fineness(fineness)
        section = checked_section(mold)
        self._build(section, None if isinstance(mold, Section) else mold, fineness, finer)

    def _build(
        self, section: Section, mold: Mold | None, fineness: float, finer: tuple[FineSpot, ...]
    ) -> None:
        self.section, self.mold = section, mold
        self.fineness, self.finer = fineness, finer
        begun = time.perf_counter()
        self.mesh: Mesh = parted_mesh(section, triangulate(section, fineness, finer))
        self._mesh_seconds = time.perf_counter() - begun
        self._factorise()

    def remeshed(self, fineness: float, finer: tuple[FineSpot, ...] = ()) -> Block:
        """Return a block of the same section on another mesh.

        Parameters
        ----------
        fineness : float
            1 = the usual mesh, 2 halves every edge; 0.25 to 8.
        finer : tuple of (x, y, size)
            Places with shorter edges, as for a block [mm].

        Returns
        -------
        Block

        Raises
        ------
        BadInput
            When the fineness is out of its range.
        """
        block = object.__new__(type(self))
        block._build(self.section, self.mold, check_fineness(fineness), finer)
        return block

    def _factorise(self) -> None:
        self.model = model = factorised_section(self.section, self.mesh)
        self._own_loads = Loads() if self.mold is None else loads_of(self.mold, self.section)
        self.solved_loads = SolvedLoads(model)
        self._reference = lru_cache(1)(
            partial(reference_model, self.mesh, self.section, model.resin_paths)
        )
        self._is_built = True

    @property
    def elastic(self) -> Elastic:
        """Stiffness of the rubber and the cradle pieces, with all faces free."""
        return self.model.elastic

    @property
    def contact_rows(self) -> ContactRows:
        """Gap and slip at each place of the faces, with the mold's friction and unloaded gaps."""
        return self.model.contact_rows

    @property
    def factor(self) -> Factor:
        """The factorised stiffness, and the compliance of the faces."""
        return self.model.factor

    @property
    def resin_paths(self) -> ResinPaths:
        """How places of the faces are connected for a liquid."""
        return self.model.resin_paths

    def __setattr__(self, name: str, value: object) -> None:
        """Set an attribute while the block is built; refuse it afterwards."""
        if "_is_built" in self.__dict__:
            raise AttributeError(f"a block does not change after it is built; {name!r} is not set")
        super().__setattr__(name, value)

    def __delattr__(self, name: str) -> None:
        raise AttributeError(f"a block does not change after it is built; {name!r} stays")

    def __getstate__(self) -> dict[str, Any]:
        """Leave out what is made anew."""
        return {key: self.__dict__[key] for key in _PICKLED}

    def __setstate__(self, state: dict[str, Any]) -> None:
        """Make the factor anew."""
        self.__dict__.update(state)
        self._factorise()

    def __repr__(self) -> str:
        title = repr(self.mold.title) if self.mold and self.mold.title else "a section"
        size = (
            f"{2 * len(self.mesh.points)} unknowns, {len(self.contact_rows.weight)} places on cuts"
        )
        return f"Block: {title}, {size} and seats"

    def close(
        self,
        loads: Loads | None = None,
        *,
        band_tension_n_per_mm: float | None = None,
        resin_kpa: float | None = None,
        friction: Friction | None = None,
        gap_mm: Gap | None = None,
        deformation: str = "small",
        start: Closing | None = None,
        after: Closing | None = None,
        left_over: float = 1.0,
        most_tangents: int = MOST_TANGENTS,
        check: bool = True,
        progress: Progress = silent,
    ) -> Closing:
        """Close the block under one load case; what is not said is as in its mold.

        Parameters
        ----------
        loads : Loads, optional
            Instead of all of the mold's loads.
        band_tension_n_per_mm : float, optional
            Tension of all strands together [N per mm of block length].
        resin_kpa : float, optional
            Pressure of the resin on the cavities [kPa].
        friction : float or {cut name: float}, optional
            Coulomb's coefficient between the faces of the cuts, 0 to 3.
        gap_mm : float, sequence or {cut name: float or sequence}, optional
            Unloaded gap of the cuts [mm]: one number, or several spread evenly along the path. A
            bow of the mold stays on top of it.
        deformation : str
            ``"small"``: linear elasticity, bands round the block as poured: for sweeps.
            ``"large"``: neo-Hookean rubber, bands round the deformed block, sliding faces.
            ``"auto"``: large where that changes pressures or gaps by more than 2 %, else small.
        start : Closing, optional
            Of this section at large deformation, on any mesh, under much the same loads: a good
            start saves time. What friction owes to the history of the loads is not taken from it.
        after : Closing, optional
            Of this block at large deformation, with the same friction, under smaller loads in the
            same proportion: the loads grow from there.
        left_over : float
            How much of the loads large deformation may leave out of balance at each node [1e-6];
            100 is enough for a range.
        most_tangents : int
            Tangents after which large deformation is given up; fewer where they take a minute.
        check : bool
            Raise where there is no certified answer. With False the closing is returned all the
            same: its `outcome` says why there is none, and its figures are NaN. Where large
            deformation was asked for and did not settle, the small answer is returned and
            `deformation.is_confirmed` is False.
        progress : Progress
            Called with what is done and the share of the loads that has settled, 0 to 1, while
            the block is deformed.

        Returns
        -------
        Closing

        Raises
        ------
        BadInput
            When the pushes do not balance, a figure is out of its range, or a name is not that of a
            cut or a cradle piece.
        NotSolved
            When there is no certified answer, unless `check` is False.
        """
        check_deformation(deformation)
        begun = time.perf_counter()
        case = self._case(loads, band_tension_n_per_mm, resin_kpa, friction, gap_mm)
        solution = linear_solution(self.model, case, self.solved_loads.of_case(case))
        closing = linear_closing(self.model, solution, "" if self.mold is None else self.mold.title)
        if is_deformed(deformation, case):
            closing = deformed_closing(
                self.model, self._reference(), solution, closing, deformation,
                beginning(self.mesh, start, after), left_over, most_tangents, progress,
            )  # fmt: skip
        spent = time.perf_counter() - begun
        built = self._mesh_seconds, *self.model.seconds
        seconds = Seconds(*built, spent, spent + sum(built))
        return certified(replace(closing, seconds=seconds), check)

    def press(
        self,
        loads: Loads | None = None,
        *,
        band_tension_n_per_mm: float | None = None,
        resin_kpa: float | None = None,
        friction: Friction | None = None,
        gap_mm: Gap | None = None,
        check: bool = True,
    ) -> Pressing:
        """Press the faces under one load case, and leave the rubber's displacement out: for sweeps.

        The same contact as in `close` at a fraction of its price: once a kind of load has been
        seen, only the small dense contact problem is solved. Where no cut has
        an unloaded gap, `press` does not look whether friction allows another state: only `close`
        returns `Outcome.NOT_UNIQUE` there, with the same figures.

        Parameters
        ----------
        loads : Loads, optional
            Instead of all of the mold's loads.
        band_tension_n_per_mm : float, optional
            Tension of all strands together [N per mm of block length].
        resin_kpa : float, optional
            Pressure of the resin on the cavities [kPa].
        friction : float or {cut name: float}, optional
            Coulomb's coefficient between the faces of the cuts, 0 to 3.
        gap_mm : float, sequence or {cut name: float or sequence}, optional
            Unloaded gap of the cuts [mm], as for `close`.
        check : bool
            Raise where there is no certified answer. With False it is returned all the same, with
            figures that are NaN.

        Returns
        -------
        Pressing

        Raises
        ------
        BadInput
            When the pushes do not balance, a figure is out of its range, or a name is not that of a
            cut or a cradle piece.
        NotSolved
            When there is no certified answer, unless `check` is False.
        """
        case = self._case(loads, band_tension_n_per_mm, resin_kpa, friction, gap_mm)
        # without gaps the other states do not change which one is returned
        look_elsewhere = bool(case.rows.gap0.any())
        contact = solved_contact(self.model, case, self.solved_loads.of_case(case), look_elsewhere)
        return certified(pressing(self.model, case, contact), check)

    def _case(
        self,
        loads: Loads | None,
        band_tension_n_per_mm: float | None,
        resin_kpa: float | None,
        friction: Friction | None,
        gap_mm: Gap | None,
    ) -> LoadCase:
        """Return the load case of a call: what the call does not give is as in the mold."""
        loads = case_loads(loads, self._own_loads, band_tension_n_per_mm, resin_kpa)
        section, rows = self.section, self.contact_rows
        if friction is not None or gap_mm is not None:
            section = case_section(self.section, friction, gap_mm)
            faces = section.cuts, section.cradles
            if faces != (self.section.cuts, self.section.cradles):
                rows = with_friction_and_gap(self.contact_rows, self.mesh, section.seams)
        return LoadCase(loads, section, rows, self.solved_loads.band_path(loads))

    def problem(
        self,
        loads: Loads | None = None,
        *,
        band_tension_n_per_mm: float | None = None,
        resin_kpa: float | None = None,
        friction: Friction | None = None,
        gap_mm: Gap | None = None,
    ) -> ContactProblem:
        """Return the contact problem of one load case, resin kept out of the cuts.

        Parameters
        ----------
        loads : Loads, optional
            Instead of all of the mold's loads.
        band_tension_n_per_mm : float, optional
            Tension of all strands together [N per mm of block length].
        resin_kpa : float, optional
            Pressure of the resin on the cavities [kPa].
        friction : float or {cut name: float}, optional
            Coulomb's coefficient between the faces of the cuts, 0 to 3.
        gap_mm : float, sequence or {cut name: float or sequence}, optional
            Unloaded gap of the cuts [mm], as for `close`.

        Returns
        -------
        ContactProblem
            Compliance, gaps and slips with all faces free, rigid motions, friction.

        Raises
        ------
        BadInput
            When the pushes do not balance, a figure is out of its range, or a name is not that of a
            cut or a cradle piece.
        """
        case = self._case(loads, band_tension_n_per_mm, resin_kpa, friction, gap_mm)
        return contact_problem(self.factor, case.rows, self.solved_loads.given_forces(case.loads))
