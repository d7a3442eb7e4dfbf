"""A fuel-flow indicator: pulses over the K-factor entered, and for a mass flow times one fixed density.

The fixed density is right at the temperature at which the fuel has it, and nowhere else. The display
has steps, and shows zero below a cutoff. What is shown of a true flow differs from it by K as
entered, K at this flow and viscosity, the fixed density, and the display step.

Several channels are several transducers whose flows the display adds. Where each engine has a
display of its own, each is an indicator of one channel.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Any

import numpy as np

from fuelunits.amounts import (
    convert_exact,
    exact_density,
    exact_number,
    first_quantity,
    flow_unit_name,
    is_ratio,
    kind_of,
    signed_fraction,
)
from fuelunits.errors import DimensionError, QuantityError
from fuelunits.indicators.bench_sheet import BenchPoint, BenchSheet
from fuelunits.indicators.comparison import Comparison
from fuelunits.indicators.display import decimals, displayed
from fuelunits.indicators.error_budget import (
    ErrorBudget,
    ErrorPart,
    FuelAtTemperature,
    density_at,
    density_parts,
    with_density,
)
from fuelunits.meters.k_factor import KFactor
from fuelunits.quantities import answer, fraction, is_quantity, pair, positive, temperature_c
from fuelunits.units import read_unit
from fuelunits.validation import check_type, format_value

__all__ = ["Indicator"]


@dataclass(frozen=True, init=False)
class Indicator:
    """A display of volume or mass flow, driven by the pulses of volume transducers.

    Parameters
    ----------
    k_factor : KFactor or str
        The K-factor entered.
    reads : str
        The unit shown: a volume flow or a mass flow.
    fixed_density : str or pint.Quantity, optional
        The density that it assumes; needed for a mass flow, and only there.
    resolution : str or pint.Quantity, optional
        The display step, such as ``"0.1 gal/h"``; without one the display has no steps.
    low_flow_cutoff : str or pint.Quantity, optional
        The lowest flow that it shows, of all channels together.
    channels : int
        How many transducers it adds, all with this K-factor.

    Attributes
    ----------
    fixed_density_kg_m3, resolution, low_flow_cutoff : Fraction or None
        Exactly; the last two in the unit read.

    Raises
    ------
    QuantityError, DimensionError
        If the density is missing or not needed, a unit is not of the kind read, or a number is bare
        or not positive.

    Examples
    --------
    >>> lb_h = Indicator(KFactor(28_740, per="gal"), reads="lb/h", fixed_density="6.7 lb/gal", resolution="1 lb/h")
    >>> print(lb_h)
    indicator of lb/h: 28740 pulse/gal, fixed density 6.7 lb/gal, steps of 1 lb/h
    >>> lb_h.reading("99.8 Hz").magnitude
    84.0
    """

    k_factor: KFactor
    reads: str
    fixed_density_kg_m3: Fraction | None
    resolution: Fraction | None
    low_flow_cutoff: Fraction | None
    channels: int

    def __init__(
        self,
        k_factor: KFactor | str,
        *,
        reads: str,
        fixed_density: Any = None,
        resolution: Any = None,
        low_flow_cutoff: Any = None,
        channels: int = 1,
    ) -> None:
        k = _k_factor(k_factor)
        reads = flow_unit_name(reads)
        by_mass = _reads_mass(reads)
        if by_mass and fixed_density is None:
            raise QuantityError(
                f"fixed_density: {reads} is a mass flow, found with a density; write fixed_density='6.7 lb/gal', say"
            )
        if not by_mass and fixed_density is not None:
            raise QuantityError(f"fixed_density: {reads} is a volume flow and needs none; leave it out")
        if isinstance(channels, bool) or not isinstance(channels, int) or channels < 1:
            raise QuantityError(f"channels: {format_value(channels)}; it must be a whole number from 1 up")
        object.__setattr__(self, "k_factor", k)
        object.__setattr__(self, "reads", reads)
        object.__setattr__(self, "fixed_density_kg_m3", exact_density(fixed_density))
        object.__setattr__(self, "resolution", _optional(resolution, reads, "resolution"))
        object.__setattr__(self, "low_flow_cutoff", _optional(low_flow_cutoff, reads, "low_flow_cutoff"))
        object.__setattr__(self, "channels", channels)

    def __str__(self) -> str:
        words = [f"indicator of {self.reads}: {self.k_factor}"]
        if self.fixed_density_kg_m3 is not None:
            per = f"{self.reads.split('/')[0]}/{self.k_factor.unit}"
            words.append(f"fixed density {float(convert_exact(self.fixed_density_kg_m3, 'kg/m^3', per)):.6g} {per}")
        if self.resolution is not None:
            words.append(f"steps of {float(self.resolution):.6g} {self.reads}")
        if self.low_flow_cutoff is not None:
            words.append(f"zero below {float(self.low_flow_cutoff):.6g} {self.reads}")
        if self.channels > 1:
            words.append(f"{self.channels} channels added")
        return ", ".join(words)

    def reading(self, frequency: Any) -> Any:
        """Give what the display shows for an injected frequency.

        Parameters
        ----------
        frequency : str or pint.Quantity, or a list of them
            One frequency that goes into every channel alike, scalar or array; or a list (or tuple)
            of one for each channel.

        Returns
        -------
        pint.Quantity
            In the unit read: rounded to the nearest display step, halves up; zero below the cutoff.

        Examples
        --------
        >>> twin = Indicator("28740 pulse/gal", reads="gal/h", resolution="0.1 gal/h", channels=2)
        >>> twin.reading("99.8 Hz").magnitude, twin.reading(["99.8 Hz", "0 Hz"]).magnitude
        (25.0, 12.5)
        """
        given = list(frequency) if isinstance(frequency, (list, tuple)) else [frequency] * self.channels
        if len(given) != self.channels:
            raise QuantityError(f"frequency: {len(given)} of them for {self.channels} channel(s); give one for each")
        channels = [positive(each, "Hz", name="frequency", zero=True) for each in given]
        hz = sum(channels[1:], start=channels[0])
        return answer(self._shown(hz * float(self._flow_per_hz)), self.reads, first_quantity(*given))

    def reading_of(
        self,
        true_flow: Any,
        fuel: FuelAtTemperature | None = None,
        at: Any = None,
        true_k: KFactor | str | None = None,
    ) -> Any:
        """Give what the display shows while a true flow passes, of all channels together.

        Parameters
        ----------
        true_flow : str or pint.Quantity
            Volume flow at the transducer, or mass flow; scalar or array.
        fuel : FuelAtTemperature, optional
            The fuel; needed for a mass flow, whose volume is what turns the transducer.
        at : str or pint.Quantity, optional
            Its temperature at the transducer.
        true_k : KFactor or str, optional
            The transducers' true K-factor; by default the one entered.

        Returns
        -------
        pint.Quantity

        Examples
        --------
        >>> lb_h = Indicator("28740 pulse/gal", reads="lb/h", fixed_density="6.7 lb/gal")
        >>> round(lb_h.reading_of("10 gal/h").magnitude, 6)
        67.0
        >>> round(lb_h.reading_of("10 gal/h", true_k="29000 pulse/gal").magnitude, 2)
        67.61
        """
        if (fuel is None) != (at is None):
            raise QuantityError("fuel and at: give both, the fuel and its temperature, or neither")
        kg_m3 = None if fuel is None else density_at(fuel, temperature_c(at, name="at"))
        kind = kind_of(true_flow, ("m^3/s", "kg/s"), name="true_flow")
        m3_s = positive(true_flow, kind, name="true_flow", zero=True)
        if kind == "kg/s":
            if kg_m3 is None:
                raise DimensionError(
                    f"true_flow: {true_flow} is a mass flow; give the fuel and its temperature as well"
                )
            m3_s = m3_s / kg_m3
        per_m3_s = self._true(true_k).exact_per("m^3") * self._flow_per_hz
        return answer(self._shown(m3_s * float(per_m3_s)), self.reads, first_quantity(true_flow, at))

    def error_budget(
        self,
        fuel: FuelAtTemperature | None = None,
        *,
        flow: Any,
        between: Any = None,
        true_k: KFactor | str | None = None,
        k_at_flow: Any = "0 %",
    ) -> ErrorBudget:
        """Split the error of the display into its causes, and combine them.

        Parameters
        ----------
        fuel : FuelAtTemperature, optional
            The fuel; needed where the indicator reads a mass flow.
        flow : str or pint.Quantity
            The true flow at which, in the kind read; one of the other kind is crossed by the
            fixed density.
        between : pair of str or pint.Quantity, optional
            The fuel's temperatures, such as ``("-20 degC", "40 degC")``; needed with the fuel.
        true_k : KFactor or str, optional
            The transducer's K-factor as calibrated; by default the one entered.
        k_at_flow : str or pint.Quantity
            By how much K at this flow and viscosity exceeds the one as calibrated, with its sign:
            ``"-0.4 %"``. It comes from the meter's curve.

        Returns
        -------
        ErrorBudget

        Examples
        --------
        >>> gal_h = Indicator("28740 pulse/gal", reads="gal/h", resolution="0.1 gal/h")
        >>> budget = gal_h.error_budget(flow="10 gal/h", true_k="29000 pulse/gal")
        >>> [(row.name, round(row.low, 5), round(row.high, 5)) for row in budget.rows][::2]
        [('K as entered', 0.00905, 0.00905), ('display step', -0.005, 0.005)]
        """
        number = self._in_unit_read(flow)
        if not self._shown(float(number)):
            raise QuantityError(f"flow: the display shows 0 at {flow}; give a flow that it shows")
        entered = self.k_factor.indication_error(self._true(true_k))
        shift = signed_fraction(k_at_flow, name="k_at_flow")
        half = float((self.resolution or 0) / number / 2)
        factors = (
            ErrorPart("K as entered", entered, entered),
            ErrorPart("K at this flow and viscosity", shift, shift),
        )
        rows, totals = with_density(
            factors, ErrorPart("display step", -half, half), *self._density_parts(fuel, between)
        )
        return ErrorBudget(str(self), float(number), self.reads, rows, totals)

    def bench_points(self, flows: Sequence[Any], tolerance: Any) -> BenchSheet:
        """Give the sheet from which a technician injects frequencies.

        Parameters
        ----------
        flows : sequence of str or pint.Quantity
            Flows of all channels together; in the kind read, or crossed by the fixed density.
        tolerance : str or pint.Quantity
            Part of the flow, ``"2 %"``, or a flow in a unit of the kind read.

        Returns
        -------
        BenchSheet
            The lowest and highest acceptable readings are what the display shows at the flow less
            and plus the tolerance. Its own rounding comes on top, so a reading may lie up to half a
            step beyond the tolerance.

        Examples
        --------
        >>> lb_h = Indicator("28740 pulse/gal", reads="lb/h", fixed_density="6.7 lb/gal", resolution="1 lb/h")
        >>> row = lb_h.bench_points(["10 gal/h"], "2 %").rows[0]
        >>> round(row.frequency_hz, 3), round(row.pulses_per_minute, 1), row.shows, row.lowest, row.highest
        (79.833, 4790.0, 67.0, 66.0, 68.0)
        """
        given = () if isinstance(flows, str) or is_quantity(flows) or not np.iterable(flows) else tuple(flows)
        if not given:
            raise QuantityError("flows: give a list of flows, such as ['5 gal/h', '10 gal/h']")
        rows = tuple(self._bench_point(flow, tolerance) for flow in given)
        return BenchSheet(str(self), self.reads, str(tolerance), self.channels, decimals(self.resolution), rows)

    def compare(
        self,
        other: Indicator,
        line: Any,
        *,
        fuel: FuelAtTemperature | None = None,
        at: Any = None,
        true_k: KFactor | str | None = None,
        other_true_k: KFactor | str | None = None,
    ) -> Comparison:
        """Compare what two indicators on one fuel line show, whatever their units.

        Parameters
        ----------
        other : Indicator
            The second one.
        line : str or pint.Quantity
            What both see: one frequency, where one transducer feeds both; or one true flow.
        fuel, at
            As for :meth:`reading_of`; with them the fuel's own density stands beside the implied one.
        true_k, other_true_k : KFactor or str, optional
            True K-factors of the transducers of this and the other, where the line is a flow.

        Returns
        -------
        Comparison

        Examples
        --------
        >>> k = KFactor(28_740, per="gal")
        >>> litres = Indicator(k, reads="L/h", resolution="0.1 L/h")
        >>> pounds = Indicator(k, reads="lb/h", fixed_density="6.7 lb/gal", resolution="1 lb/h")
        >>> both = litres.compare(pounds, "99.8 Hz")
        >>> both.first, both.second, round(both.ratio, 4), round(both.implied_density_kg_m3, 1)
        (47.3, 84.0, 1.7759, 805.5)
        """
        check_type(other, Indicator, "other", "an Indicator")
        if kind_of(line, ("Hz", "m^3/s", "kg/s"), name="line") == "Hz":
            if true_k is not None or other_true_k is not None:
                raise QuantityError("true_k: a frequency is what the indicators count; leave out the true K-factors")
            first, second = self.reading(line), other.reading(line)
        else:
            first = self.reading_of(line, fuel, at, true_k)
            second = other.reading_of(line, fuel, at, other_true_k)
        if np.ndim(first.magnitude):
            raise QuantityError(f"line: {line} is an array; compare at one frequency or flow")
        density = None if fuel is None else float(density_at(fuel, temperature_c(at, name="at")))
        return Comparison(float(first.magnitude), self.reads, float(second.magnitude), other.reads, density)

    @cached_property
    def _flow_per_hz(self) -> Fraction:
        """The flow in the unit read that one pulse a second stands for, exactly."""
        return convert_exact(1 / self.k_factor.value, f"{self.k_factor.unit}/s", self.reads, self.fixed_density_kg_m3)

    def _shown(self, flow: Any) -> Any:
        return displayed(flow, step=self.resolution, cutoff=float(self.low_flow_cutoff or 0))

    def _true(self, true_k: KFactor | str | None) -> KFactor:
        return self.k_factor if true_k is None else _k_factor(true_k)

    def _in_unit_read(self, flow: Any) -> Fraction:
        """Give one flow in the unit read, crossed by the indicator's own density where it is of the other kind."""
        kind = kind_of(flow, ("m^3/s", "kg/s"), name="flow")
        number = exact_number(flow, kind, name="flow", zero=True)
        return convert_exact(number, kind, self.reads, self.fixed_density_kg_m3)

    def _density_parts(
        self, fuel: FuelAtTemperature | None, between: Any
    ) -> tuple[tuple[ErrorPart, ...], tuple[ErrorPart, ...]]:
        if self.fixed_density_kg_m3 is None:
            if fuel is not None or between is not None:
                raise QuantityError(f"fuel: {self.reads} is a volume flow and assumes no density; leave it out")
            return (), ()
        if fuel is None or between is None:
            raise QuantityError("fuel and between: the indicator assumes a density; give the fuel and its temperatures")
        return density_parts(fuel, float(self.fixed_density_kg_m3), pair(between, "degC", name="between"))

    def _bench_point(self, flow: Any, tolerance: Any) -> BenchPoint:
        number = self._in_unit_read(flow)
        hz = number / self._flow_per_hz / self.channels
        allowed = self._allowed(tolerance, number)
        shows, lowest, highest = (
            self._shown(float(max(reading, Fraction(0)))) for reading in (number, number - allowed, number + allowed)
        )
        return BenchPoint(str(flow), float(hz), float(hz * 60), shows, lowest, highest)

    def _allowed(self, tolerance: Any, flow: Fraction) -> Fraction:
        """Give a tolerance as a flow in the unit read."""
        if is_ratio(tolerance):
            return Fraction(repr(fraction(tolerance, name="tolerance"))) * flow
        return exact_number(tolerance, self.reads, name="tolerance", zero=True)


def _k_factor(k_factor: KFactor | str) -> KFactor:
    return k_factor if isinstance(k_factor, KFactor) else KFactor.read(k_factor)


def _reads_mass(reads: str) -> bool:
    """Tell whether a unit is one of mass flow, refusing what is no flow."""
    dimension = read_unit(reads).dimension
    if dimension == read_unit("kg/s").dimension:
        return True
    if dimension == read_unit("m^3/s").dimension:
        return False
    raise DimensionError(f"reads: {reads!r} is {read_unit(reads).kind}; an indicator reads 'gal/h' or 'lb/h', say")


def _optional(value: Any, unit: str, name: str) -> Fraction | None:
    return None if value is None else exact_number(value, unit, name=name)
