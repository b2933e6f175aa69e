"""Many proofs at once: paired with their copy, read side by side, summed up worst first."""
