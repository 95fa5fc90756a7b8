"""The version of the program's numerics: what, besides the case, an answer depends on."""

from __future__ import annotations

from functools import cache
from hashlib import sha256
from importlib.resources import files

ROOMS = ("mold", "solve", "verdict")


@cache
def numerics() -> str:
    """Return a digest of the code that makes an answer out of a mold.

    Every change of that code counts, even of a remark in it: a case computed once too often costs
    seconds, one kept that should not be costs trust.
    """
    digest = sha256()
    for room in ROOMS:
        for name, text in _modules(room):
            digest.update(f"{room}/{name}\n{text}\n".encode())
    digest.update(_text(files("squeeze.study") / "measure.py").encode())
    return digest.hexdigest()[:16]


def _modules(room: str) -> list[tuple[str, str]]:
    found = [entry for entry in files(f"squeeze.{room}").iterdir() if entry.name.endswith(".py")]
    return sorted((entry.name, _text(entry)) for entry in found)


def _text(entry) -> str:
    return entry.read_text(encoding="utf-8").replace("\r\n", "\n")
