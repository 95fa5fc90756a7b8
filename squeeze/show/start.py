"""A mold file to start from."""

from __future__ import annotations

import json

from squeeze.mold.shapes.registry import SHAPES, figures_remark
from squeeze.show.start_kinds import kind_text

CAUTION = (
    "Estimates for planning; data sheets and local codes govern. "
    "Stretched bands snap: guard your eyes."
)


def start(title: str, kind: str | None = None) -> str:
    """Return the text of a commented mold file that loads and closes as it stands.

    A kind is one of `start_kinds.KINDS`; without one the file shows most of what there is.
    What no title may hold, such as a line's end, is left out of it.
    """
    line = "".join(letter if letter.isprintable() else " " for letter in title)
    text = TEXT if kind is None else f"{HEAD}title = TITLE\n{kind_text(kind)}"
    text = text.replace("SHAPES", ", ".join(SHAPES)).replace("FIGURES", figures_remark())
    return text.replace("TITLE", json.dumps(line.strip()[:200] or "A mold", ensure_ascii=False))


HEAD = """\
# A mold for squeeze. Lengths in mm; x runs to the right, y upwards, (0, 0) is the block's middle.
# Try it:  squeeze close THIS_FILE --figure picture.png
# Lines that begin with # are remarks; take the # away from a line to use it.

"""

TEXT = f"""\
{HEAD}title = TITLE
length_mm = 140               # length of the block, along the cavities

[rubber]
shore_a = 20                  # hardness as printed on the pot

[block]
shape = "square"              # SHAPES
width_mm = 120                # FIGURES
bevel_mm = 15                 # flat taken off each corner, measured along both sides
# round_mm = 2                # radius on every corner that is left

[[cavity]]                    # one such table for each void that a model leaves
name = "barrel 1"
shape = "round"
diameter_mm = 10
centre_mm = [-12, 0]

[[cavity]]
name = "barrel 2"
shape = "round"
diameter_mm = 10
centre_mm = [12, 0]

[[cut]]                       # one such table for each knife line
name = "across the barrels"
path_mm = [[-60, 0], [60, 0]] # from outside to outside, straight through both cavities
friction = 0.3                # between the two faces; 0 = slippery
# gap_mm = 0.1                # how far the faces stand apart before anything presses

[[band]]
stock = "64"                  # trade size; or weigh the pull of a stretched band: tension_n = 4.0
count = 8                     # evenly spread along the block

# [[cradle]]                  # a stiff piece under the bands; "squeeze cradle" compares them
# covers = "top"              # top, bottom, left, right, all; or from_deg and to_deg
# thickness_mm = 18
# back = "round"              # flat, round
# material = "plywood"        # soft foam, rigid foam, MDF, plaster, printed plastic

# [[filler]]                  # older rubber cast in to save fresh rubber
# shape = "square"
# width_mm = 30
# centre_mm = [0, -35]
# shore_a = 25

# [resin]
# head_mm = 120               # height of liquid resin above this section
"""
