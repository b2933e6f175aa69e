"""The page on which a reader looks through the faults of a proof."""
