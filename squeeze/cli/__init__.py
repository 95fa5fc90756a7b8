"""The command line: a module a command."""

from squeeze.cli.main import app, main

__all__ = ["app", "main"]
