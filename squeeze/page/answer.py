"""The answers that the page asks for; they are worked out in a process of their own."""

from __future__ import annotations

import json
from base64 import b64encode
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

from squeeze import __version__
from squeeze.mold import BadInput, Mold, SqueezeError, dict_of, dump, mold_of, parse
from squeeze.mold.cradle.materials import MATERIALS
from squeeze.mold.forces.band_sizes import SIZES
from squeeze.mold.notes import notes_of
from squeeze.mold.shapes.registry import outlines
from squeeze.page.defect import defect
from squeeze.page.difference import difference
from squeeze.page.drawing import drawing
from squeeze.page.limits import limits, shapes
from squeeze.show.export import as_json
from squeeze.show.figure.tint import tint
from squeeze.show.paper import PAPERS
from squeeze.show.sheet.contents import sheet_of
from squeeze.show.sheet.pdf import as_pdf
from squeeze.show.start import CAUTION, start
from squeeze.show.text.lands import land_rows, notes
from squeeze.show.text.verdict import flash_line, seal_lines
from squeeze.solve import Block, Closing
from squeeze.study.plan.sections import section_of_case
from squeeze.study.runner.solve_batch import close_case
from squeeze.verdict import Verdict, judge
from squeeze.verdict.advice.advice import advise
from squeeze.verdict.advice.change import say_figures
from squeeze.verdict.uncertainty import uncertainty, varies

QUICK = 0.5
"""Fineness of the mesh while something is being moved."""

KEPT = 4

_blocks: OrderedDict[str, Block] = OrderedDict()


class Refused(Exception):
    """What was asked makes no sense; the text says why."""


def answer(asked: dict[str, Any]) -> tuple[int, dict[str, Any]]:
    """Return an HTTP status and the answer to one request: ``{"do": name, ...}``."""
    try:
        return 200, _DOES[asked["do"]](asked)
    except BadInput as error:
        return 422, {"faults": _faults(error)}
    except SqueezeError as error:
        return 422, {"error": str(error)}
    except Refused as error:
        return 400, {"error": str(error)}
    except Exception as error:
        return defect(error, _doing(asked), _given(asked))


def _doing(asked: dict[str, Any]) -> str:
    """Return what is being done, in words that follow "while"."""
    mold = asked.get("mold")
    title = str(mold.get("title") or "") if isinstance(mold, dict) else ""
    of = f"'{title[:60]}'" if title.isprintable() and title else "a mold"
    name = str(asked.get("name") or "a mold file")[:60]
    return {
        "close": f"closing the cuts of {of} on the page",
        "sure": f"varying rubber, friction and bands of {of} on the page",
        "advise": f"searching for what helps {of} on the page",
        "read": f"reading {name} on the page",
        "write": f"writing {of} as a file",
    }.get(asked["do"], "starting the page")


def _given(asked: dict[str, Any]) -> dict[str, str]:
    """Return what was asked, for a report; the mold as JSON, as it may be no mold at all."""
    rest = {key: value for key, value in asked.items() if key not in ("mold", "text")}
    given = {"Request": json.dumps(rest, default=repr)}
    if "text" in asked:
        given["File"] = str(asked["text"])
    if "mold" in asked:
        given["Mold"] = json.dumps(asked["mold"], indent=1, default=repr)
    return given


def _faults(error: BadInput) -> list[dict[str, Any]]:
    return [
        {"key": f.key, "text": f.text, "line": f.line, "say": f.say(error.file)}
        for f in error.faults
    ]


def _close(asked: dict[str, Any]) -> dict[str, Any]:
    inches, fineness = asked.get("inches") is True, QUICK if asked.get("quick") is True else 1.0
    mold, closing, verdict = _closed(asked.get("mold"), fineness, inches)
    said = as_json(closing, verdict, mold) | {
        "fineness": fineness,
        "solved": closing.outcome.has_answer,
        "drawing": drawing(closing),
    }
    heads, rows = land_rows(closing, verdict, inches)
    said["table"] = {"heads": [head.replace("\n", ", ") for head in heads], "rows": rows}
    said["remarks"] = [
        *seal_lines(closing, verdict, inches),
        *flash_line(verdict.flash, inches),
        verdict.yardstick,
        *notes_of(mold, closing.section),
        *notes(closing, inches),
    ]
    if asked.get("against") is not None:
        other = _closed(asked["against"], fineness, inches)
        said["difference"] = difference(other[1:], (closing, verdict), inches)
    return said


