"""Requests that are wrong, too large, from elsewhere, too many, or given up."""

from __future__ import annotations

import json
import re
import socket
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any, ClassVar

import pytest
from starlette.testclient import TestClient

from squeeze.page.run import page_key
from squeeze.page.server.app import app_of
from squeeze.page.server.assets import assets
from squeeze.page.server.kept import KeptFile
from squeeze.page.server.solvers import Solvers

JSON = {"Content-Type": "application/json"}


def nested(left: bytes, right: bytes, levels: int) -> bytes:
    """Return an object that holds lists or objects within each other."""
    return b'{"page": "a", "mold": ' + left * levels + b"1" + right * levels + b"}"


@pytest.mark.parametrize(
    ("body", "says"),
    [
        (b"{", "not valid JSON"),
        (b"", "not valid JSON"),
        (b"\xff\xfe", "not valid JSON"),
        (b"[" * 100_000, "levels deep"),
        *((nested(b'{"a":', b"}", n), "levels deep") for n in (33, 800, 5000)),
        *((nested(b"[", b"]", n), "levels deep") for n in (33, 800, 5000)),
        (b'{"page": "a", "mold": {"title": "\\ud800"}}', "half a character"),
        (b'{"page": "a", "mold": {"\\udfff": 1}}', "half a character"),
        (b'{"page": "a", "text": ["\\udc00\\ud800"]}', "half a character"),
        (b"[1]", "not a JSON object"),
        (b"3", "not a JSON object"),
        (b"{}", "which page"),
        (b'{"page": "../../etc"}', "which page"),
        (b'{"page": 3}', "which page"),
        (b'{"page": "a"}', "no mold"),
        (b'{"page": "a", "mold": []}', "no mold"),
    ],
)
@pytest.mark.parametrize("path", ["/close", "/read", "/advise"])
def test_malformed_bodies_are_told(client: TestClient, path: str, body: bytes, says: str) -> None:
    if says == "no mold" and path == "/read":
        says = "no text"
    answer = client.post(path, content=body, headers=JSON)
    assert answer.status_code == 400
    assert says in answer.json()["error"]


def test_whole_characters_beyond_the_basic_plane_are_taken(client: TestClient, mold) -> None:
    body = json.dumps({"page": "a", "mold": mold(title="Ring \U0001f48d")})
    assert "\\ud83d" in body
    answer = client.post("/write", content=body, headers=JSON)
    assert "Ring \U0001f48d" in answer.json()["text"]


@pytest.mark.parametrize(
    "data",
    [
        {"length_mm": 1e400},
        {"block": None},
        {"block": {"shape": ["square"]}},
        {"cut": {"path_mm": 3}},
        {"cut": [[[[[[[[[[3]]]]]]]]]]},
        {"band": [{"stock": {"a": "b"}}]},
        {"rubber": {"shore_a": "20"}},
        {"__proto__": {"x": 1}},
        {"cavity": [{"points_mm": [[0, 0], [1, "1"], None]}]},
    ],
)
def test_molds_that_are_none_are_told_by_key(client: TestClient, mold, data: dict) -> None:
    body = json.dumps({"page": "a", "mold": mold(**data)})
    answer = client.post("/close", content=body, headers=JSON)
    assert answer.status_code == 422
    assert all(fault["key"] and fault["text"] for fault in answer.json()["faults"])


def test_huge_bodies_are_refused(client: TestClient) -> None:
    body = b'{"page": "a", "mold": {"title": "' + b"x" * 5_000_000 + b'"}}'
    answer = client.post("/close", content=body, headers=JSON)
    assert answer.status_code == 413
    assert "larger than 4.5 MB" in answer.json()["error"]


