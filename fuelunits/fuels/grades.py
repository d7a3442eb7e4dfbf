"""Fuel grades: a typical density, what the specification allows, and where each figure comes from.

No grade has one density. Each answer here is for the grade's typical fuel; a batch may lie 4 %
from it within the specification. Where weight matters, measure, and use :meth:`Fuel.measured`.
"""

from __future__ import annotations

import difflib
import tomllib
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from importlib.resources import files
from typing import Any

from fuelunits.arrays import as_float
from fuelunits.errors import FuelUnitsError, UnknownFuel
from fuelunits.frames import frame
from fuelunits.fuels.commodities import LUBRICATING_OIL, REFINED_PRODUCTS
from fuelunits.fuels.density_scales import BASE_60F_C, density_from_api_gravity, density_from_relative_density
from fuelunits.fuels.liquid import Liquid
from fuelunits.fuels.product import GivenExpansion, PetroleumProduct, batch_of
from fuelunits.fuels.quantity_methods import Amounts
from fuelunits.fuels.series import in_blocks, is_large
from fuelunits.html import report
from fuelunits.quantities import answer, temperature_c
from fuelunits.ranges import OnOutOfRange, Range
from fuelunits.reports import CAUTION
from fuelunits.sources import Sourced, source
from fuelunits.units import factor
from fuelunits.validation import format_value

__all__ = ["Figure", "Fuel", "all_fuels", "fuel"]


@dataclass(frozen=True, kw_only=True)
class Figure(Sourced):
    """A published density.

    Attributes
    ----------
    density_kg_m3, at_c : float
        The density and its temperature, °C.
    locator : str
        Where in the source it stands, if the source itself does not say.
    """

    density_kg_m3: float
    at_c: float = 15.0
    locator: str = ""

    def cells(self) -> dict[str, str]:
        """Give it as text: the density, its temperature and its source."""
        entry = source(self.source)
        return {
            "kg/m³": f"{self.density_kg_m3:.1f}",
            "lb/gal": f"{self.density_kg_m3 * factor('kg/m^3', 'lb/gal'):.3f}",
            "at °C": f"{self.at_c:.4g}",
            "source": ", ".join(filter(None, (entry.title, self.locator))),
            "obtained": entry.obtained,
        }

    def __str__(self) -> str:
        where = f", {self.locator}" if self.locator else ""
        entry = source(self.source)
        return f"{self.density_kg_m3:.1f} kg/m³ at {self.at_c:.4g} °C ({entry.title}{where}; {entry.obtained})"


