"""A fuel-flow indicator: pulses over the K-factor entered, and for a mass flow times one fixed density.

The fixed density equals that of the fuel at one temperature, and nowhere else. The display has steps, and is
zero below a cutoff. Several channels are several transducers whose flows the display adds; with a return line, the
second is subtracted from the first. Where each engine has a display of its own, each is an indicator of one channel.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from fuelunits.conversion import kind_of
from fuelunits.errors import DimensionError, QuantityError
from fuelunits.fuels.grades import fuel as find_fuel
from fuelunits.fuels.liquids import remarks_of
from fuelunits.indicators.bench_sheet import BenchSheet, Generator
from fuelunits.indicators.error_budget import ErrorBudget, indicator_budget
from fuelunits.indicators.settings import IndicatorSettings
from fuelunits.meters.k_factor import KFactor
from fuelunits.pint_units import answer, first_quantity
from fuelunits.quantities import PairLike, QuantityLike, positive, temperature_c
from fuelunits.reports import Report, Reporting, format_percent
from fuelunits.units import factor
from fuelunits.validation import check_type


class Indicator(IndicatorSettings):
    """A display of volume or mass flow, driven by the pulses of volume transducers.

    Parameters
    ----------
    k_factor : KFactor or str, or a list of them, the K-factor entered, of each channel
    reads : str, the unit displayed: a volume flow or a mass flow
    fixed_density : str or pint.Quantity, optional, the density that it assumes; needed for a mass flow, and only there
    resolution, total_resolution : str or pint.Quantity, optional
        The steps of its flow and of its totals, such as ``"0.1 L/h"`` and ``"0.1 L"``; no steps by default.
    low_flow_cutoff : str or pint.Quantity, optional, the lowest flow that it displays, of all channels together
    channels : int, how many transducers it has
    feed_less_return : bool, whether the flow of the second channel, in the return line, is subtracted from the first's
    truncates : bool, whether it truncates to its steps, reading up to a step low, where others round

    Examples
    --------
    >>> kg_h = Indicator("11412 pulse/L", reads="kg/h", fixed_density="0.8 kg/L", resolution="0.5 kg/h")
    >>> kg_h
    <Indicator: 11412 pulse/L, reading kg/h, fixed density 0.8 kg/L, steps of 0.5 kg/h>
    >>> kg_h.reading("150 Hz").magnitude
    38.0
    """

    def reading(self, frequency: Any) -> Any:
        """Return the reading for one frequency into every channel, scalar or array, or a list of them.

        Examples
        --------
        >>> twin = Indicator(["11412 pulse/L", "11286 pulse/L"], reads="L/h", resolution="0.1 L/h", channels=2)
        >>> twin.reading("100 Hz").magnitude, twin.reading(["100 Hz", "0 Hz"]).magnitude
        (63.4, 31.5)
        """
        given = self.for_each_channel(frequency)
        hz = [positive(each, "Hz", name="frequency", zero=True) for each in given]
        flow = sum(each * float(per_hz) for each, per_hz in zip(hz, self.flows_per_hz, strict=True))
        return answer(self.displayed_flow(flow), self.reads, first_quantity(*given))

    def reading_of(
        self,
        true_flow: QuantityLike,
        fuel: Any = None,
        at: QuantityLike | None = None,
        true_k: KFactor | str | None = None,
    ) -> Any:
        """Return the reading while a true flow passes, of all channels together, in equal parts.

        A mass flow needs the fuel and its temperature at the transducer; `true_k` is one for all or for each channel.
        """
        if (fuel is None) != (at is None):
            raise QuantityError("fuel and at: give both, the fuel and its temperature, or neither")
        if self.feed_less_return:
            raise QuantityError("true_flow: feed and return are two flows; use reading([...]) with both frequencies")
        like = first_quantity(true_flow, at, true_k)
        kind = kind_of(true_flow, ("m^3/s", "kg/s"), name="true_flow")
        m3_s = positive(true_flow, kind, name="true_flow", zero=True)
        kg_m3 = None if fuel is None else find_fuel(fuel).density_kg_m3(temperature_c(at, name="at"))
        if kind == "kg/s":
            if kg_m3 is None:
                raise DimensionError(
                    f"true_flow: {true_flow} is a mass flow; give the fuel and its temperature as well"
                )
            m3_s = m3_s / kg_m3
        pairs = zip(self._true(true_k), self.flows_per_hz, strict=True)
        per_m3_s = float(sum(k.exact_per("m^3") * per_hz for k, per_hz in pairs) / self.channels)
        return answer(self.displayed_flow(m3_s * per_m3_s), self.reads, like)

    def _true(self, true_k: Any) -> tuple[KFactor, ...]:
        """Return the true K-factor of each channel, from one for all or a list; those entered by default."""
        return self.k_factors if true_k is None else self.each_k_factor(true_k)

    def error_budget(
        self,
        fuel: Any = None,
        *,
        flow: QuantityLike,
        between: PairLike | None = None,
        true_k: KFactor | str | Sequence[KFactor | str] | None = None,
        k_at_flow: QuantityLike = "0 %",
        gate_time: Any = None,
        smoothing: Any = None,
        change_per_minute: Any = None,
    ) -> ErrorBudget:
        """Split the error of the display into its causes, and combine them.

        Parameters
        ----------
        fuel, between : the fuel or its name, and the ends of its temperatures, where the indicator reads a mass flow
        flow : str or pint.Quantity, the true flow; or a list of one for each channel: feed and return
        true_k : KFactor or str, or a list of one for each channel, optional, as calibrated; by default those entered
        k_at_flow : str or pint.Quantity
            By how much K at this flow and viscosity exceeds that, with its sign, from the meter's curve: ``"-0.4 %"``.
        gate_time : str or pint.Quantity, optional, for how long the indicator counts pulses for one reading
        smoothing, change_per_minute : str or pint.Quantity, optional
            Time constant of its smoothing, and the relative change of the flow per minute: ``"3 %"``.

        Examples
        --------
        >>> l_h = Indicator("11412 pulse/L", reads="L/h", resolution="0.5 L/h")
        >>> budget = l_h.error_budget(flow="50 L/h", true_k="11480 pulse/L", gate_time="1 s")
        >>> [(part.name, round(part.low, 5), round(part.high, 5)) for part in budget.parts][2:]
        [('counting', -0.00627, 0.00627), ('display step', -0.005, 0.005)]
        """
        first_quantity(flow, between, true_k, k_at_flow, gate_time, smoothing, change_per_minute)
        lag = smoothing, change_per_minute
        return indicator_budget(self, fuel, flow, between, self._true(true_k), k_at_flow, gate_time, lag)

    def bench_points(
        self, flows: Sequence[Any], tolerance: QuantityLike, *, generator: Generator | None = None
    ) -> BenchSheet:
        """Return the sheet from which a technician injects pulses; a point that cannot be judged says why.

        Parameters
        ----------
        flows : sequence of flows of all channels (``"60 L/h"``), frequencies (``"100 Hz"``), totals (``"10 L"``),
            :class:`LowFuelPoint`; or tuples of flows or frequencies, one for each channel
        tolerance : str or pint.Quantity, part of the value displayed, ``"2 %"``, or a flow of the kind read
        generator : Generator, optional, where its steps and uncertainty are to count
        """
        return BenchSheet(self, flows, tolerance, generator)  # type: ignore[arg-type]

    def compare(
        self,
        other: Indicator,
        line: QuantityLike,
        *,
        fuel: Any = None,
        at: QuantityLike | None = None,
        true_k: KFactor | str | None = None,
        other_true_k: KFactor | str | None = None,
    ) -> Comparison:
        """Compare the readings of two indicators on one fuel line, in any units.

        Both see one frequency, where one transducer feeds both, or one true flow, with the true K-factors of their
        transducers. `fuel` and `at` are those of :meth:`reading_of`.
        """
        check_type(other, Indicator, "other", "an Indicator")
        first_quantity(line, at, true_k, other_true_k)
        if kind_of(line, ("Hz", "m^3/s", "kg/s"), name="line") == "Hz":
            if true_k is not None or other_true_k is not None:
                raise QuantityError("true_k: a frequency is what the indicators count; leave out the true K-factors")
            first, second = self.reading(line), other.reading(line)
        else:
            first = self.reading_of(line, fuel, at, true_k)
            second = other.reading_of(line, fuel, at, other_true_k)
        if np.ndim(first.magnitude):
            raise QuantityError(f"line: {line} is an array; compare at one frequency or flow")
        liquid = None if fuel is None else find_fuel(fuel)
        density = None if liquid is None else float(liquid.density_kg_m3(temperature_c(at, name="at")))
        one, two = float(first.magnitude), float(second.magnitude)
        same = _is_mass(self) == _is_mass(other)
        difference = two * factor(other.reads, self.reads) / one - 1.0 if same and one else None
        pair = ((self, one), (other, two)) if _is_mass(self) else ((other, two), (self, one))
        implied = None if same or not one or not two else _implied_density(*pair)
        remarks = remarks_of(liquid, limits=False)
        return Comparison(one, self.reads, two, other.reads, density, difference, implied, remarks)


def _is_mass(indicator: Indicator) -> bool:
    return indicator.fixed_density is not None


def _implied_density(mass: tuple[Indicator, float], volume: tuple[Indicator, float]) -> tuple[float, float]:
    """Return the lowest and highest density, kg/m³, of which two indicators display the mass and the volume."""
    (low_kg, high_kg), (low_m3, high_m3) = (
        [(reading - float(error)) * factor(indicator.reads, unit) for error in indicator.display.errors[::-1]]
        for (indicator, reading), unit in ((mass, "kg/s"), (volume, "m^3/s"))
    )
    return low_kg / high_m3, high_kg / low_m3 if low_m3 > 0.0 else math.inf


@dataclass(frozen=True, repr=False)
class Comparison(Reporting):
    """The readings of two indicators, and the density of the fuel if given; made by ``Indicator.compare``.

    The relative difference, by which the second exceeds the first, is that of two of one kind. One of mass and one of
    volume have the range of densities, within their display steps, at which they agree. It is not a measured density:
    it repeats the fixed density of the indicator of mass, with any disagreement on K.
    """

    first: float
    first_unit: str
    second: float
    second_unit: str
    fuel_density_kg_m3: float | None
    relative_difference: float | None
    implied_density_kg_m3: tuple[float, float] | None
    remarks: tuple[str, ...] = ()

    def report(self) -> Report:
        ends = " to ".join(dict.fromkeys(f"{each:.1f}" for each in self.implied_density_kg_m3 or ()))
        fuel, difference = self.fuel_density_kg_m3, self.relative_difference
        facts = {
            "density at which both agree": ends and f"{ends} kg/m³",
            "density of the fuel": fuel and f"{fuel:.1f} kg/m³",
        }
        title = f"first indicator {self.first:.6g} {self.first_unit}, second {self.second:.6g} {self.second_unit}"
        words = "" if difference is None else f"second differs from first by {format_percent(difference, signed=True)}"
        return Report(title, words, facts, remarks=self.remarks)
