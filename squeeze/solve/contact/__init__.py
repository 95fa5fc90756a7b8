"""One-sided contact with Coulomb friction: the problem, its solution, and what can be held."""
