"""Capacitance gauging: the capacitance of a probe at a level, and the reading of a gauge in another fuel.

The wetted part of a probe has ε times its empty capacitance, so C = C_stray + Σ C_empty (1 + (ε - 1) f), with f the
wetted share of each section. A gauge that knows the permittivity finds the level, and from the tank table the
volume. One without a compensating probe takes the permittivity that it was calibrated with.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from fuelunits.errors import QuantityError
from fuelunits.fuels.grades import fuel as find_fuel
from fuelunits.fuels.liquids import remarks_of
from fuelunits.fuels.permittivity import TYPICAL, permittivity, specific_polarization
from fuelunits.indicators.tank_table import TankTable, solve_rising
from fuelunits.indicators.written import as_written, coerce_text, set_fields
from fuelunits.pint_units import answer
from fuelunits.quantities import QuantityLike, magnitude, positive, temperature_c
from fuelunits.reports import Report, Reporting, Table, format_percent
from fuelunits.sources import Range
from fuelunits.validation import check_type, check_types, plain_number, positive_number

_WATER = (
    "Water at the bottom conducts and has about forty times the permittivity of fuel: a wetted probe then reads "
    "far too high. Drain and check before a gauge is adjusted."
)

_PERMITTIVITIES = Range("relative permittivity", 1.5, 5.0, "", "fuels; that of water is about 80 (common practice)")
_SECTIONS = Range("empty", 0.1, 5000.0, "pF", "sections of probes (common practice, from memory)")


@dataclass(frozen=True)
class Probe:
    """One section of a probe: its capacitance in air, and the levels between which fuel wets it.

    Parameters
    ----------
    empty, bottom, top : str or pint.Quantity
        Capacitance of the active length in air, without strays, and levels of the tank table at both ends.
    profile : sequence of (level, share), optional
        Where capacitance is not spread evenly: its share below each level, plain numbers rising from 0 at the bottom
        to 1 at the top.

    Examples
    --------
    >>> Probe("42 pF", "10 mm", "310 mm").wetted_share(160.0)
    0.5
    """

    empty: Any
    bottom: Any
    top: Any
    profile: Any = ()

    def __post_init__(self) -> None:
        coerce_text(self, {"empty": "pF", "bottom": "mm", "top": "mm"})
        profile = tuple(
            (as_written(mm, "mm", "level of a probe"), plain_number(share, "share")) for mm, share in self.profile
        )
        set_fields(self, profile=profile)
        levels, shares = self._points()
        if not self.empty_pf or not np.all(np.diff(levels) > 0.0):
            raise QuantityError(f"the levels of a probe must rise from bottom to top; got {self.bottom} to {self.top}")
        if (levels[0], levels[-1]) != self.range_mm:
            raise QuantityError(f"profile: its ends must be the bottom and the top, {self.bottom} and {self.top}")
        if not np.all(np.diff(shares) >= 0.0) or (shares[0], shares[-1]) != (0.0, 1.0):
            raise QuantityError("profile: the shares must rise from 0 at the bottom to 1 at the top")

    @property
    def empty_pf(self) -> float:
        """Capacitance in air, pF."""
        return float(_SECTIONS.check(float(positive(self.empty, "pF", name="empty"))))

    @property
    def range_mm(self) -> tuple[float, float]:
        """The levels of its lower and its upper end, mm."""
        return tuple(float(magnitude(end, "mm", name="level of a probe")) for end in (self.bottom, self.top))  # type: ignore[return-value]

    def wetted_share(self, level_mm: float) -> float:
        """Return the share of the empty capacitance that lies below a level in mm, from 0 to 1."""
        return float(np.interp(level_mm, *self._points()))

    def _points(self) -> tuple[Any, Any]:
        levels, shares = zip(*(self.profile or ((self.bottom, 0.0), (self.top, 1.0))), strict=True)
        return np.array([float(magnitude(each, "mm", name="level of a probe")) for each in levels]), np.array(shares)


@dataclass(frozen=True, repr=False)
class CapacitanceGauge(Reporting):
    """The probes of one tank, and the fuel for which its gauge was adjusted.

    Parameters
    ----------
    tank, probes
        A :class:`TankTable`, and a sequence of :class:`Probe` wired in parallel.
    fuel, at : str, Fuel, Batch or Blend; str or pint.Quantity
        The fuel for which the gauge was adjusted, and its temperature at the adjustment.
    stray : str or pint.Quantity
        Capacitance of cables and of all that fuel does not wet, with what was added to trim it.
    relative_permittivity : float, optional
        As measured; without it, the typical value of the fuel, whose origin its report states.

    Examples
    --------
    An invented tank with one probe:

    >>> tank = TankTable("left wing", [("0 mm", "0 L"), ("150 mm", "60 L"), ("300 mm", "118 L")])
    >>> gauge = CapacitanceGauge(tank, [Probe("48 pF", "0 mm", "300 mm")], "Jet A", "15 degC", stray="5 pF")
    >>> f"{gauge.capacitance('60 L').m_as('pF'):.1f}"
    '80.1'
    """

    tank: TankTable
    probes: Any
    fuel: Any
    at: Any
    stray: Any = "0 pF"
    relative_permittivity: float | None = None

    def __post_init__(self) -> None:
        check_type(self.tank, TankTable, "tank", "a TankTable")
        set_fields(self, probes=check_types(self.probes, Probe, "probes", "Probe"))
        if not self.probes:
            raise QuantityError("probes: a gauge has one probe or more")
        coerce_text(self, {"at": "degC", "stray": "pF"})
        _permittivity(self.fuel, self.at, self.relative_permittivity)

    @property
    def permittivity(self) -> float:
        """The relative permittivity for which the gauge was adjusted."""
        return _permittivity(self.fuel, self.at, self.relative_permittivity)

    @property
    def density_kg_m3(self) -> float:
        """The density for which the gauge was adjusted, kg/m³."""
        return _density_kg_m3(self.fuel, self.at)

    @property
    def empty_pf(self) -> float:
        """Capacitance of the dry probes with their strays, pF."""
        stray = float(positive(self.stray, "pF", name="stray", zero=True))
        return float(stray + sum(probe.empty_pf for probe in self.probes))

    @property
    def wetted_mm(self) -> tuple[float, float]:
        """The levels between which both the probes and the tank table answer, mm."""
        bottoms, tops = zip(*(probe.range_mm for probe in self.probes), strict=True)
        low, high = self.tank.range_mm
        return max(min(bottoms), low), min(max(tops), high)

    def capacitance_pf(self, level_mm: float, relative_permittivity: float | None = None) -> float:
        """Return the capacitance at a level in mm, pF; a plain number for the permittivity, by default the adjusted."""
        eps = self.permittivity if relative_permittivity is None else relative_permittivity
        wetted = sum(probe.empty_pf * probe.wetted_share(level_mm) for probe in self.probes)
        return float(self.empty_pf + (eps - 1.0) * wetted)

    def level_mm(self, capacitance_pf: float) -> float:
        """Return the level in mm at which the fuel of the adjustment makes a capacitance in pF, from empty to full."""
        eps = self.permittivity
        low, high = self.wetted_mm
        ends = self.capacitance_pf(low, eps), self.capacitance_pf(high, eps)
        Range(f"capacitance in {self.tank.name}", *ends, "pF", "the probes, from empty to full").check(capacitance_pf)
        return solve_rising(lambda level: self.capacitance_pf(level, eps), capacitance_pf, low, high)

    def capacitance(self, volume: QuantityLike) -> Any:
        """Return the capacitance at a volume of the fuel of the adjustment, as a quantity in pF."""
        return answer(self.capacitance_pf(self.tank.level(volume).m_as("mm")), "pF", volume)

    def volume(self, capacitance: Any) -> Any:
        """Return the volume that the gauge takes a capacitance for, as a quantity in L; refuse where many have it."""
        pf = float(positive(capacitance, "pF", name="capacitance"))
        level = self.level_mm(pf)
        if span := self._unmeasured_l(pf):
            words = f"{span[0]:g} to {span[1]:g} L in {self.tank.name}"
            raise QuantityError(
                f"capacitance: {as_written(capacitance, 'pF', 'capacitance')} may mean {words}: no probe measures there"
            )
        return answer(self.tank.volume_l_at(level), "L", capacitance)

    def _unmeasured_l(self, pf: float) -> tuple[float, float] | None:
        """Return the lowest and highest volume of one capacitance, L; None where they are within 0.1 % of the tank."""
        levels = (solve_rising(self.capacitance_pf, pf + off, *self.tank.range_mm) for off in (-1e-6, 1e-6))
        low, high = (round(self.tank.volume_l_at(level), 1) for level in levels)
        return (low, high) if high - low > 0.001 * self.tank.capacity_l else None

    def error_with(self, fuel: Any, *, at: QuantityLike, relative_permittivity: float | None = None) -> GaugeError:
        """Return the errors of the gauge, as adjusted, in another fuel or temperature; arguments as for the class."""
        eps = _permittivity(fuel, at, relative_permittivity)
        celsius = float(temperature_c(at, name="at"))
        found = find_fuel(fuel)
        said = (TYPICAL,) * (None in (relative_permittivity, self.relative_permittivity))
        said += tuple(line for each in (found, find_fuel(self.fuel)) for line in remarks_of(each, limits=False))
        return GaugeError(self, found.name, celsius, _density_kg_m3(fuel, at), eps, tuple(dict.fromkeys(said)))

    def report(self) -> Report:
        """Return the report of the gauge: capacitance over level and volume."""
        rows = tuple(
            (f"{level:.1f}", f"{self.tank.volume_l_at(level):.1f}", f"{self.capacitance_pf(level):.2f}")
            for level in map(float, np.linspace(*self.wetted_mm, 11))
        )
        typical = (TYPICAL,) * (self.relative_permittivity is None)
        ends = [self.capacitance_pf(level) for probe in self.probes for level in probe.range_mm]
        spans = dict.fromkeys(span for pf in ends if (span := self._unmeasured_l(pf)))
        blind = [
            f"From {low:g} to {high:g} L no probe measures: the gauge cannot distinguish them." for low, high in spans
        ]
        fuel = find_fuel(self.fuel)
        facts = {
            "relative permittivity": f"{self.permittivity:.3f}",
            "empty, with strays": f"{self.empty_pf:.2f} pF",
            "sections": len(self.probes),
        }
        return Report(
            f"capacitance gauge of {self.tank.name}, adjusted for {fuel.name} at {self.at}",
            facts=facts,
            tables=[Table(("level, mm", "volume, L", "capacitance, pF"), rows)],
            remarks=(*blind, *typical, *remarks_of(fuel, limits=False), _WATER),
        )


def _permittivity(fuel: Any, at: Any, given: float | None) -> float:
    """Return the relative permittivity as measured, or the typical one of a fuel."""
    if given is not None:
        return float(_PERMITTIVITIES.check(positive_number(given, "relative_permittivity", example=2.1)))
    return permittivity(fuel, at=at).typical


def _density_kg_m3(fuel: Any, at: Any) -> float:
    found: Any = find_fuel(fuel)
    return float(found.density_kg_m3(float(temperature_c(at, name="at"))))


@dataclass(frozen=True, repr=False)
class GaugeError(Reporting):
    """The errors of a gauge, as adjusted, in another fuel, at half the wetted range of its probes."""

    gauge: CapacitanceGauge
    fuel: str
    at_c: float
    density_kg_m3: float
    permittivity: float
    remarks: tuple[str, ...] = ()

    _plain = ("volume_error", "mass_error", "compensated_mass_error")

    @property
    def volume_error(self) -> float:
        """Relative error of the volume without a compensating probe, a fraction: positive reads high."""
        level = sum(self.gauge.wetted_mm) / 2.0
        displayed = self.gauge.level_mm(self.gauge.capacitance_pf(level, self.permittivity))
        return self.gauge.tank.volume_l_at(displayed) / self.gauge.tank.volume_l_at(level) - 1.0

    @property
    def mass_error(self) -> float:
        """Relative error of the mass without a compensating probe, at the density of the adjustment."""
        return (1.0 + self.volume_error) * self.gauge.density_kg_m3 / self.density_kg_m3 - 1.0

    @property
    def compensated_mass_error(self) -> float:
        """Relative error of the mass with a compensating probe that is wetted throughout.

        The volume is right; the density is inferred from the permittivity with the polarization of the adjustment.
        """
        adjusted = specific_polarization(self.gauge.permittivity, self.gauge.density_kg_m3)
        inferred = (self.permittivity - 1.0) / (self.permittivity + 2.0) / adjusted
        return float(inferred / self.density_kg_m3 - 1.0)

    def report(self) -> Report:
        """Return the report of the errors."""
        gauge = self.gauge
        errors = {
            "volume displayed, without compensator": self.volume_error,
            "mass displayed, without compensator": self.mass_error,
            "mass displayed, with compensator": self.compensated_mass_error,
        }
        return Report(
            f"{gauge.tank.name} filled with {self.fuel} at {self.at_c:g} °C",
            facts={
                "adjusted for": f"{find_fuel(gauge.fuel).name} at {gauge.at}",
                "relative permittivity": f"{self.permittivity:.3f}, adjusted {gauge.permittivity:.3f}",
                "density": f"{self.density_kg_m3:.1f} kg/m³, adjusted {gauge.density_kg_m3:.1f} kg/m³",
                **{name: format_percent(error, signed=True) for name, error in errors.items()},
            },
            remarks=("Errors at half the wetted range; batches differ in permittivity.", *self.remarks, _WATER),
        )
