"""Planning: from a study file to its cases."""
