"""What the editions of the volume correction share: the base temperature of 60 °F, and the correction for pressure."""

from __future__ import annotations

from typing import Any

from fuelunits.arrays import is_scalar
from fuelunits.ranges import OnOutOfRange, Range

BASE_60F_C = (60.0 - 32.0) / 1.8
"""The base temperature of 60 °F, in °C."""


def is_60f(base_c: float) -> bool:
    """Return whether a base temperature in °C is 60 °F, even if written 15.56."""
    return abs(base_c - BASE_60F_C) < 0.006


def cpl(compressibility_per_kpa: Any, gauge_pressure_kpa: Any) -> Any:
    """Return CPL, the correction for pressure, from the compressibility F (11.1.6.1, step 8)."""
    return 1.0 / (1.0 - compressibility_per_kpa * gauge_pressure_kpa)


def gauge_pressure_kpa(valid: Range, value: Any, out_of_range: OnOutOfRange) -> Any:
    """Return a checked gauge pressure; a negative one is taken as 0, as the 2004 standard and its examples do."""
    p = (0.0 if value < 0.0 else value) if is_scalar(value) else value.clip(0.0)
    return valid.check(p, out_of_range)
