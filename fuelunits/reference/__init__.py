"""Published values as data, a table a topic, and :func:`verify`, which recomputes each one by a recipe.

A value reproduces when ours rounds to the printed digits, or lies within the tolerance that its row states with the
reason. A row known to be wrong in print, or of another edition, is a control: it must not reproduce.
"""

from fuelunits.reference.recipes import RECIPES, recompute
from fuelunits.reference.verification import TOPICS, PublishedValue, Recomputed, Verification, published, verify

__all__ = ["RECIPES", "TOPICS", "PublishedValue", "Recomputed", "Verification", "published", "recompute", "verify"]
