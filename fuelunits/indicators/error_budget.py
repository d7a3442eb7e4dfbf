"""How the error of an indicator splits: K as entered, K at this flow, the fixed density, the display step.

Each part is relative to the true flow, positive where the display shows too much. What is shown over
what is true is a product of factors, so the parts compound, and the display step comes on top; the
signed sum is the usual first approximation, and both stand in the result.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from math import hypot, prod
from typing import Any, Protocol

from fuelunits.errors import QuantityError
from fuelunits.frames import frame
from fuelunits.html import report
from fuelunits.reports import CAUTION
from fuelunits.validation import format_value

__all__ = [
    "CombinedError",
    "ErrorBudget",
    "ErrorPart",
    "FuelAtTemperature",
    "combined",
    "density_at",
    "density_parts",
    "with_density",
]


class FuelAtTemperature(Protocol):
    """What an indicator needs of a fuel: a name, and a density at a temperature.

    A fuel that also has ``density_limits_kg_m3(temperature_c)``, giving the lowest and the highest
    density that its specification allows, has them shown as well. A limit that is None is not set;
    with fewer than two there is no range to show.
    """

    @property
    def name(self) -> str:
        """The fuel's name."""

    def density_kg_m3(self, temperature_c: Any, gauge_pressure_kpa: Any = 0.0) -> Any:
        """Density in kg/m³."""


@dataclass(frozen=True)
class ErrorPart:
    """One part of an indicator's error.

    Attributes
    ----------
    name : str
        What causes it.
    low, high : float
        Lowest and highest relative error that it causes, as signed fractions of the true flow.
    """

    name: str
    low: float
    high: float


@dataclass(frozen=True)
class CombinedError:
    """Parts taken together.

    Attributes
    ----------
    name : str
        Over which fuel.
    low_sum, high_sum : float
        Signed worst case: the lowest parts added, and the highest parts added.
    low_compounded, high_compounded : float
        The same extremes multiplied as factors, the display step added: exact.
    root_sum_square : float
        Root of the summed squares of each part's largest magnitude, for parts that are independent
        of each other. It is no standard uncertainty, because the parts are extremes.
    """

    name: str
    low_sum: float
    high_sum: float
    low_compounded: float
    high_compounded: float
    root_sum_square: float

    def parts(self) -> tuple[ErrorPart, ErrorPart, ErrorPart]:
        """Give the three ways of taking them together."""
        return (
            ErrorPart("worst case, signed sum", self.low_sum, self.high_sum),
            ErrorPart("worst case, compounded", self.low_compounded, self.high_compounded),
            ErrorPart("root sum square", -self.root_sum_square, self.root_sum_square),
        )


def combined(name: str, factors: Iterable[ErrorPart], step: ErrorPart) -> CombinedError:
    """Take parts that multiply, and the display step that adds to their product, together.

    Examples
    --------
    >>> parts = [ErrorPart("a", -0.03, 0.04), ErrorPart("b", 0.03, 0.03)]
    >>> both = combined("example", parts, ErrorPart("step", 0.0, 0.0))
    >>> round(both.low_sum, 4), round(both.high_sum, 4), round(both.root_sum_square, 4)
    (0.0, 0.07, 0.05)
    >>> round(both.high_compounded, 4)
    0.0712
    """
    terms = tuple(factors)
    return CombinedError(
        name,
        sum(part.low for part in terms) + step.low,
        sum(part.high for part in terms) + step.high,
        prod(1.0 + part.low for part in terms) - 1.0 + step.low,
        prod(1.0 + part.high for part in terms) - 1.0 + step.high,
        hypot(*(max(abs(part.low), abs(part.high)) for part in (*terms, step))),
    )


def density_at(fuel: Any, temperature_c: Any) -> Any:
    """Give a fuel's density in kg/m³, refusing what is no fuel."""
    if not callable(getattr(fuel, "density_kg_m3", None)):
        raise QuantityError(
            f"fuel: {format_value(fuel)} has no density over temperature; give a fuel such as fuel('Jet A')"
        )
    return fuel.density_kg_m3(temperature_c)


