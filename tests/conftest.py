"""A made-up closing for tests of words, drawings and files: plain formulas, nothing solved.

And what all tests share: random examples that are fixed where asked for, a share of the slow tests.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import tempfile
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # tests run side by side already

import numpy as np
import pytest
from hypothesis import settings
from numpy.typing import NDArray

from squeeze.mold.forces.loads import Loads
from squeeze.mold.geometry.loop import polygon_loop
from squeeze.mold.section.records import Cavity, Cut, CutStretch, Material, Section
from squeeze.solve.closing import Closing
from squeeze.solve.field import CavityChange, Field, Wrap
from squeeze.solve.land import Land
from squeeze.solve.outcome import Outcome
from squeeze.solve.trust import Seconds, Trust
from squeeze.study.records import Batch, CaseAnswer
from squeeze.study.runner.solve_batch import BlockCache, solve_batch

settings.register_profile("fixed", derandomize=True, database=None)
settings.load_profile(os.environ.get("SQUEEZE_HYPOTHESIS", "default"))


def pytest_addoption(parser: pytest.Parser) -> None:
    """Take a share of the tests that are selected."""
    parser.addoption("--share", type=float, default=1.0, help="share of the tests to run, 0 to 1")
    parser.addoption("--share-seed", type=int, default=1, help="which share that is")


def in_share(name: str, share: float, seed: int) -> bool:
    """Whether a test belongs to a share; its name alone decides, no other test does."""
    drawn = hashlib.sha256(f"{seed} {name}".encode()).digest()
    return int.from_bytes(drawn[:8]) < share * 2**64


def takes_minutes(item: pytest.Item) -> bool:
    """Whether a slow test is marked as one of minutes: no share takes it."""
    mark = item.get_closest_marker("slow")
    return mark is not None and mark.kwargs.get("minutes", False)


@pytest.hookimpl(trylast=True)  # -m and -k have chosen
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave out what the share asked for does not hold."""
    share, seed = config.getoption("--share"), config.getoption("--share-seed")
    if share >= 1:
        return
    kept, left_out = [], []
    for item in items:
        taken = in_share(item.nodeid, share, seed) and not takes_minutes(item)
        (kept if taken else left_out).append(item)
    config.hook.pytest_deselected(items=left_out)
    items[:] = kept


Array = NDArray[np.float64]
NOBODY = 65534
HALF_MM, HIGH_MM, CELL_MM = 60.0, 40.0, 5.0
BANDS = Loads(tension_n_per_mm=0.6)


@dataclass(frozen=True)
class MadeUp:
    """A block 120 x 120 mm with square cavities 10 mm wide on one cut y = 40 mm.

    `gap` and `press` are called with x [mm] and give gap [mm] and pressure [kPa]; a place with a
    gap has no pressure. The upper part moves up by the gap.
    """

    centres_mm: tuple[float, ...] = (-20.0, 20.0)
    gap: Callable[[Array], Array] = np.zeros_like
    press: Callable[[Array], Array] = lambda x: 10.0 + 0.1 * np.abs(x)
    outcome: Outcome = Outcome.CONVERGED
    unloaded_gap_mm: tuple[float, ...] = (0.0,)
    loads: Loads = BANDS
    strain_pct: float = 4.0

    def closing(self) -> Closing:
        section = self.section()
        lands = tuple(self._land(k, s) for k, s in enumerate(section.cuts[0].stretches))
        return Closing(
            title="Made up",
            section=section,
            loads=self.loads,
            lands=lands,
            seats=(),
            cavities=tuple(self._cavity(c) for c in section.cavities),
            wrap=self._wrap(),
            field=self._field(),
            trust=Trust(self.outcome, 1e-9, 1e-10, self.strain_pct, (60.0, 60.0), (), 1234, 99, 3),
            seconds=Seconds(0.1, 0.1, 0.1, 0.1, 0.4),
        )

    def section(self) -> Section:
        h = HALF_MM
        edges = [-h, *(e for c in self.centres_mm for e in (c - 5, c + 5)), h]
        stretches = tuple(
            CutStretch(((a, HIGH_MM), (b, HIGH_MM)), a + h)
            for a, b in zip(edges[::2], edges[1::2], strict=True)
        )
        cavities = tuple(
            Cavity(f"barrel {k + 1}", _square((c, HIGH_MM), 5.0))
            for k, c in enumerate(self.centres_mm)
        )
        cut = Cut("across", stretches, 2 * h, gap_mm=self.unloaded_gap_mm)
        return Section(_square((0.0, 0.0), h), Material(0.6, 0.499), cavities, (cut,))

    def _land(self, k: int, stretch: CutStretch) -> Land:
        (a, y), (b, _) = stretch.points
        x = np.linspace(a, b, 2 * round((b - a) / 2) + 1)
        gap = self.gap(x)
        faces = np.zeros((x.size, 2, 2))
        faces[:, 0, 1] = gap
        pressure = np.where(gap > 0, 0.0, self.press(x))
        wet = np.zeros(x.size, bool)
        return Land(
            "across", k, x - a, x, np.full_like(x, y), pressure, gap, 0 * x, 0 * x, wet, wet, faces
        )

    def _cavity(self, cavity: Cavity) -> CavityChange:
        edge = cavity.loop.points()
        return CavityChange(cavity.name, 100.0, -1.5, 0.2, 0.0, edge, np.zeros_like(edge))

    def _wrap(self) -> Wrap | None:
        T = self.loads.tension_n_per_mm
        if T == 0:
            return None
        corners = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
        return Wrap(T, 8 * HALF_MM, HALF_MM * corners, -T * corners)

    def _field(self) -> Field:
        points: dict[tuple[float, float, bool], int] = {}
        triangles = []
        steps = np.arange(-HALF_MM, HALF_MM, CELL_MM)
        for x, y in ((x, y) for x in steps for y in steps):
            if all(abs(x + 2.5 - c) > 5 or abs(y + 2.5 - HIGH_MM) > 5 for c in self.centres_mm):
                triangles += _cell(float(x), float(y), points)
        xy = np.array([(x, y) for x, y, _ in points])
        upper = np.array([up for *_, up in points])
        move = np.column_stack([0 * xy[:, 0], np.where(upper, self.gap(xy[:, 0]), 0.0)])
        m = len(triangles)
        stress = np.tile(xy[np.array(triangles)[:, :3], :1], (1, 1, 3)) / 1000
        return Field(
            xy,
            np.array(triangles),
            np.zeros(m, int),
            move,
            stress,
            -stress[:, :, 0],
            np.full(m, 1.0),
        )


