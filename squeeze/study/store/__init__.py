"""Storing: the answers of a study, in memory or in a file that outlives every run."""
