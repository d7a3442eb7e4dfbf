"""What gauges respond to in a `fuel` besides its density: kinematic viscosity and relative permittivity.

Viscosity says where on its curve a turbine transducer works. It is nearly a straight line over temperature on
double-logarithmic paper, so two points give the rest [astm_d341]. Permittivity is what a capacitance gauge measures in
place of a volume: (ε - 1)/(ε + 2) = A ρ (Clausius and Mossotti), where the specific polarization A is nearly a constant
of a hydrocarbon, and within an envelope where the composition is not known.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache, partial
from statistics import fmean
from typing import Any

from fuelunits.errors import FuelUnitsError, QuantityError, SourceError, UnknownFuel
from fuelunits.fuels.blends import read_fractions
from fuelunits.fuels.elementwise import elementwise
from fuelunits.fuels.grades import fuel as find_fuel
from fuelunits.fuels.liquids import remarks_of
from fuelunits.quantities import QuantityLike, answer, in_unit, members
from fuelunits.quantities import temperature_c as celsius
from fuelunits.reports import Report, Reporting, Table
from fuelunits.sources import OnOutOfRange, Range, data_table
from fuelunits.validation import as_float, check_type, exp, finite_number, format_value, log10, positive_number

TYPICAL = "The permittivity is not measured: it is the middle of the range of compositions (from memory)."
_ZERO_C_K = 273.15
_VISCOSITIES_MM2_S = Range("kinematic viscosity", 0.21, 2e7, "mm^2/s", "astm_d341")
_TEMPERATURES_C = Range("temperature of a viscosity point", -100.0, 200.0, "degC", "liquid fuels and oils")


@dataclass(frozen=True, repr=False)
class ViscosityLine(Reporting):
    """Kinematic viscosity of one liquid over temperature; :meth:`through` draws it through two points.

    ASTM D341 with ``c(ν) = exp(-1.47 - 1.84 ν - 0.51 ν²)``, for 0.21 to 2e7 mm²/s; these limits are recalled, and the
    form is confirmed by published points through which no line was drawn.

    Parameters
    ----------
    name : str, of the liquid
    a, b : float, of ``log log (ν + 0.7 + c(ν)) = a - b log T``, base 10, ν in mm²/s and T in K
    valid_temperatures_c : Range in which the line may be used, with the source
    note : str, how well the line holds, where that is known

    Examples
    --------
    >>> line = ViscosityLine.through((-20.0, 4.5), (40.0, 1.31), source="the supplier's certificate")
    >>> round(line.kinematic_viscosity_mm2_s(15.0), 2)
    1.97
    """

    name: str
    a: float
    b: float
    valid_temperatures_c: Range
    note: str = ""

    @classmethod
    def through(
        cls, first: tuple[Any, Any], second: tuple[Any, Any], *, source: str, name: str = "the liquid"
    ) -> ViscosityLine:
        """Return the line through two points, each of °C and mm²/s or text, valid between them; from ``source``."""
        check_type(name, str, "name", "what the liquid is called")
        if not isinstance(source, str) or not source:
            raise SourceError(f"the viscosity of {name} has no source; say where its two points come from")
        (cold_c, thick), (warm_c, thin) = sorted((_point(first, name), _point(second, name)))
        if thick <= thin:
            points = f"{thick:g} mm^2/s at {cold_c:g} degC and {thin:g} at {warm_c:g} degC"
            rule = "give two temperatures, the warmer with the lower viscosity"
            raise QuantityError(f"viscosity of {name}: {points}; {rule}")
        cold, warm = math.log10(cold_c + _ZERO_C_K), math.log10(warm_c + _ZERO_C_K)
        b = (_double_log(thick) - _double_log(thin)) / (warm - cold)
        a = _double_log(thin) + b * warm
        return cls(name, a, b, Range(f"temperature of {name}", cold_c, warm_c, "degC", source))

    @classmethod
    def blended(cls, parts: Mapping[ViscosityLine, Any]) -> ViscosityLine:
        """Return the line of a blend, from the line of each part and its fraction of the mass: 0.3 or ``"30 %"``.

        By ASTM D7152 a and b are means by mass [astm_d7152]; published blends of HEFA and Jet A agree within 1.2 %.
        """
        shares = read_fractions(parts)
        lines = [check_type(line, ViscosityLine, "parts", "viscosity('Jet A')") for line in parts]
        a = sum(share * line.a for share, line in zip(shares, lines, strict=True))
        b = sum(share * line.b for share, line in zip(shares, lines, strict=True))
        low = max(line.valid_temperatures_c.low for line in lines)
        high = min(line.valid_temperatures_c.high for line in lines)
        name = f"blend of {' and '.join(line.name for line in lines)}"
        if not low < high:
            raise QuantityError(f"{name}: no temperature is common to its parts")
        notes = ("blended by ASTM D7152, whose equation is from memory", *(line.note for line in lines))
        valid = Range(f"temperature of {name}", low, high, "degC", "astm_d7152")
        return cls(name, a, b, valid, "; ".join(filter(None, notes)))

    @property
    def source(self) -> str:
        """Key of ``sources.toml``, or the statement given, of where the points come from."""
        return self.valid_temperatures_c.source

    def kinematic_viscosity_mm2_s(self, temperature_c: Any, *, out_of_range: OnOutOfRange = "raise") -> Any:
        """Return the kinematic viscosity in mm²/s, the same number as in cSt, at °C."""

        def viscosity(t: Any) -> Any:
            kelvin = self.valid_temperatures_c.check(t, out_of_range) + _ZERO_C_K
            return _single_out(10.0 ** (10.0 ** (self.a - self.b * log10(kelvin))))

        return elementwise(viscosity, temperature_c)

    def kinematic_viscosity(self, at: QuantityLike) -> Any:
        """Return the kinematic viscosity as a quantity in mm²/s, at a temperature such as ``"-20 degC"``."""
        t = celsius(at, name="at", takes="kinematic_viscosity_mm2_s")
        return answer(self.kinematic_viscosity_mm2_s(t), "mm^2/s", at)

    def report(self) -> Report:
        table = Table.of({"°C": f"{row['at_c']:g}", "mm²/s": f"{row['viscosity_mm2_s']:.3g}"} for row in self.rows())
        remarks = tuple(filter(None, (self.note, "limits of ASTM D341 are from memory")))
        return Report(f"kinematic viscosity of {self.name}", tables=[table], remarks=remarks, sources=(self.source,))

    def rows(self) -> list[dict[str, float]]:
        """Return the viscosity, mm²/s, every 20 °C and at both ends."""
        low, high = self.valid_temperatures_c.low, self.valid_temperatures_c.high
        steps = [low, *(t for t in range(-100, 201, 20) if low < t < high), high]
        return [{"at_c": t, "viscosity_mm2_s": self.kinematic_viscosity_mm2_s(t)} for t in steps]


def _point(point: Any, name: str) -> tuple[float, float]:
    """Return a temperature in °C and a viscosity in mm²/s, given as plain numbers, text or quantities."""
    try:
        t, nu = point
        t, nu = finite_number(in_unit(t, "degC", name), name), finite_number(in_unit(nu, "mm^2/s", name), name)
    except (TypeError, ValueError):
        example = "write degC and mm^2/s, for example (-20.0, 4.5) or ('-20 degC', '4.5 cSt')"
        raise QuantityError(f"viscosity of {name}: {format_value(point)} is not a point; {example}") from None
    return _TEMPERATURES_C.check(t), _VISCOSITIES_MM2_S.check(nu)


def _bend(nu: Any) -> Any:
    """Return c(ν), which straightens the line for thin liquids."""
    return exp(-1.47 - 1.84 * nu - 0.51 * nu * nu)


def _double_log(nu: Any) -> Any:
    return log10(log10(nu + 0.7 + _bend(nu)))


def _single_out(z: Any) -> Any:
    """Return ν from Z = ν + 0.7 + c(ν) by Newton's method, which from above never passes the solution: Z is convex."""
    nu = z - 0.7
    for _ in range(6):  # from at most 0.16 mm²/s too high; the error squares in each: four suffice
        c = _bend(nu)
        nu = nu - (nu + 0.7 + c - z) / (1.0 - (1.84 + 1.02 * nu) * c)
    return nu


