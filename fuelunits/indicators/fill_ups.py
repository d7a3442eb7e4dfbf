"""A fill-up: the fuel used according to the indicator, and the fuel delivered by the truck."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

from fuelunits.arrays import ByValue
from fuelunits.errors import QuantityError
from fuelunits.indicators.written import coerce_text, set_fields
from fuelunits.pint_units import first_quantity
from fuelunits.quantities import positive, read_text
from fuelunits.sources import Range
from fuelunits.uncertainty.budget import nominal, one_value, rectangular, uncertain
from fuelunits.uncertainty.measured import uncertain_magnitude
from fuelunits.units import read_unit
from fuelunits.validation import coerce_fields

_FACTORS = Range("volume correction factor (net over gross)", 0.9, 1.1, "", "the fuels and temperatures of a ramp")
_TRUCK_FACTORS = Range("factor of the truck's meter", 0.9, 1.1, "", "a meter that may bill fuel")


@dataclass(frozen=True, kw_only=True, eq=False)
class FillUp(ByValue):
    """One fill-up to the same level as the one before, with its inputs as they were written.

    Attributes
    ----------
    indicated, delivered : str or pint.Quantity
        Fuel used since the last fill-up, by the indicator, and fuel delivered, as the ticket says; ``measured(...)``
        gives either an uncertainty of its own.
    display_step, level_uncertainty : str or pint.Quantity, optional
        Step of the indicator's total, of which ± half is added; standard uncertainty of filling to the same level.
    volume_correction_factor : float or uncertain number
        Net over gross volume of a ticket that is compensated to 15 °C or 60 °F, a ratio as ``ctl`` gives it; 1 for a
        gross ticket. An error of 1 °C in the temperature is about 0.1 %.
    truck_factor : float or uncertain number
        True over displayed volume of the truck's meter, a ratio: its calibration. One object for all fill-ups from
        one truck.
    indicated_l, used_l : float or uncertain number
        Fuel by the indicator and fuel that was truly used since the last fill-up, L.

    Examples
    --------
    >>> fill = FillUp(indicated="387.5 L", delivered="372.0 L", display_step="0.5 L",
    ...     level_uncertainty="1 L", volume_correction_factor=0.9880)
    >>> round(fill.ratio.nominal_value, 4), round(fill.ratio.std_dev, 5)
    (1.0292, 0.00276)
    """

    indicated: Any
    delivered: Any
    display_step: Any = None
    level_uncertainty: Any = None
    volume_correction_factor: Any = 1.0
    truck_factor: Any = 1.0
    indicated_l: Any = field(init=False, repr=False, compare=False)
    used_l: Any = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        first_quantity(self.indicated, self.delivered, self.display_step, self.level_uncertainty)
        units = {name: str(getattr(getattr(self, name), "units", "L")) for name in ("indicated", "delivered")}
        coerce_text(self, {**units, "display_step": "L", "level_uncertainty": "L"}, measured=units)
        coerce_fields(self, ("volume_correction_factor", "truck_factor"), one_value, "a fill-up: ")
        _FACTORS.check(nominal(self.volume_correction_factor))
        _TRUCK_FACTORS.check(nominal(self.truck_factor))
        indicated = uncertain_magnitude(self.indicated, "L", name="indicated")
        delivered = uncertain_magnitude(self.delivered, "L", name="delivered") / self.volume_correction_factor
        if self.display_step is not None:
            half_step = float(positive(self.display_step, "L", name="display_step")) / 2.0
            indicated = indicated + rectangular(0.0, half_step, name="display step", unit="L")
        level = uncertain(0.0, self.level_uncertainty_l, name="level in the tanks", unit="L")
        used = delivered * self.truck_factor - level
        for name, value in (("indicated", indicated), ("used", used)):
            if not 0.0 < nominal(value) < math.inf:
                raise QuantityError(f"a fill-up: {nominal(value):g} L {name}; it must be positive and finite")
            set_fields(self, **{f"{name}_l": value})

    def unit_of(self, name: str, default: str) -> str:
        """Return the unit in which ``"indicated"`` or ``"delivered"`` was written; a default for a measured value."""
        value = getattr(self, name)
        return read_unit(read_text(value)[1]).name if isinstance(value, str) else default

    @property
    def level_uncertainty_l(self) -> float:
        """Standard uncertainty of filling to the same level, L; 0 where it is not stated."""
        if self.level_uncertainty is None:
            return 0.0
        return float(positive(self.level_uncertainty, "L", name="level_uncertainty", zero=True))

    @property
    def ratio(self) -> Any:
        """Indicated over used."""
        return self.indicated_l / self.used_l
