"""Random molds, as the tables of a mold file: as casters draw them, a little off, and hostile.

A mold follows from seed and number alone.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np

Table = dict[str, Any]
Point = list[float]

SMALLEST_MM, LARGEST_MM = 5.0, 2000.0
OFF_MM = (1e-12, 1e-9, 1e-6, 1e-3, 0.05, 0.5)
NAMES = (
    "barrel",
    "[bold]x",
    "$\\frac{$",
    "<b>&amp;",
    '"quoted"',
    "\u05d0\u05d1 \u0627",
    "🦊",
    "%s{}",
)


class Dice:
    """Chance, with words for what the makers of molds ask of it."""

    def __init__(self, *seed: int):
        self._rng = np.random.default_rng(seed)

    def pick(self, *of: Any) -> Any:
        """Return one of several things, each as likely."""
        return of[int(self._rng.integers(len(of)))]

    def chance(self, share: float) -> bool:
        """Say yes in `share` of all cases."""
        return bool(self._rng.random() < share)

    def number(self, low: float, high: float) -> float:
        """Return a number as people type it; now and then with all its digits."""
        value = float(self._rng.uniform(low, high))
        return value if self.chance(0.1) else round(value, 2 if high - low < 3 else 1)

    def spread(self, low: float, high: float) -> float:
        """Return a number with every order of magnitude as likely."""
        return float(f"{math.exp(self._rng.uniform(math.log(low), math.log(high))):.4g}")

    def whole(self, low: int, high: int) -> int:
        """Return a whole number; both ends may come."""
        return int(self._rng.integers(low, high + 1))

    def off(self) -> float:
        """Return a distance [mm] that is next to nothing, to either side."""
        return self.pick(-1, 1) * self.pick(*OFF_MM)


def mold(seed: int, number: int) -> Table:
    """Return the tables of one mold.

    Parameters
    ----------
    seed, number : int
    """
    dice = Dice(seed, number)
    hostile = dice.chance(0.4)
    size = (
        dice.spread(SMALLEST_MM, LARGEST_MM)
        if hostile or dice.chance(0.2)
        else dice.number(40, 200)
    )
    outline, wide, high = _outline(dice, size, hostile)
    cavities, row = _cavities(dice, wide, high, hostile)
    tables: Table = {
        "title": dice.pick(*NAMES) if dice.chance(0.1) else f"seed {seed}, number {number}",
        "length_mm": dice.number(20, 300),
        "rubber": _rubber(dice),
        "block": outline,
        "cavity": cavities,
        "cut": _cuts(dice, wide, high, row, hostile),
    }
    tables |= _loads(dice, wide, high)
    if dice.chance(0.4):
        tables["cradle"] = _cradles(dice, wide, high)
    if dice.chance(0.2):
        tables["filler"] = [_filler(dice, wide, high) for _ in range(dice.whole(1, 2))]
    if dice.chance(0.1):
        tables["pot"] = {"bore_mm": dice.number(100, 400), "depth_mm": dice.number(100, 400)}
    if dice.chance(0.05):
        tables["station"] = _stations(dice, tables, size)
    if dice.chance(0.02):
        _spoil(dice, tables)
    return tables


def _rubber(dice: Dice) -> Table:
    if dice.chance(0.5):
        return {"shore_a": dice.number(5, 80)}
    rubber = {"youngs_modulus_mpa": dice.spread(0.05, 50)}
    if dice.chance(0.7):
        rubber["poisson"] = dice.pick(0.0, 0.3, 0.45, 0.49, 0.499, 0.4999, 0.49999)
    elif dice.chance(0.5):
        rubber["bulk_modulus_mpa"] = dice.spread(100, 5000)
    return rubber


def _friction(dice: Dice) -> float:
    return dice.pick(0.0, 0.0, 0.05, 0.3, 0.3, 0.5, 1.0, 2.0, dice.number(0, 2))


# ---- outlines


def _outline(dice: Dice, size: float, hostile: bool) -> tuple[Table, float, float]:
    """Return the block's table, its width and its height."""
    named = min(size, 1000.0)  # what a width may be; drawn ones go further
    kind = dice.pick("round", "square", "rectangle", "oval", "drawn")
    wide, high = named, named
    if kind in ("rectangle", "oval"):
        high = round(named * dice.number(0.1 if hostile else 0.4, 1.0), 2)
    table: Table = {"shape": kind}
    if kind == "round":
        table["diameter_mm"] = wide
    elif kind == "square":
        table["width_mm"] = wide
    elif kind in ("rectangle", "oval"):
        table |= {"width_mm": wide, "height_mm": high}
    else:
        named = min(size, 1990.0)
        points = dice.pick(*(HOSTILE_OUTLINES if hostile else OUTLINES))(dice, named / 2)
        table = {"points_mm": points}
        wide, high = (2 * max(abs(p[axis]) for p in points) for axis in (0, 1))
    if kind in ("square", "rectangle") or hostile:
        table |= _corners(dice, min(wide, high)) if kind not in ("round", "oval") else {}
    return table, wide, high


