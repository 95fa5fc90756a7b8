"""The work behind `squeeze bands`: searching with progress, telling, writing."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from pathlib import Path

from rich.console import Console

from squeeze.mold import Mold, load
from squeeze.show.start import CAUTION
from squeeze.show.text.bands import bands_json, bands_table
from squeeze.show.write import Writers, check_places, write_all
from squeeze.verdict.bands.plan import BandPlan, plan_bands
from squeeze.verdict.bands.sentences import BandsSaid, say_plan

WIDTH = 100


@dataclass(frozen=True)
class Wish:
    """What was asked for on the command line."""

    mold: Path
    figure: Path | None = None
    json: Path | None = None
    stock: bool = False
    strict: bool = False
    inches: bool = False


def run_bands(wish: Wish) -> int:
    """Find, tell and write; return the exit status."""
    check_places([path for path in (wish.figure, wish.json) if path], wish.mold)
    mold = load(wish.mold)
    plan = _planned(mold, wish.stock)
    said = say_plan(plan, wish.inches)
    write_all(_writers(wish, plan, said))
    _tell(plan, said, wish.inches)
    return 1 if wish.strict and not (plan.nothing_cut or plan.best) else 0


def _planned(mold: Mold, stock: bool) -> BandPlan:
    console = Console(stderr=True)
    with console.status("Counting bands ...") as status:
        return plan_bands(
            mold, stock, say=lambda text: status.update(f"Counting bands: {text} ...")
        )


def _writers(wish: Wish, plan: BandPlan, said: BandsSaid) -> Writers:
    writers = {}
    if wish.json is not None:
        writers[wish.json] = lambda part: part.write_text(bands_json(plan, said), encoding="utf-8")
    if wish.figure is not None and plan.shown is not None and not plan.nothing_cut:
        form = wish.figure.suffix[1:].lower()
        writers[wish.figure] = lambda part: _draw(part, form, plan, said, wish.inches)
    return writers


def _draw(part: Path, form: str, plan: BandPlan, said: BandsSaid, inches: bool) -> None:
    from squeeze.show.figure.bands import bands_figure
    from squeeze.show.figure.closing import save

    save(bands_figure(plan, said, inches), part, form)


def _tell(plan: BandPlan, said: BandsSaid, inches: bool) -> None:
    screen = Console(highlight=False)
    screen.width = min(screen.width, WIDTH) if screen.is_terminal else WIDTH
    say = partial(screen.print, markup=False, soft_wrap=not screen.is_terminal)
    say(said.say, style="bold")
    for line in said.lines:
        say(line)
    if not plan.nothing_cut and plan.shown is not None:
        screen.print()
        screen.print(bands_table(plan, inches))
        say("Ripple: least over mean pressure along the block; 1 = even, 0 = opens between bands.")
    for line in (*said.remarks, CAUTION):
        say(line)
