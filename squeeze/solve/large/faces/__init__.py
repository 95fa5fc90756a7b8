"""Faces of deformed cuts: which stand opposite, gap and slip, and their contact in one step."""
