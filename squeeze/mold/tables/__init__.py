"""The tables of a mold file: their keys, the values these take, and which go together."""
