"""``python -m squeeze``."""

from squeeze.cli import main

main()
