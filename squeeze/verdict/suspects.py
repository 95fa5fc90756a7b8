"""What may have been wrong when a casting flashed, and the mold with that fault.

How much is usual, and the sources and judgements behind it: docs/why.md.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from squeeze.mold import Mold, mold_of, section_of
from squeeze.mold.faces import FACES
from squeeze.mold.file.mold_file import dict_of
from squeeze.mold.forces.band_sizes import SIZES
from squeeze.mold.rubber import SPREAD, material
from squeeze.solve.block import Block
from squeeze.verdict.place import TOUCH_MM
from squeeze.verdict.seal.land_graph import parts_of
from squeeze.verdict.words import length

FINENESS = 0.7
"""Of the mesh: coarse, for the question is which cause, not how many hundredths."""


@dataclass(frozen=True)
class Suspect:
    """One thing that may be off: how far it usually is, how far it is tried, what it changes."""

    kind: str
    usual: float
    most: float
    change: Callable[[float], Mold]
    say: Callable[[float], str]
    test: str


def suspects(mold: Mold, at: str, inches: bool = False) -> Iterator[Suspect]:
    """Yield what may be off, with how much is usual. Sources and judgements: docs/why.md.

    Parameters
    ----------
    mold : Mold
    at : str
        Name of the cavity whose casting flashed; empty for all.
    inches : bool
    """
    data = dict_of(mold)
    if mold.band:
        yield Suspect(
            "slack bands",
            0.2,
            0.8,
            lambda off: mold_of(data | {"band": [_weaker(band, 1 - off) for band in data["band"]]}),
            lambda off: f"Bands that pull {100 * off:.0f} % less than reckoned",
            "Hang a band on a scale, stretched as it is round the block, and read its pull.",
        )
    E = material(mold.rubber).youngs_modulus_mpa
    rubber = {k: v for k, v in data["rubber"].items() if k not in ("shore_a", "youngs_modulus_mpa")}
    yield Suspect(
        "soft rubber",
        SPREAD,
        0.7,
        lambda off: mold_of(
            data | {"rubber": rubber | {"youngs_modulus_mpa": max(0.05, E * (1 - off))}}
        ),
        lambda off: f"Rubber {100 * off:.0f} % softer than its hardness says",
        "Press a Shore A gauge on the cured block, in three places.",
    )
    if any(cut.coefficient for cut in mold.cut):
        yield Suspect(
            "slippery faces",
            0.5,
            1.0,
            lambda off: _cuts(mold, lambda cut: _slippery(cut, off)),
            lambda off: f"Faces that grip {100 * off:.0f} % less (release agent, talc)",
            "Put a drop of water on a face: it runs off release agent. Wipe it with alcohol.",
        )
    yield from _of_cuts(mold, at, inches)
    if mold.resin is not None:
        key = "head_mm" if mold.resin.head_mm is not None else "pressure_kpa"
        resin = data["resin"]
        yield Suspect(
            "head",
            0.3,
            4.0,
            lambda off: mold_of(data | {"resin": resin | {key: resin[key] * (1 + off)}}),
            lambda off: f"Resin that presses {_harder(off)} (a taller sprue)",
            "Measure from the casting up to the top of the liquid resin.",
        )


def _harder(off: float) -> str:
    """Say how much harder something presses that presses 1 + `off` times as hard.

    Examples
    --------
    >>> _harder(0.19), _harder(2.2)
    ('19 % harder', '3.2 times as hard')
    """
    return f"{100 * off:.0f} % harder" if off < 1 else f"{1 + off:.1f} times as hard"


def _of_cuts(mold: Mold, at: str, inches: bool) -> Iterator[Suspect]:
    places = _mouths(mold, at)
    yield Suspect(
        "gap",
        0.1,
        1.0,
        lambda off: _cuts(mold, lambda cut: _hollow(cut, places.get(cut["name"], ()), off)),
        lambda off: (
            f"A cut {length(off, inches)} out of true over {length(2 * WIDE_MM, inches)} beside the"
            " casting"
        ),
        "Close the block without bands and hold it against a lamp: does light come through?",
    )
    yield Suspect(
        "bow",
        0.2,
        2.0,
        lambda off: _cuts(mold, lambda cut: cut | {"bow_mm": cut.get("bow_mm", 0.0) + off}),
        lambda off: (
            f"Lands hollow by {length(off, inches)} in their middle (shrinkage, springy rubber)"
        ),
        "Lay a steel rule along a face of the cut: does it rock, or is there light under it?",
    )
    spans = _outer_halves(mold, at)
    if spans:
        yield Suspect(
            "film",
            0.1,
            1.0,
            lambda off: _cuts(
                mold,
                lambda cut: (
                    cut | {"film_mm": off, "film_at_mm": spans[cut["name"]]}
                    if cut["name"] in spans
                    else cut
                ),
            ),
            lambda off: (
                f"{length(off, inches)} of glue, old flash or dirt on a land beside the casting"
            ),
            "Run a fingertip along both faces; peel off what feels hard or shines.",
        )
    if any(len(cut.path_mm) > 2 for cut in mold.cut):
        yield Suspect(
            "shift",
            0.2,
            2.0,
            lambda off: _cuts(mold, lambda cut: _shifted(cut, off)),
            lambda off: (
                f"Pieces shifted {length(off, inches)} along the cut, so that its bends stand open"
            ),
            "Feel for a step across the parting line: a shift leaves one as large.",
        )


def _cuts(mold: Mold, change: Callable[[dict], dict]) -> Mold:
    data = dict_of(mold)
    return mold_of(data | {"cut": [change(cut) for cut in data["cut"]]})


def _weaker(band: dict, times: float) -> dict:
    """Return a band that pulls `times` as hard: a tension, or a count of bands of the same size."""
    for key in ("tension_n_per_mm", "tension_n"):
        if key in band:
            return band | {key: band[key] * times}
    if "stock" in band:
        size = SIZES[str(band["stock"])]
        own = {"width_mm": size.width_mm, "thickness_mm": size.thickness_mm}
        band = {k: v for k, v in band.items() if k != "stock"} | own
        band["flat_length_mm"] = size.flat_length_mm
    return band | {"width_mm": max(0.5, band["width_mm"] * times)}


def _slippery(cut: dict, off: float) -> dict:
    friction = FACES[cut["faces"]].friction if cut.get("faces") else cut.get("friction", 0.0)
    rest = {key: value for key, value in cut.items() if key != "faces"}
    return rest | {"friction": friction * (1 - off)}


WIDE_MM = 10.0
"""A cut out of true is hollow so far to both sides of its deepest place [mm]; a judgement."""

SAMPLES = 201
"""Places of a gap that is spread along a path."""


def _hollow(cut: dict, places: Sequence[float], off: float) -> dict:
    """Return a cut that is hollow round places of its path. An even gap would just close."""
    s, own = _gap_along(cut)
    away = np.abs(s[:, None] - np.array(places, float)).min(axis=1, initial=np.inf)
    return cut | {"gap_mm": [float(v) for v in own + off * np.clip(1 - away / WIDE_MM, 0, 1)]}


def _gap_along(cut: dict) -> tuple[np.ndarray, np.ndarray]:
    """Return places along a cut's path [mm] and the gap that it has there [mm]."""
    steps = np.diff(np.array(cut["path_mm"], float), axis=0)
    s = np.linspace(0.0, float(np.hypot(*steps.T).sum()), SAMPLES)
    given = np.resize(cut.get("gap_mm", 0.0), max(np.size(cut.get("gap_mm", 0.0)), 2))
    return s, np.interp(s / s[-1], np.linspace(0.0, 1.0, len(given)), given)


