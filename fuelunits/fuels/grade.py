"""A fuel grade: its typical density, the limits of the specification, and the origin of each figure."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, overload

from fuelunits.arrays import as_float
from fuelunits.errors import FuelUnitsError, QuantityError
from fuelunits.fuels.acceptance import spread_about
from fuelunits.fuels.batches import Measurable
from fuelunits.fuels.elementwise import density_over, is_large
from fuelunits.fuels.liquid import Liquid
from fuelunits.fuels.product import batch_of
from fuelunits.pint_units import answer
from fuelunits.quantities import QuantityLike, temperature_c
from fuelunits.reports import Report, Reporting, Table
from fuelunits.sources import OnOutOfRange, Range, Sourced, source
from fuelunits.units import factor

_AIRCRAFT_KINDS = ("aviation gasoline", "jet fuel", "wide-cut jet fuel")


_ASSUMED = "assumes normally distributed batches; the samples are kerosenes of one data set, not a survey of the grade"


@dataclass(frozen=True, kw_only=True)
class Spread(Sourced):
    """The 95 % limits of the standard deviation of the density of batches at 15 °C, kg/m³."""

    low: float
    high: float

    def __str__(self) -> str:
        return f"standard deviation of batches {self.low:.1f} to {self.high:.1f} kg/m³ (95 %)"


@dataclass(frozen=True, kw_only=True)
class Figure(Sourced):
    """A published density, kg/m³, and its temperature, °C.

    ``locator`` says where in the source it stands; ``doubt``, why it is not a figure read for the grade itself: a
    stand-in, a midpoint, digitised, contradicted.
    """

    density_kg_m3: float
    at_c: float = 15.0
    locator: str = ""
    doubt: str = ""

    @property
    def standing(self) -> str:
        """The remark needed wherever the figure decides; empty for a figure that was read."""
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
class Fuel(Measurable, Reporting):
    """A grade of fuel.

    Attributes
    ----------
    name, kind, nato, aliases : str or tuple of str
    typical : Figure, the mean of a survey where one could be read, or a published density of a typical fuel
    low, high : Figure or None, the specification's limits
    means, others : tuple of Figure, means of other surveys, and further published densities
    temperatures : Range of its valid temperatures, °C
    note, refused : str, a remark for the reader, and the reason where its density is refused
    spread : Spread or None, how much batches differ, where there are data
    expansion_doubt : str, a remark where its expansion is a stand-in, recalled or contradicted
    most_in_blend : float or None, largest share, percent by volume, in finished blends (from memory)

    Examples
    --------
    >>> from fuelunits.fuels.grades import fuel
    >>> jet = fuel("Jet A")
    >>> round(jet.density_kg_m3(30.0), 1), [round(each, 1) for each in jet.density_limits_kg_m3(30.0)]
    (796.9, [762.1, 829.3])
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

    _plain = ("remarks",)

    @property
    def source(self) -> str:
        """Key of the source of the typical density."""
        return self.typical.source

    @property
    def valid_temperatures_c(self) -> Range:
        """Valid temperatures of the fuel, °C."""
        return self.temperatures

    @property
    def _named_figures(self) -> list[tuple[str, Figure]]:
        named = [("typical", self.typical), ("at least", self.low), ("at most", self.high)]
        named += [("other mean", each) for each in self.means] + [("also published", each) for each in self.others]
        return [(name, each) for name, each in named if each is not None]

    @property
    def figures(self) -> tuple[Figure, ...]:
        """Every published density of the grade."""
        return tuple(each for _, each in self._named_figures)

    @property
    def for_aircraft(self) -> bool:
        """Whether it is a finished aircraft fuel: an aviation gasoline or a jet fuel."""
        return self.kind in _AIRCRAFT_KINDS

    @property
    def doubts(self) -> dict[str, str]:
        """The remark on each figure that decides: typical density, limits and expansion; none for a figure read."""
        deciding = [(name, each) for name, each in self._named_figures if name in ("typical", "at least", "at most")]
        doubts = {name: f"{each.value} ({each.standing})" for name, each in deciding if each.standing}
        return doubts | ({"expansion": f"({self.expansion_doubt})"} if self.expansion_doubt else {})

    def remarks(self, *, typical: bool = True, limits: bool = True) -> tuple[str, ...]:
        """Return the remarks needed where the typical density or the limits decide; none where all were read."""
        said = {"typical": typical, "at least": limits, "at most": limits, "expansion": True}
        parts = [f"{name} {doubt}" for name, doubt in self.doubts.items() if said[name]]
        return (f"{self.name}: {'; '.join(parts)}",) if parts else ()

    @property
    def share_remarks(self) -> tuple[str, ...]:
        """The remark on an estimated share of batches: the basis of the estimate."""
        if self.spread is None:
            return ()
        doubtful = "; ".join(f"mean {each.value} ({each.standing})" for each in self.means if each.standing)
        return (f"The estimate {_ASSUMED}.", *((f"{self.name}: {doubtful}",) if doubtful else ()))

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
        """Return the density of the typical fuel, kg/m³, at °C and at kPa above atmospheric (0 to 10342)."""
        if self.refused:
            raise FuelUnitsError(f"{self.name}: {self.refused}")
        t, p = as_float(temperature_c), as_float(gauge_pressure_kpa)
        if is_large(t, p):
            return density_over(self.liquid, t, p, self.temperatures, out_of_range)
        return self.liquid.density_kg_m3(self.temperatures.check(t, out_of_range), p, out_of_range=out_of_range)

    @cached_property
    def _limits(self) -> tuple[Liquid | None, Liquid | None]:
        low, high = (each and batch_of(self.liquid, each.density_kg_m3, each.at_c) for each in (self.low, self.high))
        return low or None, high or None

    def limit_liquids(self) -> tuple[Liquid | None, Liquid | None]:
        """Return models of the lightest and the densest batch that the specification allows."""
        return self._limits

    def density_limits_kg_m3(self, temperature_c: Any) -> tuple[Any, Any]:
        """Return the lowest and highest density, kg/m³, that the specification allows at °C, or None."""
        t = self.temperatures.check(as_float(temperature_c))
        low, high = (limit and limit.density_kg_m3(t) for limit in self._limits)
        return low, high

    def density_limits(self, at: QuantityLike) -> tuple[Any, Any]:
        """Return the same as quantities, for a temperature given as text or a pint quantity."""
        limits = self.density_limits_kg_m3(temperature_c(at, name="at", takes="density_limits_kg_m3"))
        low, high = (None if limit is None else answer(limit, "kg/m^3", at) for limit in limits)
        return low, high

    def _at_base(self, density_kg_m3: float, at_c: float) -> float:
        return float(batch_of(self.liquid, density_kg_m3, at_c).density_kg_m3(self.base_c))

    @cached_property
    def ordinary_kg_m3(self) -> tuple[float, float]:
        """Densities at 15 °C, kg/m³, of batches: the limits, or 3 % beyond published figures (common practice)."""
        base = {name: self._at_base(each.density_kg_m3, each.at_c) for name, each in reversed(self._named_figures)}
        low, high = spread_about(min(base.values()), max(base.values()))
        return base.get("at least", low), base.get("at most", high)

    def estimated_share(self, low_kg_m3: float, high_kg_m3: float) -> tuple[float, float] | None:
        """Return the least and largest share of batches, 0 to 1, between two densities at 15 °C; None without data.

        Of batches normally distributed, over the published means and the 95 % limits of the standard deviation.
        """
        if self.spread is None:
            return None
        if not low_kg_m3 <= high_kg_m3:
            raise QuantityError(f"densities are {low_kg_m3:g} and {high_kg_m3:g} kg/m^3; write the lower one first")
        from statistics import NormalDist

        def steps(values: list[float]) -> list[float]:
            low, high = min(values), max(values)
            return [low + (high - low) * step / 16.0 for step in range(17)]

        means = [self._at_base(each.density_kg_m3, each.at_c) for each in (self.typical, *self.means)]
        deviations = steps([self.spread.low, self.spread.high])
        batches = [NormalDist(mean, each) for mean in steps(means) for each in deviations]
        shares = [each.cdf(high_kg_m3) - each.cdf(low_kg_m3) for each in batches]
        return min(shares), max(shares)

    def report(self) -> Report:
        """Return the report of the grade."""
        facts = {
            "temperatures": f"{self.temperatures.low:g} to {self.temperatures.high:g} °C",
            "spread of batches": self.spread and str(self.spread),
            "note": self.note,
        }
        return Report(
            f"{self.name} ({', '.join(filter(None, (self.kind, self.nato and f'NATO {self.nato}')))})",
            verdict=f"refused: {self.refused}" if self.refused else "",
            facts=facts,
            tables=[Table.of({"figure": name, **each.cells()} for name, each in self._named_figures)],
            remarks=self.remarks(),
        )

    def rows(self) -> tuple[dict[str, Any], ...]:
        """Return every published density of the grade: what it is, kg/m³, °C, its source and standing."""
        return tuple({"figure": name, **vars(each), "standing": each.standing} for name, each in self._named_figures)
