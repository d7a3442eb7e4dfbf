"""Several transducers on one engine or several engines: adding flows, and feed minus return.

The flow burned is the small difference of two large flows, so the errors of both meters grow: with 240 L/h fed and
192 L/h returned, 0.5 % in each is 3.2 % of the difference. Where the returned fuel is warmer, subtract masses.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from fuelunits.conversion import amount, kind_of
from fuelunits.errors import QuantityError
from fuelunits.meters.k_factor import k_factor_of
from fuelunits.meters.monotone import plain_float
from fuelunits.pint_units import answer, first_quantity
from fuelunits.quantities import fraction, positive
from fuelunits.validation import check_types, format_value, of_one_shape, plain_number


def total_flow(readings: Iterable[tuple[Any, Any]], *, unit: str) -> Any:
    """Return the sum of the flows of several transducers, each with its own K-factor.

    Parameters
    ----------
    readings : iterable of (frequency, k_factor), text or quantities, scalars or arrays of one shape
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


def net_flow(
    feed: Any,
    feed_k: Any,
    return_: Any,
    return_k: Any,
    *,
    unit: str | None = None,
    feed_density: Any = None,
    return_density: Any = None,
) -> Any:
    """Return the flow fed less the flow returned, by volume, or by mass with the density in each line.

    By volume it is right where both lines are at one temperature. A negative element of an array is kept: it is noise
    about zero. A negative flow, of an array its mean, is refused: lines swapped, a wrong K, or too small a difference.

    Parameters
    ----------
    feed, return_ : str or pint.Quantity, pulse frequencies of the two transducers; scalars or arrays
    feed_k, return_k : KFactor or str, their K-factors
    unit : str, optional, the unit of volume flow, or of mass flow, wanted; by default the feed K-factor's unit per hour
    feed_density, return_density : str or pint.Quantity, of the fuel in each line at its temperature; for a mass flow

    Examples
    --------
    >>> f"{net_flow('480 Hz', '7200 pulse/L', '384 Hz', '7200 pulse/L').magnitude:.3f}"
    '48.000'
    >>> densities = {"feed_density": "0.72 kg/L", "return_density": "0.70 kg/L"}
    >>> f"{net_flow('480 Hz', '7200/L', '384 Hz', '7200/L', **densities, unit='kg/h').magnitude:.2f}"
    '38.40'
    """
    feed_k, return_k = k_factor_of(feed_k, "feed_k"), k_factor_of(return_k, "return_k")
    unit = f"{feed_k.unit}/h" if unit is None else unit
    like = first_quantity(feed, return_, feed_density, return_density)
    fed = amount(feed_k.flow(feed), unit, name="feed", density=feed_density)
    returned = amount(return_k.flow(return_), unit, name="return", density=return_density)
    with of_one_shape("feed and return"):
        net = fed - returned
    known = np.asarray(net, dtype=np.float64)[~np.isnan(net)]
    if known.size and known.mean() < 0.0:
        raise QuantityError(
            f"net: {known.mean():g} {unit} is negative, more returned than fed; check which line is which, "
            f"both K-factors, and whether the difference is too small for the two meters"
        )
    return answer(net, unit, like)


@of_one_shape("feed and return")
def net_uncertainty(
    feed: Any, return_: Any, *, feed_uncertainty: Any, return_uncertainty: Any, correlation: float = 0.0
) -> Any:
    """Return the relative standard uncertainty of feed minus return, a fraction of the net flow.

    By JCGM 100:2008, 5.2.2: u = sqrt((qf uf)² + (qr ur)² - 2 r qf uf qr ur) / (qf - qr).

    Parameters
    ----------
    feed, return_ : str or pint.Quantity, the two flows, both by volume or both by mass
    feed_uncertainty, return_uncertainty : str or pint.Quantity, relative and standard, such as ``"0.5 %"``
    correlation : float, r of the two errors, -1 to 1, dimensionless: what both share (a bench, a density) cancels

    Examples
    --------
    >>> round(net_uncertainty("240 L/h", "192 L/h", feed_uncertainty="0.5 %", return_uncertainty="0.5 %"), 4)
    0.032
    """
    first_quantity(feed, return_, feed_uncertainty, return_uncertainty)
    unit, r = kind_of(feed, ("L/h", "kg/h"), name="feed"), plain_number(correlation, "correlation")
    fed = np.asarray(positive(feed, unit, name="feed"), dtype=float)
    returned = np.asarray(positive(return_, unit, name="return", zero=True), dtype=float)
    part = returned / fed
    u_fed = fraction(feed_uncertainty, name="feed_uncertainty")
    u_returned = part * fraction(return_uncertainty, name="return_uncertainty")
    if not abs(r) <= 1:
        raise QuantityError(f"correlation must be from -1 to 1; got {format_value(correlation)}")
    if np.any(fed <= returned):
        raise QuantityError("return flow must be smaller than the feed; are the two swapped?")
    # the square written as a sum of two squares: it cannot turn negative by rounding
    return plain_float(np.sqrt((u_fed - r * u_returned) ** 2 + (1.0 - r * r) * u_returned**2) / (1.0 - part))
