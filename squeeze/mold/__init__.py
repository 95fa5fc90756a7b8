"""What people describe: the mold file, outlines, rubber, bands, resin. No numerics."""

from squeeze.mold.errors import BadInput, Fault, NotSolved, SqueezeError
from squeeze.mold.file import dict_of, dump, load, loads, mold_of
from squeeze.mold.geometry import loads_of, section_of, wrap_mm
from squeeze.mold.model import Mold
from squeeze.mold.section import Loads, Material, Section

__all__ = [
    "BadInput",
    "Fault",
    "Loads",
    "Material",
    "Mold",
    "NotSolved",
    "Section",
    "SqueezeError",
    "dict_of",
    "dump",
    "load",
    "loads",
    "loads_of",
    "mold_of",
    "section_of",
    "wrap_mm",
]
