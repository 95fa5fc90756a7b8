"""Close the blocks of two stories: write docs/pictures/*.png and print their tables."""

from pathlib import Path

from squeeze import Closing, judge, load
from squeeze.show.figure.closing import pressure_levels, save
from squeeze.show.figure.outlines import gap_factor
from squeeze.show.figure.thumbnails import small
from squeeze.solve import refined

HERE = Path(__file__).parent
PICTURES = HERE.parent / "docs" / "pictures"
OUTLINES = {"square": "", "beveled": "-beveled", "round": "-round"}
LANDS = {"wide": ("outer lands", "web"), "barrels": ("outer lands", "webs next", "middle web")}
FRICTIONS = (0.0, 0.1, 0.3, 0.5, 1.0)


def main() -> None:
    """Draw each story on one pressure scale and one multiple of the gaps; print its tables."""
    PICTURES.mkdir(exist_ok=True)
    for story, lands in LANDS.items():
        molds = {name: load(HERE / story / f"{story}{end}.toml") for name, end in OUTLINES.items()}
        found = {name: refined(mold) for name, mold in molds.items()}
        closings = {name: each.closing for name, each in found.items()}
        levels = pressure_levels(list(closings.values()))
        gaps = gap_factor(list(closings.values()))
        for name, closing in closings.items():
            drawn = small([(closing, judge(closing))], levels, gaps)
            save(drawn, PICTURES / f"{story}-{name}.png", "png")
        print(*heading("outline", "tension, N/mm", *lands), sep="\n")
        for name, closing in closings.items():
            print(row(name, closing, len(lands)))
        print(*heading("square, friction", "tension, N/mm", *lands), sep="\n")
        block = found["square"].block
        for friction in FRICTIONS:
            closing = block.close(friction=friction, deformation="auto")
            print(row(f"{friction:g}", closing, len(lands)))


def heading(*cells: str) -> tuple[str, str]:
    """Return the two lines over a table."""
    return f"| {' | '.join(cells)} |", f"| {' | '.join('---' for _ in cells)} |"


def row(name: str, closing: Closing, lands: int) -> str:
    """Return a line of a table; the section is symmetric, so its left half is told."""
    assert closing.wrap is not None
    tension = f"{closing.wrap.tension_n_per_mm:.2f}"
    cells = [
        f"{land.closed_share:.0%} closed, mean {land.mean_pressure_kpa:.1f} kPa,"
        f" gap {land.largest_gap_mm:.3f} mm"
        for land in closing.lands[:lands]
    ]
    return f"| {' | '.join([name, tension, *cells])} |"


if __name__ == "__main__":
    main()
