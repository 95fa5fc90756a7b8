"""Close the three blocks: write docs/pictures/*.png and print the study's table."""

from pathlib import Path

from squeeze import Closing, close, judge, load
from squeeze.show.figure.closing import pressure_levels, save
from squeeze.show.figure.outlines import gap_factor
from squeeze.show.figure.thumbnails import small

HERE = Path(__file__).parent
PICTURES = HERE.parents[1] / "docs" / "pictures"
BLOCKS = {"square": "barrels", "beveled": "barrels-beveled", "round": "barrels-round"}


def main() -> None:
    """Close, draw on one pressure scale and one multiple of the gaps, print."""
    closings = {name: close(load(HERE / f"{file}.toml")) for name, file in BLOCKS.items()}
    levels = pressure_levels(list(closings.values()))
    gaps = gap_factor(list(closings.values()))
    PICTURES.mkdir(exist_ok=True)
    for name, closing in closings.items():
        save(small([(closing, judge(closing))], levels, gaps), PICTURES / f"{name}.png", "png")
    print("| outline | tension, N/mm | outer lands | webs next to them | middle web |")
    print("| --- | --- | --- | --- | --- |")
    for name, closing in closings.items():
        print(row(name, closing))


def row(name: str, closing: Closing) -> str:
    """Return a line of the table; the section is symmetric, so its left half is told."""
    assert closing.wrap is not None
    tension = f"{closing.wrap.tension_n_per_mm:.2f}"
    cells = [
        f"{land.closed_share:.0%} closed, mean {land.mean_pressure_kpa:.1f} kPa,"
        f" gap {land.largest_gap_mm:.2f} mm"
        for land in closing.lands[:3]
    ]
    return f"| {' | '.join([name, tension, *cells])} |"


if __name__ == "__main__":
    main()
