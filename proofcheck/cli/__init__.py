"""The command line: arguments and what is said, no logic."""

from proofcheck.cli.start import main

__all__ = ["main"]
