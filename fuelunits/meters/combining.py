"""Several transducers on one engine or several engines: adding flows, and feed minus return.

The flow burned is the small difference of two large flows, so the errors of both meters grow: with
240 L/h fed and 192 L/h returned, 0.5 % in each is 3.2 % of the 48 L/h between them. The returned
fuel is also the warmer: where it is, subtract masses.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from fuelunits.arrays import as_float, of_one_shape, sqrt
from fuelunits.conversion import amount, kind_of
from fuelunits.errors import QuantityError
from fuelunits.meters.k_factor import k_factor_of
from fuelunits.pint_units import answer, first_quantity
from fuelunits.quantities import fraction, positive
from fuelunits.validation import check_types, format_value


@of_one_shape("flows, uncertainties and correlation")
def difference_uncertainty(
    feed_flow: Any, return_flow: Any, feed_uncertainty: Any, return_uncertainty: Any, correlation: Any = 0.0
) -> Any:
    """Return the relative standard uncertainty of feed minus return, from fractions and the correlation of the errors.

    The GUM's law of propagation (JCGM 100:2008, 5.2.2) for a difference, in double precision:
    u = sqrt((qf uf)² + (qr ur)² - 2 r qf uf qr ur) / (qf - qr).
    """
    given = (feed_flow, return_flow, feed_uncertainty, return_uncertainty, correlation)
    feed, back, u_feed, u_back, r = (_double(as_float(each)) for each in given)
    if np.any(np.greater(np.abs(r), 1)):
        raise QuantityError(f"correlation must be from -1 to 1; got {format_value(correlation)}")
    if np.any(np.less_equal(feed, back)) or np.any(np.less(back, 0)):
        raise QuantityError("return flow must be smaller than the feed and not negative; are the two swapped?")
    if np.any(np.less(u_feed, 0)) or np.any(np.less(u_back, 0)):
        raise QuantityError("feed_uncertainty and return_uncertainty must not be negative")
    of_feed, of_return = feed * u_feed, back * u_back
    # the square written as a sum of two squares: it cannot turn negative by rounding
    return sqrt((of_feed - r * of_return) ** 2 + (1.0 - r * r) * of_return**2) / (feed - back)


def _double(value: Any) -> Any:
    """Return floats in double precision: of single precision a small difference would keep few digits."""
    return value.astype(np.float64) if getattr(value, "dtype", None) == np.float32 else value


def total_flow(readings: Iterable[tuple[Any, Any]], *, unit: str) -> Any:
    """Return the sum of the flows of several transducers, each with its own K-factor.

    Parameters
    ----------
    readings : iterable of (frequency, k_factor)
        Frequency of each transducer, as text or quantity, scalars or arrays of one shape; and its KFactor or text.
    unit : str, the unit of volume flow wanted, such as ``"L/h"``

    Examples
    --------
    >>> f"{total_flow([('99.8 Hz', '11412 pulse/L'), ('101.2 Hz', '11380 pulse/L')], unit='L/h').magnitude:.3f}"
    '63.497'
    """
    pairs = check_types(readings, tuple, "transducers", "pairs of a frequency and its KFactor")
    if not pairs or any(len(pair) != 2 for pair in pairs):
        raise QuantityError("transducers: give pairs of a frequency and its KFactor, one pair for each transducer")
    like = first_quantity(*(frequency for frequency, _ in pairs))
    flows = [positive(k_factor_of(k).flow(frequency), unit, name="flow", zero=True) for frequency, k in pairs]
    with of_one_shape("frequencies"):
        return answer(sum(flows[1:], start=flows[0]), unit, like)


def net_flow(feed: Any, feed_k: Any, return_: Any, return_k: Any, *, unit: str | None = None) -> Any:
    """Return the flow fed less the flow returned, by volume: right where both lines are at one temperature.

    A negative element of an array is kept: it is noise about zero, and a total without it would be too high. A
    negative flow, of an array its mean, is refused: two lines swapped, a wrong K, or too small for the two meters.

    Parameters
    ----------
    feed, return_ : str or pint.Quantity, pulse frequencies of the two transducers; scalars or arrays
    feed_k, return_k : KFactor or str, their K-factors
    unit : str, optional, the unit of volume flow wanted; by default the feed K-factor's unit per hour

    Examples
    --------
    >>> f"{net_flow('480 Hz', '7200 pulse/L', '384 Hz', '7200 pulse/L').magnitude:.3f}"
    '48.000'
    """
    feed_k, return_k = k_factor_of(feed_k, "feed_k"), k_factor_of(return_k, "return_k")
    unit = f"{feed_k.unit}/h" if unit is None else unit
    like = first_quantity(feed, return_)
    fed = positive(feed_k.flow(feed), unit, name="feed", zero=True)
    returned = positive(return_k.flow(return_), unit, name="return", zero=True)
    return answer(_net(fed, returned, unit), unit, like)


def net_mass_flow(
    feed: Any, feed_k: Any, return_: Any, return_k: Any, *, feed_density: Any, return_density: Any, unit: str
) -> Any:
    """Return the mass flow fed less the mass flow returned, each line with the density at its own temperature.

    Parameters
    ----------
    feed, feed_k, return_, return_k
        As for :func:`net_flow`, as is what is negative.
    feed_density, return_density : str or pint.Quantity, density of the fuel in each line
    unit : str, the unit of mass flow wanted, such as ``"kg/h"``

    Examples
    --------
    >>> densities = {"feed_density": "0.72 kg/L", "return_density": "0.70 kg/L"}
    >>> f"{net_mass_flow('480 Hz', '7200/L', '384 Hz', '7200/L', **densities, unit='kg/h').magnitude:.2f}"
    '38.40'
    """
    like = first_quantity(feed, return_, feed_density, return_density)
    fed = amount(k_factor_of(feed_k, "feed_k").flow(feed), unit, name="feed", density=feed_density)
    returned = amount(k_factor_of(return_k, "return_k").flow(return_), unit, name="return", density=return_density)
    return answer(_net(fed, returned, unit), unit, like)


def net_uncertainty(
    feed: Any, return_: Any, *, feed_uncertainty: Any, return_uncertainty: Any, correlation: float = 0.0
) -> Any:
    """Return the relative standard uncertainty of feed minus return, a fraction of the net flow.

    Parameters
    ----------
    feed, return_ : str or pint.Quantity, the two flows, both by volume or both by mass
    feed_uncertainty, return_uncertainty : str or pint.Quantity
        Relative standard uncertainty of each, such as ``"0.5 %"``.
    correlation : float
        Correlation of the two errors, -1 to 1, dimensionless. What both meters have in common (one calibration
        bench, one density) correlates them and cancels in part.

    Examples
    --------
    >>> round(net_uncertainty("240 L/h", "192 L/h", feed_uncertainty="0.5 %", return_uncertainty="0.5 %"), 4)
    0.032
    """
    first_quantity(feed, return_, feed_uncertainty, return_uncertainty)
    unit = kind_of(feed, ("L/h", "kg/h"), name="feed")
    return difference_uncertainty(
        positive(feed, unit, name="feed"),
        positive(return_, unit, name="return", zero=True),
        fraction(feed_uncertainty, name="feed_uncertainty"),
        fraction(return_uncertainty, name="return_uncertainty"),
        correlation,
    )


def _net(fed: Any, returned: Any, unit: str) -> Any:
    """Return a net flow, or refuse one whose mean is negative."""
    with of_one_shape("feed and return"):
        net = fed - returned
    found = np.asarray(net, dtype=np.float64)
    known = found[~np.isnan(found)]
    if known.size and known.mean() < 0.0:
        raise QuantityError(
            f"net: {known.mean():g} {unit} is negative, more returned than fed; check which line is which, "
            f"both K-factors, and whether the difference is too small for the two meters"
        )
    return net
