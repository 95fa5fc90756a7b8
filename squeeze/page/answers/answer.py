"""The answers that the page asks for; they are worked out in a process of their own."""

from __future__ import annotations

import json
from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from typing import Any

from squeeze import __version__
from squeeze.mold import BadInput, SqueezeError, dict_of, dump, parse
from squeeze.mold.cradle.materials import MATERIALS
from squeeze.mold.file.kept_comments import lost_comments, rewritten
from squeeze.mold.forces.band_sizes import SIZES
from squeeze.mold.progress import Progress, silent
from squeeze.mold.shapes.registry import outlines
from squeeze.page.answers import length
from squeeze.page.answers.closed import QUICK, ClosedMold, Refused, closed, mold_in
from squeeze.page.answers.difference import difference
from squeeze.page.answers.drawing import drawing
from squeeze.page.answers.keys import key_in_words
from squeeze.page.answers.lessons import lessons
from squeeze.page.answers.limits import limits, shape_figures
from squeeze.page.answers.remarks import in_units, remarks
from squeeze.page.answers.tables import plain_table
from squeeze.page.defect import defect
from squeeze.show.export import as_json
from squeeze.show.figure.tint import tint
from squeeze.show.start import CAUTION, start
from squeeze.show.text.lands import seats
from squeeze.show.text.lands import table as land_table
from squeeze.show.text.verdict import castings, variation_lines
from squeeze.solve import Closing
from squeeze.verdict import judge
from squeeze.verdict.advice.advice import AT_A_PRICE, advise
from squeeze.verdict.advice.change import Change, say_figures, say_harms

Deed = Callable[[dict[str, Any], Progress], dict[str, Any]]
"""Works out the answer to one request."""


def answer(asked: dict[str, Any], progress: Progress = silent) -> tuple[int, dict[str, Any]]:
    """Return an HTTP status and the answer to one request: ``{"do": name, ...}``.

    Parameters
    ----------
    asked : dict
    progress : Progress
        Called with what is being done, and how much of it is done.
    """
    try:
        return 200, _DOES[asked["do"]](asked, progress)
    except BadInput as error:
        return 422, {"faults": _faults(error, asked.get("inches") is True)}
    except SqueezeError as error:
        return 422, {"error": in_units([str(error)], asked.get("inches") is True)[0]}
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
        "sheet": f"writing the bench sheet of {of}",
        "figure": f"drawing the figure of {of}",
        "templates": f"drawing templates of {of}",
        "design": f"designing a block about the models of {of}",
        "why": f"searching for what made {of} flash",
        "air": f"filling {of} with resin",
        "class": "writing a sheet for the class",
        "along": f"closing {of} over its length",
        "bands": f"counting the bands of {of}",
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


def _faults(error: BadInput, inches: bool) -> list[dict[str, Any]]:
    return [
        {
            "key": f.key,
            "words": key_in_words(f.key),
            "text": in_units([f.text], inches)[0],
            "line": f.line,
            "say": f.say(error.file),
        }
        for f in error.faults
    ]


def _close(asked: dict[str, Any], progress: Progress) -> dict[str, Any]:
    """Return how a mold closes.

    While a hand moves something the page asks with ``quick`` for a coarse answer; when it rests,
    with ``first`` for a fine one at small deformation, and then for the command line's own.
    """
    inches, quick = asked.get("inches") is True, asked.get("quick") is True
    fineness, final = QUICK if quick else 1.0, not quick and asked.get("first") is not True
    found = closed(mold_in(asked), None if final else fineness, inches, progress=progress)
    closing, verdict = found.closing, found.verdict
    said = as_json(closing, verdict, found.mold, whole=final) | {
        "fineness": fineness,
        "final": final,
        "solved": closing.outcome.has_answer,
        "large": closing.deformation.is_large,
        "small": _small(found, inches),
        "drawing": drawing(closing, _other(closing)),
    }
    said["table"] = plain_table(land_table(closing, verdict, inches), "Lands")
    said["tables"] = _more_tables(found, inches)
    said["remarks"] = remarks(found, inches) if final else []
    if asked.get("against") is not None:
        other = closed(mold_in(asked, "against"), None if final else fineness, inches)
        before, after = ((each.closing, each.verdict) for each in (other, found))
        said["difference"] = difference(before, after, inches)
    return said


def _other(closing: Closing) -> Closing | None:
    """Return the answer of small deformation, where `closing` is of large deformation."""
    small = closing.deformation.small
    return small if closing.deformation.is_large and small is not None and small.lands else None


def _small(found: ClosedMold, inches: bool) -> dict[str, Any] | None:
    """Return what small deformation says, and its drawing, where large deformation differs."""
    small = _other(found.closing)
    if small is None:
        return None
    said = as_json(small, judge(small, inches, found.mold), found.mold, whole=False)
    return said | {
        "solved": small.outcome.has_answer,
        "drawing": drawing(small, found.closing),
        "largest_gap_mm": max(land.largest_gap_mm for land in small.lands),
        "closed_share": float(
            sum(land.closed_share * land.length_mm for land in small.lands)
            / sum(land.length_mm for land in small.lands)
        ),
        "least_pressure_kpa": min(land.least_pressure_kpa for land in small.lands),
    }


