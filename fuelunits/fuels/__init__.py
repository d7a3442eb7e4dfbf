"""Fuel grades, measured batches and blends: density, mass and volume with their sources."""
