"""A server for the tests: in this process, and as the command starts it."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import httpx2
import pytest
from starlette.applications import Starlette
from starlette.testclient import TestClient

from squeeze.page.server.app import app_of
from squeeze.page.server.solvers import Solvers

PORT = 7433
KEY = "a-key-of-the-tests-alone"
BARRELS = Path(__file__).parents[2] / "studies" / "barrels" / "barrels.toml"


def _mold(**more: Any) -> dict[str, Any]:
    return {
        "title": "Two barrels",
        "length_mm": 140,
        "rubber": {"shore_a": 20},
        "block": {"shape": "round", "diameter_mm": 60},
        "cavity": [
            {"name": "left", "shape": "round", "diameter_mm": 10, "centre_mm": [-10, 0]},
            {"name": "right", "shape": "round", "diameter_mm": 10, "centre_mm": [10, 0]},
        ],
        "cut": [{"name": "across", "path_mm": [[-30, 0], [30, 0]]}],
        "band": [{"tension_n_per_mm": 0.05}],
    } | more


@pytest.fixture(scope="session")
def mold() -> Callable[..., dict[str, Any]]:
    """Return what makes a small mold; called with tables to exchange.

    Its bands pull so little that small deformation stands, and a round block needs no fine mesh:
    it and its variations are quick.
    """
    return _mold


@pytest.fixture(scope="session")
def barrels() -> Path:
    """Return the mold file of the demo study."""
    return BARRELS


@pytest.fixture(scope="session")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    """Talks to the application in this process."""
    folder = tmp_path_factory.mktemp("studies")
    app = app_of(PORT, KEY, studies=folder, solvers=lambda: Solvers(count=1))
    with client_of(app, raise_server_exceptions=False) as one:
        yield one


@pytest.fixture(scope="session")
def key() -> str:
    """Return the key of the applications that tests make in this process."""
    return KEY


@pytest.fixture(scope="session")
def with_key() -> Callable[..., TestClient]:
    """Return what makes a client of an application that was made with `key`."""
    return client_of


def client_of(app: Starlette, **more: Any) -> TestClient:
    """Return what talks to an application in this process, with its key."""
    headers = {"x-squeeze-key": KEY}
    return TestClient(app, base_url=f"http://127.0.0.1:{PORT}", headers=headers, **more)


@dataclass(frozen=True)
class Site:
    """A server that runs as a process of its own."""

    address: str
    process: subprocess.Popen[str]
    file: Path

    @property
    def origin(self) -> str:
        return self.address.partition("/?key=")[0]

    @property
    def key(self) -> str:
        return self.address.partition("/?key=")[2]

    @property
    def port(self) -> int:
        return int(self.origin.rsplit(":", 1)[1])

    def post(self, do: str, body: dict[str, Any], timeout: float = 60) -> Any:
        """Ask the server for something, with its key."""
        headers = {"x-squeeze-key": self.key}
        return httpx2.post(f"{self.origin}/{do}", json=body, headers=headers, timeout=timeout)

    def kill(self) -> None:
        """Kill the server, as a power cut would."""
        self.process.kill()
        self.process.wait(15)
        assert self.process.stdout is not None
        self.process.stdout.close()

    def again(self) -> Site:
        """Start the server anew at the same address, over the same file."""
        return _start(self.file.parent, self.port, self.file)

    def children(self) -> list[int]:
        """Ids of the processes that the server started and that still run."""
        found = Path(f"/proc/{self.process.pid}/task/{self.process.pid}/children")
        return [int(pid) for pid in found.read_text().split()]


def _start(folder: Path, port: int = 0, file: Path | None = None) -> Site:
    if file is None:
        file = folder / "barrels.toml"
        shutil.copy(BARRELS, file)
    root = str(Path(__file__).parents[2])
    process = subprocess.Popen(
        [sys.executable, "-m", "squeeze", "page", str(file), "--port", str(port), "--no-browser"],
        cwd=folder,
        env=os.environ | {"HOME": str(folder), "PYTHONPATH": root},
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    line = process.stdout.readline()
    address = line.split("is at ")[1].split()[0]
    return Site(address, process, file)


def _stop(site: Site) -> None:
    if site.process.poll() is None:
        site.process.terminate()
        site.process.wait(15)
    if site.process.stdout is not None:
        site.process.stdout.close()


@pytest.fixture(scope="session")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """Serve the page as the command does, with a mold file."""
    found = _start(tmp_path_factory.mktemp("site"))
    yield found
    _stop(found)


@pytest.fixture
def fresh_site(tmp_path: Path) -> Iterator[Site]:
    """Serve the page for one test, to be ended in some way."""
    found = _start(tmp_path)
    yield found
    _stop(found)
