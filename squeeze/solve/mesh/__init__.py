"""Triangles that follow a section, and its parting along the cuts."""
