"""Valid ranges: one check, one message, for every formula and every table."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from fuelunits.errors import OutOfRange, QuantityError
from fuelunits.validation import format_value

OnOutOfRange = Literal["raise", "nan"]

_PRINTED = {"degC": "°C", "degF": "°F", "kg/m^3": "kg/m³", "mm^2/s": "mm²/s"}


def _slack(limit: float) -> float:
    """Return the slack at a limit, so that 302 °F counted as 150.00000000000003 °C still passes."""
    return 1e-12 * (1.0 + abs(limit))


def _title(key: str) -> str:
    from fuelunits.sources import all_sources

    entry = all_sources().get(key)
    return f"{entry.title}, {entry.edition}" if entry else key


@dataclass(frozen=True)
class Range:
    """A closed range of a named quantity, and the source that sets it: a key of ``sources.toml`` or a statement."""

    name: str
    low: float
    high: float
    unit: str
    source: str

    def contains(self, value: Any) -> Any:
        """Return, element by element, whether a value lies within the range. NaN does not."""
        return (value >= self.low - _slack(self.low)) & (value <= self.high + _slack(self.high))

    def check(self, value: Any, out_of_range: OnOutOfRange = "raise") -> Any:
        """Return a float or an array, NaN like NaN, or refuse its first value outside; ``"nan"`` makes that NaN."""
        if not isinstance(out_of_range, str) or out_of_range not in ("raise", "nan"):
            raise QuantityError(f"out_of_range must be 'raise' or 'nan'; got {format_value(out_of_range)}")
        if isinstance(value, float) and self.low <= value <= self.high:
            return value
        import numpy as np

        if type(value) is np.ndarray and value.size and self.low <= value.min() and value.max() <= self.high:
            return value
        inside = self.contains(value)
        if np.all(inside):
            return value
        outside = np.ma.filled(np.logical_not(inside) & ~np.isnan(value), False)  # a masked cell is no value
        if not outside.any():
            return value
        if out_of_range == "nan":
            if hasattr(value, "where"):
                return value.where(inside)
            where = np.ma.where if isinstance(value, np.ma.MaskedArray) else np.where
            return where(outside, np.nan, value) if outside.ndim else np.nan
        first = float(np.asarray(value)[outside].flat[0])
        unit = _PRINTED.get(self.unit, self.unit)
        raise OutOfRange(
            f"{self.name}: {first:g} {unit} is outside its range, {self.low:g} to {self.high:g} {unit} "
            f"(source: {_title(self.source)})",
            name=self.name,
            value=first,
            low=self.low,
            high=self.high,
            unit=self.unit,
            source=self.source,
        )