def _square(centre: tuple[float, float], half: float):
    x, y = centre
    return polygon_loop(
        [(x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half)]
    )


def _cell(x: float, y: float, points: dict) -> list[list[int]]:
    h, upper = CELL_MM, y >= HIGH_MM

    def node(i: float, j: float) -> int:
        return points.setdefault((x + i * h, y + j * h, upper), len(points))

    lower_right = [(0, 0), (1, 0), (1, 1), (0.5, 0), (1, 0.5), (0.5, 0.5)]
    upper_left = [(0, 0), (1, 1), (0, 1), (0.5, 0.5), (0.5, 1), (0, 0.5)]
    return [[node(*p) for p in corners] for corners in (lower_right, upper_left)]


@pytest.fixture
def made_up() -> type[MadeUp]:
    return MadeUp


@pytest.fixture(scope="session")
def closed() -> Closing:
    """Every place presses, 10 to 16 kPa."""
    return MadeUp().closing()


@pytest.fixture(scope="session")
def gaping() -> Closing:
    """Open between x = -30 and 30 mm: the whole middle and the inner ends of the outer lands."""
    return MadeUp(gap=lambda x: np.clip(1.0 - (x / 30) ** 2, 0, None)).closing()


class HereSolver:
    """Computes batches in this process, where a worker's start would cost more than its cases."""

    capacity = 1

    def __enter__(self) -> HereSolver:
        return self

    def __exit__(self, *_: object) -> None: ...

    def answers(self, batches: Iterable[Batch]) -> Iterator[CaseAnswer]:
        blocks = BlockCache()
        for batch in batches:
            yield from solve_batch(batch, blocks)


@pytest.fixture
def solved_here(monkeypatch) -> None:
    """Let studies run in this process: for tests that ask for something else than workers."""
    monkeypatch.setattr("squeeze.study.runner.run._solver", lambda *_: HereSolver())


@dataclass(frozen=True)
class PlainUser:
    """A user who may not write everywhere, for as long as a `with` block lasts.

    Root may write anywhere: it gives up its rights, or its tests could not fail.
    """

    folder: Path

    def __enter__(self) -> PlainUser:
        if os.geteuid() == 0:
            os.chown(self.folder, NOBODY, -1)
            os.setresuid(NOBODY, NOBODY, 0)
        return self

    def __exit__(self, *_: object) -> None:
        if os.getresuid()[2] == 0:
            os.setresuid(0, 0, 0)


@pytest.fixture
def plain_user() -> Iterator[PlainUser]:
    """Give a user with a folder; what is needed has to be imported before the `with` block."""
    if not hasattr(os, "setresuid"):
        pytest.skip("no way to give up rights here")
    folder = Path(tempfile.mkdtemp())
    yield PlainUser(folder)
    shutil.rmtree(folder)
