"""The block at large deformation: neo-Hookean rubber, bands on its hull, faces that slide."""
