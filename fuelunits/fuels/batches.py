"""A measured batch of a grade: its own density, instead of the grade's typical one.

The density read is converted to 15 °C, and from there to any temperature, by the expansion of the grade.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, overload

from fuelunits.arrays import as_float
from fuelunits.conversion import convert
from fuelunits.errors import FuelUnitsError
from fuelunits.fuels.acceptance import Judged, Judgement, beyond_limits, judge, looks_like
from fuelunits.fuels.density_reading import By, Reading, read
from fuelunits.fuels.liquid import Amounts, Liquid
from fuelunits.fuels.product import batch_of
from fuelunits.pint_units import first_quantity
from fuelunits.quantities import QuantityLike, positive
from fuelunits.quantities import temperature_c as celsius
from fuelunits.reports import Report, Reporting
from fuelunits.sources import OnOutOfRange, Range
from fuelunits.uncertainty.decisions import Verdict

_STEP = 1e-4
"""Relative step of the density read, from whose effect the sensitivity to it is taken."""


@dataclass(frozen=True, repr=False)
class Batch(Judged, Amounts, Reporting):
    """A batch of a grade whose density was measured; made by :meth:`fuelunits.Fuel.measured`.

    Attributes
    ----------
    fuel : Fuel or Blend, the grade
    reading : Reading, what was read, with what, and at which temperature
    liquid : Liquid, how its density changes with temperature and pressure

    Examples
    --------
    >>> from fuelunits.fuels.grades import fuel
    >>> batch = fuel("Jet A").measured("0.805 kg/L", at="22 degC", by="hydrometer")
    >>> round(batch.reading.density_kg_m3, 2), round(batch.base_density_kg_m3, 2), round(batch.density_kg_m3(-10.0), 1)
    (804.87, 810.02, 828.2)
    >>> batch.verdict.value, batch.reason
    ('accept', 'density within the limits of Jet A')
    """

    fuel: Any = field(repr=False)
    reading: Reading
    liquid: Liquid = field(repr=False)

    _plain = ("name", "base_density_kg_m3", "verdict", "reason", "within_limits", "looks_like", "remarks")

    @property
    def name(self) -> str:
        """The grade, and that it was measured."""
        return f"measured {self.fuel.name}"

    @property
    def source(self) -> str:
        """Key of the source of the expansion."""
        return self.liquid.source

    @property
    def valid_temperatures_c(self) -> Range:
        """Valid temperatures of the grade, °C."""
        return self.fuel.valid_temperatures_c  # type: ignore[no-any-return]

    @property
    def base_density_kg_m3(self) -> float:
        """Density at 15 °C and atmospheric pressure, kg/m³."""
        return float(self.liquid.density_kg_m3(self.base_c))

    @overload
    def density_kg_m3(
        self, temperature_c: float, gauge_pressure_kpa: float = 0.0, *, out_of_range: OnOutOfRange = "raise"
    ) -> float: ...
    @overload
    def density_kg_m3(
        self, temperature_c: Any, gauge_pressure_kpa: Any = 0.0, *, out_of_range: OnOutOfRange = "raise"
    ) -> Any: ...
    def density_kg_m3(
        self, temperature_c: Any, gauge_pressure_kpa: Any = 0.0, *, out_of_range: OnOutOfRange = "raise"
    ) -> Any:
        """Return the density of the batch, kg/m³, at °C and at kPa above atmospheric (0 to 10342)."""
        t = self.fuel.valid_temperatures_c.check(as_float(temperature_c), out_of_range)
        return self.liquid.density_kg_m3(t, gauge_pressure_kpa, out_of_range=out_of_range)

    def apparent_mass(
        self,
        volume: QuantityLike,
        at: QuantityLike,
        *,
        air_density: QuantityLike = "1.2 kg/m^3",
        weights_density: QuantityLike = "8000 kg/m^3",
    ) -> Any:
        """Return the mass that a balance displays in air for a volume of the batch at atmospheric pressure, kg.

        It is 0.14 % less than the mass of jet fuel; both densities are the conventional ones (OIML D 28, recalled).
        """
        from fuelunits.fuels.water_and_air import buoyancy_factor

        first_quantity(volume, at, air_density, weights_density)
        density = self.density_kg_m3(celsius(at, name="at"))
        air = positive(air_density, "kg/m^3", name="air_density")
        weights = positive(weights_density, "kg/m^3", name="weights_density")
        return self.mass(volume, at) / buoyancy_factor(density, air, weights)

    def uncertain_density_kg_m3(self, temperature_c: Any, gauge_pressure_kpa: Any = 0.0) -> Any:
        """Return the density with the uncertainty of its reading, kg/m³, as ``uncertainties.UFloat``.

        To first order (GUM, 5.1.2), all from one batch correlated. That of the expansion is not in it: independent
        tables agree within 0.4 % at 55 °C from the temperature of the reading.
        """
        t, p = as_float(temperature_c), as_float(gauge_pressure_kpa)
        lighter, denser = (_batch_liquid(self.fuel, self.reading, side) for side in (1.0 - _STEP, 1.0 + _STEP))
        step_kg_m3 = 2.0 * _STEP * self.reading.density_kg_m3
        sensitivity = (denser.density_kg_m3(t, p) - lighter.density_kg_m3(t, p)) / step_kg_m3
        return self.density_kg_m3(t, p) + sensitivity * self._error_of_reading

    def uncertain_mass(self, volume: QuantityLike, at: QuantityLike, gauge_pressure: QuantityLike | None = None) -> Any:
        """Return the mass of a volume, taken as exact, with the uncertainty of the reading, in kg."""
        t = celsius(at, name="at")
        p = 0.0 if gauge_pressure is None else positive(gauge_pressure, "kPa", name="gauge_pressure", zero=True)
        mass = self.mass(volume, at, gauge_pressure)
        return type(mass)(mass.magnitude * (self.uncertain_density_kg_m3(t, p) / self.density_kg_m3(t, p)), mass.units)

    @cached_property
    def _error_of_reading(self) -> Any:
        """One variable a batch, so that what rests on it stays correlated."""
        if self.reading.standard_uncertainty_kg_m3 is None:
            raise FuelUnitsError(f'{self.name} without an uncertainty; measure it with uncertainty="0.5 kg/m^3"')
        from uncertainties import ufloat

        return ufloat(0.0, self.reading.standard_uncertainty_kg_m3, "density read")

    @cached_property
    def _judgement(self) -> Judgement:
        return judge(self.fuel, self.liquid, self.reading.standard_uncertainty_kg_m3, self.reading.at_c)

    @property
    def within_limits(self) -> bool | None:
        """Whether the reading lies within both limits of its grade; None where one that it might exceed is not set."""
        beyond = [excess > 0.0 for _, limit, excess in beyond_limits(self.fuel, self.liquid) if limit]
        return False if any(beyond) else True if len(beyond) == 2 else None

    @cached_property
    def looks_like(self) -> tuple[str, ...]:
        """Other aircraft and motor fuels that have such a density; of another kind unless the batch is rejected."""
        return looks_like(self.fuel, self.liquid, any_kind=self.verdict is Verdict.REJECT)

    def remarks(self, *, typical: bool = True, limits: bool = True) -> tuple[str, ...]:
        """Return the remarks on the batch for use where it decides; the typical density counts only without a limit."""
        typical = typical and None in (self.fuel.low, self.fuel.high)
        alike = f"density does not distinguish it from {', '.join(self.looks_like)}" if self.looks_like else ""
        own = (alike,) if alike and self.verdict is not Verdict.REJECT else ()
        return (*own, *self.reading.remarks(), *self.fuel.remarks(typical=typical, limits=limits))

    def report(self) -> Report:
        """Return the report of the batch."""
        base = self.base_density_kg_m3
        limits = (("at least", self.fuel.low), ("at most", self.fuel.high))
        facts = {
            "read": self.reading.report().title,
            "density as read": _in_both_units(self.reading.density_kg_m3),
            f"density at {self.base_c:g} °C": _in_both_units(base),
            **{name: str(limit or "no limit of the specification is known here") for name, limit in limits},
        }
        title = f"{self.name}, {base:.2f} kg/m³ at {self.base_c:g} °C"
        return Report(title, self._verdict_line, facts, remarks=self.remarks(), sources=(self.source,))


def _in_both_units(kg_m3: float) -> str:
    return f"{kg_m3:.2f} kg/m³, {convert(kg_m3, 'kg/m^3', 'lb/gal'):.4f} lb/gal"


def _batch_liquid(fuel: Any, reading: Reading, times: float = 1.0) -> Liquid:
    return batch_of(fuel.liquid, times * reading.density_kg_m3, reading.at_c, reading.gauge_pressure_kpa)


class Measurable(Amounts):
    """A grade or a blend, of which a batch can be measured."""

    @property
    def objections(self) -> tuple[str, ...]:
        """The reasons against it as an aircraft fuel, apart from its density."""
        return ()

    def measured(
        self,
        density: QuantityLike | None = None,
        at: QuantityLike | None = None,
        *,
        by: By = "certificate",
        api_gravity: float | None = None,
        relative_density: float | None = None,
        calibrated_at: QuantityLike | None = None,
        gauge_pressure: QuantityLike | None = None,
        uncertainty: QuantityLike | None = None,
    ) -> Batch:
        """Return a batch of it from a measurement: of ``density``, ``api_gravity`` or ``relative_density``.

        Parameters
        ----------
        density, at : str or pint.Quantity
            What was read, and the temperature of the fuel; of a certificate by default 15 °C, or 60 °F of the others.
        by : {"hydrometer", "densitometer", "certificate"}
            The reading of a glass hydrometer is corrected for its glass; the others state the true density.
        api_gravity, relative_density : float
            Instead of the density: a plain number on a scale at 60 °F.
        calibrated_at : str or pint.Quantity
            Temperature of a hydrometer's scale: 15 °C, 20 °C or 60 °F; by default that of the density or scale.
        gauge_pressure, uncertainty : str or pint.Quantity
            Above atmospheric when it was read; standard, of what was read: ``"0.5 kg/m^3"``, ``"0.1 %"``.

        Examples
        --------
        >>> from fuelunits.fuels.grades import fuel
        >>> round(fuel("JP-8").measured(api_gravity=45.1).base_density_kg_m3, 1)
        800.9
        """
        first_quantity(density, at, calibrated_at, gauge_pressure, uncertainty)
        fuel: Any = self
        if fuel.refused:
            raise FuelUnitsError(f"{fuel.name} cannot be converted from one temperature to another: {fuel.refused}")
        reading = read(density, at, by, (api_gravity, relative_density), calibrated_at, gauge_pressure, uncertainty)
        fuel.valid_temperatures_c.check(reading.at_c)
        return batch_from_reading(fuel, reading)


def batch_from_reading(fuel: Any, reading: Reading) -> Batch:
    """Return the batch of a grade, or of a blend, that a reading describes."""
    return Batch(fuel, reading, _batch_liquid(fuel, reading))
