"""Cradles: candidates compared on the same cuts, and the seat that closes them most evenly."""