def _sure(asked: dict[str, Any]) -> dict[str, Any]:
    """Return the verdict with how sure it is, which takes a dozen closings more."""
    mold, closing, verdict = _closed(asked.get("mold"), 1.0, asked.get("inches") is True, sure=True)
    return {"verdict": as_json(closing, verdict, mold)["verdict"]}


def _closed(
    data: Any, fineness: float, inches: bool, sure: bool = False
) -> tuple[Mold, Closing, Verdict]:
    mold = mold_of(_mold_given(data))
    theory = "small" if fineness < 1 else "auto"
    block = _block(mold, fineness)
    closing = replace(close_case(block, mold, theory), title=mold.title)
    varied = uncertainty(block, closing) if sure and varies(closing) else None
    return mold, closing, judge(closing, inches, mold, varied)


def _block(mold: Mold, fineness: float) -> Block:
    """Return the meshed and factorised block; the last few are kept, for loads need no new one."""
    shape = section_of_case(dict_of(mold))
    key = json.dumps([fineness, shape])
    if key not in _blocks:
        _blocks[key] = Block(mold_of(shape), fineness)
    _blocks.move_to_end(key)
    while len(_blocks) > KEPT:
        _blocks.popitem(last=False)
    return _blocks[key]


def _mold_given(data: Any) -> dict[str, Any]:
    if not isinstance(data, dict):
        raise Refused(
            "There is no mold in what was asked: a JSON object with the keys of a mold"
            " file is needed."
        )
    return data


def _read(asked: dict[str, Any]) -> dict[str, Any]:
    text, name = asked.get("text"), asked.get("name")
    if not isinstance(text, str):
        raise Refused("There is no text to read.")
    return {"mold": dict_of(parse(text, name if isinstance(name, str) else None))}


def _open(asked: dict[str, Any]) -> dict[str, Any]:
    """Read the file the page was started with, and the drawings beside it; no request asks this."""
    return {"mold": dict_of(parse(asked["text"], asked["name"], Path(asked["folder"])))}


def _sheet(asked: dict[str, Any]) -> dict[str, Any]:
    """Return the bench sheet as a PDF file, in base64."""
    paper, inches = asked.get("paper", "a4"), asked.get("inches") is True
    if paper not in PAPERS:
        raise Refused(f"There is no such paper; known are {' and '.join(PAPERS)}.")
    mold, closing, verdict = _closed(asked.get("mold"), 1.0, inches, sure=True)
    name = asked.get("name")
    file = name if isinstance(name, str) and name else "drawn on the page"
    today = date.today().isoformat()
    made = sheet_of(mold, closing, verdict, file=file[:100], date=today, inches=inches)
    return {"pdf": b64encode(as_pdf(made, paper)).decode()}


def _write(asked: dict[str, Any]) -> dict[str, Any]:
    return {"text": dump(mold_of(_mold_given(asked.get("mold"))))}


def _advise(asked: dict[str, Any]) -> dict[str, Any]:
    inches = asked.get("inches") is True
    advice = advise(mold_of(_mold_given(asked.get("mold"))))
    found = [
        {"say": one.say, "figures": say_figures(one, inches), "mold": dict_of(one.mold)}
        for one in advice.changes
    ]
    return {"list": found, "say": list(advice.say), "tried": advice.tried}


def _start(asked: dict[str, Any]) -> dict[str, Any]:
    return {
        "squeeze": __version__,
        "caution": CAUTION,
        "stock": list(SIZES),
        "materials": list(MATERIALS),
        "limits": limits(),
        "shapes": shapes(),
        "outlines": outlines(),
        "tints": {str(n): _hexes(n) for n in range(4, 9)},
        "start": dict_of(parse(start("Two pen barrels"))),
    }


def _hexes(count: int) -> list[str]:
    colours = (tint(k / (count - 1)) for k in range(count))
    return ["#" + bytes(round(255 * c) for c in rgb).hex() for rgb in colours]


_DOES: dict[str, Callable[[dict[str, Any]], dict[str, Any]]] = {
    "close": _close,
    "sure": _sure,
    "advise": _advise,
    "read": _read,
    "open": _open,
    "sheet": _sheet,
    "write": _write,
    "start": _start,
}
