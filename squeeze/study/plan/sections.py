"""Sections: what of a mold decides its mesh and factor, and what is a load on them."""

from __future__ import annotations

from squeeze.study.records import Data

LOADS = ("title", "length_mm", "band", "push", "resin", "sprue", "vent", "model", "pot", "design")
"""Tables and keys that neither mesh nor factor depend on."""

SEAM = ("friction", "faces", "gap_mm")
"""Keys of a cut that neither mesh nor factor depend on."""


def is_load(key: str) -> bool:
    """Return whether a key can change without a new mesh or factor."""
    head, _, rest = key.partition(".")
    return head in LOADS or (head == "cut" and rest.rpartition(".")[2] in SEAM)


def section_of_case(data: Data) -> Data:
    """Return the tables `data` of a mold without what neither its mesh nor its factor depend on."""
    bare = {key: value for key, value in data.items() if key not in LOADS}
    if "cut" in bare:
        bare["cut"] = [{k: v for k, v in cut.items() if k not in SEAM} for cut in bare["cut"]]
    return bare | {"length_mm": 100.0}
