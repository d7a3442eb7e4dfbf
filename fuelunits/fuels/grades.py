"""The fuel grades of the library, the origin of each of their figures, and how a grade is found by `name`.

Each answer is for the typical fuel, from which a batch may lie 4 %: where weight matters, use :meth:`Fuel.measured`.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache, cached_property, partial
from typing import Any

from fuelunits.errors import QuantityError, UnknownFuel
from fuelunits.fuels.batches import Measurable, spread_about
from fuelunits.fuels.editions import BASE_60F_C, LUBRICATING_OIL, REFINED_PRODUCTS
from fuelunits.fuels.liquids import GivenExpansion, Liquid, PetroleumProduct, batch_of
from fuelunits.fuels.water_and_air import SCALES
from fuelunits.quantities import QuantityLike, answer, temperature_c
from fuelunits.reports import Report, Reporting, Table
from fuelunits.sources import Range, Sourced, data_table, source
from fuelunits.units import factor
from fuelunits.validation import as_float, did_you_mean, fold_name, format_value, nearest, plain_number

_ASSUMED = "assumes normally distributed batches; the samples are kerosenes of one data set, not a survey of the grade"


@dataclass(frozen=True, kw_only=True)
class Spread(Sourced):
    """The 95 % limits of the standard deviation of the density of batches at 15 °C, kg/m³."""

    low: float
    high: float


@dataclass(frozen=True, kw_only=True)
class Figure(Sourced):
    """A published density and its temperature, °C; ``doubt`` says why it is no figure read for the grade itself."""

    density_kg_m3: float
    at_c: float = 15.0
    locator: str = ""
    doubt: str = ""

    @property
    def standing(self) -> str:
        """The remark needed wherever the figure decides; empty for a figure that was read."""
        return "; ".join(filter(None, (self.doubt, "from memory" if source(self.source).obtained == "memory" else "")))

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


@dataclass(frozen=True, repr=False, kw_only=True)
class Fuel(Measurable, Reporting):
    """A grade of fuel.

    Attributes
    ----------
    name, kind, nato, aliases : str or tuple of str
    typical : Figure, the mean of a survey where one could be read, or a published density of a typical fuel
    low, high, means, others : Figures: the specification's limits, means of other surveys, further densities
    valid_temperatures_c : Range of its valid temperatures, °C
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
    nato: str = ""
    aliases: tuple[str, ...]
    typical: Figure
    low: Figure | None = None
    high: Figure | None = None
    means: tuple[Figure, ...] = ()
    others: tuple[Figure, ...] = ()
    valid_temperatures_c: Range
    note: str
    refused: str
    spread: Spread | None
    expansion_doubt: str = ""
    most_in_blend: float | None
    liquid: Liquid = field(repr=False)
    _plain = ("remarks",)

    @property
    def source(self) -> str:
        """Key of the source of the typical density."""
        return self.typical.source

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
        return self.kind in ("aviation gasoline", "jet fuel", "wide-cut jet fuel")

    @property
    def doubts(self) -> dict[str, str]:
        """The remark on each figure that decides: typical density, limits and expansion; none for a figure read."""
        deciding = {"typical": self.typical, "at least": self.low, "at most": self.high}
        doubts = {name: f"{each.value} ({each.standing})" for name, each in deciding.items() if each and each.standing}
        return doubts | ({"expansion": f"({self.expansion_doubt})"} if self.expansion_doubt else {})

    def remarks(self, *, typical: bool = True, limits: bool = True) -> tuple[str, ...]:
        """Return the remarks needed where the typical density or the limits decide; none where all were read."""
        said = {"typical": typical, "at least": limits, "at most": limits, "expansion": True}
        parts = [f"{name} {doubt}" for name, doubt in self.doubts.items() if said[name]]
        return (f"{self.name}: {'; '.join(parts)}",) if parts else ()

    @cached_property
    def limit_liquids(self) -> tuple[Liquid | None, Liquid | None]:
        """Models of the lightest and the densest batch that the specification allows."""
        low, high = (each and batch_of(self.liquid, each.density_kg_m3, each.at_c) for each in (self.low, self.high))
        return low or None, high or None

    def density_limits_kg_m3(self, temperature_c: Any) -> tuple[Any, Any]:
        """Return the lowest and highest density, kg/m³, that the specification allows at °C, or None."""
        t = self.valid_temperatures_c.check(as_float(temperature_c))
        low, high = (limit and limit.density_kg_m3(t) for limit in self.limit_liquids)
        return low, high

    def density_limits(self, at: QuantityLike) -> tuple[Any, Any]:
        """Return the same as quantities, for a temperature given as text or a pint quantity."""
        limits = self.density_limits_kg_m3(temperature_c(at, name="at", takes="density_limits_kg_m3"))
        low, high = (None if limit is None else answer(limit, "kg/m^3", at) for limit in limits)
        return low, high

    @cached_property
    def ordinary_kg_m3(self) -> tuple[float, float]:
        """Densities at 15 °C, kg/m³, of batches: the limits, or 3 % beyond published figures (common practice)."""
        base = {name: self._at_base(each) for name, each in reversed(self._named_figures)}
        low, high = spread_about(*base.values())
        return base.get("at least", low), base.get("at most", high)

    @cached_property
    def in_use_kg_m3(self) -> tuple[float, float]:
        """Densities, kg/m³, of the lightest batch at 60 °C and of the densest at -40 °C, or as far as it is valid."""
        valid = self.valid_temperatures_c
        cold, warm = (min(max(each, valid.low), valid.high) for each in (-40.0, 60.0))  # chosen, not from a source
        lightest, densest = (batch_of(self.liquid, each, 15.0) for each in self.ordinary_kg_m3)
        return float(lightest.density_kg_m3(warm)), float(densest.density_kg_m3(cold))

    @property
    def share_remarks(self) -> tuple[str, ...]:
        """The remark on an estimated share of batches: the basis of the estimate."""
        if self.spread is None:
            return ()
        doubtful = "; ".join(f"mean {each.value} ({each.standing})" for each in self.means if each.standing)
        return (f"The estimate {_ASSUMED}.", *((f"{self.name}: {doubtful}",) if doubtful else ()))

    def estimated_share(self, low_kg_m3: float, high_kg_m3: float) -> tuple[float, float] | None:
        """Return the least and largest share of batches, normally distributed, between densities at 15 °C, or None."""
        if self.spread is None:
            return None
        low_kg_m3, high_kg_m3 = plain_number(low_kg_m3, "low_kg_m3"), plain_number(high_kg_m3, "high_kg_m3")
        if not low_kg_m3 <= high_kg_m3:
            raise QuantityError(f"densities are {low_kg_m3:g} and {high_kg_m3:g} kg/m^3; write the lower one first")
        from statistics import NormalDist

        means = [self._at_base(each) for each in (self.typical, *self.means)]
        low, high, least, most = min(means), max(means), self.spread.low, self.spread.high
        steps = [step / 16.0 for step in range(17)]
        batches = [NormalDist(low + (high - low) * x, least + (most - least) * y) for x in steps for y in steps]
        shares = [each.cdf(high_kg_m3) - each.cdf(low_kg_m3) for each in batches]
        return min(shares), max(shares)

    def report(self) -> Report:
        valid, spread = self.valid_temperatures_c, self.spread
        facts = {
            "temperatures": f"{valid.low:g} to {valid.high:g} °C",
            "spread of batches": spread and f"standard deviation {spread.low:.1f} to {spread.high:.1f} kg/m³ (95 %)",
            "note": self.note,
        }
        title = f"{self.name} ({', '.join(filter(None, (self.kind, self.nato and f'NATO {self.nato}')))})"
        table = Table.of({"figure": name, **each.cells()} for name, each in self._named_figures)
        return Report(title, self.refused and f"refused: {self.refused}", facts, [table], self.remarks())

    def rows(self) -> tuple[dict[str, Any], ...]:
        """Return every published density of the grade: what it is, kg/m³, °C, its source and standing."""
        return tuple({"figure": name, **vars(each), "standing": each.standing} for name, each in self._named_figures)


