"""Inputs of every kind spoilt, and runs held to one line, a status and bounds."""
