"""The block over its whole length: waves, and contact over the parting plane."""

from squeeze.solve.along.loads import BandAt, even_places
from squeeze.solve.along.long_block import LongBlock
from squeeze.solve.along.record import AlongClosing

__all__ = ["AlongClosing", "BandAt", "LongBlock", "even_places"]