def _corners(dice: Dice, size: float) -> Table:
    table: Table = {}
    if dice.chance(0.5):
        table["bevel_mm"] = round(size * dice.pick(0.0, 0.025, 0.1, 0.2, 0.3, 0.5), 2)
    if dice.chance(0.3):
        table["round_mm"] = dice.pick(0.0, 0.01, 0.5, round(0.02 * size, 2), round(0.5 * size, 2))
    return table


def _polygon(dice: Dice, half: float) -> list[Point]:
    return _radial([half] * dice.whole(3, 12), dice.pick(0.0, 0.5))


def _egg(dice: Dice, half: float) -> list[Point]:
    return _radial([half * (1 + 0.15 * math.cos(2 * math.pi * k / 60)) for k in range(60)], 0.0)


def _hollow(dice: Dice, half: float) -> list[Point]:
    return _radial([half * dice.number(0.3, 1.0) for _ in range(dice.whole(3, 9))], 0.0)


def _angle(dice: Dice, half: float) -> list[Point]:
    h, w = half, half * dice.number(0.1, 1.5)
    return [[-h, -h], [h, -h], [h, h - w], [h - w, h - w], [h - w, h], [-h, h]]


def _channel(dice: Dice, half: float) -> list[Point]:
    h, w = half, half * dice.number(0.05, 0.6)
    return [[-h, -h], [h, -h], [h, h], [w, h], [w, -h / 2], [-w, -h / 2], [-w, h], [-h, h]]


def _star(dice: Dice, half: float) -> list[Point]:
    return _radial([half, half * dice.number(0.1, 0.9)] * dice.whole(3, 8), 0.0)


def _nearly_straight(dice: Dice, half: float) -> list[Point]:
    off = dice.off()
    return [
        [-half, -half],
        [0.0, -half + off],
        [half, -half],
        [half, half],
        [off, half],
        [-half, half],
    ]


def _twisted(dice: Dice, half: float) -> list[Point]:
    points = _hollow(dice, half)
    i, j = dice.whole(0, len(points) - 1), dice.whole(0, len(points) - 1)
    points[i], points[j] = points[j], points[i]
    return points


def _repeated(dice: Dice, half: float) -> list[Point]:
    points = _polygon(dice, half)
    again = [points[0][0] + dice.off(), points[0][1]]
    return [*points, again]


def _radial(radii: list[float], turned: float) -> list[Point]:
    """Points at even angles: an outline that may be hollow but never crosses itself."""
    step = 2 * math.pi / len(radii)
    angles = [(k + turned) * step for k in range(len(radii))]
    return [
        [round(r * math.cos(a), 4), round(r * math.sin(a), 4)]
        for r, a in zip(radii, angles, strict=True)
    ]


OUTLINES: tuple[Callable[[Dice, float], list[Point]], ...] = (_polygon, _egg, _hollow, _angle)
HOSTILE_OUTLINES = (*OUTLINES, _channel, _star, _nearly_straight, _twisted, _repeated)


