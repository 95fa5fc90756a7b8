"""Linear elasticity: elements, and the factorisation that gives the compliance of the cuts."""
