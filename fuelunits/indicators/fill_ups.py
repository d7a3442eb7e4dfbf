"""After a fill-up: what the indicator said was used against what the truck delivered.

The ratio of the two corrects the K-factor, once it is beyond its own uncertainty. Filling to the same
level, the display's step and the truck's repeatability are drawn anew at each fill-up and average
out; the calibration of the truck's meter is the same each time and does not.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from fuelunits.bench.observations import own_derivatives
from fuelunits.errors import FuelUnitsError, QuantityError
from fuelunits.fuels.volume_correction import ctl
from fuelunits.meters.k_factor import KFactor
from fuelunits.quantities import positive
from fuelunits.ranges import Range
from fuelunits.reports import CAUTION
from fuelunits.uncertainty.budget import (
    BudgetRow,
    budget,
    nominal,
    one_value,
    rectangular,
    standard_uncertainty,
    uncertain,
)
from fuelunits.uncertainty.measured import uncertain_magnitude
from fuelunits.validation import check_type, check_types, coerce_fields, positive_number

__all__ = ["FillUp", "FillUpComparison", "compare_fill_ups", "gross_volume_l"]

_FACTORS = Range("volume correction factor (net over gross)", 0.8, 1.2, "", "the fuels and temperatures of a ramp")
_TRUCK_FACTORS = Range("factor of the truck's meter", 0.9, 1.1, "", "a meter that may bill fuel")


def gross_volume_l(net_l: Any, base_density_kg_m3: Any, temperature_c: Any) -> Any:
    """Take a delivery billed at 15 °C back to the volume that passed.

    Parameters
    ----------
    net_l : float
        Volume at 15 °C, L, as on the ticket of a temperature-compensated meter.
    base_density_kg_m3 : float
        Density of the fuel at 15 °C, kg/m³, as on the ticket.
    temperature_c : float
        Temperature at which it was delivered, °C.

    Returns
    -------
    float
        Net over the volume correction factor, L. Any of the three may be an uncertain number.

    Raises
    ------
    OutOfRange
        If density or temperature lie outside the standard.

    Notes
    -----
    The factor is :func:`fuelunits.fuels.volume_correction.ctl`. One degree of doubt is about 0.1 %.

    Examples
    --------
    >>> round(gross_volume_l(372.0, 804.0, 28.0), 2)
    376.52
    """
    given = (base_density_kg_m3, temperature_c)
    if not any(standard_uncertainty(value) for value in given):
        return net_l / ctl(*map(nominal, given))
    from uncertainties import wrap

    return net_l / wrap(ctl)(*given)


@dataclass(frozen=True, kw_only=True)
class FillUp:
    """One fill-up to the same level as the one before. Any number may be an uncertain one.

    Attributes
    ----------
    indicated_l : float
        Fuel used since the last fill-up, by the indicator.
    delivered_l : float
        Fuel delivered as it passed (gross), by the truck's meter; :func:`gross_volume_l` takes a
        compensated ticket back.
    level_l : float
        Fuel by which the tanks are fuller than the last time, usually 0 with an uncertainty.
    truck_factor : float
        True over shown volume of the truck's meter: its calibration. One object for all fill-ups from
        one truck.

    Raises
    ------
    QuantityError, OutOfRange
        If a number makes no sense.

    Examples
    --------
    >>> round(FillUp(indicated_l=387.6, delivered_l=378.9).ratio, 4)
    1.023
    """

    indicated_l: Any
    delivered_l: Any
    level_l: Any = 0.0
    truck_factor: Any = 1.0

    def __post_init__(self) -> None:
        coerce_fields(self, ("indicated_l", "delivered_l", "level_l", "truck_factor"), one_value, "a fill-up: ")
        for name, value in (("indicated", self.indicated_l), ("delivered", self.delivered_l), ("used", self.used_l)):
            if not 0.0 < nominal(value) < math.inf:
                raise QuantityError(f"a fill-up: {nominal(value)} L {name}; it must be positive and finite")
        _TRUCK_FACTORS.check(nominal(self.truck_factor))

    @classmethod
    def read(
        cls,
        *,
        indicated: Any,
        delivered: Any,
        display_step: Any = None,
        level_uncertainty: Any = None,
        volume_correction_factor: Any = 1.0,
        truck_factor: Any = 1.0,
    ) -> FillUp:
        """Take a fill-up from text and quantities.

        Parameters
        ----------
        indicated, delivered : str or pint.Quantity
            As the attributes, but `delivered` is what the ticket says;
            ``fuelunits.uncertainty.measured.measured`` gives them an uncertainty of their own.
        display_step : str or pint.Quantity, optional
            Step of the indicator's total: ± half a step is added to what was indicated.
        level_uncertainty : str or pint.Quantity, optional
            Standard uncertainty of filling to the same level.
        volume_correction_factor : float
            Net over gross volume of a compensated ticket; 1 for a gross one.
        truck_factor : float
            As the attribute.

        Examples
        --------
        >>> fill = FillUp.read(indicated="102.4 gal", delivered="372.0 L", display_step="0.1 gal",
        ...     level_uncertainty="1 L", volume_correction_factor=0.9880)
        >>> round(fill.ratio.nominal_value, 4), round(fill.ratio.std_dev, 5)
        (1.0295, 0.00275)
        """
        volume_correction_factor = one_value(volume_correction_factor, "volume_correction_factor")
        _FACTORS.check(nominal(volume_correction_factor))
        shown, level = uncertain_magnitude(indicated, "L", name="indicated"), 0.0
        if display_step is not None:
            half_step = float(positive(display_step, "L", name="display step")) / 2.0
            shown = shown + rectangular(0.0, half_step, name="display step", unit="L")
        if level_uncertainty is not None:
            spread = float(positive(level_uncertainty, "L", name="level uncertainty", zero=True))
            level = uncertain(0.0, spread, name="level in the tanks", unit="L")
        ticket = uncertain_magnitude(delivered, "L", name="delivered")
        return cls(
            indicated_l=shown, delivered_l=ticket / volume_correction_factor, level_l=level, truck_factor=truck_factor
        )

    @property
    def used_l(self) -> Any:
        """Fuel that was truly used since the last fill-up, L."""
        return self.delivered_l * self.truck_factor - self.level_l

    @property
    def ratio(self) -> Any:
        """Indicated over used."""
        return self.indicated_l / self.used_l


def compare_fill_ups(k: KFactor, fill_ups: Iterable[FillUp], *, coverage_factor: float = 2.0) -> FillUpComparison:
    """Compare an indicator with the truck over one or several fill-ups.

    Parameters
    ----------
    k : KFactor
        The K-factor that the indicator had in all of them.
    fill_ups : iterable of FillUp
        Their order does not matter.
    coverage_factor : float
        A deviation counts once it exceeds so many standard uncertainties; 2 is about 95 %.

    Returns
    -------
    FillUpComparison

    Raises
    ------
    FuelUnitsError, QuantityError
        If there is no fill-up, or the coverage factor is not positive.

    Examples
    --------
    >>> truck = uncertain(1.0, 0.002, name="truck meter")
    >>> fill = FillUp(
    ...     indicated_l=387.6, delivered_l=378.9, level_l=uncertain(0.0, 5.0, name="level"), truck_factor=truck
    ... )
    >>> found = compare_fill_ups(KFactor(28_740, per="gal"), [fill])
    >>> found.justified, found.more_fill_ups
    (False, 1)
    """
    check_type(k, KFactor, "k", "KFactor(28_740, per='gal')")
    made = check_types(fill_ups, FillUp, "fill-ups", "FillUp")
    if not made:
        raise FuelUnitsError("a comparison needs one fill-up at least")
    coverage_factor = positive_number(coverage_factor, "coverage factor", example=2.0)
    ratio = _sum([fill.indicated_l for fill in made]) / _sum([fill.used_l for fill in made])
    shared, own = _shared_and_own(made, ratio)
    scatter = _scatter(made, float(nominal(ratio)))
    return FillUpComparison(k, made, coverage_factor, float(nominal(ratio)), shared, own, scatter, budget(ratio))


def _sum(values: list[Any]) -> Any:
    return sum(values[1:], values[0])


def _shared_and_own(fill_ups: tuple[FillUp, ...], ratio: Any) -> tuple[float, float]:
    """Part the uncertainty of a ratio: what all fill-ups share, and what each draws anew."""
    truck = {cause for fill in fill_ups for cause in getattr(fill.truck_factor, "derivatives", {})}
    anew = set(own_derivatives([fill.ratio for fill in fill_ups], ratio)) - truck
    parts: dict[bool, list[float]] = {True: [], False: []}
    for cause, slope in getattr(ratio, "derivatives", {}).items():
        parts[cause in anew].append(slope * cause.std_dev)
    return math.hypot(*parts[False]), math.hypot(*parts[True])


def _scatter(fill_ups: tuple[FillUp, ...], ratio: float) -> float:
    """Find the standard uncertainty of a ratio of sums from the scatter of its parts [cochran_ratio]."""
    count = len(fill_ups)
    if count < 2:
        return 0.0
    used = [nominal(fill.used_l) for fill in fill_ups]
    squares = [(nominal(fill.indicated_l) - ratio * passed) ** 2 for fill, passed in zip(fill_ups, used, strict=True)]
    return math.sqrt(count / (count - 1.0) * math.fsum(squares)) / math.fsum(used)


@dataclass(frozen=True)
class FillUpComparison:
    """An indicator against the truck, as :func:`compare_fill_ups` finds it.

    Attributes
    ----------
    k : KFactor
        The K-factor entered.
    fill_ups : tuple of FillUp
        What was compared.
    coverage_factor : float
        Factor from the standard uncertainty to what counts as a deviation.
    ratio : float
        All that was indicated over all that was used.
    shared_uncertainty : float
        Standard uncertainty of the ratio that more fill-ups do not lessen: the truck's calibration, and
        whatever else several fill-ups share.
    stated_uncertainty : float
        Standard uncertainty of the ratio from what each fill-up draws anew, as its inputs say.
    scatter : float
        The same as the fill-ups show it by their scatter about the ratio; 0 for one. Of a few it is a
        weak estimate.
    budget : tuple of BudgetRow
        What makes up the uncertainty that the inputs say, the largest first.
    """

    k: KFactor
    fill_ups: tuple[FillUp, ...]
    coverage_factor: float
    ratio: float
    shared_uncertainty: float
    stated_uncertainty: float
    scatter: float
    budget: tuple[BudgetRow, ...]

    @property
    def deviation(self) -> float:
        """By how much the indicator exceeds the truck, as a fraction."""
        return self.ratio - 1.0

    @property
    def adjusted(self) -> KFactor:
        """The K-factor that would have shown what was used: K times the ratio."""
        return KFactor(self.k.value * Fraction(self.ratio), per=self.k.unit)

    @property
    def own_uncertainty(self) -> float:
        """Standard uncertainty of the ratio from what each fill-up draws anew, stated or seen: the larger."""
        return max(self.stated_uncertainty, self.scatter)

    def uncertainty_of(self, fill_ups: int) -> float:
        """Give the standard uncertainty of the ratio that so many fill-ups of this kind have or would have.

        Parameters
        ----------
        fill_ups : int
            1 or more.
        """
        if fill_ups < 1:
            raise QuantityError(f"fill-ups: {fill_ups}; there must be 1 or more")
        return math.hypot(self.shared_uncertainty, self.own_uncertainty * math.sqrt(len(self.fill_ups) / fill_ups))

    @property
    def uncertainty(self) -> float:
        """Standard uncertainty of the ratio; also the relative one of the adjusted K, within a few percent."""
        return self.uncertainty_of(len(self.fill_ups))

    @property
    def justified(self) -> bool:
        """Whether the deviation exceeds its uncertainty, so that a correction has something to correct."""
        return abs(self.deviation) > self.coverage_factor * self.uncertainty

    @property
    def more_fill_ups(self) -> int | None:
        """How many more fill-ups of this kind until such a deviation would count; None for never."""
        if self.justified:
            return 0
        room = (self.deviation / self.coverage_factor) ** 2 - self.shared_uncertainty**2
        if room <= 0:
            return None
        variance_of_one = self.own_uncertainty**2 * len(self.fill_ups)
        return math.floor(variance_of_one / room) + 1 - len(self.fill_ups)

    def as_dict(self) -> dict[str, Any]:
        """Give everything as plain JSON types."""
        return {
            "k": str(self.k),
            "adjusted": str(self.adjusted),
            "fill_ups": len(self.fill_ups),
            "ratio": self.ratio,
            "uncertainty": self.uncertainty,
            "uncertainty_of_one": self.uncertainty_of(1),
            "shared_uncertainty": self.shared_uncertainty,
            "stated_uncertainty": self.stated_uncertainty,
            "scatter": self.scatter,
            "coverage_factor": self.coverage_factor,
            "justified": self.justified,
            "more_fill_ups": self.more_fill_ups,
            "caution": CAUTION,
        }

    def __str__(self) -> str:
        needed = self.coverage_factor * self.uncertainty
        lines = [
            f"indicated over used: {self.ratio:.5f} from {len(self.fill_ups)} fill-up(s), "
            f"deviation {self.deviation:+.2%}, and {needed:.2%} counts (k = {self.coverage_factor:g})",
            self._advice(),
            CAUTION,
        ]
        return "\n".join(lines)

    def _advice(self) -> str:
        if self.justified:
            return f"a correction is justified: {self.k} becomes {self.adjusted}"
        if self.more_fill_ups is None:
            return "no correction: what the fill-ups share hides a deviation of this size, however many there are"
        return f"no correction yet: {self.more_fill_ups} more fill-up(s) of this kind would make this deviation count"
