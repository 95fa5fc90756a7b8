"""How good an answer is: meshes that are fine where it pays, and the error of each figure."""
