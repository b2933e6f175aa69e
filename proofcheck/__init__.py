"""Reads a pulled proof against the approved copy and marks what must be reset."""
