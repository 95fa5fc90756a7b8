"""What people describe: the mold file, outlines, rubber, bands, resin. No numerics."""

from squeeze.mold.errors import BadInput, Fault, NotSolved, SqueezeError
from squeeze.mold.file.mold_file import dict_of, dump, load, mold_of, parse
from squeeze.mold.fit import Fit, fit_of
from squeeze.mold.forces.bands import strand_n, stretch_of, tension_n_per_mm
from squeeze.mold.forces.loads import Loads, Push, loads_of, resin_ends_mpa, wrap_mm
from squeeze.mold.notes import notes_of
from squeeze.mold.rubber import material
from squeeze.mold.section.build import section_of
from squeeze.mold.section.records import Cavity, Cut, CutStretch, Material, Section
from squeeze.mold.stations import stations_of
from squeeze.mold.tables.mold import Mold

__all__ = [
    "BadInput",
    "Cavity",
    "Cut",
    "CutStretch",
    "Fault",
    "Fit",
    "Loads",
    "Material",
    "Mold",
    "NotSolved",
    "Push",
    "Section",
    "SqueezeError",
    "dict_of",
    "dump",
    "fit_of",
    "load",
    "loads_of",
    "material",
    "mold_of",
    "notes_of",
    "parse",
    "resin_ends_mpa",
    "section_of",
    "stations_of",
    "strand_n",
    "stretch_of",
    "tension_n_per_mm",
    "wrap_mm",
]
