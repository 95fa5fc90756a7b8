"""A section meshed and factorised once, closed under as many load cases as wanted."""

from __future__ import annotations

import time
from dataclasses import replace
from functools import lru_cache, partial
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array, vstack

from squeeze.mold import BadInput, Fault, Mold, NotSolved, loads_of
from squeeze.mold.forces.loads import Loads
from squeeze.mold.progress import Progress, silent
from squeeze.mold.section.records import Section
from squeeze.solve import results
from squeeze.solve.bands.outline_forces import check_pushes, load_terms
from squeeze.solve.bands.wrap import band_path, friction_shares
from squeeze.solve.closing import (
    Closing,
    Deformation,
    Field,
    Piece,
    Pressing,
    Seconds,
    Trust,
    without_figures,
)
from squeeze.solve.contact.balance import pieces
from squeeze.solve.contact.given_forces import GivenForces, given_forces
from squeeze.solve.contact.problem import (
    ContactProblem,
    ContactSolution,
    contact_problem,
)
from squeeze.solve.contact.rows import contact_rows, with_friction_and_gap
from squeeze.solve.contact.wetting import resin_paths, solve_with_resin
from squeeze.solve.elastic.element import elastic
from squeeze.solve.elastic.rigid import rigid_fit
from squeeze.solve.elastic.schur import factorise
from squeeze.solve.large.body import State
from squeeze.solve.large.carried import carried
from squeeze.solve.large.closing import (
    STANDS,
    correction,
    large_closing,
    largest_change,
    linear_state,
)
from squeeze.solve.large.equilibrium import Iterate, deform
from squeeze.solve.large.faces import pairing
from squeeze.solve.large.reference import LargeCase, PullOf, ReferenceModel, reference_model
from squeeze.solve.linear_solution import LinearSolution, LoadCase, SolvedContact
from squeeze.solve.load_case import (
    Friction,
    Gap,
    case_loads,
    case_section,
    check_fineness,
    checked_section,
)
from squeeze.solve.mesh.parting import parted_mesh
from squeeze.solve.mesh.size import FineSpot
from squeeze.solve.mesh.triangulate import triangulate
from squeeze.solve.outcome import Outcome

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


C = TypeVar("C", Closing, Pressing)

