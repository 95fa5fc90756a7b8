"""What acts on a section: bands, pushes, resin."""
