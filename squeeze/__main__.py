"""``python -m squeeze``."""

from squeeze.cli import main

if __name__ == "__main__":
    main()
