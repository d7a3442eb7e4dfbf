"""Tank tables: level against volume, from calibration points, for dipsticks, floats and gauges.

Between two points the volume follows a monotone cubic, which passes through every point and never runs back. Nothing
is said below the first point and above the last. The uncertainty joins that of the reading, that of the points, and
how far the cubic and a straight line lie apart, since what the tank does between the points is not known.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from fuelunits.errors import QuantityError
from fuelunits.fuels.grades import fuel as find_fuel
from fuelunits.meters.monotone import monotone_cubics
from fuelunits.quantities import answer, fraction, magnitude, positive, read_text
from fuelunits.ranges import Range
from fuelunits.reports import Report, Reporting, Table, format_percent
from fuelunits.uncertainty.measured import measured
from fuelunits.units import factor, read_unit
from fuelunits.validation import check_type, format_value

__all__ = ["TankReading", "TankTable"]

_TABLE = "the points of the tank table; calibrate further points rather than extend it"


@dataclass(frozen=True)
class _Line:
    """One table as numbers: levels in mm, volumes in L, and the cubics between them."""

    levels: Any
    volumes: Any
    cubics: Any

    @classmethod
    def of(cls, points: Iterable[tuple[Any, Any]], what: str) -> _Line:
        pairs = [_point(point, what) for point in points]
        if len(pairs) < 2:
            raise QuantityError(f"{what} must have two points or more, each (level, volume); got {len(pairs)}")
        levels, volumes = np.array(pairs).T
        for i in np.flatnonzero(np.diff(levels) <= 0.0):
            raise QuantityError(
                f"{what}: levels must rise from point to point; point {i + 2} ({levels[i + 1]:g} mm) "
                f"follows {levels[i]:g} mm"
            )
        for i in np.flatnonzero(np.diff(volumes) <= 0.0):
            raise QuantityError(
                f"{what}: volumes must rise with the level; point {i + 2} ({volumes[i + 1]:g} L) "
                f"follows {volumes[i]:g} L"
            )
        return cls(levels, volumes, monotone_cubics(levels, volumes))

    def volume(self, level_mm: float) -> tuple[float, float, float]:
        """Return the volume in L, its slope in L/mm, and how far a straight line between the points lies apart, L."""
        i = int(np.clip(np.searchsorted(self.levels, level_mm, side="right") - 1, 0, len(self.levels) - 2))
        step = level_mm - self.levels[i]
        c0, c1, c2, c3 = self.cubics[:, i]
        volume = c0 + step * (c1 + step * (c2 + step * c3))
        slope = c1 + step * (2.0 * c2 + step * 3.0 * c3)
        straight = float(np.interp(level_mm, self.levels, self.volumes))
        return float(volume), float(slope), abs(float(volume) - straight)

    def level(self, volume_l: float) -> float:
        """Return the level in mm at a volume, by bisection, which a monotone curve always allows."""
        low, high = float(self.levels[0]), float(self.levels[-1])
        for _ in range(200):
            middle = (low + high) / 2.0
            if middle in (low, high):
                break
            low, high = (middle, high) if self.volume(middle)[0] < volume_l else (low, middle)
        return low if abs(self.volume(low)[0] - volume_l) <= abs(self.volume(high)[0] - volume_l) else high


def _point(point: Any, what: str) -> tuple[float, float]:
    if not isinstance(point, (tuple, list)) or len(point) != 2:
        raise QuantityError(f"{what}: a point must be (level, volume), for example ('50 mm', '21.5 L'); got {point!r}")
    level = float(magnitude(point[0], "mm", name=f"{what}, level"))
    return level, float(positive(point[1], "L", name=f"{what}, volume", zero=True))


@dataclass(frozen=True, repr=False)
class TankTable(Reporting):
    """Level against volume of one tank.

    Parameters
    ----------
    name : str
        The tank.
    points : sequence of (level, volume)
        Text or quantities, two or more, both rising: ``("50 mm", "21.5 L")``.
    unusable : str or pint.Quantity
        The volume that the engine cannot use, as the aircraft's data give it.
    level_uncertainty : str or pint.Quantity, optional
        Standard uncertainty of a reading of the level.
    volume_uncertainty : str or pint.Quantity, optional
        Standard uncertainty of the volumes of the points: a volume, or a percentage of each.
    attitudes : mapping of str to sequence of (level, volume), optional
        A table of its own for each other attitude, as the maker of the table gives it; none is ever guessed.

    Raises
    ------
    QuantityError
        If levels or volumes do not rise, or a quantity cannot be read.

    Examples
    --------
    An invented tank:

    >>> tank = TankTable(
    ...     "left wing", [("0 mm", "0 L"), ("60 mm", "22 L"), ("120 mm", "51 L"), ("180 mm", "74 L")],
    ...     unusable="3 L", level_uncertainty="1 mm", volume_uncertainty="0.5 L",
    ... )
    >>> reading = tank.volume("100 mm")
    >>> f"{reading.volume_l:.1f} L, U {reading.expanded_uncertainty_l:.1f} L, usable {reading.usable_l:.1f} L"
    '41.5 L, U 1.4 L, usable 38.5 L'
    """

    name: str
    points: Sequence[tuple[Any, Any]]
    unusable: Any = "0 L"
    level_uncertainty: Any = None
    volume_uncertainty: Any = None
    attitudes: Mapping[str, Sequence[tuple[Any, Any]]] = field(default_factory=dict)
    _lines: Mapping[str, _Line] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        check_type(self.name, str, "name", "what the tank is called")
        lines = {"": _Line.of(self.points, self.name)}
        for attitude, points in self.attitudes.items():
            lines[attitude] = _Line.of(points, f"{self.name}, {attitude}")
        object.__setattr__(self, "points", tuple(tuple(point) for point in self.points))
        object.__setattr__(
            self, "attitudes", {name: tuple(map(tuple, points)) for name, points in self.attitudes.items()}
        )
        object.__setattr__(self, "_lines", lines)
        if self.unusable_l >= lines[""].volumes[-1]:
            raise QuantityError(f"unusable: {self.unusable} is all that {self.name} holds")
        if self.level_uncertainty is not None:
            positive(self.level_uncertainty, "mm", name="level_uncertainty", zero=True)
        self._points_uncertainty(0.0)

    @property
    def unusable_l(self) -> float:
        """The unusable volume, L."""
        return float(positive(self.unusable, "L", name="unusable", zero=True))

    @property
    def capacity_l(self) -> float:
        """The volume at the last point, L."""
        return float(self._lines[""].volumes[-1])

    @property
    def volume_unit(self) -> str:
        """The unit of volume in which the table was written."""
        written = self.points[-1][1]
        return read_unit(read_text(written)[1]).name if isinstance(written, str) else "L"

    def volume(self, level: Any, *, attitude: str = "") -> TankReading:
        """Return the volume at a level.

        Parameters
        ----------
        level : str or pint.Quantity
            Within the points of the table.
        attitude : str
            One of :attr:`attitudes`; without it, that of the main table.

        Raises
        ------
        OutOfRange
            Below the first point or above the last.
        QuantityError
            For an attitude that has no table.
        """
        line = self._line(attitude)
        mm = float(magnitude(level, "mm", name="level"))
        Range(f"level in {self.name}", float(line.levels[0]), float(line.levels[-1]), "mm", _TABLE).check(mm)
        volume, slope, apart = line.volume(mm)
        parts = {"points of the table": self._points_uncertainty(volume), "between the points": apart / math.sqrt(3.0)}
        if self.level_uncertainty is not None:
            u_level = float(positive(self.level_uncertainty, "mm", name="level_uncertainty", zero=True))
            parts = {"reading of the level": slope * u_level, **parts}
        missing = [
            words
            for words, given in (
                ("uncertainty of the reading", self.level_uncertainty),
                ("uncertainty of the points", self.volume_uncertainty),
            )
            if given is None
        ]
        return TankReading(
            self.name, str(level), attitude, volume, self.unusable_l, parts, tuple(missing), self.volume_unit
        )

    def level(self, volume: Any, *, attitude: str = "") -> Any:
        """Return the level at a volume, as a quantity in mm; arguments and errors as for :meth:`volume`."""
        line = self._line(attitude)
        litres = float(positive(volume, "L", name="volume", zero=True))
        Range(f"volume in {self.name}", float(line.volumes[0]), float(line.volumes[-1]), "L", _TABLE).check(litres)
        return answer(line.level(litres), "mm", volume)

    def room_left(self, volume: Any, fuel: Any, *, at: Any, to: Any) -> Any:
        """Return the room that is left when a volume warms from `at` to `to`, as a quantity in L.

        It is negative where the fuel spills. The tank itself is taken as rigid.

        Examples
        --------
        >>> tank = TankTable("nacelle", [("0 mm", "0 L"), ("100 mm", "40 L")])
        >>> tank.room_left("39.5 L", "Jet A", at="5 degC", to="40 degC").magnitude < 0
        True
        """
        found = find_fuel(fuel)
        here, there = (
            float(found.density_kg_m3(float(magnitude(t, "degC", name=name)))) for t, name in ((at, "at"), (to, "to"))
        )
        litres = float(positive(volume, "L", name="volume", zero=True))
        return answer(self.capacity_l - litres * here / there, "L", volume)

    def compared_with(self, other: TankTable) -> Table:
        """Return how far another table of the same tank lies from this one, at the points of both, L."""
        mine, theirs = self._lines[""], check_type(other, TankTable, "other", "a TankTable")._lines[""]
        low, high = max(mine.levels[0], theirs.levels[0]), min(mine.levels[-1], theirs.levels[-1])
        levels = sorted({float(mm) for mm in (*mine.levels, *theirs.levels) if low <= mm <= high})
        if not levels:
            raise QuantityError(f"{self.name} and {other.name} have no level in common")
        rows = []
        for mm in levels:
            here, there = mine.volume(mm)[0], theirs.volume(mm)[0]
            rows.append((f"{mm:g}", f"{here:.2f}", f"{there:.2f}", f"{there - here:+.2f}"))
        return Table(("level, mm", f"{self.name}, L", f"{other.name}, L", "difference, L"), tuple(rows))

    @classmethod
    def from_filling(
        cls,
        name: str,
        steps: Sequence[tuple[Any, Any]],
        *,
        start: tuple[Any, Any] = ("0 mm", "0 L"),
        meter_uncertainty: Any = None,
        **others: Any,
    ) -> TankTable:
        """Return the table of a tank that was filled in steps.

        Parameters
        ----------
        name : str
            The tank.
        steps : sequence of (level, volume)
            The level after each step, and the volume that the step added to that at the start.
        start : (level, volume)
            Before the first step.
        meter_uncertainty : str, optional
            Relative standard uncertainty of the volumes added, such as ``"0.2 %"``: one meter measured them all,
            so its error adds up to the same share of every volume.
        **others
            As for the class.

        Examples
        --------
        >>> tank = TankTable.from_filling(
        ...     "nacelle", [("31 mm", "10 L"), ("58 mm", "10 L"), ("88 mm", "10 L")], meter_uncertainty="0.2 %"
        ... )
        >>> tank.capacity_l
        30.0
        """
        total = float(positive(start[1], "L", name="start", zero=True))
        points: list[tuple[Any, Any]] = [tuple(start)]
        for level, added in steps:
            total += float(positive(added, "L", name="added"))
            points.append((level, f"{total:.10g} L"))
        return cls(name, points, volume_uncertainty=meter_uncertainty, **others)

    def report(self) -> Report:
        """Return what a person reads of it."""
        line, to_unit = self._lines[""], factor("L", self.volume_unit)
        rows = tuple(
            (f"{mm:g}", f"{litres * to_unit:.1f}", f"{max(litres - self.unusable_l, 0.0) * to_unit:.1f}")
            for mm, litres in zip(line.levels, line.volumes, strict=True)
        )
        return Report(
            f"Tank table of {self.name}",
            facts={
                "unusable": self.unusable,
                "uncertainty of a reading": self.level_uncertainty,
                "uncertainty of the volumes": self.volume_uncertainty,
                "other attitudes": ", ".join(self.attitudes),
            },
            tables=(Table(("level, mm", f"volume, {self.volume_unit}", f"usable, {self.volume_unit}"), rows),),
            remarks=("No volume is given below the first level and above the last.",),
        )

    def _line(self, attitude: str) -> _Line:
        if attitude in self._lines:
            return self._lines[attitude]
        known = ", ".join(map(repr, self.attitudes)) or "no other attitude"
        raise QuantityError(
            f"{self.name} has no table for the attitude {format_value(attitude)}; it has {known}. "
            "Corrections are taken from the maker of the table, never guessed"
        )

    def _points_uncertainty(self, volume_l: float) -> float:
        given = self.volume_uncertainty
        if given is None:
            return 0.0
        if isinstance(given, str) and given.rstrip().endswith("%"):
            return fraction(given, name="volume_uncertainty") * volume_l
        return float(positive(given, "L", name="volume_uncertainty", zero=True))


@dataclass(frozen=True, repr=False)
class TankReading(Reporting):
    """The volume in a tank at a level, with its uncertainty.

    Attributes
    ----------
    tank, level, attitude : str
        Where and how it was read.
    volume_l, unusable_l : float
        Volume, and the part of it that cannot be used, L.
    parts : mapping of str to float
        Contributions to the standard uncertainty, L.
    missing : tuple of str
        Uncertainties that were not stated, so that the total is too small.
    unit : str
        The unit of volume for the report.
    """

    tank: str
    level: str
    attitude: str
    volume_l: float
    unusable_l: float
    parts: Mapping[str, float]
    missing: tuple[str, ...]
    unit: str

    @property
    def usable_l(self) -> float:
        """The usable volume, L, never negative."""
        return max(self.volume_l - self.unusable_l, 0.0)

    @property
    def standard_uncertainty_l(self) -> float:
        """Standard uncertainty of the volume, L: the root of the sum of squares of the parts."""
        return math.sqrt(math.fsum(part * part for part in self.parts.values()))

    @property
    def expanded_uncertainty_l(self) -> float:
        """Expanded uncertainty of the volume, L, with the coverage factor 2."""
        return 2.0 * self.standard_uncertainty_l

    @property
    def volume(self) -> Any:
        """The volume as a quantity of an uncertain number, for endurance and fuel on board."""
        return measured(f"{self.volume_l!r} L", f"{self.standard_uncertainty_l!r} L", name=f"fuel in {self.tank}")

    def report(self) -> Report:
        """Return what a person reads of it."""
        to_unit = factor("L", self.unit)
        expanded = f"U = {self.expanded_uncertainty_l * to_unit:.1f} {self.unit} (k = 2)"
        share = format_percent(self.expanded_uncertainty_l / self.volume_l) if self.volume_l else "-"
        return Report(
            f"{self.tank} at {self.level}{', ' * bool(self.attitude)}{self.attitude}: "
            f"{self.volume_l * to_unit:.1f} {self.unit}, usable {self.usable_l * to_unit:.1f} {self.unit}",
            facts={"uncertainty": f"{expanded}, {share}"},
            tables=(
                Table(
                    ("part of the uncertainty", f"u, {self.unit}"),
                    tuple((name, f"{part * to_unit:.2f}") for name, part in self.parts.items()),
                ),
            ),
            remarks=tuple(f"Not stated, and not in the total: the {words}." for words in self.missing),
        )
