"""Running: cases go in batches to worker processes, here or on a cluster, and come back solved."""