# ---- cavities


def _cavities(
    dice: Dice, wide: float, high: float, hostile: bool
) -> tuple[list[Table], list[Point]]:
    """Return the cavities and the places of their middles, or the middle of the block."""
    count = dice.pick(0, 1, 1, 2, 2, 3, 4, 4, 5, 6, 8)
    place = dice.pick(_in_a_row, _in_a_row, _in_a_grid, _anywhere if hostile else _in_a_row)
    room = 0.7 * min(wide, high) / (max(count, 2) + 1)
    if place is _in_a_grid:
        room *= 1.5
    tables = [_cavity(dice, room) | {"centre_mm": p} for p in place(dice, count, wide, high)]
    if tables and hostile and dice.chance(0.5):
        dice.pick(_touching, _leaving)(dice, tables, wide)
    if dice.chance(0.1):
        for entry, name in zip(tables, NAMES, strict=False):
            entry["name"] = name
    return tables, [entry["centre_mm"] for entry in tables] or [[0.0, 0.0]]


def _cavity(dice: Dice, room: float) -> Table:
    size = max(round(room * dice.number(0.2, 0.9), 2), 0.5)
    flat = max(round(size * dice.number(0.2, 1.0), 2), 0.5)
    kind = dice.pick("round", "round", "oval", "square", "rectangle", "drawn", "turned")
    if kind == "round":
        return {"shape": kind, "diameter_mm": size}
    if kind == "square":
        return {"shape": kind, "width_mm": size} | _corners(dice, size)
    if kind == "drawn":
        return {"points_mm": dice.pick(*OUTLINES)(dice, size / 2)}
    wide, high = (flat, size) if kind == "turned" else (size, flat)
    shape = "oval" if kind == "turned" else kind
    return {"shape": shape, "width_mm": wide, "height_mm": high}


def _in_a_row(dice: Dice, count: int, wide: float, high: float) -> list[Point]:
    y, pitch = round(high * dice.number(-0.15, 0.15), 1), 0.8 * wide / (count + 1)
    return [[round(pitch * (k + 1) - 0.4 * wide, 2), y] for k in range(count)]


