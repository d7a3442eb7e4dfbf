"""A curve through calibrated points that never overshoots, and the inverse that a meter needs.

Between two points it is the monotone cubic whose slopes are weighted harmonic means [scipy_pchip]. The abscissa is
logarithmic: a meter is calibrated at flows spaced by ratio, what bends its curve at the low end changes by ratio
too, and a change of unit or of viscosity becomes a mere shift.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.polynomial import Polynomial

from fuelunits.errors import FuelUnitsError, NotConverged, QuantityError

SAME = 1e-9
"""Relative difference below which two abscissas count as one."""

_BOUND = 60
_TOLERANCE = 1e-13
"""Of the logarithm, thus relative: ten times finer than the 1e-12 that is promised."""
_ROUNDING = 2e-14
"""What is left of the logarithm of x/y by rounding; nothing can be gained below it."""


@dataclass(frozen=True, eq=False)
class MonotoneCurve:
    """y over ln x, where x/y rises throughout and so can be inverted.

    With x a frequency and y a K, x/y is the flow; with Roshko and Strouhal number it is π/4 times Reynolds. `cubics`
    are the coefficients of the powers 0 to 3 of (ln x - left end), shape (4, pieces). Values beyond the ends are
    those of the ends: whoever uses the curve refuses them first.
    """

    ln_x: Any
    cubics: Any
    ln_ratio: Any

    @classmethod
    def through(cls, x: Any, y: Any, *, name: str = "abscissa") -> MonotoneCurve:
        """Lay the curve through points of rising x, called `name` in messages."""
        x, y = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
        if len(x) < 2:
            raise QuantityError(f"a curve takes at least two points, each at its own {name}; got {len(x)}")
        ln_x = np.log(x)
        if not np.all(np.diff(ln_x) > SAME):
            twice = x[int(np.argmin(np.diff(ln_x)))]
            raise QuantityError(f"two points at the {name} {twice:g}; make one of them, with the mean")
        cubics = monotone_cubics(ln_x, y)
        for i, width in enumerate(np.diff(ln_x)):
            if not _ratio_rises(Polynomial(cubics[:, i]), width):
                raise FuelUnitsError(
                    f"between the {name} {x[i]:g} and {x[i + 1]:g} the curve rises faster than the {name}, "
                    f"so that one flow would have more than one frequency; look at these two points again"
                )
        return cls(ln_x, cubics, ln_x - np.log(y))

    def y(self, x: Any) -> Any:
        """Return the ordinate at x, a float or an array."""
        return plain_float(self._at(self._logarithm(x))[0])

    def slope(self, x: Any) -> Any:
        """Return the relative slope d ln y / d ln x at x."""
        value, slope = self._at(self._logarithm(x))
        return plain_float(slope / value)

    def x_of_ratio(self, ratio: Any) -> Any:
        """Find the x at which x/y has a value, by Newton's method within a shrinking bracket."""
        goal = np.clip(np.log(_filled(ratio)), self.ln_ratio[0], self.ln_ratio[-1])
        piece = self._piece(self.ln_ratio, goal)
        low, high = self.ln_x[piece], self.ln_x[piece + 1]
        start, end = self.ln_ratio[piece], self.ln_ratio[piece + 1]
        ln_x = low + (high - low) * (goal - start) / (end - start)
        for _ in range(_BOUND):
            value, slope = self._at(ln_x)
            miss = ln_x - np.log(value) - goal
            low, high = np.where(miss < 0.0, ln_x, low), np.where(miss > 0.0, ln_x, high)
            new = ln_x - miss / (1.0 - slope / value)
            new = np.where((new < low) | (new > high), (low + high) / 2.0, new)
            converged = not np.any((np.abs(new - ln_x) > _TOLERANCE) & (np.abs(miss) > _ROUNDING))
            ln_x = new
            if converged:
                return plain_float(np.exp(ln_x))
        raise NotConverged(f"the curve could not be inverted in {_BOUND} steps")

    def straight(self, x: Any, values: Any) -> Any:
        """Return what has values at the points as a straight line over ln x between them."""
        return plain_float(np.interp(self._logarithm(x), self.ln_x, values))

    def _logarithm(self, x: Any) -> Any:
        return np.clip(np.log(_filled(x)), self.ln_x[0], self.ln_x[-1])

    def _at(self, ln_x: Any) -> tuple[Any, Any]:
        """Return ordinate and slope, both over ln x."""
        piece = self._piece(self.ln_x, ln_x)
        step = ln_x - self.ln_x[piece]
        c0, c1, c2, c3 = self.cubics[:, piece]
        return c0 + step * (c1 + step * (c2 + step * c3)), c1 + step * (2.0 * c2 + step * 3.0 * c3)

    @staticmethod
    def _piece(knots: Any, value: Any) -> Any:
        return np.clip(np.searchsorted(knots, value, side="right") - 1, 0, len(knots) - 2)


def monotone_cubics(x: Any, y: Any) -> Any:
    """Return the coefficients of each piece, from the ends and the slopes there."""
    width, secant, slopes = np.diff(x), np.diff(y) / np.diff(x), _slopes(x, y)
    left, right = slopes[:-1], slopes[1:]
    return np.array(
        [y[:-1], left, (3.0 * secant - 2.0 * left - right) / width, (left + right - 2.0 * secant) / width**2]
    )


def _slopes(x: Any, y: Any) -> Any:
    """Return the slope at each point: zero at a peak or trough, else a weighted harmonic mean."""
    width, secant = np.diff(x), np.diff(y) / np.diff(x)
    if len(secant) == 1:
        return np.repeat(secant, 2)
    slopes = np.zeros_like(x)
    slopes[0] = _end_slope(width[0], width[1], secant[0], secant[1])
    slopes[-1] = _end_slope(width[-1], width[-2], secant[-1], secant[-2])
    onward = np.flatnonzero(np.sign(secant[:-1]) * np.sign(secant[1:]) > 0)
    before, after = width[onward], width[onward + 1]
    near, far = 2.0 * after + before, after + 2.0 * before
    slopes[onward + 1] = (near + far) / (near / secant[onward] + far / secant[onward + 1])
    return slopes


def _end_slope(width: float, next_width: float, secant: float, next_secant: float) -> float:
    """Return the slope of the parabola through the last three points, kept from overshooting."""
    slope = ((2.0 * width + next_width) * secant - width * next_secant) / (width + next_width)
    if slope * secant <= 0.0:
        return 0.0
    if secant * next_secant <= 0.0 and abs(slope) > 3.0 * abs(secant):
        return 3.0 * secant
    return slope


def _ratio_rises(cubic: Polynomial, width: float) -> bool:
    """Return whether x/y rises along a piece: whether y - dy/d(ln x) is positive at its lowest."""
    margin = cubic - cubic.deriv()
    turns = margin.deriv().roots().real
    inside = turns[(turns > 0.0) & (turns < width)]
    return bool(min(margin(step) for step in (0.0, width, *inside)) > 0.0)


def _filled(value: Any) -> Any:
    """Return floats with NaN where a value is masked."""
    return np.asarray(np.ma.filled(value, np.nan), dtype=float)


def plain_float(value: Any) -> Any:
    """Return a float for an array of no dimension."""
    return float(value) if np.ndim(value) == 0 else value