def viscosity(fuel: Any) -> ViscosityLine:
    """Return the viscosity line of one published sample of a fuel: JP-8, Jet A, JP-5 or ATJ-SPK.

    Batches differ, at -20 °C by a factor of two: where it matters, draw a line with :meth:`ViscosityLine.through`.

    Examples
    --------
    >>> line = viscosity("JP-8")
    >>> round(line.kinematic_viscosity_mm2_s(-40.0), 2), line.note
    (6.61, 'within 3 % of the points at -40 and 100 degC')
    """
    lines = _lines()
    try:
        return lines[find_fuel(fuel).name]
    except (FuelUnitsError, AttributeError, KeyError):
        own = "with two points of your own, write ViscosityLine.through((-20.0, 4.5), (40.0, 1.31), source=…)"
        raise UnknownFuel(f"no viscosity of {format_value(fuel)} here, only of {', '.join(lines)}; {own}") from None


@cache
def _lines() -> dict[str, ViscosityLine]:
    """Return the lines of the library by fuel, each valid as far as it was checked."""
    lines = {}
    for name, entry in data_table("fuels/viscosities.toml").items():
        line = ViscosityLine.through(*entry["through"], source=entry["source"], name=f"{name} ({entry['sample']})")
        ends = [t for t, _ in (*entry["through"], *entry["checked"])]
        valid = replace(line.valid_temperatures_c, low=min(ends), high=max(ends))
        lines[name] = replace(line, valid_temperatures_c=valid, note=entry["note"])
    return lines


def specific_polarization(relative_permittivity: Any, density_kg_m3: Any) -> Any:
    """Return A = (ε - 1)/(ε + 2)/ρ, m³/kg, of a liquid without a dipole moment of any size; 3.4e-4 is 0.34 mL/g."""
    eps, rho = as_float(relative_permittivity), as_float(density_kg_m3)
    return (eps - 1.0) / (eps + 2.0) / rho


