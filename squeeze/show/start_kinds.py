"""Mold files to start from, one for each kind of mold, complete with resin, pot and price."""

from __future__ import annotations

KINDS = {
    "bars": "bars or pen barrels that run along the block",
    "knobs": "a row of knobs in a flat block: the section through one of them",
    "egg": "an egg or a ball in a box, broadly beveled, the cut through its middle",
    "figurine": "a figurine that stands on its end, with a cut that keys",
    "round": "one thick rod in a round block",
}
"""What each kind is for, by the word that `squeeze new --kind` takes."""

SECTION = """\
# Which section do I look at? The one square to the block's length where the model is widest.
# SECTION_OF_KIND
"""

SECTIONS = {
    "bars": "Bars are the same all along, so any section will do.",
    "knobs": """\
Knobs in a row: the section through the middle of a knob. The rubber between knobs is whole, so
# the block closes a little better than computed. models says where along the block they are.""",
    "egg": """\
An egg: the section through its thickest place. Towards its ends the walls grow, so there the
# cut closes better than computed.""",
    "figurine": """\
A figurine: the section at its widest place, such as the shoulders. Try a second file at a thin
# place, such as the neck.""",
    "round": "A rod is the same all along, so any section will do.",
}
"""The guide in one or two lines for each kind; docs/section.md says more."""

_BLOCK = {
    "bars": """\
length_mm = 140               # length of the block, along the bars

[block]
shape = "square"
width_mm = 90
bevel_mm = 20                 # flat taken off each corner, measured along both sides

[[cavity]]
name = "bar 1"
shape = "round"
diameter_mm = 14
centre_mm = [-16, 0]

[[cavity]]
name = "bar 2"
shape = "round"
diameter_mm = 14
centre_mm = [16, 0]

[[cut]]
name = "across"
path_mm = [[-45, 0], [45, 0]] # from outside to outside, straight through both
FACES
[[band]]
stock = "64"                  # trade size; or weigh the pull of a stretched band: tension_n = 4.0
count = 8
""",
    "knobs": """\
length_mm = 140               # length of the block, along the row

[block]
shape = "rectangle"
width_mm = 60
height_mm = 45
bevel_mm = 12

[[cavity]]
name = "knob"
shape = "square"
width_mm = 16
bevel_mm = 2
models = [                    # middle of each knob along the block, and its length
  {at_mm = 20, length_mm = 16}, {at_mm = 45, length_mm = 16}, {at_mm = 70, length_mm = 16},
  {at_mm = 95, length_mm = 16}, {at_mm = 120, length_mm = 16},
]

[[cut]]
name = "middle"
path_mm = [[-30, 0], [30, 0]]
FACES
[[band]]
stock = "30"                  # short ones: a band should be stretched 1.5 to 3 times
count = 8
""",
    "egg": """\
length_mm = 90                # length of the block, along the egg

[block]
shape = "square"              # a box; strips of board along its edges make the bevels
width_mm = 66
bevel_mm = 20                 # bands push where they turn: sharp corners would leave flash

[[cavity]]
name = "egg"
shape = "oval"
width_mm = 44
height_mm = 30

[[cut]]
name = "through the egg"
path_mm = [[-33, 0], [33, 0]]
FACES
[[band]]
stock = "31"                  # short ones: a band should be stretched 1.5 to 3 times
count = 4
""",
    "figurine": """\
length_mm = 130               # height of the block

[block]
shape = "round"
diameter_mm = 80

[[cavity]]
name = "body"
points_mm = [[-16, -6], [-10, -13], [4, -14], [15, -8], [18, 2], [9, 11], [-3, 13], [-14, 8]]

[[cut]]                       # with a key on each side that keeps the halves in place
name = "front to back"
path_mm = [[-40, 0], [-31, 0], [-28, 5], [-24, 5], [-21, 0], [21, 0], [24, 5], [28, 5], [31, 0], \
[40, 0]]
FACES
[[band]]
stock = "62"
count = 8
""",
    "round": """\
length_mm = 120

[block]
shape = "round"
diameter_mm = 70

[[cavity]]
name = "rod"
shape = "round"
diameter_mm = 25

[[cut]]                       # from the outside through the rod, so that the block opens as a book
name = "hinge"
path_mm = [[-35, 0], [20, 0]]
FACES
[[band]]
stock = "31"
count = 6
""",
}

_FACES = """\
faces = "clean"               # "released" (agent), "dusted" (talc), "clean"; or friction = 0.3
"""

_REST = """\

[rubber]
shore_a = 25                  # hardness as printed on the pot
price_per_kg = 30             # in any currency

[resin]
head_mm = 60                  # height of liquid resin above STANDING
viscosity_mpa_s = 100         # when mixed, from the data sheet
pot_life_min = 3
price_per_kg = 20

[pot]
bore_mm = 240                 # inside, across
depth_mm = 300                # inside, in height
"""


def kind_text(kind: str) -> str:
    """Return what follows the title in a mold file of a kind."""
    rest = _REST.replace("STANDING", "this section")
    if kind == "figurine":
        rest = _REST.replace("STANDING", "its upper end").replace(
            "viscosity", "standing = true               # the block stands on its end\nviscosity"
        )
    guide = SECTION.replace("SECTION_OF_KIND", SECTIONS[kind])
    return guide + _BLOCK[kind].replace("FACES\n", _FACES + "\n") + rest
