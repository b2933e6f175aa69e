"""The command line as python -m proofcheck.cli."""

from proofcheck.cli import main

main()