def _mouths(mold: Mold, at: str) -> dict[str, list[float]]:
    """Return, by cut, how far along its path it runs into the casting [mm]."""
    section = section_of(mold)
    loops = [c.loop for c in section.cavities if not at or c.name == at]
    found: dict[str, list[float]] = {}
    for cut in section.cuts:
        for stretch in cut.stretches:
            ends = np.array([stretch.points[0], stretch.points[-1]])
            length_mm = float(np.hypot(*np.diff(np.array(stretch.points), axis=0).T).sum())
            for k, s in enumerate((stretch.start_mm, stretch.start_mm + length_mm)):
                if any(float(loop.distances(ends[k : k + 1])[0]) < TOUCH_MM for loop in loops):
                    found.setdefault(cut.name, []).append(s)
    return found


def _shifted(cut: dict, off: float) -> dict:
    """Return a cut whose flanks stand open that a shift along it draws apart."""
    path = np.array(cut["path_mm"], float)
    steps = np.diff(path, axis=0)
    whole = path[-1] - path[0]
    along = whole / max(float(np.hypot(*whole)), 1e-9)
    lengths = np.hypot(*steps.T)
    leans = (along[0] * steps[:, 1] - along[1] * steps[:, 0]) / lengths
    s, own = _gap_along(cut)
    which = np.clip(np.searchsorted(np.cumsum(lengths), s), 0, len(lengths) - 1)
    opens = np.maximum(leans[which], 0.0) * off
    return cut | {"gap_mm": [float(v) for v in own + opens]}


def _outer_halves(mold: Mold, at: str) -> dict[str, list[float]]:
    """Return, by cut, the half of a land at the casting that lies away from it, along the path."""
    section = section_of(mold)
    closing = Block(mold, FINENESS).close(check=False)
    spans: dict[str, list[float]] = {}
    for part in parts_of(closing.lands, section):
        at_start, at_end = (
            node.kind == "cavity" and (not at or node.name == at) for node in (part.start, part.end)
        )
        if not at_start and not at_end:
            continue
        land = closing.lands[part.land]
        cut = next(c for c in section.cuts if c.name == land.cut)
        begin = cut.stretches[land.land].start_mm + float(part.s_mm[0])
        end, middle = begin + part.length_mm, begin + 0.5 * part.length_mm
        spans.setdefault(land.cut, [middle, end] if at_start else [max(begin, 0.0), middle])
    return spans
