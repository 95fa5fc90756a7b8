"""What numbers each key of a mold file takes, for the fields of the page."""

from __future__ import annotations

from typing import Any

from squeeze.mold import Mold


def limits() -> dict[str, dict[str, float]]:
    """Return ``{"block.bevel_mm": {"least": 0, "most": 500}, ...}`` for every number."""
    schema = Mold.model_json_schema()
    return dict(_numbers(schema, schema, ""))


def _numbers(part: dict[str, Any], whole: dict[str, Any], key: str) -> Any:
    for entry in (part, *part.get("anyOf", ())):
        if "$ref" in entry:
            yield from _numbers(whole["$defs"][entry["$ref"].rsplit("/", 1)[1]], whole, key)
        elif entry.get("type") in ("number", "integer") and "minimum" in entry:
            yield key, {"least": entry["minimum"], "most": entry["maximum"]}
        elif entry.get("type") == "array" and "items" in entry and key.count(".") < 3:
            yield from _numbers(entry["items"], whole, key)
        for name, inner in entry.get("properties", {}).items():
            yield from _numbers(inner, whole, f"{key}.{name}" if key else name)
