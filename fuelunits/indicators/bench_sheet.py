"""The sheet from which a technician injects frequencies into an indicator and notes what it shows."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from fuelunits.frames import frame
from fuelunits.html import report
from fuelunits.reports import CAUTION

__all__ = ["BenchPoint", "BenchSheet"]


@dataclass(frozen=True)
class BenchPoint:
    """One line of a bench sheet; made by ``Indicator.bench_points``.

    Attributes
    ----------
    flow : str
        The flow as it was asked for.
    frequency_hz : float
        What to inject into each channel, in Hz, or pulses per second.
    pulses_per_minute : float
        The same in pulses per minute, for a generator or counter that is set by the minute.
    shows, lowest, highest : float
        What the display must show, and the lowest and highest acceptable reading, in the unit read.
    """

    flow: str
    frequency_hz: float
    pulses_per_minute: float
    shows: float
    lowest: float
    highest: float


@dataclass(frozen=True)
class BenchSheet:
    """Frequencies to inject and readings to expect; made by ``Indicator.bench_points``.

    Attributes
    ----------
    indicator : str
        The indicator in words.
    reads : str
        The unit of the readings.
    tolerance : str
        The tolerance as it was given.
    channels : int
        Into how many channels each frequency is injected at once.
    decimals : int
        Decimals of the readings when printed.
    rows : tuple of BenchPoint
        One a flow, in the order asked for.
    """

    indicator: str
    reads: str
    tolerance: str
    channels: int
    decimals: int
    rows: tuple[BenchPoint, ...]

    def __str__(self) -> str:
        lines = [self._title, *(self._cells(row) for row in self.rows)]
        widths = [max(len(line[column]) for line in lines) for column in range(len(self._title))]
        table = ["  ".join(cell.rjust(width) for cell, width in zip(line, widths, strict=True)) for line in lines]
        return "\n".join([self.indicator, self._tolerance, *table, CAUTION])

    @property
    def _title(self) -> tuple[str, ...]:
        return "flow", "inject, Hz", "pulses/min", f"shows, {self.reads}", "lowest", "highest"

    @property
    def _tolerance(self) -> str:
        each = f"; inject into all {self.channels} channels at once" if self.channels > 1 else ""
        return f"tolerance {self.tolerance}{each}"

    def _repr_html_(self) -> str:
        rows = [dict(zip(self._title, self._cells(row), strict=True)) for row in self.rows]
        return report(self.indicator, {"bench sheet": self._tolerance}, rows)

    def to_frame(self) -> Any:
        """Give the rows as a pandas data frame; readings in the unit read."""
        return frame(vars(row) for row in self.rows)

    def _cells(self, row: BenchPoint) -> tuple[str, ...]:
        readings = (f"{reading:.{self.decimals}f}" for reading in (row.shows, row.lowest, row.highest))
        return (row.flow, f"{row.frequency_hz:.3f}", f"{row.pulses_per_minute:.1f}", *readings)

    def as_dict(self) -> dict[str, Any]:
        """Give the sheet in plain JSON types."""
        return asdict(self) | {"rows": [asdict(row) for row in self.rows], "caution": CAUTION}
