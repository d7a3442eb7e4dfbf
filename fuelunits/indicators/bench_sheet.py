"""Sheets that a technician fills in, and the one from which pulses are injected into an indicator.

A sheet has what to set at each point, the readings that are acceptable, and those as found and as left.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from typing import Any, Self

from fuelunits.errors import QuantityError
from fuelunits.indicators.bench_points import BenchPoint, overall
from fuelunits.indicators.settings import IndicatorSettings
from fuelunits.indicators.sheet_points import Generator, point_of, written_points
from fuelunits.indicators.written import as_written, set_fields, written_ratio
from fuelunits.pint_units import first_quantity, is_quantity
from fuelunits.quantities import exact_number, members
from fuelunits.reports import Report, Reporting, Table, plain
from fuelunits.uncertainty.decisions import Verdict
from fuelunits.validation import check_type, format_value


@dataclass(frozen=True, repr=False, kw_only=True)
class Sheet(Reporting):
    """The readings of a sheet as found and as left, and their verdicts; each kind of sheet makes its points.

    `as_found` and `as_left` have one text for each point, None for one that was not read; empty before filling in.
    """

    as_found: tuple[str | None, ...] = ()
    as_left: tuple[str | None, ...] = ()

    _plain = ("rows", "verdict_as_found", "verdict_as_left")

    def _check_readings(self) -> None:
        set_fields(self, as_found=self._written(self.as_found), as_left=self._written(self.as_left))
        self.rows()

    @cached_property
    def points(self) -> tuple[BenchPoint, ...]:
        """What to set at each point, and the readings that are acceptable."""
        raise NotImplementedError

    def _set(self, point: BenchPoint) -> tuple[dict[str, Any], dict[str, str]]:
        """Return what is set at a point: as plain values by name, and as printed by heading."""
        raise NotImplementedError

    def filled(self, *, as_found: Iterable[Any] = (), as_left: Iterable[Any] = ()) -> Self:
        """Return the sheet with readings filled in: one for each point, None for one that was not taken.

        Without them, those already there stay. A reading that the display cannot show is refused.
        """
        first_quantity(as_found, as_left)
        found, left = self._written(as_found), self._written(as_left)
        return replace(self, as_found=found or self.as_found, as_left=left or self.as_left)

    def rows(self) -> list[dict[str, Any]]:
        """Return the points as plain mappings; readings are in the unit named beside them."""
        readings = {"as_found": self._exact(self.as_found), "as_left": self._exact(self.as_left)}
        return [
            {
                "point": point.given,
                **self._set(point)[0],
                "unit": point.unit,
                "expected": point.expected,
                "lowest": point.lowest,
                "highest": point.highest,
                "undecided": point.undecided,
                **{name: plain(numbers[n]) if numbers else None for name, numbers in readings.items()},
            }
            for n, point in enumerate(self.points)
        ]

    def verdicts(self, readings: Sequence[str | None]) -> tuple[Verdict, ...]:
        """Return the verdict of each point for readings such as :attr:`as_left`."""
        return overall(self.points, self._exact(readings))

    @property
    def verdict_as_found(self) -> Verdict | None:
        """The verdict over all points as found; None before there are readings."""
        return self._overall(self.as_found)

    @property
    def verdict_as_left(self) -> Verdict | None:
        """The verdict over all points as left; None before there are readings."""
        return self._overall(self.as_left)

    def _overall(self, readings: tuple[str | None, ...]) -> Verdict | None:
        if not readings:
            return None
        found = self.verdicts(readings)
        if Verdict.REJECT in found:
            return Verdict.REJECT
        return Verdict.ACCEPT if set(found) == {Verdict.ACCEPT} else Verdict.UNDECIDED

    def _written(self, readings: Iterable[Any]) -> tuple[str | None, ...]:
        given = members(readings)
        if is_quantity(readings) or not (given or isinstance(readings, (list, tuple))):
            raise QuantityError(f"readings: {format_value(readings)}; give a list, one for each point")
        if any(isinstance(each, str) and not each.strip() for each in given):
            raise QuantityError("readings: an empty text; write None for one not taken")
        if given and len(given) != len(self.points):
            raise QuantityError(f"readings: {len(given)} for {len(self.points)} points; give one for each, or None")
        return tuple(
            None if each is None else as_written(each, point.unit, "reading")
            for each, point in zip(given, self.points if given else (), strict=True)
        )

    def _exact(self, readings: Sequence[str | None]) -> tuple[Fraction | None, ...]:
        found = []
        for each, row in zip(readings, self.points if readings else (), strict=True):
            name = "reading, the fuel left when the warning came" if row.remark else "reading"
            number = None if each is None else exact_number(each, row.unit, name=name, zero=True)
            if number is not None and row.step is not None and number % row.step:
                raise QuantityError(
                    f"reading: {each}; the display has steps of {float(row.step):g} {row.unit} and never shows that; "
                    f"write what it shows, in {row.unit}"
                )
            found.append(number)
        return tuple(found)

    def _report(self, title: str, facts: dict[str, Any], remarks: Iterable[str]) -> Report:
        """Return the sheet, with boxes where nothing was filled in."""
        rows = self.points
        notes = [f"{row.given}: undecided: {row.undecided}" for row in rows if row.undecided]
        notes += [f"{row.given}: {row.remark}" for row in rows if row.remark]
        notes += [f"{row.given}: a reading of 0 is undecided, near the cutoff" for row in rows if row.near_cutoff]
        notes += ["The tolerance applies to the reading, including the rounding of the display.", *remarks]
        cells = [self._cells(n) for n in range(len(rows))]
        kinds = dict.fromkeys(map(tuple, cells))
        tables = [Table.of(each for each in cells if tuple(each) == heads) for heads in kinds]
        return Report(title, self._verdict, facts, tables, notes)

    @property
    def _verdict(self) -> str:
        found = [("as found", self.verdict_as_found), ("as left", self.verdict_as_left)]
        words = [f"{name}: {verdict.value}" for name, verdict in found if verdict is not None]
        judged = sum(not row.undecided for row in self.points)
        empty = f"not filled in; {judged} of {len(self.points)} points can be judged on their own"
        return "; ".join(words) or empty

    def _cells(self, n: int) -> dict[str, str]:
        row = self.points[n]
        cells = {"point": row.given, **self._set(row)[1]}
        head = "fuel left at the warning" if row.remark else "expected"
        cells[f"{head}, {row.unit}"] = f"{row.expected:.{row.decimals}f}"
        cells["lowest"], cells["highest"] = row.limits
        for head, readings in (("as found", self.as_found), ("as left", self.as_left)):
            number = self._exact(readings)[n] if readings else None
            cells[head] = "[    ]" if number is None else f"{float(number):.{row.decimals}f}"
            if readings:
                cells[f"{head}:"] = self.verdicts(readings)[n].value
        return cells


@dataclass(frozen=True, repr=False)
class BenchSheet(Sheet):
    """Pulses to inject, readings to expect, and what was read; made by ``Indicator.bench_points``.

    Attributes
    ----------
    indicator, asked, tolerance, generator
        The indicator under test, and the points, tolerance and generator as they were given.
    as_found, as_left : tuple of str or None
        The readings before and after an adjustment, one for each point; None for one not taken.

    Examples
    --------
    >>> import fuelunits as fu
    >>> sheet = fu.Indicator("11412 pulse/L", reads="L/h", resolution="0.5 L/h").bench_points(["60 L/h"], "2 %")
    >>> [(point.frequency_hz, point.lowest, point.highest) for point in sheet.points]
    [(190.2, 59.0, 61.0)]
    >>> sheet.filled(as_found=["62 L/h"], as_left=["60.5 L/h"])
    <BenchSheet: bench sheet, 11412 pulse/L, reading L/h, steps of 0.5 L/h: as found: reject; as left: accept>
    """

    indicator: IndicatorSettings
    asked: tuple[Any, ...]
    tolerance: Any
    generator: Generator | None = None

    def __post_init__(self) -> None:
        check_type(self.indicator, IndicatorSettings, "indicator", "an Indicator")
        first_quantity(self.asked, self.tolerance)
        if self.generator is not None:
            check_type(self.generator, Generator, "generator", "Generator(step='0.1 Hz', uncertainty='0.01 %')")
        tolerance = written_ratio(self.tolerance, self.indicator.reads, "tolerance")
        set_fields(self, asked=written_points(self.asked), tolerance=tolerance)
        self._check_readings()

    @cached_property
    def points(self) -> tuple[BenchPoint, ...]:
        """What to inject at each point, and the readings that are acceptable."""
        return tuple(point_of(self.indicator, each, self.tolerance, self.generator) for each in self.asked)

    def _set(self, point: BenchPoint) -> tuple[dict[str, Any], dict[str, str]]:
        plainly = {"frequency_hz": list(point.frequencies_hz), "pulses": list(point.pulses)}
        if not point.frequencies_hz:
            return plainly, {"inject, pulses": " / ".join(map(str, dict.fromkeys(point.pulses)))}
        hertz = dict.fromkeys(point.frequencies_hz)
        cells = {"inject, Hz": " / ".join(f"{hz:.7g}" for hz in hertz)}
        if not (self.as_found or self.as_left or point.remark):
            cells["pulses/min"] = " / ".join(f"{hz * 60:.7g}" for hz in hertz)
        return plainly, cells

    def report(self) -> Report:
        """Return the sheet, with boxes where nothing was filled in."""
        channels = self.indicator.channels
        several = channels > 1 and not self.indicator.feed_less_return
        remarks = [f"inject into {'both' if channels == 2 else f'all {channels}'} channels at once"] * several
        if several and not any(isinstance(each, tuple) and len(set(each)) > 1 for each in self.asked):
            remarks.append("No point distinguishes the channels, so swapped inputs pass: add a flow for each alone.")
        remarks.append("The K-factor entered is taken as right: no reading here proves that it is the transducer's.")
        facts = {"tolerance": self.tolerance, "generator": self.generator and str(self.generator)}
        return self._report(f"bench sheet, {self.indicator}", facts, remarks)
