"""Capacitance gauging: probes at a level, a gauge in another fuel, and the sheet of capacitances for a test box.

The wetted part of a probe has ε times its empty capacitance, so C = C_stray + Σ C_empty (1 + (ε - 1) f), with f the
wetted share of each section. A gauge that knows the permittivity finds the level, and from the tank table the volume;
zero is read where the unusable fuel begins (``cfr14_25_1337``). Without a compensating probe ε is that adjusted for.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Any, ClassVar

import numpy as np

from fuelunits.conversion import convert_exact, exact_amount, kind_of
from fuelunits.errors import QuantityError, UnknownFuel
from fuelunits.fuels.elementwise import solve_rising
from fuelunits.fuels.grades import fuel as find_fuel
from fuelunits.fuels.liquids import remarks_of
from fuelunits.fuels.properties import TYPICAL, permittivity, permittivity_from_density, specific_polarization
from fuelunits.indicators.settings import Display
from fuelunits.indicators.sheets import BenchPoint, Sheet, Source, listed, share_of
from fuelunits.indicators.tank_table import TankTable
from fuelunits.indicators.written import as_written, coerce_text, decimals_of, written_ratio
from fuelunits.quantities import QuantityLike, answer, exact_number, first_quantity, magnitude, positive, temperature_c
from fuelunits.reports import Report, Reporting, Table, format_percent
from fuelunits.sources import Range
from fuelunits.units import factor, read_unit
from fuelunits.validation import boolean, check_type, check_types, finite_number, print_unit, set_fields

_WATER = "Water at the bottom conducts: a wetted probe reads far too high. Drain and check before a gauge is adjusted."
_PERMITTIVITIES = Range("relative permittivity", 1.5, 5.0, "", "fuels; that of water is about 80 (common practice)")
_SECTIONS = Range("empty", 0.1, 5000.0, "pF", "sections of probes (common practice, from memory)")


@dataclass(frozen=True)
class Probe:
    """One section of a probe, whose capacitance is spread evenly over its length; stack sections where it is not.

    Parameters
    ----------
    empty, bottom, top : str or pint.Quantity, capacitance in air, without strays, and levels of the tank at both ends

    Examples
    --------
    >>> Probe("42 pF", "10 mm", "310 mm").wetted_share(160.0)
    0.5
    """

    empty: Any
    bottom: Any
    top: Any
    empty_pf: float = field(init=False, repr=False)
    range_mm: tuple[float, ...] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        coerce_text(self, {"empty": "pF", "bottom": "mm", "top": "mm"})
        ends = tuple(float(magnitude(end, "mm", name="level of a probe")) for end in (self.bottom, self.top))
        set_fields(self, empty_pf=_SECTIONS.check(float(positive(self.empty, "pF", name="empty"))), range_mm=ends)
        if not ends[0] < ends[1]:
            raise QuantityError(f"the levels of a probe must rise from bottom to top; got {self.bottom} to {self.top}")

    def wetted_share(self, level_mm: float) -> float:
        """Return the share of the empty capacitance that lies below a level in mm, from 0 to 1."""
        return float(np.interp(finite_number(level_mm, "level_mm"), self.range_mm, (0.0, 1.0)))


@dataclass(frozen=True, repr=False)
class CapacitanceGauge(Reporting):
    """The probes of one tank, and the fuel for which its gauge was adjusted.

    Parameters
    ----------
    tank, probes : TankTable, and a sequence of Probe wired in parallel
    fuel, at : str, Fuel, Batch or Blend for which the gauge was adjusted; str or pint.Quantity, its temperature then
    stray : str or pint.Quantity, capacitance of cables and all that fuel does not wet, trimming included
    relative_permittivity : float, optional, as measured, dimensionless ratio; by default the typical one of the fuel
    permittivity, density_kg_m3, empty_pf : float, those of the adjustment; of the dry probes with their strays, unit pF
    wetted_mm : tuple of float, the levels in the unit mm between which both the probes and the tank table answer

    Examples
    --------
    >>> tank = TankTable("invented tank", [("0 mm", "0 L"), ("150 mm", "60 L"), ("300 mm", "118 L")])
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
    permittivity: float = field(init=False, repr=False)
    density_kg_m3: float = field(init=False, repr=False)
    empty_pf: float = field(init=False, repr=False)
    wetted_mm: tuple[float, float] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        check_type(self.tank, TankTable, "tank", "a TankTable")
        if not (probes := check_types(self.probes, Probe, "probes", "Probe")):
            raise QuantityError("probes: a gauge has one probe or more")
        coerce_text(self, {"at": "degC", "stray": "pF"})
        eps = _permittivity(self.fuel, self.at, self.relative_permittivity)
        density = float(find_fuel(self.fuel).density_kg_m3(float(temperature_c(self.at, name="at"))))
        empty_pf = float(positive(self.stray, "pF", name="stray", zero=True)) + sum(probe.empty_pf for probe in probes)
        (low, high), levels = self.tank.range_mm, [mm for probe in probes for mm in probe.range_mm]
        ends = max(low, min(levels)), min(high, max(levels))
        set_fields(self, probes=probes, permittivity=eps, density_kg_m3=density, empty_pf=empty_pf, wetted_mm=ends)

    def capacitance_pf(self, level_mm: float, relative_permittivity: float | None = None) -> float:
        """Return the capacitance at a level in mm, pF; a plain number for the permittivity, by default the adjusted."""
        given = relative_permittivity
        eps = self.permittivity if given is None else _permittivity(self.fuel, self.at, given)
        wetted = sum(probe.empty_pf * probe.wetted_share(level_mm) for probe in self.probes)
        return float(self.empty_pf + (eps - 1.0) * wetted)

    def level_mm(self, capacitance_pf: float) -> float:
        """Return the level in mm at which the fuel of the adjustment makes a capacitance in pF, from empty to full."""
        low, high = map(self.capacitance_pf, self.wetted_mm)
        pf = finite_number(capacitance_pf, "capacitance_pf")
        Range(f"capacitance in {self.tank.name}", low, high, "pF", "the probes, from empty to full").check(pf)
        return solve_rising(self.capacitance_pf, pf, *self.wetted_mm)

    def capacitance(self, volume: QuantityLike) -> Any:
        """Return the capacitance at a volume of the fuel of the adjustment, as a quantity in pF."""
        return answer(self.capacitance_pf(self.tank.level(volume).m_as("mm")), "pF", volume)

    def volume(self, capacitance: Any) -> Any:
        """Return the volume, with the unusable fuel, that a capacitance means, as a quantity in L; refuse if many."""
        pf = float(positive(capacitance, "pF", name="capacitance"))
        level = self.level_mm(pf)
        if span := self._unmeasured(pf):
            words = f"{as_written(capacitance, 'pF', 'capacitance')} may mean {span} in {self.tank.name}"
            raise QuantityError(f"capacitance: {words}: no probe measures there")
        return answer(self.tank.volume_l_at(level), "L", capacitance)

    def _unmeasured(self, pf: float) -> str:
        """Return the range of the volumes of one capacitance in words; empty where it is below 0.1 % of the tank."""
        unit = self.tank.units[1]
        levels = (solve_rising(self.capacitance_pf, pf + off, *self.tank.range_mm) for off in (-1e-6, 1e-6))
        low, high = (self.tank.volume_l_at(level) for level in levels)
        ends = [f"{round(each * factor('L', unit), decimals_of(unit)):g}" for each in (low, high)]
        return f"{' to '.join(ends)} {unit}" if high - low > 0.001 * self.tank.capacity_l else ""

    def error_with(self, fuel: Any, *, at: QuantityLike, relative_permittivity: float | None = None) -> GaugeError:
        """Return the errors of the gauge, as adjusted, in another fuel or temperature, at half the wetted range.

        The mass is the volume displayed at the density of the adjustment. A compensating probe that is wetted
        throughout makes the volume right, and the density is inferred from ε with the polarization of the adjustment,
        which the fuel of the adjustment keeps at any temperature, unless `relative_permittivity` is given.
        """
        found, own = find_fuel(fuel), find_fuel(self.fuel)
        is_own = relative_permittivity is None and found == own
        density = float(found.density_kg_m3(float(temperature_c(at, name="at"))))
        adjusted = specific_polarization(self.permittivity, self.density_kg_m3)
        eps = permittivity_from_density(density, adjusted) if is_own else _permittivity(fuel, at, relative_permittivity)
        level = sum(self.wetted_mm) / 2.0
        levels = self.level_mm(self.capacitance_pf(level, eps)), level
        displayed, usable = (max(self.tank.volume_l_at(each) - self.tank.unusable_l, 0.0) for each in levels)
        if not usable:
            raise QuantityError(f"at half the wetted range of {self.tank.name} all is unusable: {self.tank.unusable}")
        if span := self._unmeasured(self.capacitance_pf(level)):
            raise QuantityError(f"at half the wetted range no probe measures: {span} have one capacitance")
        volume, compensated = displayed / usable, float(specific_polarization(eps, density) / adjusted)
        errors = volume - 1.0, volume * self.density_kg_m3 / density - 1.0, compensated - 1.0
        facts = {
            "adjusted for": f"{own.name} at {print_unit(self.at)}",
            "relative permittivity": f"{eps:.3f}, adjusted {self.permittivity:.3f}",
            "density": f"{density:.1f} kg/m³, adjusted {self.density_kg_m3:.1f} kg/m³",
        }
        names = "volume displayed, without", "mass displayed, without", "mass displayed, with"
        for name, each in zip(names, errors, strict=True):
            facts[f"{name} compensator"] = format_percent(each, signed=True)
        remarks = ["Errors at half the wetted range; batches differ in permittivity."]
        remarks += [*self.doubt(), *([] if is_own else _doubt(fuel, at, relative_permittivity))]
        remarks += [line for each in (found, own) for line in remarks_of(each, limits=False)]
        title = f"{self.tank.name} filled with {found.name} at {print_unit(as_written(at, 'degC', 'at'))}"
        return GaugeError(*errors, Report(title, "", facts, [], [*dict.fromkeys(remarks), _WATER]))

    def report(self) -> Report:
        (level, unit), fuel = self.tank.units, find_fuel(self.fuel)
        rows: list[tuple[str, ...]] = []
        for mm in np.linspace(*self.wetted_mm, 11).tolist():
            volume = f"{self.tank.volume_l_at(mm) * factor('L', unit):.{decimals_of(unit)}f}"
            rows.append((f"{mm * factor('mm', level):.1f}", volume, f"{self.capacitance_pf(mm):.2f}"))
        tables = [Table((f"level, {level}", f"volume, {unit}", "capacitance, pF"), tuple(rows)), *self.entered()]
        spans = dict.fromkeys(self._unmeasured(self.capacitance_pf(mm)) for each in self.probes for mm in each.range_mm)
        blind = [f"From {span} no probe measures: the gauge cannot distinguish them." for span in spans if span]
        facts = {"relative permittivity": f"{self.permittivity:.3f}", "empty, with strays": f"{self.empty_pf:.2f} pF"}
        title = f"capacitance gauge of {self.tank.name}, adjusted for {fuel.name} at {print_unit(self.at)}"
        return Report(title, "", facts, tables, [*blind, *self.doubt(), *remarks_of(fuel, limits=False), _WATER])

    def doubt(self) -> list[str]:
        """Return remarks on the fuel that a display is expected to show, and on the permittivity of the adjustment."""
        less = f"usable fuel: all but the unusable {self.tank.unusable}, zero when that is left (14 CFR 25.1337)"
        shows = "all the fuel, as the unusable part is not stated" if self.tank.unusable is None else less
        return [f"The display is expected to show {shows}.", *_doubt(self.fuel, self.at, self.relative_permittivity)]

    def entered(self) -> list[Table]:
        """Return the sections of the probes and the tank table, as they were entered."""
        sections = ({"empty": each.empty, "from": each.bottom, "to": each.top} for each in self.probes)
        tank = replace(self.tank.report().tables[0], title=f"tank table of {self.tank.name}")
        return [Table.of(sections, "sections of the probes"), tank]


