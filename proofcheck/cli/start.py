"""Where the program starts: light, so that Ctrl-C is quiet while the libraries are loaded."""

from __future__ import annotations

import gc
import sys

__all__ = ["main"]


def main() -> None:
    """Load the command line and run it."""
    # Loading makes a hundred thousand things that stay; to look through them again and again for
    # what may go takes a fifth of it.
    gc.set_threshold(100_000)
    try:
        from proofcheck.cli.program import main as run

        run()
    except KeyboardInterrupt:
        sys.exit(130)
