"""A section meshed and factorised once, closed under as many load cases as wanted."""

from __future__ import annotations

import time
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array, vstack

from squeeze.mold import Mold, loads_of, section_of
from squeeze.mold.section import Loads, Section
from squeeze.solve import results
from squeeze.solve.closing import Closing, Outcome, Seconds, Trust
from squeeze.solve.contact import Contact, Problem, solve_contact
from squeeze.solve.elastic import elastic
from squeeze.solve.factor import factorise
from squeeze.solve.loads import nodal_forces, resultants
from squeeze.solve.mesh import triangulate
from squeeze.solve.seam import seams
from squeeze.solve.split import part
from squeeze.solve.wrap import wrap

Array = NDArray[np.float64]


class Block:
    """One section of a block: mesh and factor are made when it is built, each `close` is cheap after that.

    Parameters
    ----------
    mold : Mold or Section
    fineness : float
        1 = the default mesh; 2 halves every edge.

    Raises
    ------
    BadInput
        When the section cannot be meshed.
    """

    def __init__(self, mold: Mold | Section, fineness: float = 1.0):
        self.section = mold if isinstance(mold, Section) else section_of(mold)
        self.mold = None if isinstance(mold, Section) else mold
        clock = [time.perf_counter()]
        self.mesh = part(self.section, triangulate(self.section, fineness))
        clock.append(time.perf_counter())
        self.elastic = elastic(self.mesh, (self.section.material,))
        clock.append(time.perf_counter())
        self.seams = seams(self.mesh, self.section.cuts)
        rows = csr_array(vstack([self.seams.normal, self.seams.along]))
        self.path = wrap(self.mesh.points, self.mesh.edges[0])
        self.factor = factorise(self.mesh, self.elastic, rows)
        clock.append(time.perf_counter())
        self._made = np.diff(clock)

    def close(self, loads: Loads | None = None) -> Closing:
        """Close the block under loads; those of its mold by default.

        Parameters
        ----------
        loads : Loads, optional

        Returns
        -------
        Closing

        Raises
        ------
        BadInput
            When the pushes do not balance.
        """
        start = time.perf_counter()
        if loads is None:
            loads = Loads() if self.mold is None else loads_of(self.mold, self.section)
        f = nodal_forces(self.mesh, loads, self.path.load)
        contact, opened = self._contact(f)
        u = self._displacement(f, opened, contact)
        made = results.field(self.mesh, self.elastic, u)
        end = time.perf_counter()
        return Closing(
            title="" if self.mold is None else self.mold.title,
            section=self.section,
            loads=loads,
            lands=results.lands(self.mesh, self.section, self.seams, u, contact.p),
            seats=(),
            cavities=results.cavities(self.mesh, self.section, u),
            wrap=results.wrapped(self.mesh.points, self.path, loads.tension_n_per_mm) if loads.tension_n_per_mm else None,
            field=made,
            trust=self._trust(contact, made),
            seconds=Seconds(*map(float, self._made), end - start, end - start + float(self._made.sum())),
        )

    def _contact(self, f: Array) -> tuple[Contact, Array]:
        c = len(self.seams.weight)
        opened = self.factor.opened(f)
        problem = Problem(
            self.factor.C,
            opened + np.concatenate([self.seams.gap0, np.zeros(c)]),
            self.factor.rigid,
            -self.factor.motions.T @ f,
            self.seams.friction,
            resultants(self.mesh.points, f)[2],
        )
        return solve_contact(problem), opened

    def _displacement(self, f: Array, opened: Array, contact: Contact) -> Array:
        """Nodal displacement (n, 2); the rigid motion of the whole is taken off, sliding that nothing resists made least."""
        if contact.outcome is Outcome.PIECE_NOT_HELD:
            return np.zeros((len(self.mesh.points), 2))
        c = len(contact.p)
        traction = np.concatenate([contact.p, contact.t])
        motion = contact.motion.copy()
        rigid, slip = self.factor.rigid, self.factor.C @ traction + opened
        free = _null(rigid[:c])
        motion += free @ np.linalg.lstsq(rigid[c:] @ free, -(slip + rigid @ motion)[c:], rcond=1e-9)[0]
        u = self.factor.displaced(f, opened, traction) + self.factor.motions @ motion
        u = u.reshape(-1, 2)
        return u - results.rigid_fit(self.mesh.points, np.arange(len(u)), u)

    def _trust(self, contact: Contact, made) -> Trust:
        worst = int(np.argmax(made.strain_pct))
        at = self.mesh.points[self.mesh.triangles[worst, :3]].mean(axis=0)
        return Trust(
            outcome=contact.outcome,
            force_balance=contact.balance,
            complementarity=contact.complementarity,
            largest_strain_pct=float(made.strain_pct[worst]),
            strain_at_mm=(float(at[0]), float(at[1])),
            unknowns=2 * len(self.mesh.points),
            contact_places=len(contact.p),
            contact_steps=contact.steps,
        )


def _null(G: Array) -> Array:
    """Orthonormal basis (k, z) of the motions that leave every gap as it is."""
    _, size, V = np.linalg.svd(G, full_matrices=True)
    return V[int(np.sum(size > 1e-9 * size.max(initial=0.0))) :].T


def close(mold: Mold | Section, loads: Loads | None = None, fineness: float = 1.0) -> Closing:
    """Compute how the cuts of a mold close.

    Parameters
    ----------
    mold : Mold or Section
    loads : Loads, optional
        Instead of the mold's own.
    fineness : float
        1 = the default mesh; 2 halves every edge.

    Returns
    -------
    Closing

    Raises
    ------
    BadInput
        When geometry or loads cannot be computed as given.
    """
    return Block(mold, fineness).close(loads)
