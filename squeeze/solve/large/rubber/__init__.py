"""Deformed bodies: the law of rubber, its forces and its tangent."""