class FuelList(Reporting, tuple[Fuel, ...]):
    """Several grades, as a tuple that is displayed as a table."""

    __slots__ = ()
    _plain = ("rows",)

    def report(self) -> Report:
        return Report(f"{len(self)} grades of fuel", tables=[Table.of(self.rows())])

    def rows(self) -> list[dict[str, Any]]:
        """Return each grade: name, kind, typical density and limits at their temperature, and how they are known."""
        return [
            {
                "grade": each.name,
                "kind": each.kind,
                "typical, kg/m³": round(each.typical.density_kg_m3, 1),
                "at °C": round(each.typical.at_c, 2),
                "at least, kg/m³": each.low and round(each.low.density_kg_m3, 1),
                "at most, kg/m³": each.high and round(each.high.density_kg_m3, 1),
                "standing": each.typical.standing or source(each.typical.source).obtained,
            }
            for each in self
        ]


_tables = partial(data_table, "fuels/grades.toml")


@cache
def all_fuels() -> FuelList:
    """Return every grade, as a tuple with a table of them.

    Examples
    --------
    >>> [grade.name for grade in all_fuels() if grade.nato == "F-35"]
    ['Jet A-1']
    """
    return FuelList(_grade(entry["name"]) for entry in _tables()["grade"])


def fuel(name: str | Fuel) -> Fuel:
    """Return a grade by name; case, spaces and hyphens do not matter.

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
        raise UnknownFuel(f"{format_value(name)} is not a fuel; write a name such as 'Jet A'")
    folded = fold_name(name)
    if folded in _names():
        return _grade(_names()[folded])
    said = {fold_name(word): f"{hint};" for word, hint in _tables()["hint"].items()}
    near = [*fuels_named(folded)[:3], *(_grade(_names()[each]) for each in nearest(folded, _names(), 4))]
    hint = said.get(folded) or did_you_mean([grade.name for grade in near], "")
    raise UnknownFuel(f"unknown fuel {name[:60]!r}; {hint} all_fuels() lists them all")


def fuels_named(name: str) -> list[Fuel]:
    """Return the grades that a name may mean: that of the name, else those whose name, kind or alias contains it."""
    folded = fold_name(name)
    if folded in _names():
        return [_grade(_names()[folded])]
    grades = all_fuels() if len(folded) > 2 else ()
    words = {each: [*map(fold_name, (each.name, each.kind, *each.aliases))] for each in grades}
    return [grade for grade, known in words.items() if any(folded in each for each in known)]


@cache
def _names() -> dict[str, str]:
    """Return the name of the grade of each folded name, alias and NATO code."""
    names: dict[str, str] = {}
    for entry in _tables()["grade"]:
        known = (entry["name"], entry.get("nato", ""), *entry.get("aliases", ()))
        names |= {fold_name(each): entry["name"] for each in known if each}
    return names


def _figure(entry: dict[str, Any]) -> Figure:
    """Read a figure, taking API gravity and relative density to the density at 60 °F."""
    rest = dict(entry)
    for scale in entry.keys() & SCALES:
        given = rest.pop(scale)
        rest["locator"] = ", ".join(filter(None, (entry.get("locator"), f"{scale.replace('_', ' ')} {given:g}")))
        return Figure(density_kg_m3=float(SCALES[scale](given)), at_c=BASE_60F_C, **rest)
    return Figure(density_kg_m3=rest.pop("density"), **rest)


def _liquid(entry: dict[str, Any], typical: Figure) -> Liquid:
    """Choose the model of a grade: petroleum, unless its own expansion is given."""
    rho, at_c = typical.density_kg_m3, typical.at_c
    if "expands_like" in entry:
        return batch_of(_grade(entry["expands_like"]).liquid, rho, at_c)
    if "expands" in entry:
        second = _figure(entry["expands"])
        return GivenExpansion.through(rho, at_c, second.density_kg_m3, second.at_c, source=second.source)
    commodity = LUBRICATING_OIL if entry.get("lubricating") else REFINED_PRODUCTS
    return PetroleumProduct.observed(rho, at_c, commodity=commodity)


@cache
def _grade(name: str) -> Fuel:
    """Return the grade of exactly this name, read once."""
    entry = next(each for each in _tables()["grade"] if each["name"] == name)
    typical, valid = _figure(entry["typical"]), entry["temperatures"]
    unlimited, refused = entry.get("no_limits"), entry.get("refused")
    notes = [entry.get("note", ""), unlimited and f"{unlimited['reason']} ({source(unlimited['source'])})"]
    given: dict[str, Any] = {key: entry[key] for key in ("name", "kind", "nato", "expansion_doubt") if key in entry}
    given |= {key: _figure(entry[key]) for key in ("low", "high") if key in entry}
    given |= {key: tuple(map(_figure, entry[key])) for key in ("means", "others") if key in entry}
    return Fuel(
        **given,
        aliases=tuple(entry.get("aliases", ())),
        typical=typical,
        valid_temperatures_c=Range(f"temperature of {name}", valid["low"], valid["high"], "degC", valid["source"]),
        note="; ".join(filter(None, notes)),
        refused=f"{refused['reason']} ({source(refused['source'])})" if refused else "",
        spread=Spread(**_tables()["spread"][entry["spread"]]) if "spread" in entry else None,
        most_in_blend=entry.get("most_in_blend", {}).get("percent"),
        liquid=_liquid(entry, typical),
    )
