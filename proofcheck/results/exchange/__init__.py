"""What is said of a proof for other programs, in open formats of theirs."""
