"""Several transducers on one engine or several engines: adding them, and feed minus return.

Totals are added as counts over K-factors, in fractions, so that neither order nor grouping changes
them. A return line is subtracted. What burns is the small difference of two large flows, so the
errors of both meters grow: with 60 gal/h fed and 48 gal/h returned, 0.5 % in each is 3.2 % of the
12 gal/h between them. The returned fuel is also the warmer: where it is, subtract masses.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import Any

import numpy as np

from fuelunits.amounts import amount, first_quantity, kind_of
from fuelunits.arrays import as_float, sqrt
from fuelunits.errors import QuantityError
from fuelunits.meters.k_factor import KFactor, k_factor_of
from fuelunits.quantities import answer, fraction, positive
from fuelunits.validation import check_types

__all__ = [
    "difference_uncertainty",
    "exact_net_volume",
    "exact_total_volume",
    "net_flow",
    "net_mass_flow",
    "net_uncertainty",
    "sum_uncertainty",
    "total_flow",
]


def sum_uncertainty(flows: Any, relative_uncertainties: Any, correlation: float = 0.0) -> float:
    """Give the relative standard uncertainty of a sum of flows.

    Parameters
    ----------
    flows : sequence of float
        The flows, all in one unit, not negative.
    relative_uncertainties : sequence of float
        The relative standard uncertainty of each, as a fraction.
    correlation : float
        Correlation between any two of them, 0 to 1: 1 where all were calibrated against one
        standard that dominates.

    Returns
    -------
    float

    Notes
    -----
    The GUM's law of propagation (JCGM 100:2008, 5.2.2) for a sum, with one correlation throughout:
    u² = (1 - r) Σ(q u)² + r (Σ q u)².

    Examples
    --------
    >>> round(sum_uncertainty([10.0, 10.0], [0.01, 0.01]), 5)
    0.00707
    >>> round(sum_uncertainty([10.0, 10.0], [0.01, 0.01], correlation=1.0), 5)
    0.01
    """
    if not 0.0 <= correlation <= 1.0:
        raise QuantityError(f"correlation: {correlation!r}; between flows that are added it must be 0 to 1")
    each = np.asarray(as_float(flows), dtype=float)
    absolute = each * as_float(relative_uncertainties)
    if np.any(each < 0) or not np.sum(each) > 0:
        raise QuantityError("flows: give at least one positive flow, and none that is negative")
    variance = (1.0 - correlation) * np.sum(absolute**2) + correlation * np.sum(absolute) ** 2
    return float(np.sqrt(variance) / np.sum(each))


def difference_uncertainty(
    feed_flow: Any, return_flow: Any, feed_uncertainty: Any, return_uncertainty: Any, correlation: Any = 0.0
) -> Any:
    """Give the relative standard uncertainty of feed minus return.

    Parameters
    ----------
    feed_flow, return_flow : float or array
        Flows in one unit, of volume or of mass; the feed is the larger.
    feed_uncertainty, return_uncertainty : float or array
        Their relative standard uncertainties, as fractions.
    correlation : float or array
        Correlation of the two errors, -1 to 1. What both meters have in common (one calibration
        bench, one density) correlates them and cancels in part.

    Returns
    -------
    float or array
        Relative to the difference.

    Raises
    ------
    QuantityError
        If the return is not smaller than the feed, or the correlation lies outside -1 to 1.

    Notes
    -----
    The GUM's law of propagation (JCGM 100:2008, 5.2.2) for a difference:
    u = sqrt((qf uf)² + (qr ur)² - 2 r qf uf qr ur) / (qf - qr).

    Examples
    --------
    >>> round(difference_uncertainty(60.0, 48.0, 0.005, 0.005), 4)
    0.032
    >>> round(difference_uncertainty(60.0, 48.0, 0.005, 0.005, correlation=1.0), 4)
    0.005
    """
    feed, back, r = as_float(feed_flow), as_float(return_flow), as_float(correlation)
    if np.any(np.greater(np.abs(r), 1)):
        raise QuantityError(f"correlation: {correlation!r}; it must be from -1 to 1")
    if np.any(np.less_equal(feed, back)) or np.any(np.less(back, 0)):
        raise QuantityError("return flow: it must be smaller than the feed and not negative; are the two swapped?")
    of_feed, of_return = feed * as_float(feed_uncertainty), back * as_float(return_uncertainty)
    # the square written as a sum of two squares: it cannot turn negative by rounding
    return sqrt((of_feed - r * of_return) ** 2 + (1.0 - r * r) * of_return**2) / (feed - back)


def total_flow(readings: Iterable[tuple[Any, KFactor]], *, unit: str) -> Any:
    """Give the sum of the flows of several transducers, each with its own K-factor.

    Parameters
    ----------
    readings : iterable of (frequency, KFactor)
        Frequency of each transducer, as text or pint quantity; scalars or arrays of one shape.
    unit : str
        The unit of volume flow wanted, such as ``"gal/h"``.

    Returns
    -------
    pint.Quantity

    Examples
    --------
    >>> left, right = KFactor(28_740, per="gal"), KFactor(7_600, per="L")
    >>> f"{total_flow([('99.8 Hz', left), ('101.2 Hz', right)], unit='gal/h').magnitude:.3f}"
    '25.165'
    """
    pairs = _pairs(readings, "frequency")
    flows = [positive(k.flow(frequency), unit, name="flow", zero=True) for frequency, k in pairs]
    return answer(sum(flows[1:], start=flows[0]), unit, first_quantity(*(frequency for frequency, _ in pairs)))


def exact_total_volume(counts: Iterable[tuple[int, KFactor]], *, unit: str) -> Fraction:
    """Give the volume that several transducers counted together, exactly.

    Parameters
    ----------
    counts : iterable of (int, KFactor)
        Count of pulses of each transducer.
    unit : str
        The unit of volume wanted.

    Returns
    -------
    Fraction
        The same in whatever order, and however grouped, the counts are added.

    Examples
    --------
    >>> left, right = KFactor(28_740, per="gal"), KFactor(29_000, per="gal")
    >>> exact_total_volume([(14_370, left), (7_250, right)], unit="gal")
    Fraction(3, 4)
    """
    return sum((k.exact_volume(count, unit) for count, k in _pairs(counts, "count")), start=Fraction(0))


def exact_net_volume(
    feed_pulses: int, feed_k: KFactor, return_pulses: int, return_k: KFactor, *, unit: str
) -> Fraction:
    """Give the volume fed less the volume returned, exactly.

    Raises
    ------
    QuantityError
        If more was returned than fed.

    Examples
    --------
    >>> k = KFactor(28_740, per="gal")
    >>> exact_net_volume(143_700, k, 114_960, k, unit="gal")
    Fraction(1, 1)
    """
    net = feed_k.exact_volume(feed_pulses, unit) - return_k.exact_volume(return_pulses, unit)
    _not_negative(float(net), unit)
    return net


def net_flow(feed: Any, feed_k: KFactor, return_: Any, return_k: KFactor, *, unit: str | None = None) -> Any:
    """Give the flow fed less the flow returned, by volume.

    Right where both lines are at one temperature; otherwise see :func:`net_mass_flow`.

    Parameters
    ----------
    feed, return_ : str or pint.Quantity
        Pulse frequencies of the two transducers; scalars or arrays.
    feed_k, return_k : KFactor
        Their K-factors.
    unit : str, optional
        The unit of volume flow wanted; by default the feed K-factor's unit per hour.

    Returns
    -------
    pint.Quantity

    Raises
    ------
    QuantityError
        If the net flow is negative anywhere: two lines swapped, a wrong K-factor, or a flow too
        small for the two meters.

    Examples
    --------
    >>> k = KFactor(28_800, per="gal")
    >>> f"{net_flow('480 Hz', k, '384 Hz', k).magnitude:.3f}"
    '12.000'
    """
    k_factor_of(feed_k, "feed_k")
    k_factor_of(return_k, "return_k")
    unit = f"{feed_k.unit}/h" if unit is None else unit
    fed = positive(feed_k.flow(feed), unit, name="feed", zero=True)
    returned = positive(return_k.flow(return_), unit, name="return", zero=True)
    return answer(_not_negative(fed - returned, unit), unit, first_quantity(feed, return_))


def net_mass_flow(
    feed: Any,
    feed_k: KFactor,
    return_: Any,
    return_k: KFactor,
    *,
    feed_density: Any,
    return_density: Any,
    unit: str,
) -> Any:
    """Give the mass flow fed less the mass flow returned, each line with the density at its own temperature.

    Parameters
    ----------
    feed, feed_k, return_, return_k
        As for :func:`net_flow`.
    feed_density, return_density : str or pint.Quantity
        Density of the fuel in each line.
    unit : str
        The unit of mass flow wanted.

    Returns
    -------
    pint.Quantity

    Examples
    --------
    >>> k = KFactor(28_800, per="gal")
    >>> cold, warm = "6.7 lb/gal", "6.5 lb/gal"
    >>> net = net_mass_flow("480 Hz", k, "384 Hz", k, feed_density=cold, return_density=warm, unit="lb/h")
    >>> f"{net.magnitude:.1f}"
    '90.0'
    """
    k_factor_of(feed_k, "feed_k")
    k_factor_of(return_k, "return_k")
    fed = amount(feed_k.flow(feed), unit, name="feed", density=feed_density)
    returned = amount(return_k.flow(return_), unit, name="return", density=return_density)
    return answer(_not_negative(fed - returned, unit), unit, first_quantity(feed, return_))


def net_uncertainty(
    feed: Any, return_: Any, *, feed_uncertainty: Any, return_uncertainty: Any, correlation: float = 0.0
) -> Any:
    """Give the relative standard uncertainty of feed minus return, from flows and percentages.

    Parameters
    ----------
    feed, return_ : str or pint.Quantity
        The two flows, both by volume or both by mass.
    feed_uncertainty, return_uncertainty : str or pint.Quantity
        Relative standard uncertainty of each, such as ``"0.5 %"``.
    correlation : float
        As for :func:`difference_uncertainty`.

    Returns
    -------
    float or array
        A fraction of the net flow.

    Examples
    --------
    >>> u = net_uncertainty("60 gal/h", "48 gal/h", feed_uncertainty="0.5 %", return_uncertainty="0.5 %")
    >>> round(u, 4)
    0.032
    """
    unit = kind_of(feed, ("L/h", "kg/h"), name="feed")
    return difference_uncertainty(
        positive(feed, unit, name="feed"),
        positive(return_, unit, name="return", zero=True),
        fraction(feed_uncertainty, name="feed_uncertainty"),
        fraction(return_uncertainty, name="return_uncertainty"),
        correlation,
    )


def _pairs(readings: Iterable[tuple[Any, KFactor]], what: str) -> list[tuple[Any, KFactor]]:
    """Take pairs of a reading and its K-factor, and at least one of them."""
    pairs = list(check_types(readings, tuple, "transducers", f"pairs of a {what} and its KFactor"))
    if not pairs or not all(
        isinstance(pair, tuple) and len(pair) == 2 and isinstance(pair[1], KFactor) for pair in pairs
    ):
        raise QuantityError(f"transducers: give pairs of a {what} and its KFactor, one pair for each transducer")
    return pairs


def _not_negative(net: Any, unit: str) -> Any:
    if np.any(np.less(net, 0)):
        raise QuantityError(
            f"net: {np.nanmin(net):g} {unit} is negative, more returned than fed; check which line is which, "
            f"both K-factors, and whether the difference is too small for the two meters"
        )
    return net
