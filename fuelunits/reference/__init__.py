"""Published values as data, one table per topic, and :func:`verify`, which recomputes each one by a recipe."""

from fuelunits.reference.recipes import RECIPES, recompute
from fuelunits.reference.verification import TOPICS, PublishedValue, Verification, published, verify

__all__ = ["RECIPES", "TOPICS", "PublishedValue", "Verification", "published", "recompute", "verify"]
