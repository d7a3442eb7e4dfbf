"""Sheets that a technician fills in: what to set at each point, the readings that are acceptable, and those found.

With the true value q that is set, the tolerance T and the allowance g for q, of what sets it, all exact: a reading d is
accepted where it is not zero and abs(d - q) <= T - g; rejected where abs(d - q) > T + g; undecided between. A point is
judged only where T - g is no less than what the display hides, half a step or, where it truncates, a step: else errors
larger than the tolerance would pass. Zero is never accepted by itself: a dead display also shows it. Nor are readings
accepted together that a display which all but stands still, or one without a channel, shows.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from math import ceil, log10
from typing import Any, ClassVar, Self

from fuelunits.errors import QuantityError
from fuelunits.indicators.settings import Display
from fuelunits.indicators.written import as_written, coerce_text, written_ratio
from fuelunits.quantities import exact_number, first_quantity, is_quantity, is_ratio, members, read_text
from fuelunits.reports import Report, Reporting, Table, plain
from fuelunits.uncertainty.decisions import Verdict
from fuelunits.validation import format_value, set_fields


@dataclass(frozen=True)
class Source:
    """What sets a frequency or a capacitance: its step, and its standard uncertainty."""

    step: Any
    uncertainty: Any

    UNIT: ClassVar[str] = ""

    def __post_init__(self) -> None:
        first_quantity(self.step, self.uncertainty)
        coerce_text(self, {"step": self.UNIT})
        set_fields(self, uncertainty=written_ratio(self.uncertainty, self.UNIT, "uncertainty"))
        self.doubt(Fraction(1))

    def __str__(self) -> str:
        return f"steps of {self.step}, standard uncertainty {self.uncertainty}".replace(" 0 %", " not stated")

    @property
    def display(self) -> Display:
        """The values that can be set, exactly, in the unit of the source: a value is set to the nearest."""
        return Display(exact_number(self.step, self.UNIT, name="step"))

    def doubt(self, value: Fraction) -> Fraction:
        """Return the allowance for a value that was set: ± half a step and twice the uncertainty; none for zero."""
        return value and self.display.errors[1] + 2 * share_of(self.uncertainty, value, self.UNIT, "uncertainty")


def share_of(part: str, value: Fraction, unit: str, name: str = "tolerance") -> Fraction:
    """Return a tolerance or uncertainty, a percentage of the value or a quantity, in the unit of the value."""
    if is_ratio(part):
        return read_text(part)[0] / 100 * value
    return exact_number(part, unit, name=name, zero=True)


def listed(given: Any, name: str, example: str) -> list[Any]:
    """Return the members of a list, or refuse anything else; a quantity of an array is one."""
    if is_quantity(given) or not (found := members(given)):
        raise QuantityError(f"{name}: give a list, such as {example}; got {format_value(given)}")
    return found


@dataclass(frozen=True)
class BenchPoint:
    """One line of a sheet: what is set in each channel, the value `true` that it means, the allowance `doubt`."""

    given: str
    unit: str
    true: Fraction
    tolerance: Fraction
    display: Display
    doubt: Fraction = Fraction(0)
    frequencies_hz: tuple[float, ...] = ()
    pulses: tuple[int, ...] = ()
    remark: str = ""
    parts: tuple[Fraction, ...] = ()
    capacitance_pf: float | None = None

    @property
    def kind(self) -> str:
        """What is read: a flow, a total, a low-fuel warning or a gauge."""
        if self.capacitance_pf is not None:
            return "gauge"
        return "low-fuel warning" if self.remark else "total" if self.pulses else "flow"

    @property
    def expected(self) -> float:
        """The reading of an indicator without error."""
        return float(self.display.reading(self.true))

    @property
    def _margin(self) -> Fraction:
        return self.tolerance - self.doubt

    @property
    def _most(self) -> Fraction:
        return self.tolerance + self.doubt

    @property
    def _first(self) -> Fraction:
        """The lowest value other than zero that the display can show."""
        return max(self.display.reading(self.display.cutoff), self.display.step or Fraction(0))

    @property
    def below_cutoff(self) -> bool:
        """Whether an indicator within the tolerance shows zero here."""
        return self.true + self._most < self.display.cutoff

    @property
    def near_cutoff(self) -> bool:
        """Whether an indicator within the tolerance may show zero or the flow here."""
        return not self.below_cutoff and 0 < self.display.cutoff > self.true - self._most

    @property
    def undecided(self) -> str:
        """Why no reading at this point can be accepted, and what to do; empty where one can."""
        if self.below_cutoff or not self.true:
            return "0 is expected, which a dead display also shows: accepted once a point above zero is"
        if self.true < self.display.cutoff:
            return "the cutoff lies within the tolerance: inject a flow that is further from it"
        if self._margin <= 0:
            return "the tolerance is no larger than the uncertainty of what is injected or set"
        if self._margin < -self.display.errors[0]:
            hides = f"the step of {float(self.display.step or 0):g} {self.unit} hides more than the tolerance of"
            return f"{hides} {float(self.tolerance):.3g} {self.unit}: take a larger value, or state a wider tolerance"
        return "the tolerance is as large as the value: a dead display would pass" if self._most >= self.true else ""

    @property
    def accepted(self) -> tuple[Fraction, Fraction] | None:
        """The lowest and the highest reading that is accepted, exactly; None where the point cannot be judged."""
        if self.undecided:
            return None
        return self.display.within(max(self.true - self._margin, self._first), self.true + self._margin)

    @property
    def lowest(self) -> float | None:
        """The lowest reading that is accepted, as a float."""
        return float(self.accepted[0]) if self.accepted else None

    @property
    def highest(self) -> float | None:
        """The highest reading that is accepted, as a float."""
        return float(self.accepted[1]) if self.accepted else None

    @property
    def limits(self) -> tuple[str, str]:
        """The lowest and the highest accepted reading in words; without display steps they are rounded inwards."""
        if self.accepted is None:
            return "", ""
        low, high = Display(Fraction(1, 10**self.decimals)).within(*self.accepted) or self.accepted
        return f"{float(low):.{self.decimals}f}", f"{float(high):.{self.decimals}f}"

    @property
    def decimals(self) -> int:
        """Decimals of a reading when printed."""
        fine = self.display.step is None and self._margin > 0
        return max(3, ceil(1 - log10(self._margin))) if fine else self.display.decimals

    def verdict(self, reading: Fraction) -> Verdict:
        """Return what a reading at this point means by itself."""
        error, (low, high) = reading - self.true, self.display.errors
        if not reading and (self.below_cutoff or self.near_cutoff):
            return Verdict.UNDECIDED
        if reading and (self.below_cutoff or reading < self._first):
            return Verdict.REJECT
        if self.undecided:
            return Verdict.UNDECIDED if low - self._most <= error <= high + self._most else Verdict.REJECT
        if reading and abs(error) <= self._margin:
            return Verdict.ACCEPT
        return Verdict.REJECT if abs(error) > self._most or not reading else Verdict.UNDECIDED

    def depends_on(self, channel: int) -> bool:
        """Return whether the display leaves the tolerance where a channel, of which the first is 1, is dead."""
        (low, high), part = self.display.errors, self.parts[channel - 1]
        is_seen = low - part > self.tolerance or part - high > self.tolerance
        return is_seen and max(self.true, self.true - part) >= self.display.cutoff


@dataclass(frozen=True, repr=False, kw_only=True)
class Sheet(Reporting):
    """The points of a sheet, its readings as found and as left, a text for each point or None, and their verdicts.

    Verdicts are those over all points; None before there are readings.
    """

    as_found: tuple[str | None, ...] = ()
    as_left: tuple[str | None, ...] = ()
    points: tuple[BenchPoint, ...] = field(init=False, repr=False)
    verdict_as_found: Verdict | None = field(init=False)
    verdict_as_left: Verdict | None = field(init=False)

    _plain = ("rows",)

    def _set_points(self, points: Iterable[BenchPoint]) -> None:
        set_fields(self, points=tuple(points))
        found, left = self._written(self.as_found), self._written(self.as_left)
        set_fields(self, as_found=found, as_left=left)
        set_fields(self, verdict_as_found=self._overall(found), verdict_as_left=self._overall(left))

    def _set(self, point: BenchPoint) -> tuple[dict[str, Any], dict[str, str]]:
        raise NotImplementedError

    def filled(self, *, as_found: Iterable[Any] = (), as_left: Iterable[Any] = ()) -> Self:
        """Return the sheet with readings filled in, one for each point or None; those left out stay as they are."""
        first_quantity(as_found, as_left)
        found, left = self._written(as_found), self._written(as_left)
        return replace(self, as_found=found or self.as_found, as_left=left or self.as_left)

    def rows(self) -> list[dict[str, Any]]:
        """Return the points as plain mappings; readings are in the unit named beside them."""
        found, left = self._exact(self.as_found), self._exact(self.as_left)
        return [
            {
                "point": point.given,
                **self._set(point)[0],
                "unit": point.unit,
                "expected": point.expected,
                "lowest": point.lowest,
                "highest": point.highest,
                "undecided": point.undecided,
                "as_found": plain(as_found),
                "as_left": plain(as_left),
            }
            for point, as_found, as_left in zip(self.points, found, left, strict=True)
        ]

    def verdicts(self, readings: Sequence[str | None]) -> tuple[Verdict, ...]:
        """Return the verdict of each point for readings such as :attr:`as_left`; undecided for a missing one.

        Where zero is expected, it is accepted once another point of that unit is, which a dead display cannot reach.
        """
        pairs = list(zip(self.points, self._exact(readings), strict=True))
        found = [Verdict.UNDECIDED if number is None else point.verdict(number) for point, number in pairs]
        responding = {point.unit for (point, _), verdict in zip(pairs, found, strict=True) if verdict is Verdict.ACCEPT}
        for n, (point, number) in enumerate(pairs):
            if number is not None and point.unit in responding:
                is_right = point.below_cutoff and not number if point.true else number <= point._margin
                found[n] = Verdict.ACCEPT if is_right else found[n]
        return tuple(found)

    def _overall(self, readings: tuple[str | None, ...]) -> Verdict | None:
        if not readings:
            return None
        found = self.verdicts(readings)
        if Verdict.REJECT in found:
            return Verdict.REJECT
        return Verdict.ACCEPT if set(found) == {Verdict.ACCEPT} and not self._open(readings) else Verdict.UNDECIDED

    def _open(self, readings: Sequence[str | None]) -> list[str]:
        """Return what readings that are all accepted leave open together; without readings, what right ones would."""
        if readings and set(self.verdicts(readings)) != {Verdict.ACCEPT}:
            return []
        words = [
            f"channel {n}: no point depends on it by more than the tolerance, so it may be dead: inject more into it"
            for n in range(1, 1 + len(self.points[0].parts))
            if len(self.points[0].parts) > 1 and not any(point.depends_on(n) for point in self.points)
        ]
        for unit in dict.fromkeys(point.unit for point in self.points) if readings else ():
            expected = {point.expected for point in self.points if point.unit == unit}
            if len(expected) > 1 and unit not in self._rising(readings):
                words.append(f"the readings in {unit} rise by less than they should, as if the display stood still")
        return words

    def _rising(self, readings: Sequence[str | None]) -> set[str]:
        """Return the units in which readings rise altogether by more than a step and half of what is expected."""
        units: dict[str, list[tuple[Fraction, Fraction, Fraction]]] = {}
        for point, number in zip(self.points, self._exact(readings), strict=True):
            if number is not None:
                right, step = point.display.reading(point.true), point.display.step or Fraction(0)
                units.setdefault(point.unit, []).append((right, number, step))
        ends = {unit: (min(each), max(each)) for unit, each in units.items()}
        return {unit for unit, (low, high) in ends.items() if high[1] - low[1] > max(high[2], (high[0] - low[0]) / 2)}

    def _written(self, readings: Iterable[Any]) -> tuple[str | None, ...]:
        is_left_out = isinstance(readings, tuple) and not readings
        given = [] if is_left_out else listed(readings, "readings", "['60 L/h', None], one for each point")
        if any(isinstance(each, str) and not each.strip() for each in given):
            raise QuantityError("readings: an empty text; write None for one not taken")
        if given and len(given) != len(self.points):
            raise QuantityError(f"readings: {len(given)} for {len(self.points)} points; give one for each, or None")
        return tuple(
            None if each is None else as_written(each, point.unit, "reading")
            for each, point in zip(given, self.points if given else (), strict=True)
        )

    def _exact(self, readings: Sequence[str | None]) -> list[Fraction | None]:
        found: list[Fraction | None] = []
        for each, point in zip(readings or [None] * len(self.points), self.points, strict=True):
            name = "reading, the fuel left when the warning came" if point.remark else "reading"
            number = None if each is None else exact_number(each, point.unit, name=name, zero=True)
            if number is not None and point.display.within(number, number) is None:
                steps = f"the display has steps of {float(point.display.step or 0):g} {point.unit} and never shows that"
                raise QuantityError(f"reading: {each}; {steps}; write what it shows, in {point.unit}")
            found.append(number)
        return found

    def _report(self, title: str, facts: dict[str, Any], remarks: Iterable[str]) -> Report:
        """Return the sheet, with boxes where nothing was filled in."""
        points, near = self.points, "a reading of 0 is undecided, near the cutoff"
        notes = [f"{point.given}: undecided: {point.undecided}" for point in points if point.undecided]
        notes += [f"{point.given}: {point.remark}" for point in points if point.remark]
        notes += [f"{point.given}: {near}" for point in points if point.near_cutoff]
        filled = [readings for readings in (self.as_found, self.as_left) if readings] or [()]
        notes += [f"undecided: {each}" for each in dict.fromkeys(each for part in filled for each in self._open(part))]
        flows = [point for point in points if not (point.pulses or point.remark)] or points
        accepted = [point.accepted for point in flows if point.accepted]
        is_one = len(accepted) == len(flows) and len({point.unit for point in flows}) == 1
        meets = is_one and max(low for low, _ in accepted) <= min(high for _, high in accepted)
        if meets and not any(flows[0].unit in self._rising(each) for each in filled):
            notes.append("One reading, as of a display that stands still, passes at every point: add one further away.")
        notes += ["The tolerance applies to the reading, including the rounding of the display.", *remarks]
        cells = self._cells()
        tables = [Table.of(row for row in cells if tuple(row) == heads) for heads in dict.fromkeys(map(tuple, cells))]
        verdicts = [("as found", self.verdict_as_found), ("as left", self.verdict_as_left)]
        words = [f"{name}: {verdict.value}" for name, verdict in verdicts if verdict is not None]
        judged = sum(not point.undecided for point in points)
        empty = f"not filled in; {judged} of {len(points)} points can be judged on their own"
        return Report(title, "; ".join(words) or empty, facts, tables, notes)

    def _cells(self) -> list[dict[str, str]]:
        """Return each point as printed."""
        cells = []
        for point in self.points:
            head = "fuel left at the warning" if point.remark else "expected"
            expected = {f"{head}, {point.unit}": f"{point.expected:.{point.decimals}f}"}
            low, high = point.limits
            cells.append({"point": point.given, **self._set(point)[1], **expected, "lowest": low, "highest": high})
        for head, readings in (("as found", self.as_found), ("as left", self.as_left)):
            for row, point, number in zip(cells, self.points, self._exact(readings), strict=True):
                row[head] = "[    ]"
                if number is not None:  # rounded to the digits of a limit, it might contradict its verdict
                    is_exact = number == round(number, point.decimals)
                    row[head] = f"{float(number):.{point.decimals}f}" if is_exact else f"{float(number):.10g}"
            if readings:
                for row, verdict in zip(cells, self.verdicts(readings), strict=True):
                    row[f"{head}:"] = verdict.value
        return cells
