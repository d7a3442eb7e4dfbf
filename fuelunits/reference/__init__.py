"""Published values as data, one table per topic, and :func:`verify`, which recomputes each one by a recipe.

A value is reproduced when our value rounds to the printed digits, or lies within the tolerance that its row states with
the reason. A row known to be wrong in print, or of another edition, is a control: it must not be reproduced.
"""

from fuelunits.reference.recipes import RECIPES, recompute
from fuelunits.reference.verification import TOPICS, PublishedValue, Recomputed, Verification, published, verify

__all__ = ["RECIPES", "TOPICS", "PublishedValue", "Recomputed", "Verification", "published", "recompute", "verify"]
