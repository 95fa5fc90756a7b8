"""The cross-section that the solver takes, made from the mold and checked."""
