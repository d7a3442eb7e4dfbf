"""Doctests of the rooms that need CoolProp are left out where it is not installed."""

from importlib.util import find_spec

collect_ignore = [] if find_spec("CoolProp") else ["fuelunits/liquids/pure.py", "fuelunits/reference/pure_liquids.py"]
