"""The reading of a display for a value: its steps, how it comes to them, and zero below its cutoff."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor
from typing import Any

import numpy as np

from fuelunits.validation import as_float, is_scalar

_SLACK = 1e-9
"""In display steps: a float this near below a change of the reading is beyond it; float errors are smaller."""
_MOST_DECIMALS = 6


@dataclass(frozen=True)
class Display:
    """A display that rounds to its steps, halves up, or truncates; zero where the value is below the cutoff."""

    step: Fraction | None = None
    cutoff: Fraction = Fraction(0)
    truncates: bool = False

    @property
    def errors(self) -> tuple[Fraction, Fraction]:
        """The lowest and the highest reading less the value, above the cutoff."""
        step = self.step or Fraction(0)
        return (-step, Fraction(0)) if self.truncates else (-step / 2, step / 2)

    @property
    def decimals(self) -> int:
        """How many decimals print a step exactly, up to six; three where there is no step."""
        if self.step is None:
            return 3
        exact = (places for places in range(_MOST_DECIMALS) if (self.step * 10**places).denominator == 1)
        return next(exact, _MOST_DECIMALS)

    def reading(self, value: Fraction) -> Fraction:
        """Return the reading for a value, exactly."""
        if value < self.cutoff:
            return Fraction(0)
        return value if self.step is None else floor((value + self.errors[1]) / self.step) * self.step

    def readings(self, values: Any) -> Any:
        """Return what :meth:`reading` does of a float or of an array."""
        given = rounded = as_float(values)
        if self.step is not None:
            steps = np.floor(given / float(self.step) + (0.0 if self.truncates else 0.5) + _SLACK)
            rounded = steps * float(self.step.numerator) / float(self.step.denominator)
        hidden = given < float(self.cutoff) * (1.0 - _SLACK)
        return (0.0 if hidden else float(rounded)) if is_scalar(given) else np.where(hidden, 0.0, rounded)

    def within(self, low: Fraction, high: Fraction) -> tuple[Fraction, Fraction] | None:
        """Return the lowest and the highest of its steps from `low` to `high`, or None without one."""
        if self.step is not None:
            low, high = ceil(low / self.step) * self.step, floor(high / self.step) * self.step
        return (low, high) if low <= high else None