def _permittivity(fuel: Any, at: Any, given: float | None) -> float:
    """Return the relative permittivity as measured, or the typical one of a fuel."""
    if given is None:
        return permittivity(fuel, at=at).typical
    return float(_PERMITTIVITIES.check(finite_number(given, "relative_permittivity")))


def _doubt(fuel: Any, at: Any, given: float | None) -> list[str]:
    """Return a remark on a permittivity that is not measured, or that the composition of the fuel does not allow."""
    if given is None:
        return [TYPICAL]
    try:
        of = permittivity(fuel, at=at)
    except UnknownFuel:
        return [f"Permittivity {given:g} was compared with nothing: no composition of this fuel is known."]
    allowed = f"{of.low:.3f} to {of.high:.3f}, which the composition of {of.fuel} allows"
    words = f"Permittivity {given:g} is beyond {allowed} at {of.at_c:g} °C and {of.density_kg_m3:.0f} kg/m³."
    return [] if of.low - 5e-4 <= given <= of.high + 5e-4 else [words]


@dataclass(frozen=True, repr=False)
class GaugeError(Reporting):
    """The relative errors of a gauge in another fuel, positive reads high: of mass without a compensator and with."""

    volume_error: float
    mass_error: float
    compensated_mass_error: float
    details: Report


