"""Sheets that a technician fills in: what to set at each point, which readings are acceptable, and what was read."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from typing import Any, Self

import numpy as np

from fuelunits.errors import QuantityError
from fuelunits.indicators.bench_points import BenchPoint, overall
from fuelunits.indicators.written import as_written, set_fields
from fuelunits.quantities import exact_number, first_quantity, is_quantity
from fuelunits.reports import Report, Reporting, Table, plain
from fuelunits.uncertainty.decisions import Verdict
from fuelunits.validation import format_value

__all__ = ["Sheet"]


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
        return self._points()

    def _points(self) -> tuple[BenchPoint, ...]:
        raise NotImplementedError

    def _set(self, point: BenchPoint) -> dict[str, Any]:
        """Return what is set at a point, as plain values by name."""
        raise NotImplementedError

    def _set_cells(self, point: BenchPoint) -> dict[str, str]:
        """Return what is set at a point, as printed by heading."""
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
                **self._set(point),
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
        if isinstance(readings, str) or is_quantity(readings) or not np.iterable(readings):
            raise QuantityError(f"readings: {format_value(readings)}; give a list, one for each point")
        given = tuple(readings)
        if given and len(given) != len(self.points):
            raise QuantityError(f"readings: {len(given)} for {len(self.points)} points; give one for each, or None")
        if any(isinstance(each, str) and not each.strip() for each in given):
            raise QuantityError("readings: an empty text; write None for one not taken")
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
                    f"reading: {each}; the display has steps of {float(row.step):g} {row.unit}; write it in {row.unit}"
                )
            found.append(number)
        return tuple(found)

    def _report(self, title: str, facts: dict[str, Any], remarks: Iterable[str]) -> Report:
        """Return the sheet, with boxes where nothing was filled in."""
        rows = self.points
        notes = [f"{row.given}: undecided: {row.undecided}" for row in rows if row.undecided]
        notes += [f"{row.given}: {row.remark}" for row in rows if row.remark]
        notes += [f"{row.given}: a reading of 0 is undecided, near the cutoff" for row in rows if row.near_cutoff]
        notes += ["The tolerance applies to the reading, the rounding of the display included.", *remarks]
        cells = [self._cells(n) for n in range(len(rows))]
        kinds = dict.fromkeys(map(tuple, cells))
        tables = [Table.of(each for each in cells if tuple(each) == heads) for heads in kinds]
        return Report(title, self._verdict, facts, tables, notes)

    @property
    def _verdict(self) -> str:
        found = [("as found", self.verdict_as_found), ("as left", self.verdict_as_left)]
        words = [f"{name}: {verdict.value}" for name, verdict in found if verdict is not None]
        judged = sum(not row.undecided for row in self.points)
        empty = f"not filled in; {judged} of {len(self.points)} points can be judged by themselves"
        return "; ".join(words) or empty

    def _cells(self, n: int) -> dict[str, str]:
        row = self.points[n]
        cells = {"point": row.given, **self._set_cells(row)}
        cells[f"{'fuel left at the warning' if row.remark else 'expected'}, {row.unit}"] = (
            f"{row.expected:.{row.decimals}f}"
        )
        cells["lowest"], cells["highest"] = row.limits
        for head, readings in (("as found", self.as_found), ("as left", self.as_left)):
            number = self._exact(readings)[n] if readings else None
            cells[head] = "[    ]" if number is None else f"{float(number):.{row.decimals}f}"
            if readings:
                cells[f"{head}:"] = self.verdicts(readings)[n].value
        return cells
