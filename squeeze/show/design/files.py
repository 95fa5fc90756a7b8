"""The files of a design: a mold file each, a picture, a table; and whose they are."""

from __future__ import annotations

import csv
import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import asdict
from functools import partial
from hashlib import sha256
from pathlib import Path

from squeeze.design import Design, DesignAnswer
from squeeze.mold import dump
from squeeze.show.write import Writers

OURS = ".written.json"
"""Holds a digest of every file that the command wrote, so that it knows what is not its own."""


def file_name(design: Design) -> str:
    """Return the name of a block's mold file: ``1-round-92.toml``."""
    plain = re.sub(r" mm\b", "", design.name)
    return f"{design.number}-{re.sub(r'[^a-z0-9.]+', '-', plain.lower()).strip('-.')[:60]}.toml"


def design_writers(answer: DesignAnswer, folder: Path, inches: bool = False) -> Writers:
    """Return what writes each file of a design.

    Parameters
    ----------
    answer : DesignAnswer
    folder : Path
    inches : bool
        For the picture alone: mold files and table stay in mm.
    """
    if not answer.designs:
        return {}
    texts = {folder / file_name(each): _mold_text(each) for each in answer.designs}
    texts[folder / "blocks.csv"] = _table_text(answer)
    writers: Writers = {path: partial(_write, text) for path, text in texts.items()}
    writers[folder / "blocks.png"] = partial(_draw, answer, inches)
    digests = {path.name: _digest(text.encode()) for path, text in texts.items()}
    writers[folder / OURS] = partial(_write, json.dumps(digests, indent=1) + "\n")
    return writers


def put_aside(folder: Path, writers: Mapping[Path, object]) -> Iterator[tuple[Path, Path]]:
    """Make room: rename what is not as it was written, remove what an earlier run left.

    Yields the old and the new path of each file that was renamed. Pictures are drawn again from the
    mold files and are not kept.

    `writers` has the path of each file that is to be written now.
    """
    if not writers:
        return
    known = _known(folder)
    for path in writers:
        if path.suffix in (".toml", ".csv") and path.exists():
            if known.get(path.name) != _digest(path.read_bytes()):
                yield path, path.rename(_free(path))
    for name, digest in known.items():
        path = folder / name
        if path not in writers and path.is_file() and _digest(path.read_bytes()) == digest:
            path.unlink()


def _known(folder: Path) -> dict[str, str]:
    try:
        found = json.loads((folder / OURS).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    if not isinstance(found, dict):
        return {}
    return {k: v for k, v in found.items() if Path(k).name == k and isinstance(v, str)}


def _free(path: Path) -> Path:
    k = 1
    while (other := path.with_name(f"{path.stem}.before-{k}{path.suffix}")).exists():
        k += 1
    return other


def _digest(data: bytes) -> str:
    return sha256(data).hexdigest()


def _mold_text(design: Design) -> str:
    return f"# {design.say}\n\n{dump(design.mold)}"


def _table_text(answer: DesignAnswer) -> str:
    from io import StringIO

    rows = [
        {"number": each.number, "name": each.name, "kind": each.kind, **asdict(each.figures)}
        for each in answer.designs
    ]
    if answer.given is not None:
        rows.append({"number": "", "name": "the file's block", "kind": "", **asdict(answer.given)})
    text = StringIO()
    table = csv.DictWriter(text, list(rows[0]), lineterminator="\n")
    table.writeheader()
    table.writerows(rows)
    return text.getvalue()


def _write(text: str, part: Path) -> None:
    part.write_text(text, encoding="utf-8", newline="\n")


def _draw(answer: DesignAnswer, inches: bool, part: Path) -> None:
    from squeeze.show.design.picture import design_figure
    from squeeze.show.figure.closing import save

    save(design_figure(answer, inches), part, "png")
