"""What each key of a mold file takes, read off its tables for the fields of the page."""

from __future__ import annotations

from typing import Any

from squeeze.mold import Mold
from squeeze.mold.shapes.registry import SHAPES

ON_CORNERS = ("bevel_mm", "round_mm")


def limits() -> dict[str, dict[str, float]]:
    """Return what each number may be, and what it is when it is not given.

    Examples
    --------
    >>> limits()["block.bevel_mm"]
    {'least': 0, 'most': 500, 'otherwise': 0.0}
    """
    schema = Mold.model_json_schema()
    return dict(_numbers(schema, schema, ""))


def shape_figures() -> dict[str, list[str]]:
    """Return the figures that each shape takes, those of its corners last.

    Examples
    --------
    >>> shape_figures()["square"]
    ['width_mm', 'bevel_mm', 'round_mm']
    """
    return {
        kind.word: [*kind.keys, *(ON_CORNERS if kind.has_corners else ())]
        for kind in SHAPES.values()
    }


def _numbers(part: dict[str, Any], whole: dict[str, Any], key: str) -> Any:
    for entry in (part, *part.get("anyOf", ())):
        if "$ref" in entry:
            yield from _numbers(whole["$defs"][entry["$ref"].rsplit("/", 1)[1]], whole, key)
        elif entry.get("type") in ("number", "integer") and "minimum" in entry:
            usual = part.get("default")
            more = {} if usual is None else {"otherwise": usual}
            yield key, {"least": entry["minimum"], "most": entry["maximum"]} | more
        elif entry.get("type") == "array" and "items" in entry and key.count(".") < 3:
            yield from _numbers(entry["items"], whole, key)
        for name, inner in entry.get("properties", {}).items():
            yield from _numbers(inner, whole, f"{key}.{name}" if key else name)
