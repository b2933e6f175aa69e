"""The desk: the shop's docket in a browser, where a reader decides what the tool has found."""