DEFORMATIONS = ("small", "large", "auto")
_PICKLED = ("section", "mold", "fineness", "finer", "mesh", "_build_seconds")
REMEMBERED = 64  # kinds and places of loads whose solution a block keeps
IN_BALANCE = 1e-6  # force left over at a node, over the sum of the loads, that rounding may leave


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
        start = time.perf_counter()
        self.mesh = parted_mesh(section, triangulate(section, fineness, finer))
        self._build_seconds = [time.perf_counter() - start]
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
        clock = [time.perf_counter()]
        self.elastic = elastic(self.mesh, self.section.materials)
        clock.append(time.perf_counter())
        self.contact_rows = contact_rows(self.mesh, self.section.seams)
        rows = csr_array(vstack([self.contact_rows.normal, self.contact_rows.along]))
        self.factor = factorise(self.mesh, self.elastic, rows)
        self.resin_paths = resin_paths(self.mesh, self.contact_rows)
        self._own_loads = Loads() if self.mold is None else loads_of(self.mold, self.section)
        # what was solved once; pushes that are dragged along the outline must not pile up
        mesh, solved_force = self.mesh, partial(given_forces, self.factor, self.mesh.points)
        self._solved = lru_cache(REMEMBERED)(lambda term: solved_force(term.nodal_force(mesh)))
        self._path = lru_cache(REMEMBERED)(partial(band_path, mesh.points, mesh.outside))
        self._reference = lru_cache(1)(
            partial(reference_model, mesh, self.section, self.resin_paths)
        )
        clock.append(time.perf_counter())
        self._build_seconds = [self._build_seconds[0], *map(float, np.diff(clock))]
        self._is_built = True

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
        title = repr(self.mold.title) if self.mold else "a section"
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
        if deformation not in DEFORMATIONS:
            allowed = ", ".join(map(repr, DEFORMATIONS))
            raise BadInput([Fault("deformation", f"{deformation!r} given; allowed is {allowed}")])
        begun = time.perf_counter()
        case = self._case(loads, band_tension_n_per_mm, resin_kpa, friction, gap_mm)
        solution = self._solve(case)
        closing = self._closing(case, solution)
        if self._deforms(case, deformation):
            closing = self._deformed(
                closing, case, solution, deformation, start, after, left_over, progress
            )
        spent = time.perf_counter() - begun
        mesh, assemble, factor = self._build_seconds
        seconds = Seconds(mesh, assemble, factor, spent, spent + sum(self._build_seconds))
        return checked(replace(closing, seconds=seconds), check)

    def _deforms(self, case: LoadCase, asked: str) -> bool:
        """Whether large deformation is looked at; "auto" has nothing to compare without a cut."""
        wanted = asked == "large" or (asked == "auto" and len(case.rows.weight) > 0)
        return wanted and case.loads != Loads()

    def _deformed(
        self,
        small: Closing,
        case: LoadCase,
        solution: LinearSolution,
        asked: str,
        start: Closing | None,
        after: Closing | None,
        left_over: float,
        progress: Progress,
    ) -> Closing:
        """Return the closing at large deformation, or the small one where it stands."""
        loads, model = case.loads, self._reference()
        large = LargeCase(
            loads,
            _band_pull(loads),
            friction_shares(self.mesh.points, case.path, loads) if loads.grips else (),
            case.rows.friction,
            pairing(self.mesh, case.section.seams),
        )
        change = float("nan")
        if asked == "auto" and small.outcome is Outcome.CONVERGED:
            change = self._change(small, model, large, case, solution)
            if change < STANDS:
                return replace(small, deformation=Deformation(change=change))
        deformed = deform(
            model,
            large,
            progress=partial(progress, "as it deforms"),
            start=self._reached(start if after is None else after),
            is_on_path=after is not None,
            left_over=left_over,
            guesses=self._guesses(start),
        )
        how = Deformation(
            is_large=deformed.outcome.has_answer,
            change=change,
            outcome=deformed.outcome,
            share=deformed.share,
            tangents=deformed.steps,
            small=small,
            reached=deformed.iterate,
        )
        if not how.is_large:
            return replace(small, deformation=replace(how, small=None, reached=None))
        closing = large_closing(small, model, case.section, case.rows, deformed, how)
        if small.outcome.has_answer:
            change = largest_change(small.lands + small.seats, closing.lands + closing.seats)
        return replace(closing, deformation=replace(how, change=change))

    def _reached(self, before: Closing | None) -> Iterate | None:
        """Return where an earlier closing ended; None for one of another mesh."""
        reached = None if before is None else before.deformation.reached
        is_own = before is not None and self._has_mesh_of(before)
        return reached if is_own and isinstance(reached, Iterate) else None

    def _guesses(self, start: Closing | None) -> tuple[tuple[float, State], ...]:
        """Return the states that an earlier closing passed, carried over from another mesh."""
        reached = None if start is None else start.deformation.reached
        if start is None or not isinstance(reached, Iterate):
            return ()
        if self._has_mesh_of(start):
            return ()  # under other loads: no nearer than the share of them before
        field, mesh = start.field, self.mesh
        return tuple(
            (share, carried(state, field.points_mm, field.triangles, mesh.points, mesh.triangles))
            for share, state in reached.passed
        )

    def _has_mesh_of(self, closing: Closing) -> bool:
        return np.array_equal(closing.field.points_mm, self.mesh.points)

    def _change(
        self,
        small: Closing,
        model: ReferenceModel,
        large: LargeCase,
        case: LoadCase,
        solution: LinearSolution,
    ) -> float:
        """Estimate by one more linear solve what large deformation changes."""
        rows = case.rows
        state = linear_state(self.mesh, self.elastic, solution.u)
        c = len(rows.weight)
        linear_gap = (rows.normal @ state.u) + rows.gap0
        found = correction(model, large, state, solution.contact.traction, linear_gap)
        if found is None:
            return np.inf
        extra = given_forces(self.factor, self.mesh.points, found.force)
        free_gaps = extra.free_gaps + np.concatenate([found.gap, np.zeros(c)])
        given = solution.given + replace(extra, free_gaps=free_gaps, size=0.0)
        contact = self._solve_contact(case, given, look_elsewhere=False)
        if not contact.solution.outcome.has_answer:
            return np.inf
        lands, seats, _ = results.face_records(
            self.mesh, case.section, rows, None, contact.solution, contact.wet
        )
        return largest_change(small.lands + small.seats, lands + seats)

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
        contact = self._solve_contact(case, self._given(case), look_elsewhere)
        solution = contact.solution
        faces = results.face_records(
            self.mesh, case.section, case.rows, None, solution, contact.wet
        )
        pressing = Pressing(
            case.section,
            case.loads,
            solution.outcome,
            *faces,
            contact.pried,
            solution.complementarity,
            solution.steps,
        )
        return checked(pressing, check)

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
        return LoadCase(loads, section, rows, self._path(Loads(grips=loads.grips)))

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
        return contact_problem(self.factor, case.rows, self.given_forces(case.loads))

    def given_forces(self, loads: Loads) -> GivenForces:
        """Return the forces of loads, with what they do to faces and pieces.

        Every kind of load at a place is solved once; another pull or pressure there costs nothing.

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
        terms = [(term, self._solved(term)) for term in load_terms(loads)]
        none = np.zeros(2 * len(self.mesh.points))
        pushes = (term.factor * unit.f for term, unit in terms if term.key[0] == "push")
        check_pushes(self.mesh.points, loads, sum(pushes, none))
        c, k = np.shape(self.factor.rigid)
        total = GivenForces(none, np.zeros(c), np.zeros(k), 0.0)
        return sum((term.factor * unit for term, unit in terms), total)

    def _given(self, case: LoadCase) -> GivenForces:
        """Return the given forces, those of bands as on their path."""
        loads, path = case.loads, case.path
        if path is self._path(Loads(grips=loads.grips)):
            return self.given_forces(loads)
        band = given_forces(self.factor, self.mesh.points, path.load)
        rest = self.given_forces(replace(loads, tension_n_per_mm=0.0))
        return rest + loads.tension_n_per_mm * band

    def _solve_contact(
        self, case: LoadCase, given: GivenForces, look_elsewhere: bool = True
    ) -> SolvedContact:
        """Solve the contact problem."""
        problem = contact_problem(self.factor, case.rows, given)
        resin = case.loads.cavity_mpa if case.loads.enters_cuts else 0.0
        found, wet, pried = solve_with_resin(problem, self.resin_paths, resin, look_elsewhere)
        return SolvedContact(found, wet, pried, np.concatenate([found.p + resin * wet, found.t]))

    def _solve(self, case: LoadCase) -> LinearSolution:
        """Solve one load case by linear elasticity."""
        given = self._given(case)
        contact = self._solve_contact(case, given)
        return LinearSolution(given, contact, self._displacement(given, contact))

    def _displacement(self, given: GivenForces, contact: SolvedContact) -> Array:
        """Nodal displacement (n, 2), the whole's rigid motion taken off."""
        if contact.solution.outcome is Outcome.PIECE_NOT_HELD:
            return np.zeros((len(self.mesh.points), 2))
        u = self.factor.displaced(given.f, given.free_gaps, contact.traction)
        u = (u + self.factor.motions @ contact.solution.motion).reshape(-1, 2)
        return u - rigid_fit(self.mesh.points, np.arange(len(u)), u)

    def _closing(self, case: LoadCase, solution: LinearSolution) -> Closing:
        """Put the records together."""
        mesh, u, given, section, rows = (
            self.mesh, solution.u, solution.given, case.section, case.rows
        )  # fmt: skip
        contact, wet = solution.contact.solution, solution.contact.wet
        on_pieces = pieces(
            mesh, self.factor, given.f, solution.contact.traction, contact, given.size
        )
        made = results.field(mesh, self.elastic, u)
        wrap = results.wrapped(mesh.points, case.path, case.loads.tension_n_per_mm)
        moved = results.face_displacements(mesh, u)
        lands, seats, joints = results.face_records(mesh, section, rows, moved, contact, wet)
        return Closing(
            title="" if self.mold is None else self.mold.title,
            section=section,
            loads=case.loads,
            lands=lands,
            seats=seats,
            cavities=results.cavities(mesh, section, u),
            wrap=wrap if case.loads.tension_n_per_mm else None,
            field=made,
            trust=self._trust(contact, made, on_pieces, self._residual(solution)),
            seconds=Seconds(0.0, 0.0, 0.0, 0.0, 0.0),
            pried=solution.contact.pried,
            joints=joints,
            ranges=results.ranges(mesh, section, rows, contact, wet),
        )

    def _residual(self, solution: LinearSolution) -> float:
        """Largest force left over at any node (K u against loads and contact), over all loads."""
        contact, given = solution.contact, solution.given
        left = self.elastic.K @ solution.u.ravel() - given.f - self.factor.rows.T @ contact.traction
        if contact.solution.outcome is Outcome.PIECE_NOT_HELD or not given.size:
            return 0.0
        return float(np.abs(left).max() / given.size)

    def _trust(
        self, contact: ContactSolution, made: Field, on_pieces: tuple[Piece, ...], residual: float
    ) -> Trust:
        balance = max(max(part.force_balance, part.moment_balance) for part in on_pieces)
        outcome = contact.outcome
        # what contact leaves over as a whole, the pins carry: it may show at their nodes
        if outcome.has_answer and not residual <= IN_BALANCE + 2 * balance:
            outcome = Outcome.OUT_OF_BALANCE
        is_rubber = self.mesh.body <= len(self.section.fillers)
        worst = int(np.argmax(np.where(is_rubber, made.strain_pct, 0.0)))
        at = self.mesh.points[self.mesh.triangles[worst, :3]].mean(axis=0)
        return Trust(
            outcome=outcome,
            force_balance=balance,
            complementarity=contact.complementarity,
            largest_strain_pct=float(made.strain_pct[worst]),
            strain_at_mm=(float(at[0]), float(at[1])),
            pieces=on_pieces,
            unknowns=2 * len(self.mesh.points),
            contact_places=len(contact.p),
            contact_steps=contact.steps,
            residual=residual,
        )


def _band_pull(loads: Loads) -> PullOf:
    """Return the bands' pull and its derivative by their length."""

    def pull(length: float) -> tuple[float, float]:
        step = 1e-4 * length
        more, less = (loads.pull_n_per_mm(length + part) for part in (step, -step))
        return loads.pull_n_per_mm(length), (more - less) / (2 * step)

    return pull


def checked(record: C, check: bool) -> C:
    """Return what was solved; without an answer raise NotSolved, or take its figures away."""
    if record.outcome.has_answer:
        return record
    if check:
        raise NotSolved(f"{record.outcome.cause} {record.outcome.remedy}")
    return without_figures(record)
