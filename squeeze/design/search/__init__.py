"""The search: blocks on a coarse mesh, and which to compute next."""
