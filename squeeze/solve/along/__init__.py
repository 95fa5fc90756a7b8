"""The block over its whole length: waves, and contact over the parting plane."""
