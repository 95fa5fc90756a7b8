"""Plane curves: lines, arcs, closed loops."""
