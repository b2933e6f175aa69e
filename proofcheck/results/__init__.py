"""What a finished proof is given out as: report, lists, marked proof, page."""
