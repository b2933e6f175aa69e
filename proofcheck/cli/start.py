"""Where the program starts: light, so that Ctrl-C is quiet while the libraries are loaded."""

from __future__ import annotations

import sys

__all__ = ["main"]


def main() -> None:
    """Load the command line and run it."""
    try:
        from proofcheck.cli.program import main as run

        run()
    except KeyboardInterrupt:
        sys.exit(130)
