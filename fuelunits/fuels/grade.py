"""A fuel grade: its typical density, what the specification allows, and how each figure stands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from fuelunits.arrays import as_float
from fuelunits.errors import FuelUnitsError
from fuelunits.fuels.large_arrays import density_over, is_large
from fuelunits.fuels.liquid import Liquid
from fuelunits.fuels.product import batch_of
from fuelunits.fuels.quantity_methods import Amounts
from fuelunits.fuels.spread import ShareOfBatches, Spread, share_of_batches
from fuelunits.quantities import answer, magnitude, temperature_c
from fuelunits.ranges import OnOutOfRange, Range
from fuelunits.reports import Report, Reporting, Table
from fuelunits.sources import Sourced, source
from fuelunits.units import factor
from fuelunits.validation import format_value

__all__ = ["Figure", "Fuel"]

_AIRCRAFT_KINDS = ("aviation gasoline", "jet fuel", "wide-cut jet fuel")

_BEYOND_FIGURES = 0.03
"""How far batches are taken to lie beyond the published figures where no limit is set (common practice)."""


@dataclass(frozen=True, kw_only=True)
class Figure(Sourced):
    """A published density.

    Attributes
    ----------
    density_kg_m3, at_c : float
        The density and its temperature, °C.
    locator : str
        Where in the source it stands, if the source itself does not say.
    doubt : str
        How it stands where it was not read as a figure of the grade: a stand-in, a midpoint, digitised.
    """

    density_kg_m3: float
    at_c: float = 15.0
    locator: str = ""
    doubt: str = ""

    @property
    def standing(self) -> str:
        """What must be said wherever the figure decides; empty for a figure that was read.

        Examples
        --------
        >>> from fuelunits.fuels.grades import fuel
        >>> fuel("TS-1").typical.standing, fuel("Jet A").high.standing
        ('from memory', '')
        """
        recalled = "from memory" if source(self.source).obtained == "memory" else ""
        return "; ".join(filter(None, (self.doubt, recalled)))

    @property
    def value(self) -> str:
        """The density and its temperature as text."""
        return f"{self.density_kg_m3:.1f} kg/m³ at {self.at_c:.4g} °C"

    def cells(self) -> dict[str, str]:
        """Return the cells of a table: the density, its temperature, its source and its standing."""
        entry = source(self.source)
        return {
            "kg/m³": f"{self.density_kg_m3:.1f}",
            "lb/gal": f"{self.density_kg_m3 * factor('kg/m^3', 'lb/gal'):.3f}",
            "at °C": f"{self.at_c:.4g}",
            "source": ", ".join(filter(None, (entry.title, self.locator))),
            "obtained": "; ".join(filter(None, (entry.obtained, self.doubt))),
        }

    def __str__(self) -> str:
        cells = self.cells()
        return f"{self.value} ({cells['source']}; {cells['obtained']})"


@dataclass(frozen=True, repr=False)
class Fuel(Amounts, Reporting):
    """A grade of fuel.

    Attributes
    ----------
    name, kind, nato : str
        Its name, what kind of fuel it is, and its NATO code where it has one.
    aliases : tuple of str
        Other names by which :func:`fuel` finds it.
    typical : Figure
        The mean of a survey where one could be read, or a published density of a typical fuel of the grade.
    low, high : Figure or None
        The specification's limits.
    means, others : tuple of Figure
        Means of other surveys, and further published densities, to show how far batches differ.
    temperatures : Range
        Temperatures at which it is answered for, °C.
    note : str
        What a careful reader should know.
    refused : str
        Why its density is refused; empty where it is not.
    spread : Spread or None
        How much batches differ, where there are data.
    expansion_doubt : str
        How its expansion stands where it is a stand-in or recalled.
    most_in_blend : float or None
        Largest share, in percent by volume, that the specification of finished blends allows (from memory).

    Examples
    --------
    >>> from fuelunits.fuels.grades import fuel
    >>> jet = fuel("Jet A")
    >>> round(jet.density_kg_m3(30.0), 1)
    796.9
    >>> low, high = jet.density_limits_kg_m3(30.0)
    >>> round(low, 1), round(high, 1)
    (762.1, 829.3)
    """

    name: str
    kind: str
    nato: str
    aliases: tuple[str, ...]
    typical: Figure
    low: Figure | None
    high: Figure | None
    means: tuple[Figure, ...]
    others: tuple[Figure, ...]
    temperatures: Range
    note: str
    refused: str
    spread: Spread | None
    expansion_doubt: str
    most_in_blend: float | None
    liquid: Liquid = field(repr=False)

    objections = ()
    _plain = ("rests_on_memory", "remarks")

    @property
    def source(self) -> str:
        """Key of the source of the typical density."""
        return self.typical.source

    @property
    def valid_temperatures_c(self) -> Range:
        """Temperatures at which the fuel is answered for, °C."""
        return self.temperatures

    @property
    def _named_figures(self) -> list[tuple[str, Figure]]:
        named = [("typical", self.typical), ("at least", self.low), ("at most", self.high)]
        named += [("other mean", each) for each in self.means] + [("also published", each) for each in self.others]
        return [(name, each) for name, each in named if each is not None]

    @property
    def figures(self) -> tuple[Figure, ...]:
        """Every density that is carried for the grade."""
        return tuple(each for _, each in self._named_figures)

    @property
    def for_aircraft(self) -> bool:
        """Whether it is a finished aircraft fuel: an aviation gasoline or a jet fuel."""
        return self.kind in _AIRCRAFT_KINDS

    @property
    def rests_on_memory(self) -> bool:
        """Whether every figure of the grade was recalled, and none read."""
        return all(source(each.source).obtained == "memory" for each in self.figures)

    def remarks(self, *, typical: bool = True, limits: bool = True) -> tuple[str, ...]:
        """Return what must be said wherever the figures of the grade decide; no line where all were read.

        Parameters
        ----------
        typical, limits : bool
            Whether the typical density decides, and whether the limits of the specification do.

        Examples
        --------
        >>> from fuelunits.fuels.grades import fuel
        >>> fuel("UL91").remarks()
        ('UL91: typical 709.0 kg/m³ at 15 °C (stand-in: alkylate, of which unleaded grades are largely made)',)
        >>> fuel("100LL").remarks()
        ()
        """
        named = [("typical", self.typical if typical else None)]
        named += [("at least", self.low), ("at most", self.high)] if limits else []
        parts = [f"{name} {each.value} ({each.standing})" for name, each in named if each and each.standing]
        parts += [f"expansion ({self.expansion_doubt})"] if self.expansion_doubt else []
        return (f"{self.name}: {'; '.join(parts)}",) if parts else ()

    def density_kg_m3(
        self, temperature_c: Any, gauge_pressure_kpa: Any = 0.0, *, out_of_range: OnOutOfRange = "raise"
    ) -> Any:
        """Return the density of the typical fuel.

        Parameters
        ----------
        temperature_c : float or array
            °C, within :attr:`valid_temperatures_c`.
        gauge_pressure_kpa : float or array
            Pressure above atmospheric, kPa: 0 to 10342.
        out_of_range : {"raise", "nan"}
            What to do outside.

        Returns
        -------
        float or array
            kg/m³.
        """
        if self.refused:
            raise FuelUnitsError(f"{self.name}: {self.refused}")
        t, p = as_float(temperature_c), as_float(gauge_pressure_kpa)
        if is_large(t, p):
            return density_over(self.liquid, t, p, self.temperatures, out_of_range)
        return self.liquid.density_kg_m3(self.temperatures.check(t, out_of_range), p, out_of_range=out_of_range)

    def density_limits_kg_m3(self, temperature_c: Any) -> tuple[Any, Any]:
        """Return the lowest and highest density, kg/m³, that the specification allows at a temperature.

        A limit that the specification does not set is None.
        """
        t = self.temperatures.check(as_float(temperature_c))
        low, high = (limit and limit.density_kg_m3(t) for limit in self._limits)
        return low, high

    def density_limits(self, at: Any) -> tuple[Any, Any]:
        """Return the same as quantities, for a temperature given as text or a pint quantity.

        Examples
        --------
        >>> from fuelunits.fuels.grades import fuel
        >>> low, high = fuel("Jet A-1").density_limits("15 degC")
        >>> f"{low.m_as('kg/L'):.3f} to {high.m_as('kg/L'):.3f}"
        '0.775 to 0.840'
        """
        limits = self.density_limits_kg_m3(temperature_c(at, name="at", takes="density_limits_kg_m3"))
        low, high = (None if limit is None else answer(limit, "kg/m^3", at) for limit in limits)
        return low, high

    @cached_property
    def _limits(self) -> tuple[Liquid | None, Liquid | None]:
        low, high = (each and batch_of(self.liquid, each.density_kg_m3, each.at_c) for each in (self.low, self.high))
        return low or None, high or None

    def limit_liquids(self) -> tuple[Liquid | None, Liquid | None]:
        """Return models of the lightest and the densest batch that the specification allows."""
        return self._limits

    def _base_density(self, figure: Figure) -> float:
        return float(batch_of(self.liquid, figure.density_kg_m3, figure.at_c).density_kg_m3(self.base_c))

    @cached_property
    def ordinary_kg_m3(self) -> tuple[float, float]:
        """Densities at 15 °C between which batches lie, kg/m³.

        The limits of the specification; where it sets none, 3 % beyond the published figures (common practice).
        """
        published = [self._base_density(each) for each in self.figures]
        low, high = min(published) * (1.0 - _BEYOND_FIGURES), max(published) * (1.0 + _BEYOND_FIGURES)
        return self._base_density(self.low) if self.low else low, self._base_density(self.high) if self.high else high

    def estimated_share(self, low_kg_m3: float, high_kg_m3: float) -> tuple[float, float] | None:
        """Return an estimate of the share of batches whose density at 15 °C lies between two, as a range.

        Parameters
        ----------
        low_kg_m3, high_kg_m3 : float
            Densities at 15 °C, kg/m³.

        Returns
        -------
        (float, float) or None
            The least and the largest share, 0 to 1, over the published means and the 95 % limits of the standard
            deviation; None where there are no data on how batches of the grade differ.

        Examples
        --------
        >>> from fuelunits.fuels.grades import fuel
        >>> low, high = fuel("Jet A").estimated_share(786.8, 818.9)
        >>> round(low, 2), round(high, 2)
        (0.78, 0.98)
        >>> fuel("100LL").estimated_share(700.0, 740.0) is None
        True
        """
        if self.spread is None:
            return None
        means = [self._base_density(each) for each in (self.typical, *self.means)]
        return share_of_batches(low_kg_m3, high_kg_m3, (min(means), max(means)), self.spread.limits_kg_m3)

    def share_of_batches(self, between: Any, at: Any = "15 degC") -> ShareOfBatches:
        """Return an estimate of the share of batches whose density lies between two, with its report.

        Parameters
        ----------
        between : pair of str or pint.Quantity
            The two densities.
        at : str or pint.Quantity
            Temperature of both.

        Examples
        --------
        >>> from fuelunits.fuels.grades import fuel
        >>> fuel("Jet A").share_of_batches(("6.57 lb/gal", "6.83 lb/gal"))
        <ShareOfBatches: Jet A between 787.3 and 818.4 kg/m³ at 15 °C: estimate: 77 to 97 % of batches>
        """
        celsius = float(temperature_c(at, name="at"))
        if not isinstance(between, Sequence) or isinstance(between, str) or len(between) != 2:
            raise FuelUnitsError(f"between is {format_value(between)}; write ('6.57 lb/gal', '6.83 lb/gal')")
        low, high = sorted(float(magnitude(each, "kg/m^3", name="between")) for each in between)
        base = [float(batch_of(self.liquid, each, celsius).density_kg_m3(self.base_c)) for each in (low, high)]
        return ShareOfBatches(self.name, low, high, celsius, self.estimated_share(*base), self.spread)

    def measured(self, density: Any = None, at: Any = None, **how: Any) -> Any:
        """Return this batch of the grade, from a measurement: see :class:`fuelunits.fuels.batches.Batch`.

        Examples
        --------
        >>> from fuelunits.fuels.grades import fuel
        >>> batch = fuel("Jet A").measured("0.812 kg/L", at="22 degC", by="densitometer")
        >>> f"{batch.mass('1200 L', at='-10 degC').m_as('kg'):.1f}"
        '1002.2'
        """
        from fuelunits.fuels.batches import measure

        return measure(self, density, at, **how)

    def report(self) -> Report:
        """Return what a person reads of the grade."""
        facts = {
            "temperatures": f"{self.temperatures.low:g} to {self.temperatures.high:g} °C",
            "spread of batches": self.spread and str(self.spread),
            "note": self.note,
        }
        memory = ("every figure of this grade is from memory",) if self.rests_on_memory else ()
        return Report(
            f"{self.name} ({', '.join(filter(None, (self.kind, self.nato and f'NATO {self.nato}')))})",
            verdict=f"refused: {self.refused}" if self.refused else "",
            facts=facts,
            tables=[Table.of({"figure": name, **each.cells()} for name, each in self._named_figures)],
            remarks=self.remarks() + memory,
        )

    def rows(self) -> tuple[dict[str, Any], ...]:
        """Return every published density of the grade: what it is, kg/m³, °C, its source and standing."""
        return tuple({"figure": name, **vars(each), "standing": each.standing} for name, each in self._named_figures)
