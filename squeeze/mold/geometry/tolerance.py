"""The two distances by which the whole geometry decides what is one place.

What people type is off by SAME_MM at most, what is computed by ON_MM at most; the first is a
thousand times the second, and rounding (1e-12 mm) is far below both. Whatever is meant to be apart
is apart by SAME_MM or more, or is refused. So no answer hangs on the last digit of a coordinate.
"""

from __future__ import annotations

SAME_MM = 0.02
"""Two typed places nearer than this are meant to be one place [mm]."""

ON_MM = 1e-5
"""A computed place nearer than this to a curve, or to another place, lies on it [mm]."""
