"""The sheet of capacitances to set on a test box in place of the probes, with the readings of the gauge.

It tests the indicator for the probes and the fuel of the adjustment, not the probes. The allowance for a reading is how
far the volume moves while the capacitance moves by half a step of the box and twice its standard uncertainty.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Any, ClassVar

from fuelunits.conversion import convert_exact, exact_amount, kind_of
from fuelunits.errors import QuantityError
from fuelunits.fuels.grades import fuel as find_fuel
from fuelunits.fuels.liquids import remarks_of
from fuelunits.fuels.permittivity import TYPICAL
from fuelunits.indicators.capacitance import CapacitanceGauge
from fuelunits.indicators.display import Display
from fuelunits.indicators.sheets import BenchPoint, Sheet, Source, share_of
from fuelunits.indicators.written import as_written, coerce_text, set_fields, written_ratio
from fuelunits.pint_units import first_quantity, is_quantity
from fuelunits.quantities import exact_number, members
from fuelunits.reports import Report
from fuelunits.units import read_unit
from fuelunits.validation import check_type, format_value


@dataclass(frozen=True)
class CapacitanceBox(Source):
    """A test box of capacitances, whose steps and uncertainty enter the verdicts of a sheet.

    Attributes
    ----------
    step, uncertainty : str or pint.Quantity
        The step in which it is set, ``"0.1 pF"``, and its standard uncertainty, ``"0.1 %"`` or ``"0.1 pF"``: twice it
        counts, with half a step.

    Examples
    --------
    >>> float(CapacitanceBox(step="0.1 pF", uncertainty="0.1 %").doubt(Fraction(100)))
    0.25
    """

    UNIT: ClassVar[str] = "pF"


@dataclass(frozen=True, repr=False)
class CapacitanceSheet(Sheet):
    """Capacitances to set, readings to expect, and what was read: as for a :class:`BenchSheet`.

    Attributes
    ----------
    gauge, asked : CapacitanceGauge; sequence of str or pint.Quantity
        The gauge, and the points: volumes of the tank table, or masses at the density of the adjustment.
    tolerance : str or pint.Quantity
        Part of the value displayed, ``"2 %"``, or an amount in the unit read; at empty only an amount can be kept.
    reads : str
        The unit displayed, of volume or mass.
    box : CapacitanceBox
        What sets the capacitances.
    resolution : str or pint.Quantity, optional
        The display step.
    as_found, as_left : tuple of str or None
        The readings before and after an adjustment.

    Examples
    --------
    An invented gauge:

    >>> from fuelunits import Probe, TankTable
    >>> tank = TankTable("left wing", [("0 mm", "0 L"), ("150 mm", "60 L"), ("300 mm", "120 L")])
    >>> probe = Probe("48 pF", "0 mm", "300 mm")
    >>> gauge = CapacitanceGauge(tank, [probe], "Jet A", "15 degC", relative_permittivity=2.1)
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

    def __post_init__(self) -> None:
        check_type(self.gauge, CapacitanceGauge, "gauge", "a CapacitanceGauge")
        check_type(self.box, CapacitanceBox, "box", "CapacitanceBox('0.1 pF', '0.1 %')")
        given = [] if is_quantity(self.asked) else members(self.asked)
        asked = tuple(as_written(each, kind_of(each, ("L", "kg"), name="point"), "point") for each in given)
        if not asked:
            raise QuantityError(f"points: give a list, such as ['0 L', '60 L']; got {format_value(self.asked)}")
        first_quantity(asked, self.tolerance, self.resolution)
        reads = read_unit(check_type(self.reads, str, "reads", "a unit such as 'L'")).name
        kind_of(f"1 {reads}", ("L", "kg"), name="reads")
        coerce_text(self, {"resolution": reads})
        set_fields(self, asked=asked, reads=reads, tolerance=written_ratio(self.tolerance, reads, "tolerance"))
        self._check_readings()

    @cached_property
    def points(self) -> tuple[BenchPoint, ...]:
        """What to set at each point, and the readings that are acceptable."""
        return tuple(map(self._point, self.asked))

    def _point(self, given: str) -> BenchPoint:
        gauge, box = self.gauge, self.box
        density = f"{gauge.density_kg_m3!r} kg/m^3"
        asked_l = float(exact_amount(given, "L", name="point", density=density, zero=True))
        wanted_pf = gauge.capacitance_pf(gauge.tank.level(f"{asked_l!r} L").m_as("mm"))
        low, high = (Fraction(gauge.capacitance_pf(level)) for level in gauge.wetted_mm)
        can_be_set = box.display.within(low, high)

        def litres(pf: Fraction) -> float:
            return gauge.tank.volume_l_at(gauge.level_mm(float(min(max(pf, low), high))))

        if can_be_set is None or abs(litres(Fraction(wanted_pf)) - asked_l) > 1e-6 * gauge.tank.capacity_l:
            raise QuantityError(f"point: {given} cannot be set: no probe measures there, or the box is too coarse")
        pf = min(max(box.display.reading(Fraction(wanted_pf)), can_be_set[0]), can_be_set[1])
        moved = max(abs(litres(pf + side * box.doubt(pf)) - litres(pf)) for side in (-1, 1))
        true, doubt = (convert_exact(Fraction(each), "L", self.reads, density) for each in (litres(pf), moved))
        step = None if self.resolution is None else exact_number(self.resolution, self.reads, name="resolution")
        allowed = share_of(self.tolerance, true, self.reads)
        return BenchPoint(given, self.reads, true, allowed, Display(step), doubt, capacitance_pf=float(pf))

    def _set(self, point: BenchPoint) -> tuple[dict[str, Any], dict[str, str]]:
        cells = {"set, pF": f"{point.capacitance_pf:.{self.box.display.decimals}f}"}
        return {"capacitance_pf": point.capacitance_pf}, cells

    def report(self) -> Report:
        """Return the sheet, with boxes where nothing was filled in."""
        gauge, fuel = self.gauge, find_fuel(self.gauge.fuel)
        facts = {
            "relative permittivity": f"{gauge.permittivity:.3f}",
            "density": f"{gauge.density_kg_m3:.1f} kg/m³",
            "strays, included": gauge.stray,
            "display step": self.resolution,
            "tolerance": self.tolerance,
            "test box": str(self.box),
        }
        remarks = [
            "It tests the indicator for the probes and the fuel entered, not the probes and the permittivity.",
            "Where cables stay connected to the box, subtract their capacitance.",
            *[TYPICAL] * (gauge.relative_permittivity is None),
            *[f"Amounts are those of the tank table and include the unusable {gauge.tank.unusable}."]
            * (gauge.tank.unusable_l > 0.0),
            *remarks_of(fuel, limits=False),
        ]
        title = (
            f"sheet of capacitances for {gauge.tank.name}, adjusted for {fuel.name} at {gauge.at}, reading {self.reads}"
        )
        return self._report(title, facts, remarks)
