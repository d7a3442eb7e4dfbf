"""Blends, for example of jet fuel with a synthetic component, by volume or by mass.

At every temperature and pressure the volumes of the `parts` add up, each part expanding as it does alone: the volume
that mixing makes or takes is neglected, little between hydrocarbons and esters, more with an alcohol (common practice).
Published blends of HEFA and Jet A agree within 0.15 %.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from fuelunits.errors import FuelUnitsError, QuantityError
from fuelunits.fuels.batches import UNSTATED_KG_M3, Measurable, spread_about
from fuelunits.fuels.elementwise import elementwise
from fuelunits.fuels.grades import Figure, fuel
from fuelunits.fuels.liquids import Liquid, remarks_of
from fuelunits.quantities import fraction, is_quantity
from fuelunits.reports import Report, Reporting, Table, format_percent
from fuelunits.sources import OnOutOfRange, Range
from fuelunits.uncertainty.decisions import Verdict
from fuelunits.validation import plain_number

_BASE_C = 15.0
_ROUNDING = 1e-9  # what the sum of the fractions may miss 1 by
_COMPONENT = "synthetic blending component"
_MISCIBLE = frozenset({"jet fuel", "wide-cut jet fuel", _COMPONENT})  # kinds of which a jet fuel may be made
_LOW, _HIGH = (Figure(density_kg_m3=each, source="d7566_finished_blend") for each in (775.0, 840.0))
_OF_D7566 = ("Jet A", "Jet A-1")  # the grades of which it is the specification
_MOST_SYNTHETIC = 0.5  # share by volume of all synthetic components together (ASTM D7566, from memory)


@dataclass(frozen=True, repr=False)
class Blend(Measurable, Reporting):
    """Liquids mixed in given fractions; made by :func:`blend` or :func:`blend_by_mass`.

    Attributes
    ----------
    parts : tuple of Liquid, what is mixed: fuels, measured batches, liquids or other blends
    mass_fractions : tuple of float, of each, in the same order; they sum to 1

    Examples
    --------
    >>> half = blend({"Jet A": "50 %", "HEFA-SPK": "50 %"})
    >>> round(half.density_kg_m3(15.0), 1), [round(share, 4) for share in half.mass_fractions]
    (782.6, [0.5162, 0.4838])
    >>> half.verdict.value, half.measured("0.783 kg/L", uncertainty="0.5 kg/m^3").verdict.value
    ('undecided', 'accept')
    """

    parts: tuple[Liquid, ...] = field(repr=False)
    mass_fractions: tuple[float, ...]

    kind = "blend"
    refused = ""
    source = "volume_additive_mixing"
    _plain = ("name", "rows", "verdict", "reason", "remarks")

    def __post_init__(self) -> None:
        _check_fractions(self.mass_fractions)
        if len(self.parts) < 2:
            raise QuantityError(f"{self.name} alone is no blend; name the fuel itself, or two parts or more")
        valid = self.valid_temperatures_c
        if not valid.low <= valid.high:
            ends = f"the warmest begins at {valid.low:g} degC, the coldest ends at {valid.high:g} degC"
            raise FuelUnitsError(f"{self.name}: no temperature is common to its parts ({ends})")
        self.density_kg_m3(valid.low)
        with_ethanol = any(getattr(grade, "name", "").lower() == "ethanol" for _, grade, _ in self._leaves)
        if with_ethanol and self.kinds & {"motor fuel", "aviation gasoline"}:
            raise FuelUnitsError(f"{self.name}: {fuel('E10').refused}")

    @property
    def name(self) -> str:
        """Its parts, joined."""
        return f"blend of {' and '.join(map(_name, self.parts))}"

    @property
    def liquid(self) -> Liquid:
        """The model of its density: the blend itself."""
        return self

    @cached_property
    def valid_temperatures_c(self) -> Range:
        """Valid temperatures of all parts, °C."""
        warmest = max(self.parts, key=lambda part: part.valid_temperatures_c.low)
        coldest = min(self.parts, key=lambda part: part.valid_temperatures_c.high)
        names = dict.fromkeys((_name(warmest), _name(coldest)))
        limits = (warmest.valid_temperatures_c.low, coldest.valid_temperatures_c.high)
        return Range("temperature of the blend", *limits, "degC", " and ".join(names))

    def density_kg_m3(
        self, temperature_c: Any, gauge_pressure_kpa: Any = 0.0, *, out_of_range: OnOutOfRange = "raise"
    ) -> Any:
        """Return the density of the blend, kg/m³, at °C and at kPa above atmospheric, in the range of every part."""

        def density(t: Any, p: Any) -> Any:
            t = self.valid_temperatures_c.check(t, out_of_range)
            parts = zip(self.parts, self.mass_fractions, strict=True)
            return 1.0 / sum(mass / part.density_kg_m3(t, p, out_of_range=out_of_range) for part, mass in parts)

        return elementwise(density, temperature_c, gauge_pressure_kpa)

    @cached_property
    def _leaves(self) -> list[tuple[Any, Any, float]]:
        """The parts that are not blends: each, the grade of which it is, and its fraction of the mass."""
        leaves: list[tuple[Any, Any, float]] = []
        for part, mass in zip(self.parts, self.mass_fractions, strict=True):
            of = getattr(part, "fuel", part)
            inner = of._leaves if isinstance(of, Blend) else [(part, of, 1.0)]
            if of is not part and isinstance(of, Blend):  # a measured blend has one density: its mass goes by volume
                at = min(max(_BASE_C, of.valid_temperatures_c.low), of.valid_temperatures_c.high)
                inner = [(part, g, float(x * of.density_kg_m3(at) / leaf.density_kg_m3(at))) for leaf, g, x in inner]
            leaves += [(leaf, grade, share * mass) for leaf, grade, share in inner]
        return leaves

    @cached_property
    def kinds(self) -> set[str]:
        """The kinds of what it is made of; "" of a liquid of no grade."""
        return {getattr(grade, "kind", "") for _, grade, _ in self._leaves}

    @property
    def for_aircraft(self) -> bool:
        """Whether a finished aircraft fuel is among its parts."""
        return any(getattr(grade, "for_aircraft", False) for _, grade, _ in self._leaves)

    @cached_property
    def _limits(self) -> list[Figure | None]:
        """Lowest and highest density of a semi-synthetic fuel: the stricter of its grades; None if one is unknown."""
        if not (self.for_aircraft and _COMPONENT in self.kinds and self.kinds <= _MISCIBLE):
            return [None, None]
        grades = [grade for _, grade, _ in self._leaves if grade.for_aircraft]
        limits = [(_LOW, _HIGH) if each.name in _OF_D7566 else (each.low, each.high) for each in grades]
        low, high = zip(*limits, strict=True)
        at_least = None if None in low else max(low, key=self._at_base)
        return [at_least, None if None in high else min(high, key=self._at_base)]

    @property
    def low(self) -> Figure | None:
        """Lowest density of a finished blend of jet fuel with synthetic components; None for any other."""
        return self._limits[0]

    @property
    def high(self) -> Figure | None:
        """Highest density of such a blend; None for any other."""
        return self._limits[1]

    @property
    def ordinary_kg_m3(self) -> tuple[float, float]:
        """Densities at 15 °C in which it lies: its limits, or 3 % about the computed density (common practice)."""
        low, high = spread_about(float(self.density_kg_m3(_BASE_C)))
        return self._at_base(self.low) if self.low else low, self._at_base(self.high) if self.high else high

    @cached_property
    def parts_kg_m3(self) -> tuple[float, float]:
        """Densities at 15 °C between which its parts bring it: ordinary ones of grades, within 5 kg/m³ of others."""
        low, high, blended = 0.0, 0.0, float(self.density_kg_m3(_BASE_C))
        for part, _, mass in self._leaves:
            own = float(part.density_kg_m3(_BASE_C))
            least, most = getattr(part, "ordinary_kg_m3", (own - UNSTATED_KG_M3, own + UNSTATED_KG_M3))
            volume = mass * blended / own
            low, high = low + volume * least, high + volume * most
        return low, high

    @cached_property
    def objections(self) -> tuple[str, ...]:  # type: ignore[override]
        """The reasons against the mixture as an aircraft fuel."""
        if not self.for_aircraft:
            return ()
        rejected = {each.reason: each for each, *_ in self._leaves if getattr(each, "verdict", None) is Verdict.REJECT}
        if not (self.kinds <= _MISCIBLE or self.kinds == {"aviation gasoline"}):
            kinds = " and ".join(sorted(each or "a liquid of no grade" for each in self.kinds))
            return (f"a mixture of {kinds} is not an aircraft fuel (common practice)", *rejected)
        over = [
            f"{format_percent(share, digits=4)} of {name} by volume, {format_percent(most)} in ASTM D7566 (from memory)"
            for name, (share, most) in self._synthetic_shares.items()
            if share > most + _ROUNDING
        ]
        return (*over, *rejected)

    @cached_property
    def _synthetic_shares(self) -> dict[str, tuple[float, float]]:
        """Share by volume of each synthetic component and of all, and what is allowed of it in a finished blend."""
        if not self.for_aircraft or not self.valid_temperatures_c.contains(_BASE_C):
            return {}
        shares: dict[str, tuple[float, float]] = {}
        volumes = [mass / float(part.density_kg_m3(_BASE_C)) for part, _, mass in self._leaves]
        for (_, grade, _), volume in zip(self._leaves, volumes, strict=True):
            if getattr(grade, "kind", "") == _COMPONENT:
                before = shares.get(grade.name, (0.0,))[0]
                shares[grade.name] = (before + volume / sum(volumes), grade.most_in_blend / 100.0)
        if len(shares) > 1:
            shares["synthetic components"] = (sum(share for share, _ in shares.values()), _MOST_SYNTHETIC)
        return shares

    @property
    def verdict(self) -> Verdict:
        """Reject where anything is against it, otherwise undecided: it is computed, not measured."""
        return Verdict.REJECT if self.objections else Verdict.UNDECIDED

    @property
    def reason(self) -> str:
        """The reason for the verdict."""
        return "; ".join(self.objections) or "computed, not measured"

    def remarks(self, *, typical: bool = True, limits: bool = True) -> tuple[str, ...]:
        """Return the remarks on its parts, and the reasons against it where its limits decide."""
        decides = limits and self._limits != [None, None]
        parts = ((part, decides and grade.for_aircraft) for part, grade, _ in self._leaves)
        own = [line for part, its in parts for line in remarks_of(part, typical=typical, limits=its)]
        allowed = ", ".join(f"{format_percent(most)} of {name}" for name, (_, most) in self._synthetic_shares.items())
        own += [f"ASTM D7566 allows {allowed} by volume in a finished blend (from memory)"] * bool(allowed)
        return tuple(dict.fromkeys([*(self.objections if limits else ()), *own]))

    def report(self) -> Report:
        valid = self.valid_temperatures_c
        density = f"{self.density_kg_m3(_BASE_C):.1f} kg/m³ at 15 °C" if valid.contains(_BASE_C) else ""
        facts = {"density": density, "temperatures": f"{valid.low:g} to {valid.high:g} °C"}
        verdict = f"{self.verdict.value}: {self.reason}" if self.for_aircraft else ""
        return Report(self.name, verdict, facts, [Table.of(self.rows())], self.remarks(limits=False), (self.source,))

    def rows(self) -> list[dict[str, Any]]:
        parts = zip(self.parts, self.mass_fractions, strict=True)
        return [{"part": _name(part), "by mass, %": f"{100.0 * mass:.2f}"} for part, mass in parts]


def blend(parts: Mapping[Any, Any]) -> Blend:
    """Return a blend of liquids by volume at 15 °C, as the volumes are before mixing.

    The `parts` map each fuel, batch, liquid, blend or name to its fraction: 0.3 or ``"30 %"``; they sum to 1.

    Examples
    --------
    >>> mixed = blend({"Jet A": 0.7, "HEFA-SPK": 0.3})
    >>> round(mixed.density_kg_m3(15.0), 1), f"{mixed.mass('1000 L', at='-20 degC').m_as('kg'):.1f}"
    (792.8, '818.2')
    """
    fractions, liquids = read_fractions(parts), tuple(map(fuel, parts))
    masses = [share * float(part.density_kg_m3(_BASE_C)) for part, share in zip(liquids, fractions, strict=True)]
    return Blend(liquids, tuple(mass / sum(masses) for mass in masses))


def blend_by_mass(parts: Mapping[Any, Any]) -> Blend:
    """Return a blend of liquids by mass, of parts as for :func:`blend` with fractions of the mass.

    Examples
    --------
    >>> round(blend_by_mass({"Jet A": "50 %", "HEFA-SPK": "50 %"}).density_kg_m3(15.0), 1)
    781.8
    """
    return Blend(mass_fractions=read_fractions(parts), parts=tuple(map(fuel, parts)))


def read_fractions(parts: Mapping[Any, Any]) -> tuple[float, ...]:
    """Return the fractions of the parts of a blend, whose sum is 1."""
    if not isinstance(parts, Mapping):
        raise QuantityError('parts of a blend are written as {"Jet A": 0.7, "HEFA-SPK": 0.3}')
    fractions = []
    for part, share in parts.items():
        has_unit, name = isinstance(share, str) or is_quantity(share), f"fraction of {_name(part)}"
        fractions.append(fraction(share, name=name) if has_unit else plain_number(share, name))
    _check_fractions(tuple(fractions))
    return tuple(fractions)


def _check_fractions(fractions: tuple[float, ...]) -> None:
    total = sum(fractions)
    if not all(share > 0.0 for share in fractions) or not abs(total - 1.0) <= _ROUNDING:
        given = ", ".join(f"{share:.10g}" for share in fractions) or "missing"
        rule = f"each must be positive and their sum 1, not {total:.10g}"
        raise QuantityError(f"fractions of a blend are {given}; {rule} (write 0.3 or '30 %' for thirty per cent)")


def _name(part: Any) -> str:
    if isinstance(part, Blend):
        return f"({part.name})"
    return part if isinstance(part, str) else str(getattr(part, "name", type(part).__name__))