def _more_tables(found: ClosedMold, inches: bool) -> list[dict[str, Any]]:
    """Return the tables of castings and seats, as far as there is something to show."""
    closing, verdict = found.closing, found.verdict
    if not closing.outcome.has_answer:
        return []
    made = [plain_table(castings(verdict, inches), "Castings")] if verdict.cavities else []
    return [*made, *([plain_table(seats(closing, inches), "Seats")] if closing.seats else [])]


def _sure(asked: dict[str, Any], progress: Progress) -> dict[str, Any]:
    """Return the verdict with how sure it is, which takes a dozen closings more."""
    inches = asked.get("inches") is True
    found = closed(mold_in(asked), inches=inches, sure=True, progress=progress)
    lines = [] if found.varied is None else variation_lines(found.varied, inches)
    variations = () if found.varied is None else found.varied.variations
    return {
        "verdict": as_json(found.closing, found.verdict, found.mold)["verdict"],
        "lines": in_units(lines, inches),
        "variations": [
            {
                "stiffness": each.stiffness,
                "friction": each.friction,
                "pull": each.pull,
                "solved": each.figures.solved,
                "seals": each.figures.seals,
                "grade": each.figures.grade,
            }
            for each in variations
        ],
    }


def _read(asked: dict[str, Any], progress: Progress) -> dict[str, Any]:
    text, name = asked.get("text"), asked.get("name")
    if not isinstance(text, str):
        raise Refused("There is no text to read.")
    return {"mold": dict_of(parse(text, name if isinstance(name, str) else None))}


def _open(asked: dict[str, Any], progress: Progress) -> dict[str, Any]:
    """Read the file the page was started with, and the drawings beside it; no request asks this."""
    return {"mold": dict_of(parse(asked["text"], asked["name"], Path(asked["folder"])))}


def _write(asked: dict[str, Any], progress: Progress) -> dict[str, Any]:
    """Return the mold as a file; over an older text what did not change stays as it is.

    `lost` are the comments of the older text that the new one cannot keep.
    """
    mold, before = mold_in(asked), asked.get("over")
    if not isinstance(before, str):
        return {"text": dump(mold), "lost": []}
    folder = asked.get("folder")
    text = rewritten(before, mold, Path(folder) if isinstance(folder, str) else None)
    return {"text": text, "lost": list(lost_comments(before, text))}


def _advise(asked: dict[str, Any], progress: Progress) -> dict[str, Any]:
    inches = asked.get("inches") is True
    advice = advise(mold_in(asked), progress=progress)
    found = [
        {
            "say": in_units([one.say], inches)[0],
            "figures": in_units([_effect(one, inches)], inches)[0],
            "mold": dict_of(one.mold),
        }
        for one in advice.changes
    ]
    say = (AT_A_PRICE, *advice.say) if advice.at_a_price else advice.say
    return {"list": found, "say": in_units(say, inches), "tried": advice.tried}


def _effect(change: Change, inches: bool) -> str:
    """Return what a change does, with what it makes worse."""
    harms = say_harms(change, inches)
    return f"{say_figures(change, inches)}. {harms}" if harms else say_figures(change, inches)


def _start(asked: dict[str, Any], progress: Progress) -> dict[str, Any]:
    taught, wrong = lessons()
    return {
        "squeeze": __version__,
        "lessons": [lesson.as_data() for lesson in taught],
        "no_lessons": wrong,
        "caution": CAUTION,
        "stock": list(SIZES),
        "materials": list(MATERIALS),
        "limits": limits(),
        "shapes": shape_figures(),
        "outlines": outlines(),
        "tints": {str(n): _hexes(n) for n in range(4, 9)},
        "start": dict_of(parse(start("Two pen barrels"))),
    }


def _hexes(count: int) -> list[str]:
    colours = (tint(k / (count - 1)) for k in range(count))
    return ["#" + bytes(round(255 * c) for c in rgb).hex() for rgb in colours]


def _loaded_when_asked(module: str, name: str) -> Deed:
    """Return a deed of another module of the page, which is loaded when it is first asked for.

    Drawing, paper and the search of designs take two seconds to load, and most answers need none.
    """

    def do(asked: dict[str, Any], progress: Progress) -> dict[str, Any]:
        return getattr(import_module(f"squeeze.page.{module}"), name)(asked, progress)

    return do


_DOES: dict[str, Deed] = {
    "close": _close,
    "sure": _sure,
    "advise": _advise,
    "read": _read,
    "open": _open,
    "write": _write,
    "start": _start,
    "sheet": _loaded_when_asked("paper.files", "sheet"),
    "figure": _loaded_when_asked("paper.files", "picture"),
    "templates": _loaded_when_asked("paper.files", "sawing"),
    "why": _loaded_when_asked("answers.causes", "flashed"),
    "air": _loaded_when_asked("answers.causes", "air"),
    "along": length.length_answer,
    "bands": length.bands,
    "design": _loaded_when_asked("answers.designing", "design"),
    "class": _loaded_when_asked("paper.class_sheet", "class_sheet"),
}