def density_parts(
    fuel: FuelAtTemperature, fixed_kg_m3: float, between_c: tuple[float, float]
) -> tuple[tuple[ErrorPart, ...], tuple[ErrorPart, ...]]:
    """Give the parts that a fixed density causes, at both ends of a temperature range.

    Parameters
    ----------
    fuel : FuelAtTemperature
        The fuel, typical or measured.
    fixed_kg_m3 : float
        The density that the indicator assumes.
    between_c : tuple of float
        The temperatures, °C. Density falls with temperature, so the ends are the extremes.

    Returns
    -------
    tuple of ErrorPart, tuple of ErrorPart
        For the fuel as it is, and within its specification limits; the second is empty where the
        fuel does not have both limits.
    """
    as_is, tolerance = [], []
    limits_of = getattr(fuel, "density_limits_kg_m3", None)
    for temperature in between_c:
        error = fixed_kg_m3 / float(density_at(fuel, temperature)) - 1.0
        as_is.append(ErrorPart(f"fixed density, {fuel.name} at {temperature:g} degC", error, error))
        low, high = (limits_of(temperature) if limits_of else None) or (None, None)
        if low is not None and high is not None:
            edges = fixed_kg_m3 / float(high) - 1.0, fixed_kg_m3 / float(low) - 1.0
            tolerance.append(ErrorPart(f"fixed density, {fuel.name} limits at {temperature:g} degC", *edges))
    return tuple(as_is), tuple(tolerance)


def with_density(
    factors: tuple[ErrorPart, ...], step: ErrorPart, as_is: tuple[ErrorPart, ...], tolerance: tuple[ErrorPart, ...]
) -> tuple[tuple[ErrorPart, ...], tuple[CombinedError, ...]]:
    """Give all the parts as rows, and combine them for each of the two kinds of density error that there is."""
    rows = (*factors, step, *as_is, *tolerance)
    if not as_is:
        return rows, (combined("volume flow", factors, step),)
    totals = [combined("this fuel", (*factors, _span(as_is)), step)]
    if tolerance:
        totals.append(combined("any batch within the limits", (*factors, _span(tolerance)), step))
    return rows, tuple(totals)


def _span(parts: tuple[ErrorPart, ...]) -> ErrorPart:
    """Give the one part that spans alternatives, such as the two ends of a temperature range."""
    return ErrorPart("fixed density", min(part.low for part in parts), max(part.high for part in parts))


@dataclass(frozen=True)
class ErrorBudget:
    """The error of an indicator, split and combined; made by ``Indicator.error_budget``.

    Attributes
    ----------
    indicator : str
        The indicator in words.
    flow : float
        The flow at which it is, in `unit`.
    unit : str
        The unit read.
    rows : tuple of ErrorPart
        The parts. Those of the fixed density are alternatives: one temperature or the other.
    combined : tuple of CombinedError
        For the fuel as it is, and within its specification limits where it has them.
    """

    indicator: str
    flow: float
    unit: str
    rows: tuple[ErrorPart, ...]
    combined: tuple[CombinedError, ...]

    @property
    def _at(self) -> str:
        return f"error at {self.flow:.6g} {self.unit}, of the true flow (+: shows too much)"

    def __str__(self) -> str:
        width = max(len(row.name) for row in self.rows)
        lines = [self.indicator, self._at]
        lines += [f"{row.name:<{width}}  {row.low:+8.2%}  {row.high:+8.2%}" for row in self.rows]
        for total in self.combined:
            lines.append(f"together, {total.name}:")
            lines += [f"{'  ' + each.name:<{width}}  {each.low:+8.2%}  {each.high:+8.2%}" for each in total.parts()]
        return "\n".join([*lines, CAUTION])

    def _repr_html_(self) -> str:
        together = [
            ErrorPart(f"{each.name}, {total.name}", each.low, each.high)
            for total in self.combined
            for each in total.parts()
        ]
        rows = [
            {"part": each.name, "lowest, %": f"{100.0 * each.low:+.2f}", "highest, %": f"{100.0 * each.high:+.2f}"}
            for each in (*self.rows, *together)
        ]
        return report(self._at, {"indicator": self.indicator}, rows)

    def to_frame(self) -> Any:
        """Give the parts as a pandas data frame; errors as signed fractions."""
        return frame(vars(row) for row in self.rows)

    def as_dict(self) -> dict[str, Any]:
        """Give the budget in plain JSON types; errors as signed fractions."""
        return asdict(self) | {
            "rows": [asdict(row) for row in self.rows],
            "combined": [asdict(total) for total in self.combined],
            "caution": CAUTION,
        }