@pytest.mark.parametrize(
    "headers",
    [
        {"Host": "evil.example"},
        {"Host": "127.0.0.1:1"},
        {"Host": "127.0.0.1.evil.example:7433"},
        {"Origin": "http://evil.example"},
        {"Origin": "null"},
        {"Origin": "https://127.0.0.1:7433"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
    ],
)
def test_other_hosts_and_pages_are_refused(client: TestClient, mold, headers: dict) -> None:
    for answer in (
        client.get("/start", headers=headers),
        client.post("/close", json={"page": "a", "mold": mold()}, headers=headers),
    ):
        assert answer.status_code == 403
        assert "answers only to its own" in answer.json()["error"]


def test_a_link_from_another_site_shows_a_page_of_words(client: TestClient, key) -> None:
    headers = {"Sec-Fetch-Site": "cross-site", "Accept": "text/html,application/xhtml+xml"}
    answer = client.get(f"/?key={key}", headers=headers)
    assert answer.status_code == 403
    assert answer.headers["content-type"].startswith("text/html")
    assert "Copy the whole" in answer.text
    assert "{" not in answer.text


@pytest.mark.parametrize("kind", ["text/plain", "application/x-www-form-urlencoded", ""])
def test_what_a_foreign_form_can_send_is_refused(client: TestClient, kind: str) -> None:
    answer = client.post("/close", content=b"{}", headers={"Content-Type": kind})
    assert answer.status_code == 415


@pytest.mark.parametrize(
    "path",
    [
        "/assets/..%2Fapp.py",
        "/assets/%2e%2e%2f%2e%2e%2fanswer.py",
        "/assets/..\\app.py",
        "/assets//etc/passwd",
        "/assets/style.css%00.html",
        "/studies/..%2F..",
        "/studies/%2e%2e",
        "/studies/a%00b",
        "/etc/passwd",
    ],
)
def test_path_tricks_reach_nothing(site, path: str) -> None:
    with socket.create_connection(("127.0.0.1", site.port), 10) as raw:
        raw.sendall(
            f"GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{site.port}\r\n"
            f"X-Squeeze-Key: {site.key}\r\n\r\n".encode()
        )
        head = raw.recv(2000).decode()
    assert re.match(r"HTTP/1.1 (400|404|405) ", head)
    assert "root:" not in head
    assert "import" not in head


def test_unknown_deeds_are_told(client: TestClient) -> None:
    assert client.post("/open", json={"page": "a"}).status_code == 404
    assert client.post("/start", json={"page": "a"}).status_code in (404, 405)
    assert client.put("/file", json={"mold": {}}).status_code == 404


def test_answers_are_closed_to_the_outside(client: TestClient) -> None:
    for path in ("/", "/start", "/assets/main.js", "/assets/none.js"):
        headers = client.get(path).headers
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["cross-origin-resource-policy"] == "same-origin"


def test_the_page_names_no_other_address() -> None:
    allowed = {"http://www.w3.org/2000/svg"}
    for name, asset in assets().items():
        found = set(re.findall(r"(?:https?:)?//[\w.-]+\.\w+[^\s\"'`)]*", asset.content.decode()))
        assert found <= allowed, name


@pytest.mark.slow
def test_a_solve_that_takes_too_long_is_ended_and_the_next_one_answered(
    mold, key, with_key
) -> None:
    app = app_of(7433, key, solvers=lambda: Solvers(count=1, limit_s=0.02))
    with with_key(app) as client:
        solvers = app.state.solvers
        first = solvers.free[0].process
        answer = client.post("/close", json={"page": "a", "mold": mold()})
        assert answer.status_code == 504
        assert answer.json()["error"] == "The calculation took more than 0.02 s and was ended."
        assert not first.is_alive()
        solvers.limit_s = 60.0
        assert client.post("/close", json={"page": "a", "mold": mold()}).status_code == 200


def test_the_latest_of_a_page_wins(mold, site) -> None:
    def ask(k: int) -> int:
        body = {"page": "one", "mold": mold(length_mm=100 + k)}
        return site.post("close", body, 60).status_code

    with ThreadPoolExecutor(8) as pool:
        found = list(pool.map(ask, range(8)))
    assert set(found) <= {200, 409}
    assert 1 <= found.count(200) <= 3
    assert ask(0) == 200


@pytest.mark.slow
def test_fifty_at_once_are_all_answered(mold, site) -> None:
    def ask(k: int) -> tuple[int, str]:
        block = {"shape": "square", "width_mm": 60, "bevel_mm": 2 + 0.1 * (k % 10)}
        body = {"page": f"page-{k}", "mold": mold(block=block, title=f"mold {k}"), "quick": True}
        answer = site.post("close", body, 120)
        return answer.status_code, answer.json().get("title", "")

    with ThreadPoolExecutor(50) as pool:
        found = list(pool.map(ask, range(50)))
    assert found == [(200, f"mold {k}") for k in range(50)]
    assert len(site.children()) <= 4  # two solvers, and what spawning them needs


@pytest.mark.slow
def test_a_solve_that_nobody_waits_for_leaves_nothing_behind(mold, site) -> None:
    body = json.dumps({"page": "gone", "mold": mold(title="gone")}).encode()
    head = (
        f"POST /close HTTP/1.1\r\nHost: 127.0.0.1:{site.port}\r\nX-Squeeze-Key: {site.key}\r\n"
        "Content-Type: application/json\r\n"
    )
    for _ in range(5):
        with socket.create_connection(("127.0.0.1", site.port), 10) as raw:
            raw.sendall(f"{head}Content-Length: {len(body)}\r\n\r\n".encode() + body)
            time.sleep(0.02)
    answer = site.post("close", {"page": "b", "mold": mold()}, 60)
    assert answer.status_code == 200
    assert len(site.children()) <= 4


@pytest.mark.slow
@pytest.mark.parametrize("signal", ["terminate", "kill"])
def test_processes_end_with_the_server(fresh_site, mold, signal: str) -> None:
    body = {"page": "b", "mold": mold()}
    fresh_site.post("close", body, 60)
    children = fresh_site.children()
    assert children
    getattr(fresh_site.process, signal)()
    fresh_site.process.wait(15)
    deadline = time.monotonic() + 20
    while time.monotonic() < deadline and any(map(_runs, children)):
        time.sleep(0.05)
    assert not [pid for pid in children if _runs(pid)]


def _runs(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] not in "ZX"
    except OSError:
        return False


def test_the_file_is_written_back_unless_somebody_else_changed_it(
    tmp_path: Path, mold, key, with_key
) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(
        'length_mm = 140\n[rubber]\nshore_a = 20\n[block]\nshape = "round"\ndiameter_mm = 80\n'
    )
    app = app_of(7433, key, KeptFile(path, "mine.toml"), solvers=lambda: Solvers(count=1))
    with with_key(app) as client:
        file = client.get("/start").json()["file"]
        assert file["mold"]["block"]["diameter_mm"] == 80
        bad = client.put("/file", json={"mold": {}, "seen": file["stamp"]})
        assert bad.status_code == 422
        saved = client.put("/file", json={"mold": mold(), "seen": file["stamp"]})
        assert saved.status_code == 200
        assert 'title = "Two barrels"' in path.read_text()
        path.write_text(path.read_text() + "\n# by hand\n")
        clash = client.put("/file", json={"mold": mold(), "seen": saved.json()["stamp"]})
        assert clash.status_code == 409
        assert clash.json()["changed"] is True
        assert "# by hand" in path.read_text()
        assert client.put("/file", json={"mold": mold(), "seen": None}).status_code == 200
        assert "# by hand" in path.read_text()
    assert [p.name for p in tmp_path.iterdir()] == ["mine.toml"]


def test_comments_are_kept_and_said_before_they_are_lost(tmp_path: Path, key, with_key) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(
        "# poured in May\nlength_mm = 140 # as the pot is deep\n[rubber]\nshore_a = 20\n"
        '[block]\nshape = "round"\ndiameter_mm = 80\n'
        '[[cut]]\nname = "low" # with the long knife\npath_mm = [[-40, 0], [40, 0]]\n'
    )
    app = app_of(7433, key, KeptFile(path, "mine.toml"), solvers=lambda: Solvers(count=1))
    with with_key(app) as client:
        file = client.get("/start").json()["file"]
        changed = file["mold"] | {"length_mm": 150}
        saved = client.put("/file", json={"mold": changed, "seen": file["stamp"]})
        assert saved.status_code == 200
        assert path.read_text().startswith("# poured in May\nlength_mm = 150.0 # as the pot is")
        del changed["cut"]
        asked = {"mold": changed, "seen": saved.json()["stamp"]}
        told = client.put("/file", json=asked)
        assert (told.status_code, told.json()["lost"]) == (409, ["# with the long knife"])
        assert "long knife" in path.read_text()
        assert client.put("/file", json=asked | {"lose": True}).status_code == 200
        assert "long knife" not in path.read_text()
        assert "# poured in May" in path.read_text()


KEYLESS = [
    ("GET", "/start"),
    ("GET", "/studies"),
    ("POST", "/close"),
    ("PUT", "/file"),
    ("GET", "/"),
]


@pytest.mark.parametrize(("method", "path"), KEYLESS)
@pytest.mark.parametrize("given", [None, "", "not-the-key-of-this-server", "\xe9"])
def test_a_call_without_the_key_is_refused(client: TestClient, method, path, given) -> None:
    headers = {} if given is None else {"x-squeeze-key": given.encode("latin-1")}
    stranger = TestClient(client.app, base_url="http://127.0.0.1:7433")
    answer = stranger.request(method, path, json={"page": "a"}, headers=headers)
    assert answer.status_code == 403
    assert "lacks the key" in answer.json()["error"]


def test_the_key_is_made_once_and_nobody_else_may_read_it(tmp_path: Path) -> None:
    folder = tmp_path / "home"
    key = page_key(folder)
    assert page_key(folder) == key
    assert (folder / "page-key").stat().st_mode & 0o777 == 0o600
    (folder / "page-key").write_text("x")
    assert page_key(folder) not in ("x", key)
    (tmp_path / "file").write_text("")
    assert len(page_key(tmp_path / "file")) >= 20


class Asked(Solvers):
    """Keeps what it was asked, answers nothing, and starts no process."""

    kept: ClassVar[list[dict[str, Any]]] = []

    def __init__(self) -> None:
        self.kept.clear()

    async def ask(self, asked: dict[str, Any], name: str) -> Any:
        self.kept.append(asked)
        return 200, {}

    def end(self) -> None:
        pass


def test_models_are_read_from_the_folder_of_the_pages_own_file_alone(
    tmp_path: Path, mold, key, with_key
) -> None:
    """A page may not name a folder; the one of its file goes with air and sheet, and no more."""
    path = tmp_path / "mine.toml"
    body = {"page": "a", "mold": mold(), "folder": "/etc"}
    for kept, folder in ((KeptFile(path, "mine.toml"), str(tmp_path)), (None, None)):
        with with_key(app_of(7433, key, kept, studies=tmp_path, solvers=Asked)) as client:
            for do in ("air", "sheet", "close"):
                client.post(f"/{do}", json=body)
        told = {each["do"]: each.get("folder") for each in Asked.kept}
        assert told == {"air": folder, "sheet": folder, "close": None}
