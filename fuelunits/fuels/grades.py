"""The fuel grades of the library, and how one is found by name.

Each answer is for the grade's typical fuel, from which a batch may lie 4 % within the specification: where weight
matters, measure, and use :meth:`Fuel.measured`.
"""

from __future__ import annotations

from functools import cache, lru_cache
from typing import Any

from fuelunits.errors import UnknownFuel
from fuelunits.fuels.commodities import BASE_60F_C, LUBRICATING_OIL, REFINED_PRODUCTS
from fuelunits.fuels.density_scales import density_from_api_gravity, density_from_relative_density
from fuelunits.fuels.grade import Figure, Fuel, Spread
from fuelunits.fuels.liquid import Liquid
from fuelunits.fuels.product import GivenExpansion, PetroleumProduct, batch_of
from fuelunits.reports import Report, Reporting, Table
from fuelunits.sources import Range, data_table, source
from fuelunits.validation import fold_name, format_value


class FuelList(Reporting, tuple[Fuel, ...]):
    """Several grades, as a tuple that is displayed as a table."""

    __slots__ = ()
    _plain = ("rows",)

    def report(self) -> Report:
        """Return the report of the grades."""
        heads = {"name": "grade", "typical_kg_m3": "typical, kg/m³", "at_c": "at °C"}
        heads |= {"low_kg_m3": "at least, kg/m³", "high_kg_m3": "at most, kg/m³", "standing": "standing"}
        cells = [{head: _cell(name, row[name]) for name, head in heads.items()} for row in self.rows()]
        return Report(f"{len(self)} grades of fuel", tables=[Table.of(cells)])

    def rows(self) -> list[dict[str, Any]]:
        """Return each grade: its name, kind, typical density and limits at their temperatures."""
        return [
            {
                "name": each.name,
                "kind": each.kind,
                "typical_kg_m3": each.typical.density_kg_m3,
                "low_kg_m3": each.low and each.low.density_kg_m3,
                "high_kg_m3": each.high and each.high.density_kg_m3,
                "at_c": each.typical.at_c,
                "standing": each.typical.standing or source(each.typical.source).obtained,
            }
            for each in self
        ]


def _cell(name: str, value: Any) -> str | None:
    return f"{value:.4g}" if name == "at_c" else f"{value:.1f}" if isinstance(value, float) else value


@lru_cache(maxsize=1)
def _tables() -> dict[str, Any]:
    return data_table("fuels/grades.toml")


@lru_cache(maxsize=1)
def all_fuels() -> FuelList:
    """Return every grade, as a tuple with a table of them.

    Examples
    --------
    >>> [grade.name for grade in all_fuels() if grade.nato == "F-35"]
    ['Jet A-1']
    """
    return FuelList(map(_grade, _by_name()))


def fuel(name: str | Fuel) -> Fuel:
    """Return a grade by name; case, spaces and hyphens do not matter.

    Parameters
    ----------
    name : str
        Name, alias or NATO code. A fuel, batch or blend is returned unchanged.

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
    raise UnknownFuel(f"unknown fuel {name[:60]!r}; {_hint(folded)}all_fuels() lists them all")


def _hint(folded: str) -> str:
    """Return what may have been meant: a hint on the word itself, related grades, then similar spellings."""
    for word, said in _tables()["hint"].items():
        if folded == fold_name(word):
            return f"{said}; "
    import difflib

    words = {grade: [*map(fold_name, (grade.kind, *grade.aliases))] for grade in all_fuels() if len(folded) > 2}
    kin = [grade for grade, known in words.items() if any(folded in each for each in known)]
    near = [_grade(_names()[each]) for each in difflib.get_close_matches(folded[:40], _names(), n=4, cutoff=0.5)]
    names = [repr(each) for each in dict.fromkeys(grade.name for grade in kin[:5] + near)][:6]
    return f"did you mean {' or '.join(filter(None, (', '.join(names[:-1]), names[-1])))}? " if names else ""


@lru_cache(maxsize=1)
def _by_name() -> dict[str, dict[str, Any]]:
    return {entry["name"]: entry for entry in _tables()["grade"]}


@lru_cache(maxsize=1)
def _names() -> dict[str, str]:
    """Return the name of the grade of each folded name, alias and NATO code."""
    names = {name: (name, entry.get("nato", ""), *entry.get("aliases", ())) for name, entry in _by_name().items()}
    return {fold_name(each): name for name, known in names.items() for each in known if each}


_SCALES = {"api_gravity": density_from_api_gravity, "relative_density": density_from_relative_density}


def _figure(entry: dict[str, Any]) -> Figure:
    """Read a figure, taking API gravity and relative density to the density at 60 °F."""
    for scale in entry.keys() & _SCALES:
        rest = {name: value for name, value in entry.items() if name != scale}
        read = f"{scale.replace('_', ' ')} {entry[scale]:g}"
        rest["locator"] = ", ".join(filter(None, (entry.get("locator"), read)))
        return Figure(density_kg_m3=float(_SCALES[scale](entry[scale])), at_c=BASE_60F_C, **rest)
    return Figure(density_kg_m3=entry["density"], **{name: entry[name] for name in entry if name != "density"})


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
    entry = _by_name()[name]
    typical, limits = _figure(entry["typical"]), entry["temperatures"]
    unlimited, refused = entry.get("no_limits"), entry.get("refused")
    notes = [entry.get("note", ""), unlimited and f"{unlimited['reason']} ({source(unlimited['source'])})"]
    return Fuel(
        name=name,
        kind=entry["kind"],
        nato=entry.get("nato", ""),
        aliases=tuple(entry.get("aliases", ())),
        typical=typical,
        low=_figure(entry["low"]) if "low" in entry else None,
        high=_figure(entry["high"]) if "high" in entry else None,
        means=tuple(map(_figure, entry.get("means", ()))),
        others=tuple(map(_figure, entry.get("others", ()))),
        temperatures=Range(f"temperature of {name}", limits["low"], limits["high"], "degC", limits["source"]),
        note="; ".join(filter(None, notes)),
        refused=f"{refused['reason']} ({source(refused['source'])})" if refused else "",
        spread=Spread(**_tables()["spread"][entry["spread"]]) if "spread" in entry else None,
        expansion_doubt=entry.get("expansion_doubt", ""),
        most_in_blend=entry.get("most_in_blend", {}).get("percent"),
        liquid=_liquid(entry, typical),
    )
