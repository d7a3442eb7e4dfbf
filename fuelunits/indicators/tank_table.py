"""Tank tables: level against volume, from calibration points, for dipsticks, floats and gauges.

Between two points the volume follows a monotone cubic, which passes through every point and never runs back. Nothing
is said below the first point and above the last. The uncertainty joins that of the reading, that of the points, and
how far the tank may be from the curve between the points: a straight line, the slopes beside it, or a bend unseen.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np

from fuelunits.errors import QuantityError
from fuelunits.fuels.acceptance import EXPANSION_DOUBT_PER_C, remarks_of
from fuelunits.fuels.grades import fuel as find_fuel
from fuelunits.indicators.written import as_written, coerce_text, decimals_of, set_fields, written_ratio
from fuelunits.meters.monotone import monotone_cubics
from fuelunits.pint_units import answer
from fuelunits.quantities import fraction, is_ratio, magnitude, positive, read_text, temperature_c
from fuelunits.reports import Report, Reporting, Table, format_percent
from fuelunits.sources import Range
from fuelunits.uncertainty.budget import uncertain
from fuelunits.units import factor, read_unit
from fuelunits.validation import check_type, format_value

_TABLE = "the points of the tank table; calibrate further points rather than extend it"


def solve_rising(function: Callable[[float], float], goal: float, low: float, high: float) -> float:
    """Return where a function that never falls reaches a value between two ends, by bisection; NaN for NaN."""
    if math.isnan(goal):
        return goal
    while low < (middle := (low + high) / 2.0) < high:
        low, high = (middle, high) if function(middle) < goal else (low, middle)
    return low if abs(function(low) - goal) <= abs(function(high) - goal) else high


@dataclass(frozen=True)
class _Line:
    """One table as numbers: levels in mm, volumes in L, the cubics between them, and both units as written."""

    name: str
    levels: Any
    volumes: Any
    cubics: Any
    units: tuple[str, ...]

    @classmethod
    def of(cls, points: Sequence[tuple[str, str]], name: str) -> _Line:
        if len(points) < 2:
            raise QuantityError(f"{name} must have two points or more, each (level, volume); got {len(points)}")
        levels = np.array([float(magnitude(level, "mm", name=f"{name}, level")) for level, _ in points])
        volumes = np.array([float(positive(litres, "L", name=f"{name}, volume", zero=True)) for _, litres in points])
        for what, values, unit in (("levels", levels, "mm"), ("volumes", volumes, "L")):
            for i in np.flatnonzero(~(np.diff(values) > 0.0)):
                raise QuantityError(
                    f"{name}: {what} must rise; point {i + 2} ({values[i + 1]:g} {unit}) follows {values[i]:g} {unit}"
                )
        units = tuple(read_unit(read_text(each)[1]).name for each in points[-1])
        return cls(name, levels, volumes, monotone_cubics(levels, volumes), units)

    def volume(self, level_mm: float) -> tuple[float, float, float]:
        """Return the volume in L, its slope in L/mm, and how far the tank may be from it between the points, L.

        A tank that widens or narrows steadily lies between the straight line and the extended lines of the neighbouring
        points; a corner in it may reach either. Points on a line, such as empty, half and full of a lying cylinder, do
        not show that it is straight between them: U reaches to a section that vanishes at one of two points.
        """
        self._check("level", level_mm, self.levels, factor("mm", self.units[0]), self.units[0])
        i = int(np.clip(np.searchsorted(self.levels, level_mm, side="right") - 1, 0, len(self.levels) - 2))
        step = level_mm - self.levels[i]
        c0, c1, c2, c3 = self.cubics[:, i]
        volume = c0 + step * (c1 + step * (c2 + step * c3))
        slope = c1 + step * (2.0 * c2 + step * 3.0 * c3)
        straight = float(np.interp(level_mm, self.levels, self.volumes))
        rest, height = self.levels[i + 1] - level_mm, self.levels[-1] - self.levels[0]
        bends = np.abs(np.diff(np.diff(self.volumes) / np.diff(self.levels)))[max(i - 1, 0) : i + 1]
        extended = min(step, rest) * max(bends, default=0.0)
        wedge = (self.volumes[-1] - self.volumes[0]) * step * rest / height**2
        return float(volume), float(slope), float(max(abs(volume - straight), extended, math.sqrt(3.0) * wedge))

    def level(self, volume_l: float) -> float:
        """Return the level in mm at a volume in L."""
        self._check("volume", volume_l, self.volumes, factor("L", self.units[1]), self.units[1])
        return solve_rising(lambda mm: self.volume(mm)[0], volume_l, float(self.levels[0]), float(self.levels[-1]))

    def _check(self, what: str, value: float, ends: Any, scale: float, unit: str) -> None:
        Range(f"{what} in {self.name}", scale * ends[0], scale * ends[-1], unit, _TABLE).check(scale * value)


def _written(points: Iterable[Any], name: str) -> tuple[tuple[str, str], ...]:
    """Return the points of a table as text."""
    given = tuple(points)
    for point in given:
        if not isinstance(point, (tuple, list)) or len(point) != 2:
            raise QuantityError(
                f"{name}: a point must be (level, volume), for example ('50 mm', '21.5 L'); got {format_value(point)}"
            )
    return tuple((as_written(mm, "mm", f"{name}, level"), as_written(v, "L", f"{name}, volume")) for mm, v in given)


@dataclass(frozen=True, repr=False)
class TankTable(Reporting):
    """Level against volume of one tank.

    Parameters
    ----------
    name, points : str; sequence of (level, volume)
        The tank, and two points or more, both rising: ``("50 mm", "21.5 L")``.
    unusable : str or pint.Quantity
        The volume that the engine cannot use, as the aircraft's data give it.
    level_uncertainty, volume_uncertainty : str or pint.Quantity, optional
        Standard uncertainty of a reading of the level, and of the volumes of the points, or a percentage of each.
    mark_uncertainty : str or pint.Quantity, optional
        Standard uncertainty of the levels of the points, where they were read as well.
    attitudes : mapping of str to sequence of (level, volume), optional
        A table of its own for each other attitude, as the maker of the table gives it; the library guesses none.

    Examples
    --------
    An invented tank:

    >>> tank = TankTable(
    ...     "left wing", [("0 mm", "0 L"), ("60 mm", "22 L"), ("120 mm", "51 L"), ("180 mm", "74 L")],
    ...     unusable="3 L", level_uncertainty="1 mm", volume_uncertainty="0.5 L",
    ... )
    >>> reading = tank.volume("100 mm")
    >>> f"{reading.volume_l:.1f} L, U {reading.expanded_uncertainty_l:.1f} L, usable {reading.usable_l:.1f} L"
    '41.5 L, U 3.9 L, usable 38.5 L'
    """

    name: str
    points: Any
    unusable: Any = "0 L"
    level_uncertainty: Any = None
    volume_uncertainty: Any = None
    attitudes: Mapping[str, Any] = field(default_factory=dict)
    mark_uncertainty: Any = None
    _lines: Mapping[str, _Line] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        check_type(self.name, str, "name", "what the tank is called")
        points = _written(self.points, self.name)
        attitudes = {key: _written(each, f"{self.name}, {key}") for key, each in self.attitudes.items()}
        lines = {key: _Line.of(each, f"{self.name}, {key}") for key, each in attitudes.items()}
        lines[""] = _Line.of(points, self.name)
        set_fields(self, points=points, attitudes=attitudes, _lines=lines)
        coerce_text(self, {"unusable": "L", "level_uncertainty": "mm", "mark_uncertainty": "mm"})
        if self.volume_uncertainty is not None:
            set_fields(self, volume_uncertainty=written_ratio(self.volume_uncertainty, "L", "volume_uncertainty"))
        if self.unusable_l >= self.capacity_l:
            raise QuantityError(f"unusable: {self.unusable} is all that {self.name} holds")
        self._millimetres("level_uncertainty"), self._millimetres("mark_uncertainty")
        self._points_uncertainty_l(0.0)

    @property
    def unusable_l(self) -> float:
        """The unusable volume, L."""
        return float(positive(self.unusable, "L", name="unusable", zero=True))

    @property
    def capacity_l(self) -> float:
        """The volume at the last point, L."""
        return float(self._lines[""].volumes[-1])

    @property
    def range_mm(self) -> tuple[float, float]:
        """The levels of the first and the last point, mm."""
        return float(self._lines[""].levels[0]), float(self._lines[""].levels[-1])

    @property
    def volume_unit(self) -> str:
        """The unit of volume in which the table was written."""
        return self._lines[""].units[1]

    def volume_l_at(self, level_mm: float) -> float:
        """Return the volume in L at a level in mm, as plain numbers."""
        return self._lines[""].volume(level_mm)[0]

    def volume(self, level: Any, *, attitude: str = "") -> TankReading:
        """Return the volume at a level within the points of the main table, or of that of another attitude."""
        volume, slope, apart = self._line(attitude).volume(float(magnitude(level, "mm", name="level")))
        parts = {
            "reading of the level": slope * self._millimetres("level_uncertainty"),
            "points of the table": math.hypot(
                self._points_uncertainty_l(volume), slope * self._millimetres("mark_uncertainty")
            ),
            "between the points": apart / math.sqrt(3.0),
        }
        stated = {"reading": self.level_uncertainty, "points": self.volume_uncertainty}
        missing = [f"uncertainty of the {what}" for what, given in stated.items() if given is None]
        if len(self._line(attitude).levels) < 3:
            missing.append("shape of the tank between two points; calibrate a third")
        text, unit = as_written(level, "mm", "level"), self.volume_unit
        return TankReading(self.name, text, attitude, volume, self.unusable_l, parts, tuple(missing), unit, self._cause)

    @cached_property
    def _cause(self) -> Any:
        return uncertain(0.0, 1.0, name=f"table of {self.name}")

    def level(self, volume: Any, *, attitude: str = "") -> Any:
        """Return the level at a volume, as a quantity in mm."""
        litres = float(positive(volume, "L", name="volume", zero=True))
        return answer(self._line(attitude).level(litres), "mm", volume)

    def room_left(self, volume: Any, fuel: Any, *, at: Any, to: Any) -> RoomLeft:
        """Return the room left in the tank, rigid, when a volume of fuel warms from the temperature `at` to `to`."""
        litres = float(positive(volume, "L", name="volume", zero=True))
        found = find_fuel(fuel)
        room_l = self.capacity_l - litres * _swelling(found, at, to)
        words = f"{as_written(volume, 'L', 'volume')} of {found.name} from {at} to {to}"
        degrees = abs(float(temperature_c(to, name="to")) - float(temperature_c(at, name="at")))
        known_to = 2.0 * self._points_uncertainty_l(self.capacity_l) + EXPANSION_DOUBT_PER_C * degrees * litres
        unstated = ("The uncertainty of the points is not stated and not included.",) * (not self.volume_uncertainty)
        return RoomLeft(self.name, words, room_l, known_to, (*remarks_of(found, limits=False), *unstated))

    def compared_with(self, other: TankTable) -> Table:
        """Return how far another table of the same tank lies from this one, at the points of both, L."""
        mine, theirs = self._lines[""], check_type(other, TankTable, "other", "a TankTable")._lines[""]
        low, high = max(mine.levels[0], theirs.levels[0]), min(mine.levels[-1], theirs.levels[-1])
        levels = sorted({float(mm) for mm in (*mine.levels, *theirs.levels) if low <= mm <= high})
        if not levels:
            raise QuantityError(f"{self.name} and {other.name} have no level in common")
        both = [(mm, mine.volume(mm)[0], theirs.volume(mm)[0]) for mm in levels]
        rows = tuple((f"{mm:g}", f"{here:.2f}", f"{there:.2f}", f"{there - here:+.2f}") for mm, here, there in both)
        return Table(("level, mm", f"{self.name}, L", f"{other.name}, L", "difference, L"), rows)

    @classmethod
    def from_filling(
        cls,
        name: str,
        steps: Sequence[tuple[Any, Any]],
        *,
        start: tuple[Any, Any],
        meter_uncertainty: Any = None,
        fuel: Any = None,
        temperature: Any = None,
        **others: Any,
    ) -> TankTable:
        """Return the table of a tank that was filled in steps: the level after each, and the volume that it added.

        `start` is the level read before the first step, and the volume in the tank then: ``("6 mm", "0 L")``. These
        levels are known as well as a reading, `level_uncertainty`, unless `mark_uncertainty` says otherwise.

        The meter's relative standard uncertainty, such as ``"0.2 %"``, is the same share of every volume, since one
        meter measured them all. `fuel` and `temperature`, that of the fuel in the tank, are given where the meter
        counts litres at 15 °C: gross is net over CTL. Without them it counts gross. Other arguments are the class's.
        """
        if (fuel is None) != (temperature is None):
            raise QuantityError("fuel and temperature: give both where the meter counts litres at 15 °C, else neither")
        gross = 1.0 if fuel is None else _swelling(fuel, "15 degC", temperature)
        points: list[Any] = list(_written([start], f"{name}, start"))
        unit = read_unit(read_text(points[0][1])[1]).name
        total = float(positive(points[0][1], unit, name="start", zero=True))
        for level, added in steps:
            total += gross * float(positive(added, unit, name="added"))
            points.append((level, f"{total:.10g} {unit}"))
        others.setdefault("mark_uncertainty", others.get("level_uncertainty"))
        return cls(name, points, volume_uncertainty=meter_uncertainty, **others)

    def report(self) -> Report:
        """Return the report."""
        line, unit, to_unit = self._lines[""], self.volume_unit, factor("L", self.volume_unit)
        to_level, n = factor("mm", line.units[0]), decimals_of(unit)
        rows = tuple(
            (f"{mm * to_level:.6g}", *(f"{v * to_unit:.{n}f}" for v in (litres, max(litres - self.unusable_l, 0.0))))
            for mm, litres in zip(line.levels, line.volumes, strict=True)
        )
        facts = {
            "unusable": self.unusable,
            "uncertainty of a reading": self.level_uncertainty,
            "uncertainty of the volumes": self.volume_uncertainty,
            "other attitudes": ", ".join(self.attitudes),
        }
        tables = [Table((f"level, {line.units[0]}", f"volume, {unit}", f"usable, {unit}"), rows)]
        remarks = ["No volume is given below the first level and above the last."]
        return Report(f"Tank table of {self.name}", facts=facts, tables=tables, remarks=remarks)

    def _line(self, attitude: str) -> _Line:
        if attitude in self._lines:
            return self._lines[attitude]
        known = ", ".join(map(repr, self.attitudes)) or "no other attitude"
        raise QuantityError(
            f"{self.name} has no table for the attitude {format_value(attitude)}; it has {known}. "
            "Corrections are taken from the maker of the table, never guessed"
        )

    def _millimetres(self, name: str) -> float:
        given = getattr(self, name)
        return 0.0 if given is None else float(positive(given, "mm", name=name, zero=True))

    def _points_uncertainty_l(self, volume_l: float) -> float:
        given = self.volume_uncertainty
        if given is None:
            return 0.0
        if is_ratio(given):
            return fraction(given, name="volume_uncertainty") * volume_l
        return float(positive(given, "L", name="volume_uncertainty", zero=True))


def _swelling(fuel: Any, at: Any, to: Any) -> float:
    """Return by what factor the volume of a fuel grows from one temperature to another."""
    found: Any = find_fuel(fuel)
    here, there = (found.density_kg_m3(float(temperature_c(each, name="temperature"))) for each in (at, to))
    return float(here / there)


@dataclass(frozen=True, repr=False)
class RoomLeft(Reporting):
    """The room left in a tank for fuel that warms, L, and how well it is known: negative where it spills."""

    tank: str
    warming: str
    room_l: float
    known_to_l: float
    remarks: tuple[str, ...] = ()

    def report(self) -> Report:
        """Return the report."""
        verdict = f"{-self.room_l:.1f} L spills" if self.room_l < 0.0 else f"{self.room_l:.1f} L of room is left"
        if abs(self.room_l) <= self.known_to_l:
            verdict = f"undecided: {self.room_l:+.1f} L of room, known only to ±{self.known_to_l:.1f} L"
        return Report(f"{self.tank}, {self.warming}", verdict, remarks=self.remarks)


@dataclass(frozen=True, repr=False)
class TankReading(Reporting):
    """The volume in a tank at a level, with its uncertainty.

    `parts` are the contributions to the standard uncertainty, L; `missing` those that were not stated, so that the
    total is too small; `unit` is that of the report; `table` is the cause that all readings of one table share.
    """

    tank: str
    level: str
    attitude: str
    volume_l: float
    unusable_l: float
    parts: Mapping[str, float]
    missing: tuple[str, ...]
    unit: str
    table: Any = field(default=0.0, repr=False, compare=False)

    _plain = ("usable_l", "standard_uncertainty_l", "expanded_uncertainty_l")

    @property
    def usable_l(self) -> float:
        """The usable volume, L, never negative."""
        return max(self.volume_l - self.unusable_l, 0.0)

    @property
    def standard_uncertainty_l(self) -> float:
        """Standard uncertainty of the volume, L: the root of the sum of squares of the parts."""
        return math.hypot(*self.parts.values())

    @property
    def expanded_uncertainty_l(self) -> float:
        """Expanded uncertainty of the volume, L, with the coverage factor 2."""
        return 2.0 * self.standard_uncertainty_l

    @property
    def volume(self) -> Any:
        """The volume, the unusable part included, as a quantity: of an uncertain number where all parts are stated."""
        return self._quantity(self.volume_l)

    @property
    def usable(self) -> Any:
        """The usable volume as such a quantity, for endurance and fuel on board."""
        return self._quantity(self.usable_l)

    def _quantity(self, litres: float) -> Any:
        if self.missing:  # an uncertainty that lacks a part would be taken for the whole
            return answer(litres, "L")
        own, *others = self.parts.values()
        return answer(litres + own * self._read + math.hypot(*others) * self.table, "L")

    @cached_property
    def _read(self) -> Any:
        return uncertain(0.0, 1.0, name=f"level in {self.tank}")

    def report(self) -> Report:
        """Return the report."""
        unit, to_unit, places = self.unit, factor("L", self.unit), decimals_of(self.unit)
        expanded = f"U = {self.expanded_uncertainty_l * to_unit:.{places}f} {unit} (k = 2)"
        share = format_percent(self.expanded_uncertainty_l / self.volume_l) if self.volume_l else "-"
        where = ", ".join(filter(None, (f"{self.tank} at {self.level}", self.attitude)))
        rows = [
            {"part of the uncertainty": name, f"u, {unit}": f"{part * to_unit:.{places + 1}f}"}
            for name, part in self.parts.items()
        ]
        volume, usable = (f"{each * to_unit:.{places}f} {unit}" for each in (self.volume_l, self.usable_l))
        title = f"{where}: {volume}, usable {usable}"
        facts = {"uncertainty": f"{'at least ' * bool(self.missing)}{expanded}, {share}"}
        remarks = [f"Not stated, and so not included: the {words}." for words in self.missing]
        return Report(title, facts=facts, tables=[Table.of(rows)], remarks=remarks)
