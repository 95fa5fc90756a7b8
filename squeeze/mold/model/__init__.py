"""Models on disk: meshes cut into sections along a block, and where their halves part."""