@dataclass(frozen=True, repr=False)
class Fuel(Amounts):
    """A grade of fuel.

    Attributes
    ----------
    name, kind, nato : str
        Its name, what kind of fuel it is, and its NATO code where it has one.
    aliases : tuple of str
        Other names by which :func:`fuel` finds it.
    typical : Figure
        A published density of a typical fuel of the grade.
    low, high : Figure or None
        The specification's limits.
    others : tuple of Figure
        Further published densities, to show how far batches differ.
    temperatures : Range
        Temperatures at which it is answered for, °C.
    note : str
        What a careful reader should know.

    Examples
    --------
    >>> jet = fuel("Jet A")
    >>> round(jet.density_kg_m3(30.0), 1)
    792.9
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
    others: tuple[Figure, ...]
    temperatures: Range
    note: str
    refused: str
    liquid: Liquid = field(repr=False)

    @property
    def source(self) -> str:
        """Key of the source of the typical density."""
        return self.typical.source

    @property
    def valid_temperatures_c(self) -> Range:
        """Temperatures at which the fuel is answered for, °C."""
        return self.temperatures

    @property
    def figures(self) -> tuple[Figure, ...]:
        """Every density that is carried for the grade."""
        return tuple(each for each in (self.typical, self.low, self.high, *self.others) if each is not None)

    @property
    def for_aircraft(self) -> bool:
        """Whether it is a finished aircraft fuel: an aviation gasoline or a jet fuel."""
        return self.kind in ("aviation gasoline", "jet fuel", "wide-cut jet fuel")

    @property
    def rests_on_memory(self) -> bool:
        """Whether every figure of the grade was recalled, and none read."""
        return all(source(each.source).obtained == "memory" for each in self.figures)

    def density_kg_m3(
        self, temperature_c: Any, gauge_pressure_kpa: Any = 0.0, *, out_of_range: OnOutOfRange = "raise"
    ) -> Any:
        """Give the density of the typical fuel.

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
            return in_blocks(
                lambda part: self.liquid.density_kg_m3(part, p, out_of_range=out_of_range),
                t,
                self.temperatures,
                out_of_range,
            )
        return self.liquid.density_kg_m3(self.temperatures.check(t, out_of_range), p, out_of_range=out_of_range)

    def density_limits_kg_m3(self, temperature_c: Any) -> tuple[Any, Any]:
        """Give the lowest and highest density, kg/m³, that the specification allows at a temperature.

        A limit that the specification does not set is None.
        """
        t = self.temperatures.check(as_float(temperature_c))
        low, high = (limit and limit.density_kg_m3(t) for limit in self._limits)
        return low, high

    def density_limits(self, at: Any) -> tuple[Any, Any]:
        """Give the same as quantities, for a temperature given as text or a pint quantity.

        Examples
        --------
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
        """Give models of the lightest and the densest batch that the specification allows."""
        return self._limits

    def measured(self, density: Any = None, at: Any = None, **how: Any) -> Any:
        """Give this batch of the grade, from a measurement: see :class:`fuelunits.fuels.batches.Batch`.

        Examples
        --------
        >>> batch = fuel("Jet A").measured("0.812 kg/L", at="22 degC", by="densitometer")
        >>> f"{batch.mass('1200 L', at='-10 degC').m_as('kg'):.1f}"
        '1002.2'
        """
        from fuelunits.fuels.batches import measure

        return measure(self, density, at, **how)

    @property
    def _title(self) -> str:
        return f"{self.name} ({', '.join(filter(None, (self.kind, self.nato and f'NATO {self.nato}')))})"

    @property
    def _named_figures(self) -> list[tuple[str, Figure]]:
        named = [("typical", self.typical), ("at least", self.low), ("at most", self.high)]
        return [(name, each) for name, each in named if each] + [("also published", each) for each in self.others]

    def rows(self) -> tuple[dict[str, Any], ...]:
        """Give every published density of the grade: what it is, kg/m³, °C, and its source."""
        return tuple({"figure": name, **vars(each)} for name, each in self._named_figures)

    def as_dict(self) -> dict[str, Any]:
        """Give everything as plain JSON types."""
        return {
            "fuel": self.name,
            "kind": self.kind,
            "nato": self.nato,
            "figures": list(self.rows()),
            "temperatures_c": [self.temperatures.low, self.temperatures.high],
            "note": self.note,
            "refused": self.refused,
            "rests_on_memory": self.rests_on_memory,
            "caution": CAUTION,
        }

    def to_frame(self) -> Any:
        """Give the published densities of the grade as a pandas data frame."""
        return frame(self.rows())

    def _repr_html_(self) -> str:
        facts = {
            "temperatures": f"{self.temperatures.low:g} to {self.temperatures.high:g} °C",
            "note": self.note,
            "refused": self.refused,
            "obtained": "every figure of this grade is from memory" if self.rests_on_memory else "",
        }
        return report(self._title, facts, [{"figure": name, **each.cells()} for name, each in self._named_figures])

    def __repr__(self) -> str:
        return f"fuel({self.name!r})"

    def __str__(self) -> str:
        lines = [self._title, f"  typical: {self.typical}"]
        lines += [f"  at least: {self.low}"] if self.low else []
        lines += [f"  at most: {self.high}"] if self.high else []
        lines += [f"  also published: {other}" for other in self.others]
        lines += [f"  temperatures: {self.temperatures.low:g} to {self.temperatures.high:g} °C"]
        lines += [f"  note: {self.note}"] if self.note else []
        lines += [f"  refused: {self.refused}"] if self.refused else []
        lines += ["  every figure of this grade is from memory"] if self.rests_on_memory else []
        return "\n".join(lines)


@lru_cache(maxsize=1)
def all_fuels() -> tuple[Fuel, ...]:
    """Give every grade.

    Returns
    -------
    tuple of Fuel

    Examples
    --------
    >>> [grade.name for grade in all_fuels() if grade.kind == "wide-cut jet fuel"]
    ['Jet B', 'JP-4']
    """
    entries = tomllib.loads((files("fuelunits.fuels") / "grades.toml").read_text(encoding="utf-8"))["grade"]
    by_name = {entry["name"]: entry for entry in entries}
    return tuple(_fuel(entry, by_name) for entry in entries)


def fuel(name: str | Fuel) -> Fuel:
    """Find a grade by name; case, spaces and hyphens do not matter.

    Parameters
    ----------
    name : str
        Name, alias or NATO code. A fuel, batch or blend is handed back as it is.

    Returns
    -------
    Fuel

    Raises
    ------
    UnknownFuel
        With the nearest names.

    Examples
    --------
    >>> fuel("jet a1").name
    'Jet A-1'
    >>> fuel("kerosine")
    Traceback (most recent call last):
        ...
    fuelunits.errors.UnknownFuel: unknown fuel 'kerosine'; did you mean 'kerosene'? all_fuels() lists them all
    """
    if not isinstance(name, str):
        if hasattr(name, "density_kg_m3"):
            return name
        raise UnknownFuel(f"{format_value(name)} is no fuel; write a name such as 'Jet A'")
    known, folded = _names(), _folded(name)
    if folded in known:
        return known[folded]
    spelled = {_folded(each): each for grade in all_fuels() for each in (grade.name, *grade.aliases)}
    near = difflib.get_close_matches(folded[:40], spelled, n=4, cutoff=0.5)
    kin = [grade.name for grade in all_fuels() if len(folded) > 2 and folded in _folded(grade.kind)]
    names = list(dict.fromkeys([known[each].name for each in near] + kin))[:6]
    hint = f"did you mean {_either(names)}? " if names else ""
    raise UnknownFuel(f"unknown fuel {name[:60]!r}; {hint}all_fuels() lists them all")


def _either(names: list[str]) -> str:
    quoted = [repr(name) for name in names]
    return quoted[0] if len(quoted) == 1 else f"{', '.join(quoted[:-1])} or {quoted[-1]}"


def _folded(name: str) -> str:
    return "".join(letter for letter in name.casefold() if letter.isalnum())


@lru_cache(maxsize=1)
def _names() -> dict[str, Fuel]:
    return {_folded(name): grade for grade in all_fuels() for name in (grade.name, grade.nato, *grade.aliases) if name}


def _figure(entry: dict[str, Any] | None) -> Figure | None:
    """Read a figure, taking API gravity and relative density to the density at 60 °F."""
    if entry is None:
        return None
    entry = dict(entry)
    for scale, to_density in (
        ("api_gravity", density_from_api_gravity),
        ("relative_density", density_from_relative_density),
    ):
        if scale in entry:
            value = entry.pop(scale)
            locator = ", ".join(filter(None, (entry.pop("locator", ""), f"{scale.replace('_', ' ')} {value:g}")))
            return Figure(density_kg_m3=float(to_density(value)), at_c=BASE_60F_C, locator=locator, **entry)
    return Figure(density_kg_m3=entry.pop("density"), **entry)


def _liquid(entry: dict[str, Any], by_name: dict[str, dict[str, Any]], typical: Figure) -> Liquid:
    """Choose the model of a grade: petroleum, unless its own expansion is given."""
    like = entry.get("expands_like")
    if like:
        model = by_name[like]
        first = _figure(model["typical"])
        assert first is not None
        return batch_of(_liquid(model, by_name, first), typical.density_kg_m3, typical.at_c)
    second = _figure(entry.get("expands"))
    if second:
        return GivenExpansion.through(
            typical.density_kg_m3, typical.at_c, second.density_kg_m3, second.at_c, source=second.source
        )
    commodity = LUBRICATING_OIL if entry.get("lubricating") else REFINED_PRODUCTS
    return PetroleumProduct.observed(typical.density_kg_m3, typical.at_c, commodity=commodity)


def _fuel(entry: dict[str, Any], by_name: dict[str, dict[str, Any]]) -> Fuel:
    typical = _figure(entry["typical"])
    assert typical is not None
    limits = entry["temperatures"]
    unlimited, refused = entry.get("no_limits"), entry.get("refused")
    notes = [entry.get("note", ""), unlimited and f"{unlimited['reason']} ({source(unlimited['source'])})"]
    return Fuel(
        name=entry["name"],
        kind=entry["kind"],
        nato=entry.get("nato", ""),
        aliases=tuple(entry.get("aliases", ())),
        typical=typical,
        low=_figure(entry.get("low")),
        high=_figure(entry.get("high")),
        others=tuple(figure for figure in map(_figure, entry.get("others", ())) if figure),
        temperatures=Range(f"temperature of {entry['name']}", limits["low"], limits["high"], "degC", limits["source"]),
        note="; ".join(filter(None, notes)),
        refused=f"{refused['reason']} ({source(refused['source'])})" if refused else "",
        liquid=_liquid(entry, by_name, typical),
    )