def _in_a_grid(dice: Dice, count: int, wide: float, high: float) -> list[Point]:
    columns = math.ceil(math.sqrt(count)) if count else 1
    rows = math.ceil(count / columns)
    return [
        [
            round(wide * (0.8 * (k % columns + 1) / (columns + 1) - 0.4), 2),
            round(high * (0.8 * (k // columns + 1) / (rows + 1) - 0.4), 2),
        ]
        for k in range(count)
    ]


def _anywhere(dice: Dice, count: int, wide: float, high: float) -> list[Point]:
    far = dice.pick(0.3, 0.3, 0.6)
    return [[wide * dice.number(-far, far), high * dice.number(-far, far)] for _ in range(count)]


def _touching(dice: Dice, tables: list[Table], wide: float) -> None:
    """Put a cavity against the first one, or a little off."""
    x, y = tables[0]["centre_mm"]
    size = tables[0].get("diameter_mm") or tables[0].get("width_mm") or wide / 10
    gap = dice.pick(0.0, dice.off())
    tables.append({"shape": "round", "diameter_mm": size, "centre_mm": [x + size + gap, y]})


def _leaving(dice: Dice, tables: list[Table], wide: float) -> None:
    """Put the last cavity at the outline: across it, touching it, or a little off."""
    size = tables[-1].get("diameter_mm") or tables[-1].get("width_mm") or wide / 10
    inside = dice.pick(0.0, size / 2, size / 2 + dice.off(), size, -size)
    tables[-1]["centre_mm"] = [wide / 2 - inside, tables[-1]["centre_mm"][1]]


# ---- cuts


def _cuts(dice: Dice, wide: float, high: float, row: list[Point], hostile: bool) -> list[Table]:
    count = dice.pick(0, 1, 1, 1, 1, 2, 2, 3)
    paths: list[list[Point]] = []
    for k in range(count):
        usual = (_through, _through, _to_a_cavity, _keyed, _upright)
        odd = (_near, _tee, _anyhow, _short_of_the_edge, _grazing)
        again = (_to_a_cavity, _keyed, _upright, _upright)
        first = (*usual, *odd) if hostile else usual
        make = dice.pick(*first) if k == 0 else dice.pick(*again, *odd)
        paths.append(make(dice, wide, high, row, paths))
    return [_cut(dice, path) for path in paths]


def _cut(dice: Dice, path: list[Point]) -> Table:
    cut: Table = {"path_mm": path, "friction": _friction(dice)}
    if dice.chance(0.25):
        cut["gap_mm"] = dice.pick(0.1, 1.0, dice.off() ** 2, [0.3, 0.0, 0.3], [0.0, 0.2, 0.0, 0.0])
    if dice.chance(0.1):
        cut["bow_mm"] = dice.pick(0.05, 0.5, 2.0)
    if dice.chance(0.05):
        cut["along_mm"] = [0.0, dice.number(5, 20)]
    return cut


Paths = list[list[Point]]


def _through(dice: Dice, wide: float, high: float, row: list[Point], before: Paths) -> list[Point]:
    """Cut across the block through the first cavities, level or tilted."""
    y, far = row[0][1], dice.pick(0.5, 0.5, 0.6, 1.0) * wide
    tilt = dice.pick(0.0, 0.0, dice.off(), 0.05 * high)
    return [[-far, y - tilt], [far, y + tilt]]


def _upright(dice: Dice, wide: float, high: float, row: list[Point], before: Paths) -> list[Point]:
    x = dice.pick(*row)[0] + dice.pick(0.0, 0.0, dice.off())
    return [[x, -0.6 * high], [x + dice.pick(0.0, dice.off(), 0.03 * wide), 0.6 * high]]


def _to_a_cavity(
    dice: Dice, wide: float, high: float, row: list[Point], before: Paths
) -> list[Point]:
    end = [dice.pick(-1, 1) * dice.number(0, 0.8) * wide, dice.pick(-1, 1) * 0.8 * high]
    return [end, list(dice.pick(*row))]


def _keyed(dice: Dice, wide: float, high: float, row: list[Point], before: Paths) -> list[Point]:
    """Cut with steps or teeth on either side of the cavities, as keys."""
    y, key = row[0][1], dice.number(0.01, 0.08) * wide
    foot = key + dice.pick(0.0, 0.5 * key, -0.3 * key)
    x = -0.45 * wide
    teeth = [[x, y], [x + foot - key, y + key], [x + foot, y + key], [x + 2 * foot - key, y]]
    if dice.chance(0.5):
        teeth = [*teeth, *([-p[0], p[1]] for p in reversed(teeth))]
    return [[-0.7 * wide, y], *teeth, [0.7 * wide, y]]


def _near(dice: Dice, wide: float, high: float, row: list[Point], before: Paths) -> list[Point]:
    """Cut next to the one before, nearly parallel."""
    if not before:
        return _through(dice, wide, high, row, before)
    return [[x + dice.pick(0.0, dice.off()), y + dice.off()] for x, y in before[-1]]


def _tee(dice: Dice, wide: float, high: float, row: list[Point], before: Paths) -> list[Point]:
    """Cut that ends on the one before, or micrometres off."""
    if not before:
        return _upright(dice, wide, high, row, before)
    (a, b), (c, d) = before[-1][0], before[-1][-1]
    r = dice.pick(0.5, dice.number(0.1, 0.9), 0.0)
    foot = [
        a + r * (c - a) + dice.pick(0.0, dice.off()),
        b + r * (d - b) + dice.pick(0.0, dice.off()),
    ]
    return [foot, [foot[0] + dice.pick(0.0, 0.3, 1.0) * wide, dice.pick(-1, 1) * 0.8 * high]]


def _anyhow(dice: Dice, wide: float, high: float, row: list[Point], before: Paths) -> list[Point]:
    return [
        [wide * dice.number(-0.6, 0.6), high * dice.number(-0.6, 0.6)]
        for _ in range(dice.whole(2, 5))
    ]


def _short_of_the_edge(
    dice: Dice, wide: float, high: float, row: list[Point], before: Paths
) -> list[Point]:
    y, short = row[0][1], dice.pick(0.0, dice.off(), 0.99, 1.01)
    return [[-wide / 2 + short, y], [dice.pick(wide / 2 - short, 0.3 * wide), y]]


def _grazing(dice: Dice, wide: float, high: float, row: list[Point], before: Paths) -> list[Point]:
    """Cut that passes along a cavity's side, or along the outline."""
    y = dice.pick(high / 2, row[0][1] + 0.1 * high) - dice.pick(0.0, abs(dice.off()))
    return [[-0.6 * wide, y], [0.6 * wide, y]]


# ---- loads


def _loads(dice: Dice, wide: float, high: float) -> Table:
    loads: Table = {}
    if dice.chance(0.85):
        loads["band"] = [_band(dice, wide, high) for _ in range(dice.pick(1, 1, 1, 2))]
    if dice.chance(0.15):
        loads["push"] = _pushes(dice, wide, high)
    if dice.chance(0.4):
        loads["resin"] = _resin(dice)
    return loads


def _band(dice: Dice, wide: float, high: float) -> Table:
    band: Table = dice.pick(
        {"stock": dice.pick("16", "33", "64", "84", "107")},
        {"width_mm": 6, "thickness_mm": 1, "flat_length_mm": dice.number(20, 200)},
        {"tension_n": dice.spread(0.1, 200)},
        {"tension_n_per_mm": dice.spread(0.001, 10)},
    )
    if "tension_n_per_mm" not in band:
        band |= dice.pick({"count": dice.whole(0, 12)}, {"at_mm": [3.0, 10.0, 19.0]})
    if dice.chance(0.2):
        band["friction"] = _friction(dice)
    if dice.chance(0.1):
        band["pulled_at_mm"] = [wide * dice.number(-0.6, 0.6), high * dice.number(-0.6, 0.6)]
    return band


def _pushes(dice: Dice, wide: float, high: float) -> list[Table]:
    if dice.chance(0.4):
        return [{"pressure_kpa": dice.spread(0.1, 200)}]
    pad = {"width_mm": max(round(0.2 * high, 1), 0.5), "force_n_per_mm": dice.spread(0.01, 10)}
    y = dice.pick(0.0, round(0.1 * high, 1))
    sides = [{"at_mm": [-wide / 2, y]} | pad, {"at_mm": [wide / 2, y]} | pad]
    return sides[: dice.pick(1, 2, 2, 2)]


def _resin(dice: Dice) -> Table:
    resin: Table = dice.pick(
        {"head_mm": dice.spread(1, 3000)}, {"pressure_kpa": dice.spread(0.01, 100)}
    )
    if dice.chance(0.3):
        resin["enters_cuts"] = dice.chance(0.5)
    if dice.chance(0.3):
        resin |= {"viscosity_mpa_s": dice.spread(1, 10000), "pot_life_min": dice.number(1, 60)}
    if "head_mm" in resin and dice.chance(0.2):
        resin["standing"] = True
    return resin


# ---- cradles, fillers, stations


def _cradles(dice: Dice, wide: float, high: float) -> list[Table]:
    kind = dice.pick("boards", "boards", "full", "full", "saddle", "drawn", "mixed")
    size = min(wide, high)
    if kind == "boards":
        sides = dice.pick(("top",), ("top", "bottom"), ("left", "right"), SIDES)
        back = _back(dice, size, True)
        return [{"covers": side} | back | _stuff(dice) | _seat(dice) for side in sides]
    if kind == "full":
        full: Table = {"covers": "all", "pieces": dice.whole(2, 4)}
        full["apart_mm"] = dice.pick(0.0, 1.0, 4.0, round(0.1 * size, 1))
        if dice.chance(0.3):
            full["joint_deg"] = dice.number(0, 180)
        return [full | _back(dice, size, False) | _stuff(dice) | _seat(dice)]
    if kind == "saddle":
        begin = dice.number(-180, 180)
        span = {"from_deg": begin, "to_deg": round(begin + dice.number(10, 300), 1)}
        return [span | _back(dice, size, False) | _stuff(dice) | _seat(dice)]
    if kind == "drawn":
        w, top, thick = 0.4 * wide, high / 2, 0.15 * size
        low = top - dice.pick(0.0, 0.0, dice.off(), thick)
        points = [[-w, low], [w, low], [w, top + thick], [-w, top + thick]]
        return [{"points_mm": points} | _stuff(dice) | _seat(dice)]
    board = {"covers": "top"} | _back(dice, size, True) | _stuff(dice)
    over = {"from_deg": 45.0, "to_deg": 135.0} | _back(dice, size, False) | _stuff(dice)
    return [board, over]


SIDES = ("top", "bottom", "left", "right")


def _back(dice: Dice, size: float, board: bool) -> Table:
    thick = max(round(size * dice.number(0.03, 0.4), 1), 1.0)
    back: Table = {"thickness_mm": thick, "back": dice.pick("flat", "round", "round")}
    if board and back["back"] == "round" and dice.chance(0.5):
        back["rise_mm"] = max(round(thick * dice.number(0.1, 1.2), 1), 0.1)
    elif board and back["back"] == "round" and dice.chance(0.3):
        back["back_radius_mm"] = max(round(size * dice.number(0.4, 4), 1), 1.0)
    if board and dice.chance(0.2):
        back["width_mm"] = max(round(size * dice.number(0.2, 1.5), 1), 2.0)
    if dice.chance(0.2):
        back["round_mm"] = dice.pick(0.0, 1.0, 5.0)
    return back


def _stuff(dice: Dice) -> Table:
    if dice.chance(0.7):
        names = ("soft foam", "rigid foam", "plywood", "MDF", "plaster", "printed plastic")
        stuff: Table = {"material": dice.pick(*names)}
    else:
        stuff = {
            "youngs_modulus_mpa": dice.spread(0.05, 1e6),
            "poisson": dice.pick(0.0, 0.3, 0.499),
        }
    return stuff | ({"friction": _friction(dice)} if dice.chance(0.6) else {})


def _seat(dice: Dice) -> Table:
    return dice.pick(
        {},
        {},
        {"seat": "flat"},
        {"crown_mm": dice.number(-2, 2)},
        {"loose_mm": dice.number(0, 2)},
        {"gap_mm": [0.5, 0.0, 0.5]},
    )


def _filler(dice: Dice, wide: float, high: float) -> Table:
    size = max(round(min(wide, high) * dice.number(0.05, 0.5), 1), 0.5)
    shape: Table = dice.pick(
        {"shape": "round", "diameter_mm": size},
        {"shape": "square", "width_mm": size},
        {"shape": "rectangle", "width_mm": size, "height_mm": max(round(size / 3, 1), 0.5)},
    )
    at = [round(wide * dice.number(-0.5, 0.5), 1), round(high * dice.number(-0.5, 0.5), 1)]
    stiff = dice.pick(
        {"shore_a": dice.number(5, 80)}, {"youngs_modulus_mpa": dice.spread(0.05, 50)}
    )
    return shape | {"centre_mm": at} | stiff


def _stations(dice: Dice, tables: Table, size: float) -> list[Table]:
    end = tables["length_mm"]
    return [
        {"at_mm": 0.0},
        {"at_mm": round(end / 2, 2), "block": {"shape": "round", "diameter_mm": min(size, 1000.0)}},
        {"at_mm": end, "cavity": []},
    ]


def _spoil(dice: Dice, tables: Table) -> None:
    """Put something into one table that no mold file may hold."""
    table = dice.pick(tables, tables["rubber"], tables["block"], *tables["cut"])
    key = dice.pick(*table)
    table[key] = dice.pick(-1.0, float("nan"), float("inf"), "", [], {}, True, 1e300, [[1, "a"]])