@dataclass(frozen=True)
class CapacitanceBox(Source):
    """A test box of capacitances, whose steps and uncertainty enter the verdicts of a sheet.

    Attributes
    ----------
    step, uncertainty : str or pint.Quantity, the step it is set in, and the standard one, ``"0.1 %"`` or ``"0.1 pF"``

    Examples
    --------
    >>> float(CapacitanceBox(step="0.1 pF", uncertainty="0.1 %").doubt(Fraction(100)))
    0.25
    """

    UNIT: ClassVar[str] = "pF"


@dataclass(frozen=True, repr=False)
class CapacitanceSheet(Sheet):
    """Capacitances to set in place of the probes, readings to expect, and what was read, as on a :class:`BenchSheet`.

    The allowance for a reading is how far the volume moves with half a step of the box and twice its uncertainty.

    Attributes
    ----------
    gauge, box : CapacitanceGauge, and CapacitanceBox that sets the capacitances
    asked : sequence of str or pint.Quantity, volumes in the tank, unusable included, or masses at the density adjusted
    tolerance : str or pint.Quantity
        Part of the value displayed, ``"2 %"``, or an amount in the unit read; at empty only an amount can be kept.
    reads, resolution : str, and str or pint.Quantity, the unit displayed, of volume or mass, and any display step
    as_found, as_left, points : as on a :class:`BenchSheet`

    Examples
    --------
    >>> tank = TankTable("invented tank", [("0 mm", "0 L"), ("150 mm", "60 L"), ("300 mm", "120 L")], unusable="0 L")
    >>> probes = [Probe("48 pF", "0 mm", "300 mm")]
    >>> gauge = CapacitanceGauge(tank, probes, "Jet A", "15 degC", relative_permittivity=2.1)
    >>> box = CapacitanceBox("0.1 pF", "0.05 pF")
    >>> sheet = CapacitanceSheet(gauge, ["0 L", "60 L"], "2 L", reads="L", box=box, resolution="0.5 L")
    >>> [(point.capacitance_pf, point.lowest, point.highest) for point in sheet.points]
    [(48.0, None, None), (74.4, 58.5, 61.5)]
    >>> sheet.filled(as_left=["0 L", "61 L"]).verdict_as_left.value
    'accept'
    """

    gauge: CapacitanceGauge
    asked: Any
    tolerance: Any
    reads: str
    box: CapacitanceBox
    resolution: Any = None
    truncates: bool = False

    def __post_init__(self) -> None:
        check_type(self.gauge, CapacitanceGauge, "gauge", "a CapacitanceGauge")
        check_type(self.box, CapacitanceBox, "box", "CapacitanceBox('0.1 pF', '0.1 %')")
        given = listed(self.asked, "points", "['0 L', '60 L']")
        asked = tuple(as_written(each, kind_of(each, ("L", "kg"), name="point"), "point") for each in given)
        first_quantity(given, self.tolerance, self.resolution)
        reads = read_unit(check_type(self.reads, str, "reads", "a unit such as 'L'")).name
        kind_of(f"1 {reads}", ("L", "kg"), name="reads")
        coerce_text(self, {"resolution": reads})
        set_fields(self, asked=asked, reads=reads, tolerance=written_ratio(self.tolerance, reads, "tolerance"))
        set_fields(self, truncates=boolean(self.truncates, "truncates"))
        self._set_points(map(self._point, asked))

    def _point(self, given: str) -> BenchPoint:
        gauge, box = self.gauge, self.box
        density = f"{gauge.density_kg_m3!r} kg/m^3"
        asked_l = float(exact_amount(given, "L", name="point", density=density, zero=True))
        wanted = Fraction(gauge.capacitance_pf(gauge.tank.level(f"{asked_l!r} L").m_as("mm")))
        low, high = (Fraction(gauge.capacitance_pf(level)) for level in gauge.wetted_mm)
        can_be_set = box.display.within(low, high)

        def litres(pf: Fraction, unusable_l: float = gauge.tank.unusable_l) -> float:
            level = gauge.level_mm(float(pf)) if low <= pf <= high else gauge.tank.range_mm[int(pf > high)]
            return max(gauge.tank.volume_l_at(level) - unusable_l, 0.0)

        if can_be_set is None or abs(litres(wanted, 0.0) - asked_l) > 1e-6 * gauge.tank.capacity_l:
            raise QuantityError(f"point: {given} cannot be set: no probe measures there, or the box is too coarse")
        pf = min(max(box.display.reading(wanted), can_be_set[0]), can_be_set[1])
        shown = litres(pf) if asked_l - gauge.tank.unusable_l > 1e-6 * gauge.tank.capacity_l else 0.0
        moved = max(abs(litres(end) - shown) for end in (pf - box.doubt(pf), pf + box.doubt(pf)))
        true, doubt = (convert_exact(Fraction(each), "L", self.reads, density) for each in (shown, moved))
        step = None if self.resolution is None else exact_number(self.resolution, self.reads, name="resolution")
        display, allowed = Display(step, truncates=self.truncates), share_of(self.tolerance, true, self.reads)
        return BenchPoint(given, self.reads, true, allowed, display, doubt, capacitance_pf=float(pf))

    def _set(self, point: BenchPoint) -> tuple[dict[str, Any], dict[str, str]]:
        cells = {"set, pF": f"{point.capacitance_pf:.{self.box.display.decimals}f}"}
        return {"capacitance_pf": point.capacitance_pf}, cells

    def report(self) -> Report:
        gauge, fuel = self.gauge, find_fuel(self.gauge.fuel)
        facts = {
            "relative permittivity": f"{gauge.permittivity:.3f}",
            "density": f"{gauge.density_kg_m3:.1f} kg/m³",
            "strays, included": gauge.stray,
            "display step": self.resolution and f"{self.resolution}{', truncating' * self.truncates}",
            "tolerance": self.tolerance,
            "test box": str(self.box),
        }
        remarks = [
            "It tests the indicator for the probes, fuel and tank table entered, which count as exact, and not these.",
            "Where cables stay connected to the box, subtract their capacitance.",
            *gauge.doubt(),
            *remarks_of(fuel, limits=False),
        ]
        what = f"sheet of capacitances for {gauge.tank.name}, adjusted for {fuel.name} at {gauge.at}"
        sheet = self._report(f"{what}, reading {self.reads}", facts, remarks)
        return replace(sheet, tables=[*sheet.tables, *gauge.entered()])
