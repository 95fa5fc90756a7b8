"""Change one assumption at a time on two blocks of the pen barrels and say what the answer does.

    python studies/trust.py            # prints the tables of docs/trust.md: some minutes
    python studies/trust.py --write    # puts them into the page, between its marks

The square stands for a cut that gapes: its figure is the gap in the middle of the block. The round
block stands for one that closes: its figure is the mean pressure of the middle web.
"""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import squeeze
from squeeze.mold import mold_of
from squeeze.mold.rubber import gent

HERE = Path(__file__).parent
PAGE = HERE.parent / "docs" / "trust.md"
WEB = 2
"""The middle land of the five."""

COLD_K, WARM_K = 293.0, 313.0
"""20 and 40 degrees Celsius."""

Change = Callable[[dict[str, Any]], object]


def cases() -> Iterator[tuple[str, str, Change, str]]:
    """Yield the assumption, what is done instead, the change of the mold, and the deformation."""
    E = gent(20.0)
    yield "as computed", "-", lambda mold: None, "auto"
    yield "large deformation, neo-Hookean", "small strain", lambda mold: None, "small"
    yield "slippery faces", "friction 0.1", cut_key("friction", 0.1), "auto"
    yield "slippery faces", "friction 0.3", cut_key("friction", 0.3), "auto"
    yield "slippery faces", "friction 0.5", cut_key("friction", 0.5), "auto"
    yield "bands slide", "bands rub with 0.3", lambda m: m["band"][0].update(friction=0.3), "auto"
    yield "no creep of the bands", "they pull 20 % less", pull(0.8), "auto"
    yield "no creep of the rubber", "a modulus 25 % lower", modulus(0.75 * E), "auto"
    yield "hardness tells the modulus", "25 % higher", modulus(1.25 * E), "auto"
    yield "20 °C", "40 °C: a modulus 7 % higher", modulus(E * WARM_K / COLD_K), "auto"
    yield "no set", "faces bowed by 0.2 mm", cut_key("bow_mm", 0.2), "auto"
    yield "cut faces true", "0.1 mm of old flash", cut_key("film_mm", [0, 0.1, 0, 0, 0]), "auto"


def cut_key(key: str, value: object) -> Change:
    """Return what gives the one cut another figure."""
    return lambda mold: mold["cut"][0].update({key: value})


def modulus(youngs_modulus_mpa: float) -> Change:
    """Return what gives the rubber another modulus."""
    return lambda mold: mold.update(rubber={"youngs_modulus_mpa": youngs_modulus_mpa})


def pull(share: float) -> Change:
    """Return what lets the bands pull a share of what they do as they lie on the unloaded block."""

    def change(mold: dict[str, Any]) -> None:
        wrap = squeeze.close(mold_of(mold), fineness=0.5, deformation="small").wrap
        assert wrap is not None
        mold["band"] = [{"tension_n_per_mm": share * wrap.tension_n_per_mm}]

    return change


def first_table() -> list[str]:
    """Return the lines of the table of assumptions."""
    lines = [
        "| assumed | tried instead | square: gap in the middle [mm] | outer land [kPa] "
        "| round: middle web [kPa] | grade of the round |",
        "| --- | --- | --- | --- | --- | --- |",
    ]
    for assumed, instead, change, deformation in cases():
        square, _ = closed("barrels", change, deformation)
        round_, grade = closed("barrels-round", change, deformation)
        gap, outer = square.lands[WEB].largest_gap_mm, square.lands[0].mean_pressure_kpa
        web = round_.lands[WEB].mean_pressure_kpa
        lines.append(
            f"| {assumed} | {instead} | {_short(gap)} | {outer:.0f} | {web:.1f} | {grade} |"
        )
    return lines


def _short(value: float) -> str:
    """Return two figures of a gap, 0 below a micrometre."""
    return "0" if value < 0.001 else f"{value:.2g}"


def closed(name: str, change: Change, deformation: str) -> tuple[squeeze.Closing, str]:
    """Return a changed mold's closing and its grade."""
    data = squeeze.load(HERE / "barrels" / f"{name}.toml").model_dump(exclude_unset=True)
    change(data)
    mold = mold_of(data)
    closing = squeeze.close(mold, deformation=deformation)
    return closing, str(squeeze.judge(closing, mold=mold).grade)


def second_table() -> list[str]:
    """Return the lines of the table of single bands: the length that plane strain leaves out."""
    mold = squeeze.load(HERE / "barrels" / "barrels-round.toml")
    section = squeeze.close(mold, deformation="small")
    assert section.wrap is not None
    pull_n = section.wrap.tension_n_per_mm * mold.length_mm
    block = squeeze.LongBlock(mold)
    lines = [
        "| bands, of the same pull together | least over mean along the block: middle web "
        "| outer lip |",
        "| --- | --- | --- |",
    ]
    for count in (2, 4, 8):
        places = squeeze.even_places(count, mold.length_mm)
        bands = [squeeze.BandAt(z, pull_n / count, 12.7) for z in places]
        closing = block.close(bands)
        web, lip = closing.lands[WEB].ripple(), closing.lands[0].ripple()
        lines.append(f"| {count} | {web.min():.2f} | {lip[0]:.2f} |")
    return lines


def main() -> None:
    """Print the tables, or write them into the page."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--write", action="store_true", help="put them into docs/trust.md")
    given = parser.parse_args()
    tables = {"assumptions": first_table(), "length": second_table()}
    for name, lines in tables.items():
        print(*lines, "", sep="\n")
        if given.write:
            text = PAGE.read_text(encoding="utf-8")
            marked = re.compile(rf"(<!-- {name} -->\n).*?(\n<!-- end of {name} -->)", re.DOTALL)
            made = marked.sub(lambda found, made=lines: found[1] + "\n".join(made) + found[2], text)
            PAGE.write_text(made, encoding="utf-8")


if __name__ == "__main__":
    main()
