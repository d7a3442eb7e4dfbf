"""Tank tables: level against volume, from calibration points, for dipsticks, floats and gauges.

Between two points the volume follows a monotone cubic, which passes through every point and never runs back. Nothing
is said below the first point and above the last. The uncertainty joins that of the reading, that of the points, and
how far the tank may be from the curve between the points: a straight line, the slopes beside it, or a bend unseen.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import accumulate
from typing import Any

import numpy as np

from fuelunits.errors import QuantityError
from fuelunits.fuels.elementwise import solve_rising
from fuelunits.fuels.grades import fuel as find_fuel
from fuelunits.fuels.liquids import EXPANSION_DOUBT_PER_C, remarks_of
from fuelunits.indicators.fill_ups import METER_FACTORS
from fuelunits.indicators.written import as_written, between, coerce_text, decimals_of, is_stated, written_ratio
from fuelunits.meters.curve import monotone_cubics
from fuelunits.quantities import answer, first_quantity, fraction, is_ratio, magnitude, members, positive, read_text
from fuelunits.reports import Report, Reporting, Table, format_percent
from fuelunits.sources import Range
from fuelunits.uncertainty.budget import Input, cause, coverage_factor, nominal, one_value, standard_uncertainty
from fuelunits.uncertainty.measured import is_uncertain, nominal_quantity, uncertain_magnitude
from fuelunits.units import factor, read_unit
from fuelunits.validation import check_type, finite_number, format_value, plain_number, print_unit, set_fields

_VOLUMES = "volumes of tank tables"
_ONE_METER = "Volumes that are uncertain in per cent count as of one meter for all tables; else give meter_factor."


@dataclass(frozen=True, repr=False)
class TankTable(Reporting):
    """Level against volume of one tank.

    Parameters
    ----------
    name, points : str; sequence of (level, volume), two or more, both rising: ``("50 mm", "21.5 L")``
        Of one attitude of the aircraft: each other has a table of its own, from its maker, never guessed.
    unusable : str or pint.Quantity, volume unusable by the aircraft's data, also ``"0 L"``; left out, it is not known
    level_uncertainty, mark_uncertainty, volume_uncertainty : str or pint.Quantity, optional
        Standard uncertainty of a reading of the level; of the levels of the points where they were read as well; and of
        the volumes of the points: of each by itself, or a percentage, one error of all, also of other tables' volumes.
    step_uncertainty : str or pint.Quantity, optional, of each step of a filling: the errors of steps add up
    meter_factor : float or uncertain number, true over given volumes: one object for all that one meter measured
    start_l : float or uncertain number, L in the tank before its filling, in all points: its error is shared, not added
    unusable_l, capacity_l, range_mm : float, L and the unit mm, unusable, at the last point, and at both ends
    units : tuple of str, those of level and of volume in which the table was written

    Examples
    --------
    >>> tank = TankTable(
    ...     "invented tank", [("0 mm", "0 L"), ("60 mm", "22 L"), ("120 mm", "51 L"), ("180 mm", "74 L")],
    ...     unusable="3 L", level_uncertainty="1 mm", volume_uncertainty="0.5 L",
    ... )
    >>> reading = tank.volume("100 mm")
    >>> f"{reading.volume_l:.1f} L, U {reading.expanded_uncertainty_l:.1f} L, usable {reading.usable_l:.1f} L"
    '41.5 L, U 7.4 L, usable 38.5 L'
    """

    name: str
    points: Any
    unusable: Any = None
    level_uncertainty: Any = None
    volume_uncertainty: Any = None
    mark_uncertainty: Any = None
    step_uncertainty: Any = None
    meter_factor: Any = 1.0
    start_l: Any = 0.0
    unusable_l: float = field(init=False, repr=False)
    capacity_l: float = field(init=False, repr=False)
    range_mm: tuple[float, float] = field(init=False, repr=False)
    units: tuple[str, ...] = field(init=False, repr=False)
    _curve: Any = field(init=False, repr=False, compare=False)  # levels in mm, volumes in L, the cubics between them

    def __post_init__(self) -> None:
        check_type(self.name, str, "name", "what the tank is called")
        in_units = {"unusable": "L", "step_uncertainty": "L", "level_uncertainty": "mm", "mark_uncertainty": "mm"}
        first_quantity(self.points, self.volume_uncertainty, *(getattr(self, name) for name in in_units))
        points = _written(self.points, self.name)
        levels = np.array([magnitude(level, "mm", name=f"{self.name}, level") for level, _ in points])
        volumes = np.array([positive(v, "L", name=f"{self.name}, volume", zero=True) for _, v in points])
        set_fields(self, meter_factor=one_value(self.meter_factor, f"{self.name}: meter_factor"))
        set_fields(self, start_l=one_value(self.start_l, f"{self.name}: start_l", "L"))
        volumes *= METER_FACTORS.check(nominal(self.meter_factor))
        if len(points) < 2:
            raise QuantityError(f"{self.name} must have two points or more, each (level, volume); got {len(points)}")
        for k, (what, values) in enumerate((("levels", levels), ("volumes", volumes))):
            for i in np.flatnonzero(~(np.diff(values) > 0.0)):
                after = f"point {i + 2} ({points[i + 1][k]}) follows {points[i][k]}"
                raise QuantityError(f"{self.name}: {what} must rise; {after}")
        units = tuple(read_unit(read_text(each)[1]).name for each in points[-1])
        set_fields(self, points=points, units=units, _curve=(levels, volumes, monotone_cubics(levels, volumes)))
        set_fields(self, capacity_l=float(volumes[-1]), range_mm=tuple(levels[[0, -1]].tolist()))
        coerce_text(self, in_units)
        if self.volume_uncertainty is not None:
            set_fields(self, volume_uncertainty=written_ratio(self.volume_uncertainty, "L", "volume_uncertainty"))
        set_fields(self, unusable_l={name: self._stated(name, unit) for name, unit in in_units.items()}["unusable"])
        if self.unusable_l >= self.capacity_l:
            raise QuantityError(f"unusable: {self.unusable} is all that {self.name} holds")
        self._of_volumes(0.0, 0.0)

    def volume_l_at(self, level_mm: float) -> float:
        """Return the volume in L at a level in mm, as plain numbers."""
        return self._at(finite_number(level_mm, "level_mm"))[0]

    def _at(self, level_mm: float, reach_mm: float = 0.0, *u_points: float) -> tuple[float, float, float]:
        """Return the volume in L, the steepest L/mm in reach, and u of the shape, L, by u of level, volume and step."""
        levels, volumes, cubics = self._curve
        self._check("level", level_mm, levels, "mm", self.units[0])
        level_mm = min(max(level_mm, float(levels[0])), float(levels[-1]))  # of a level that rounding puts beyond
        i = int(np.searchsorted(levels[1:-1], level_mm, side="right"))
        step, rest, height = level_mm - levels[i], levels[i + 1] - level_mm, levels[-1] - levels[0]
        c0, c1, c2, c3 = cubics[:, i]
        volume, slope = c0 + step * (c1 + step * (c2 + step * c3)), c1 + step * (2.0 * c2 + step * 3.0 * c3)
        sections, near = np.diff(volumes) / np.diff(levels), min(step, rest)
        within = sections[(levels[1:] >= level_mm - reach_mm) & (levels[:-1] <= level_mm + reach_mm)]
        bends = np.abs(np.diff(sections, prepend=sections[0], append=sections[-1]))[i : i + 2]
        # the true level may be 1.5 u, of 2 u of reach, further from the nearer point, and the tank as far off as there
        extended = max(near * max(bends), min(near + 0.75 * reach_mm, (step + rest) / 2.0) * bends[int(step > rest)])
        # a floor that slopes to the drain, or a roof, may be at an end of this: as the next section, up to the mark,
        # whose slope may be off by 2 u of the difference of the points at its ends
        n, away = (min(1, sections.size - 1), -rest) if i == 0 else (i - 1, step)
        beside, far = volumes[i + (i == 0)] + sections[n] * away, abs(away) / (levels[n + 1] - levels[n])
        outer = abs(np.clip(beside, volumes[i], volumes[i + 1]) - volume)
        u_mm, u_l, u_step_l = u_points or (0.0, 0.0, 0.0)
        tilt = far * math.hypot(math.sqrt(2.0) * math.hypot(sections[n] * u_mm, u_l), u_step_l)
        outer = 0.71 * (outer + 2.0 * tilt) * (i in (0, sections.size - 1))
        # of few points also a tank that widens and narrows, as a wing tank with dihedral, or a cylinder that is tilted
        wedge = (2.0 if 1 < sections.size < 4 else 1.0) * (volumes[-1] - volumes[0]) * step * rest / height**2
        straight = abs(np.interp(level_mm, levels, volumes) - volume)  # to the extended lines, or a section vanishes
        return float(volume), float(max(slope, *within)), float(max(straight, extended / math.sqrt(3.0), outer, wedge))

    def _check(self, what: str, value: float, points: Any, start: str, unit: str) -> None:
        allowed = "the points of the tank table; calibrate further points rather than extend it"
        low, high, value = (factor(start, unit) * each for each in (points[0], points[-1], value))
        Range(f"{what} in {self.name}", low, high, unit, allowed).check(value)

    def volume(self, level: Any) -> TankReading:
        """Return the volume at a level within the points of the table; a measured one keeps its own uncertainty."""
        read = uncertain_magnitude(level, "mm", name="level")
        level_mm, where = plain_number(nominal(read), "level"), f"{self.name} at {between(read, 'mm')}"
        if not is_uncertain(level):
            where = f"{self.name} at {as_written(level, 'mm', 'level')}"
            read = cause(level_mm, self._stated("level_uncertainty", "mm"), Input(f"level, {where}", "mm"))
        mark_mm = self._stated("mark_uncertainty", "mm")
        reach_mm = coverage_factor(read) * math.hypot(standard_uncertainty(read), mark_mm)
        _, own_l, is_metered = self._of_volumes(0.0, 0.0)
        volume, slope, apart = self._at(level_mm, reach_mm, mark_mm, own_l, self._stated("step_uncertainty", "L"))
        point, part = divmod(float(np.interp(level_mm, self._curve[0], range(len(self.points)))), 1.0)
        shared_l = self._of_volumes(volume, point + part)[0]
        mark_l = math.hypot(own_l, slope * mark_mm)
        parts = {
            "reading of the level": slope * standard_uncertainty(read),
            "points of the table": math.hypot(standard_uncertainty(shared_l), mark_l),
            "between the points": apart,
        }
        stated = {"reading": is_stated(read), "points": is_metered, "marks": mark_mm or self.mark_uncertainty is None}
        stated |= {str(each.tag): each.std_dev for each in getattr(shared_l, "derivatives", ())}
        missing = tuple(f"uncertainty of the {what}" for what, given in stated.items() if not given)  # zero states none
        missing += ("shape of the tank between two points; calibrate a third",) * (len(self.points) < 3)
        usable, u = max(volume - self.unusable_l, 0.0), math.hypot(*parts.values())
        unusable = self._own("unusable fuel", 0.0) if self.unusable is None else 0.0
        error = slope * (read - level_mm) + shared_l + unusable
        # what is known at points acts by their nearness, and its part is not made smaller for being two; the shape of
        # one tank is that of all, which may be alike, and is known within a quarter of a section only
        for quarters, each_l, made in (1, mark_l, self._own), (4, apart, self._shape):
            n, beyond = divmod(quarters * (point + part), 1.0)
            for near, at in (1.0 - beyond, n), (beyond, n + 1.0):
                error += near / math.hypot(1.0 - beyond, beyond) * each_l * made(f"point {1.0 + at / quarters:g}")
        litres = volume, usable, u, coverage_factor(error) * u
        return TankReading(where, *litres, parts, missing, self.units[1], self.unusable, error)

    def _own(self, what: str, u: float = 1.0) -> Any:
        """Return an error of this table and its copies alone, in standard deviations, or one that is not stated."""
        return cause(0.0, u, Input(f"{what} of {self.name}"), f"{what} of {self.name}: {self.points}")

    @staticmethod
    def _shape(where: str) -> Any:
        """Return how far the shape of a tank differs from its curve there, in standard deviations."""
        return cause(0.0, 1.0, Input(f"shape of tanks at {where}"), f"shape at {where}")

    def level(self, volume: Any) -> Any:
        """Return the level at a volume, as a quantity in mm."""
        litres = plain_number(positive(volume, "L", name="volume", zero=True), "volume")
        self._check("volume", litres, self._curve[1], "L", self.units[1])
        return answer(solve_rising(self.volume_l_at, litres, *self.range_mm), "mm", volume)

    def room_left(self, volume: Any, fuel: Any, *, at: Any, to: Any) -> RoomLeft:
        """Return the room left in the tank, rigid, when fuel warms from the temperature `at` to `to`.

        `volume` is that of all fuel in the tank: a `TankReading`, a measured volume, or one that counts as exact.
        """
        found, missing = find_fuel(fuel), tuple[str, ...]()
        if isinstance(volume, TankReading):
            text, litres = f"{_in_unit(volume.volume_l, volume.unit)} {volume.unit}", volume.volume_l
            off_l, missing = volume.error, volume.missing
        else:
            text = as_written(nominal_quantity(volume, "volume"), "L", "volume")
            litres = float(positive(text, "L", name="volume", zero=True))
            off_l = uncertain_magnitude(volume, "L", name="volume") - litres if is_uncertain(volume) else 0.0
        at_c, to_c = (finite_number(magnitude(each, "degC", name="temperature"), "temperature") for each in (at, to))
        grown = max(_growth(found, at_c, to_c), float(litres > self.capacity_l))  # it does not fit before it cools
        unit, room_l = read_text(text)[1], self.capacity_l - litres * grown
        shared_l, own_l, is_metered = self._of_volumes(self.capacity_l, len(self.points) - 1.0)
        points, warmed_l = shared_l + own_l * self._own("points"), EXPANSION_DOUBT_PER_C * abs(to_c - at_c) * litres
        error = points - grown * off_l
        known_to_l = coverage_factor(error) * standard_uncertainty(error) + warmed_l
        room, known = (f"{_in_unit(each, unit)} {unit}" for each in (abs(room_l), known_to_l))
        verdict = f"{room} spills" if room_l < 0.0 else f"{room} of room is left"
        if abs(room_l) <= known_to_l:
            verdict = f"undecided: {_in_unit(room_l, unit, '+')} {unit} of room, known only to ±{known}"
        title = print_unit(f"{self.name}, {text} of {found.name} from {at} to {to}")
        unstated = "The uncertainty of the points is not stated, or not in full, and not included."
        remarks = [*remarks_of(found, limits=False), *[unstated] * (not (is_stated(points) and is_metered))]
        exact = "The volume of all fuel in the tank, usable or not, counts as exact; give a reading or a measured one."
        remarks += [exact] * (not is_stated(off_l)) + _left_out(missing)
        return RoomLeft(room_l, known_to_l, Report(title, verdict, remarks=remarks))

    def compared_with(self, other: TankTable) -> Table:
        """Return how far another table of the same tank lies from this one, at the points of both."""
        check_type(other, TankTable, "other", "a TankTable")
        (low, high), (level, unit) = zip(self.range_mm, other.range_mm, strict=True), self.units
        both = {*self._curve[0].tolist(), *other._curve[0].tolist()}
        pairs = [(mm, self._at(mm)[0], other._at(mm)[0]) for mm in sorted(both) if max(low) <= mm <= min(high)]
        if not pairs:
            raise QuantityError(f"{self.name} and {other.name} have no level in common")
        heads = f"level, {level}", f"{self.name}, {unit}", f"{other.name}, {unit}", f"difference, {unit}"
        rows = [(mm, *(_in_unit(each, unit, more=1) for each in (one, two)), two - one) for mm, one, two in pairs]
        per = factor("mm", level)
        return Table(heads, tuple((f"{per * mm:.6g}", *cells, _in_unit(off, unit, "+", 1)) for mm, *cells, off in rows))

    @classmethod
    def from_filling(
        cls,
        name: str,
        steps: Sequence[tuple[Any, Any]],
        *,
        start: tuple[Any, Any],
        meter_uncertainty: Any = None,
        meter_factor: Any = 1.0,
        fuel: Any = None,
        temperature: Any = None,
        **others: Any,
    ) -> TankTable:
        """Return the table of a tank that was filled in steps: the level after each, and the volume that it added.

        `start` is the level read before the first step, and the volume in the tank then, which no meter counted:
        ``("6 mm", "0 L")`` of a dry tank, else :func:`measured`, for its error is in every volume. The levels are as
        uncertain as a reading, unless `mark_uncertainty` says otherwise: state one of the two also where each dip is
        measured. The meter's error is the same share of every volume: state it by a percentage as that of one meter of
        all tables, or by `meter_factor` as that of a meter with a name, such as a truck's. In litres it is the error of
        each step by itself, 0.29 L of a display in whole litres, and these add up, by the root of their number. `fuel`
        and its `temperature` in the tank, from :func:`measured`, are given where the meter counts litres at 15 °C.
        """
        if (fuel is None) != (temperature is None):
            raise QuantityError("fuel and temperature: give both where the meter counts litres at 15 °C, else neither")
        if wrong := others.keys() & {"points", "volume_uncertainty", "step_uncertainty", "start_l"}:
            raise QuantityError(f"{min(wrong)} is not of a filling: write steps, start and meter_uncertainty")
        counted = one_value(meter_factor, "meter_factor") * (1.0 if fuel is None else _over_counted(fuel, temperature))
        ((lowest, held),), steps = _pairs([start], f"{name}, start"), _written(steps, name)
        unit = next((read_unit(read_text(added)[1]).name for _, added in steps), "L")
        start_l = uncertain_magnitude(held, "L", name="start")
        plain = f"{nominal(start_l)!r} L" if is_uncertain(held) else as_written(held, "L", "start")
        first = float(positive(plain, unit, name="start", zero=True)) / nominal(counted)  # was not metered
        if first and not is_uncertain(held):
            start_l = cause(start_l, 0.0, Input("volume at the start"))
        volumes = accumulate((float(positive(added, unit, name="added")) for _, added in steps), initial=first)
        levels = lowest, *(level for level, _ in steps)
        points = [(level, f"{each:.10g} {unit}") for level, each in zip(levels, volumes, strict=True)]
        marks = (others.get(given) for given in ("mark_uncertainty", "level_uncertainty"))
        others["mark_uncertainty"] = next((each for each in marks if each is not None), "0 mm")  # zero states none
        others["volume_uncertainty" if is_ratio(meter_uncertainty) else "step_uncertainty"] = meter_uncertainty
        return cls(name, points, meter_factor=counted, start_l=start_l, **others)

    def report(self) -> Report:
        level, unit = self.units
        heads = f"level, {level}", f"volume, {unit}", f"usable, {unit}"
        levels = (f"{mm * factor('mm', level):.6g}" for mm in self._curve[0])
        litres, known = self._curve[1], self.unusable is not None
        usable = (_in_unit(max(each - self.unusable_l, 0.0), unit) if known else "-" for each in litres)
        rows = tuple(zip(levels, (_in_unit(each, unit) for each in litres), usable, strict=True))
        facts = {
            "unusable": self.unusable or "not stated",
            "uncertainty of a reading": self.level_uncertainty,
            "uncertainty of the volumes": self.volume_uncertainty,
            "uncertainty of each step": self.step_uncertainty and f"{self.step_uncertainty}, each by itself",
            "factor of the meter": None if self.meter_factor == 1.0 else between(self.meter_factor, "").rstrip(),
        }
        remarks = ["No volume is given below the first level and above the last."]
        return Report(f"Tank table of {self.name}", facts=facts, tables=[Table(heads, rows)], remarks=remarks)

    def _stated(self, name: str, unit: str) -> float:
        given = getattr(self, name)
        return float(positive(f"0 {unit}" if given is None else given, unit, name=name, zero=True))

    def _of_volumes(self, litres: float, place: float) -> tuple[Any, float, bool]:
        """Return the error that volumes share at a place counted in points from 0, L; u of each by itself; if any."""
        common, own_l = self.meter_factor / nominal(self.meter_factor) - 1.0, 0.0
        if is_ratio(given := self.volume_uncertainty):
            common += fraction(given, name="volume_uncertainty") * cause(0.0, 1.0, Input(_VOLUMES), _VOLUMES)
        else:
            own_l = self._stated("volume_uncertainty", "L")
        step_l, steps = self._stated("step_uncertainty", "L"), range(math.ceil(place))
        added = sum(step_l * min(place - n, 1.0) * self._own(f"step {n + 1}") for n in steps if step_l)
        shared_l = litres * common + self.start_l - nominal(self.start_l) + added
        return shared_l, own_l, bool(standard_uncertainty(common) or own_l or step_l)


def _pairs(points: Any, name: str) -> Any:
    for point in (given := members(points)):
        if not isinstance(point, (tuple, list)) or len(point) != 2:
            raise QuantityError(f"{name}: a point is (level, volume): ('50 mm', '21.5 L'); got {format_value(point)}")
    return given


def _written(points: Any, name: str) -> tuple[tuple[str, str], ...]:
    names = f"{name}, level", f"{name}, volume"
    return tuple((as_written(mm, "mm", names[0]), as_written(v, "L", names[1])) for mm, v in _pairs(points, name))


def _left_out(missing: tuple[str, ...]) -> list[str]:
    return [f"Not stated, and so not included: the {words}." for words in missing]


def _growth(fuel: Any, at_c: float, to_c: float) -> float:
    return float(fuel.density_kg_m3(at_c) / fuel.density_kg_m3(to_c))


def _over_counted(fuel: Any, temperature: Any) -> Any:
    """Return true volume over that counted at 15 °C, with the uncertainty of the temperature and of the expansion."""
    liquid, t = find_fuel(fuel), uncertain_magnitude(temperature, "degC", name="temperature")
    at_c, name = finite_number(nominal(t), "temperature"), f"expansion of {liquid.name}"
    t = t if is_uncertain(temperature) else cause(at_c, 0.0, Input("temperature of the fuel in the filling"))
    warmer = 1.0 + (_growth(liquid, at_c - 0.5, at_c + 0.5) - 1.0) * (t - at_c)
    doubt = EXPANSION_DOUBT_PER_C / 2.0 * (at_c - 15.0) * cause(0.0, 1.0, Input(name), name)
    return _growth(liquid, 15.0, at_c) * (warmer + doubt)


def _in_unit(litres: float, unit: str, sign: str = "", more: int = 0) -> str:
    """Return a volume in a unit, printed to about 0.1 L."""
    return f"{litres * factor('L', unit):{sign}.{more + decimals_of(unit)}f}"


@dataclass(frozen=True, repr=False)
class RoomLeft(Reporting):
    """The room left in a tank for fuel that warms, L, and how well it is known: negative where it spills."""

    room_l: float
    known_to_l: float
    details: Report


@dataclass(frozen=True, repr=False)
class TankReading(Reporting):
    """The volume in a tank at a level and its usable part, L (all where `unusable` is None), with u and U (95.45 %).

    `parts` of the uncertainty, L, join as squares; `missing` ones were not stated; other readings share the `error`.
    """

    where: str
    volume_l: float
    usable_l: float
    standard_uncertainty_l: float
    expanded_uncertainty_l: float
    parts: Mapping[str, float]
    missing: tuple[str, ...]
    unit: str
    unusable: str | None
    error: Any = field(repr=False, compare=False)

    @cached_property
    def usable(self) -> Any:
        """The usable volume as an uncertain quantity, in which a cause without any stands for what was not stated."""
        unstated = (cause(0.0, 0.0, Input(f"{words}, not stated")) for words in self.missing)
        return answer(sum(unstated, self.usable_l + self.error), "L")

    def report(self) -> Report:
        unit, expanded = self.unit, _in_unit(self.expanded_uncertainty_l, self.unit)
        share = format_percent(self.expanded_uncertainty_l / self.volume_l) if self.volume_l else "-"
        stated = f"U = {expanded} {unit} (k = {coverage_factor(self.error):.2f}), {share}"
        facts = {"uncertainty": "at least " * bool(self.missing) + stated}
        rows = tuple((name, _in_unit(part, unit, more=1)) for name, part in self.parts.items())
        volume, usable = (f"{_in_unit(each, unit)} {unit}" for each in (self.volume_l, self.usable_l))
        remarks = _left_out(self.missing)
        remarks += [_ONE_METER] * (_VOLUMES in {str(each.tag) for each in getattr(self.error, "derivatives", ())})
        table = Table(("part of the uncertainty", f"u, {unit}"), rows)
        usable += ", unusable fuel not stated" * (self.unusable is None)
        return Report(f"{self.where}: {volume}, usable {usable}", "", facts, [table], remarks)
