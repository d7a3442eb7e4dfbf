"""Checks of what is assumed: a fixed density, and a file of assumptions."""
