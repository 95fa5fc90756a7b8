"""Blocks side by side: sentences, table, picture, and the files of a design."""
