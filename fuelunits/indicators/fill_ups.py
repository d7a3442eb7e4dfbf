"""A fill-up: what the indicator said was used, and what the truck delivered."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from fuelunits.amounts import first_quantity
from fuelunits.equality import ByValue
from fuelunits.errors import QuantityError
from fuelunits.fuels.volume_correction import ctl
from fuelunits.quantities import positive
from fuelunits.ranges import Range
from fuelunits.uncertainty.budget import nominal, one_value, rectangular, standard_uncertainty, uncertain
from fuelunits.uncertainty.measured import uncertain_magnitude
from fuelunits.validation import coerce_fields

__all__ = ["FillUp", "gross_volume_l"]

_FACTORS = Range("volume correction factor (net over gross)", 0.8, 1.2, "", "the fuels and temperatures of a ramp")
_TRUCK_FACTORS = Range("factor of the truck's meter", 0.9, 1.1, "", "a meter that may bill fuel")


def gross_volume_l(net_l: Any, base_density_kg_m3: Any, temperature_c: Any) -> Any:
    """Return the volume that passed for a delivery billed at 15 °C.

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


@dataclass(frozen=True, kw_only=True, eq=False)
class FillUp(ByValue):
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
        """Make a fill-up from text and quantities.

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
        >>> fill = FillUp.read(indicated="387.5 L", delivered="372.0 L", display_step="0.5 L",
        ...     level_uncertainty="1 L", volume_correction_factor=0.9880)
        >>> round(fill.ratio.nominal_value, 4), round(fill.ratio.std_dev, 5)
        (1.0292, 0.00276)
        """
        first_quantity(indicated, delivered, display_step, level_uncertainty)
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
