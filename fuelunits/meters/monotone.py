"""A curve through calibrated points that never overshoots, the inverse that a meter needs, and how well it is known.

Between two points it is the monotone cubic whose slopes are weighted harmonic means [scipy_pchip]. The abscissa is
logarithmic: a meter is calibrated at flows spaced by ratio, what bends its curve at the low end changes by ratio
too, and a change of unit or of viscosity becomes a mere shift.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.polynomial import Polynomial

from fuelunits.errors import FuelUnitsError, QuantityError

SAME = 1e-9
"""Relative difference below which two abscissas count as one."""
_HALVINGS = 60  # of a piece: more than a double has digits


@dataclass(frozen=True, eq=False)
class MonotoneCurve:
    """y over ln x, with the relative standard uncertainty of points, where x/y (a flow) rises and so can be inverted.

    `cubics` are the coefficients of the powers 0 to 3 of (ln x - left end), shape (4, pieces). Beyond the ends are the
    values of the ends: whoever uses the curve refuses them first.
    """

    x: Any
    y: Any
    u: Any
    cubics: Any

    @classmethod
    def through(cls, x: Any, y: Any, u: Any = 0.0, *, name: str = "abscissa") -> MonotoneCurve:
        """Lay the curve through points in any order, of an x called `name` in messages."""
        order = np.argsort(x)
        x, y, u = (np.broadcast_to(np.asarray(each, dtype=float), len(order))[order] for each in (x, y, u))
        if len(x) < 2:
            raise QuantityError(f"a curve takes at least two points, each at its own {name}; got {len(x)}")
        widths = np.diff(np.log(x))
        if not np.all(widths > SAME):
            raise QuantityError(f"two points at the {name} {x[np.argmin(widths)]:g}; make one of them, with the mean")
        cubics = monotone_cubics(np.log(x), y)
        for i, width in enumerate(widths):
            if not _ratio_rises(Polynomial(cubics[:, i]), width):
                raise FuelUnitsError(
                    f"between the {name} {x[i]:g} and {x[i + 1]:g} the curve rises faster than the {name}, "
                    f"so that one flow would have more than one frequency; look at these two points again"
                )
        return cls(x, y, u, cubics)

    @cached_property
    def ln_x(self) -> Any:
        """The logarithm of x at the points."""
        return np.log(self.x)

    def at(self, x: Any) -> Any:
        """Return the ordinate at x, a float or an array."""
        return plain_float(self._at(self._logarithm(x)))

    def x_of_ratio(self, ratio: Any) -> Any:
        """Find the x at which x/y has a value, by halving the piece of the curve in which it lies."""
        ratios = self.ln_x - np.log(self.y)
        goal = np.clip(np.log(_filled(ratio)), ratios[0], ratios[-1])
        piece = self._piece(ratios, goal)
        low, high = self.ln_x[piece], self.ln_x[piece + 1]
        for _ in range(_HALVINGS):
            middle = (low + high) / 2.0
            is_below = middle - np.log(self._at(middle)) < goal
            low, high = np.where(is_below, middle, low), np.where(is_below, high, middle)
        return plain_float(np.exp(np.where(np.isnan(goal), np.nan, high)))

    def uncertainty(self, x: Any) -> Any:
        """Return the relative standard uncertainty of y at x, from that of the points; NaN for two points.

        That of the points, which share one bench, is taken straight over ln x. Half way between two points y may be
        off by as much as the curve through the others misses the worse of both (a choice, tried by simulation).
        """
        ln_x = self._logarithm(x)
        piece = self._piece(self.ln_x, ln_x)
        part = (ln_x - self.ln_x[piece]) / np.diff(self.ln_x)[piece]
        between = 4.0 * part * (1.0 - part) * np.maximum(self._misses[piece], self._misses[piece + 1])
        return plain_float(np.hypot(np.interp(ln_x, self.ln_x, self.u), between))

    @cached_property
    def _misses(self) -> Any:
        """By what fraction the curve through the other points misses each point but the ends."""
        misses = np.full(len(self.x), 0.0 if len(self.x) > 2 else np.nan)
        for i in range(1, len(misses) - 1):
            ln_x, others = np.delete(self.ln_x, i), np.delete(self.y, i)
            without = MonotoneCurve(np.exp(ln_x), others, None, monotone_cubics(ln_x, others))
            misses[i] = abs(without.at(self.x[i]) / self.y[i] - 1.0)
        return misses

    def _logarithm(self, x: Any) -> Any:
        return np.clip(np.log(_filled(x)), self.ln_x[0], self.ln_x[-1])

    def _at(self, ln_x: Any) -> Any:
        piece = self._piece(self.ln_x, ln_x)
        step = ln_x - self.ln_x[piece]
        c0, c1, c2, c3 = self.cubics[:, piece]
        return c0 + step * (c1 + step * (c2 + step * c3))

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
    return np.asarray(np.ma.filled(value, np.nan), dtype=float)


def plain_float(value: Any) -> Any:
    """Return a float for an array of no dimension."""
    return float(value) if np.ndim(value) == 0 else value
