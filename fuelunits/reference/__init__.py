"""Published values as data, and :func:`verify`, which recomputes each one.

A topic is a table ``<topic>.csv``; :mod:`fuelunits.reference.recipes` says how each kind of value is worked out. A
value reproduces when ours rounds to the printed digits, or lies within the tolerance that its row states with the
reason. A row known to be wrong in print, or of another edition, is a control: it must not reproduce.
"""

from fuelunits.reference.recipes import RECIPES, recompute
from fuelunits.reference.values import TOPICS, PublishedValue, Recomputed, published
from fuelunits.reference.verification import Summary, Verification, verify

__all__ = [
    "RECIPES",
    "TOPICS",
    "PublishedValue",
    "Recomputed",
    "Summary",
    "Verification",
    "published",
    "recompute",
    "verify",
]