def permittivity_from_density(density_kg_m3: Any, specific_polarization_m3_kg: Any) -> Any:
    """Return the relative permittivity at a density: ε = (1 + 2 A ρ)/(1 - A ρ)."""
    share = as_float(density_kg_m3) * as_float(specific_polarization_m3_kg)
    return (1.0 + 2.0 * share) / (1.0 - share)


def permittivity_of_mixture(parts: Iterable[tuple[float, float]]) -> float:
    """Return the relative permittivity of a mixture: (ε - 1)/(ε + 2) adds by volume, as if the volumes added.

    Parameters
    ----------
    parts : sequence of (float, float), permittivity and volume fraction of each, at one temperature; they sum to 1

    Examples
    --------
    >>> round(permittivity_of_mixture([(1.911, 0.8), (2.374, 0.2)]), 3)
    1.996
    """
    given = members(parts)
    if not given or not all(isinstance(each, (tuple, list)) and len(each) == 2 for each in given):
        raise QuantityError(f"parts must be pairs such as [(2.11, 0.9), (2.37, 0.1)]; got {format_value(parts)}")
    read = [(positive_number(e, "relative_permittivity"), positive_number(x, "fraction", zero=True)) for e, x in given]
    if any(eps < 1.0 for eps, _ in read) or abs(sum(share for _, share in read) - 1.0) > 1e-9:
        raise QuantityError(f"parts must be permittivities from 1 with volume fractions whose sum is 1; got {read}")
    return float(permittivity_from_density(1.0, sum(x * specific_polarization(eps, 1.0) for eps, x in read)))


_tables = partial(data_table, "fuels/permittivities.toml")


@cache
def polarizations() -> dict[str, float]:
    """Return the specific polarization of pure hydrocarbons by name, m³/kg [crc_handbook]."""
    rows = [row for family in _tables()["hydrocarbons"].values() for row in family.items()]
    return {name: float(specific_polarization(eps, rho)) for name, (_, eps, rho) in rows}


def polarization_envelope(kind: str) -> tuple[float, float, float]:
    """Return the lowest, middle and highest specific polarization, m³/kg, that the composition of a kind allows."""
    families: dict[str, Any] = _tables()["composition"][kind]
    found = {name: [polarizations()[each] for each in family["members"]] for name, family in families.items()}
    (least, most), (least_cyclo, most_cyclo) = families["aromatic"]["share"], families["cycloalkane"]["share"]

    def mixed(aromatic: float, cyclo: float, pick: Callable[[list[float]], float]) -> float:
        shares = {"aromatic": aromatic, "cycloalkane": cyclo, "alkane": 1.0 - aromatic - cyclo}
        return sum(share * pick(found[family]) for family, share in shares.items())

    middle = mixed((least + most) / 2.0, (least_cyclo + most_cyclo) / 2.0, fmean)
    return mixed(least, most_cyclo, min), middle, mixed(most, least_cyclo, max)


@dataclass(frozen=True, repr=False)
class Permittivity(Reporting):
    """Relative permittivity of a fuel at °C, typical and as its composition allows, and its density, kg/m³."""

    fuel: str
    at_c: float
    density_kg_m3: float
    typical: float
    low: float
    high: float
    remarks: tuple[str, ...] = ()

    def report(self) -> Report:
        found = f"{self.typical:.3f}, from {self.low:.3f} to {self.high:.3f} by composition"
        title = f"Relative permittivity of {self.fuel} at {self.at_c:g} °C: {found}"
        facts = {"density": f"{self.density_kg_m3:.1f} kg/m³"}
        remarks = ("The range is what the composition allows at this density.", TYPICAL, *self.remarks)
        return Report(title, "", facts, (), remarks, ("crc_handbook", "fuel_composition_recalled"))


def permittivity(fuel: Any, *, at: QuantityLike) -> Permittivity:
    """Return the relative permittivity of a fuel at a temperature: typical, and the range that its composition allows.

    Parameters
    ----------
    fuel : str, Fuel or Batch: a jet fuel or an aviation gasoline, whose compositions are known
    at : str or pint.Quantity, its temperature

    Examples
    --------
    >>> found = permittivity("Jet A", at="15 degC")
    >>> 2.0 < found.low < found.typical < found.high < 2.25
    True
    """
    found: Any = find_fuel(fuel)
    words = getattr(getattr(found, "fuel", found), "kind", "")
    kind = "jet" if "jet" in words else "avgas" if "gasoline" in words else ""
    if not kind:
        name = getattr(found, "name", found)
        raise UnknownFuel(f"the permittivity of {name} is not known here; jet fuels and aviation gasolines are")
    at_c = float(celsius(at, name="at"))
    rho = float(found.density_kg_m3(at_c))
    low, middle, high = (float(permittivity_from_density(rho, a)) for a in polarization_envelope(kind))
    return Permittivity(found.name, at_c, rho, middle, low, high, remarks_of(found, limits=False))
