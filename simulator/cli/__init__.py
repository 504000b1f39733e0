"""The command ``roomsoak``: data on stdout, progress and messages on stderr, one file a command."""

from simulator.cli.program import main

__all__ = ("main",)
