"""Drawings in: outlines and paths from SVG and DXF files, as points and arcs in mm, y up."""
