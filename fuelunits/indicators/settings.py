"""The settings of an indicator as they were written, and the exact numbers that they represent."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import KW_ONLY, dataclass
from fractions import Fraction
from functools import cached_property
from typing import Any

import numpy as np

from fuelunits.conversion import convert_exact, exact_amount, flow_unit_name
from fuelunits.errors import DimensionError, QuantityError
from fuelunits.fuels.density_reading import DENSITIES
from fuelunits.indicators.display import displayed
from fuelunits.indicators.written import coerce_text, is_frequency, set_fields
from fuelunits.meters.k_factor import KFactor
from fuelunits.pint_units import first_quantity
from fuelunits.quantities import exact_number, has_dimension, read_text
from fuelunits.reports import Report, Reporting
from fuelunits.units import factor, read_unit
from fuelunits.validation import boolean, check_type, whole_number

_MOST_CHANNELS = 64


@dataclass(frozen=True, repr=False)
class IndicatorSettings(Reporting):
    """What was entered into an indicator; the base of :class:`fuelunits.indicators.indicator.Indicator`."""

    k_factor: Any
    _: KW_ONLY
    reads: str
    fixed_density: Any = None
    resolution: Any = None
    low_flow_cutoff: Any = None
    channels: int = 1
    total_resolution: Any = None
    feed_less_return: bool = False

    def __post_init__(self) -> None:
        optional = (self.fixed_density, self.resolution, self.low_flow_cutoff, self.total_resolution)
        first_quantity(self.k_factor, *optional)
        reads = flow_unit_name(check_type(self.reads, str, "reads", "a unit such as 'L/h'"))
        if _reads_mass(reads) != (self.fixed_density is not None):
            raise QuantityError(
                f"fixed_density: {reads} is a volume flow and needs none; leave it out"
                if self.fixed_density is not None
                else f"fixed_density: {reads} is a mass flow and needs one, for example fixed_density='6.7 lb/gal'"
            )
        channels = whole_number(self.channels, "channels", least=1, most=_MOST_CHANNELS)
        is_less = boolean(self.feed_less_return, "feed_less_return")
        set_fields(self, reads=reads, channels=channels, feed_less_return=is_less)
        if self.feed_less_return and self.channels != 2:
            raise QuantityError(
                f"feed_less_return: two channels are needed, feed and return; got channels={self.channels}"
            )
        factors = self._each_k_factor(self.k_factor)
        set_fields(self, k_factor=factors[0] if len(set(factors)) == 1 else factors)
        units = {"resolution": reads, "low_flow_cutoff": reads, "total_resolution": self.total_unit}
        coerce_text(self, {"fixed_density": "kg/m^3", **units})
        for name, unit in units.items():
            self._exact(name, unit)
        self._check_density()

    def _check_density(self) -> None:
        """Refuse a fixed density that no fuel has, and name the unit in which its number would be one."""
        kg_m3 = self._exact("fixed_density", "kg/m^3")
        if kg_m3 is None or DENSITIES.contains(float(kg_m3)):
            return
        number = float(read_text(self.fixed_density)[0])
        likely = [unit for unit in ("lb/gal", "kg/L", "kg/m^3") if DENSITIES.contains(number * factor(unit, "kg/m^3"))]
        raise QuantityError(
            f"fixed_density: {self.fixed_density} is {float(kg_m3):.4g} kg/m³; fuels have from {DENSITIES.low:g} to "
            f"{DENSITIES.high:g} kg/m³" + f"; is it {number:g} {' or '.join(likely)}?" * bool(likely)
        )

    def _each_k_factor(self, given: Any) -> tuple[KFactor, ...]:
        """Return one K-factor for each channel, from one for all or a list of them."""
        return tuple(k if isinstance(k, KFactor) else KFactor.read(k) for k in self.for_each_channel(given, "K-factor"))

    def _exact(self, name: str, unit: str) -> Fraction | None:
        value = getattr(self, name)
        return None if value is None else exact_number(value, unit, name=name)

    @cached_property
    def k_factors(self) -> tuple[KFactor, ...]:
        """The K-factor of each channel."""
        return self._each_k_factor(self.k_factor)

    @cached_property
    def fixed_density_kg_m3(self) -> Fraction | None:
        """The fixed density, exactly, in kg/m³."""
        return self._exact("fixed_density", "kg/m^3")

    @cached_property
    def step(self) -> Fraction | None:
        """The display step, exactly, in the unit read."""
        return self._exact("resolution", self.reads)

    @cached_property
    def cutoff(self) -> Fraction:
        """The lowest flow displayed, exactly, in the unit read."""
        return self._exact("low_flow_cutoff", self.reads) or Fraction(0)

    @property
    def total_unit(self) -> str:
        """The unit of its totals."""
        return self.reads.rpartition("/")[0]

    @cached_property
    def total_step(self) -> Fraction | None:
        """The step of its totals, exactly, in their unit."""
        return self._exact("total_resolution", self.total_unit)

    @cached_property
    def flows_per_hz(self) -> tuple[Fraction, ...]:
        """What one pulse per second of each channel adds to the flow displayed, exactly, in the unit read."""
        signs = (1, -1) if self.feed_less_return else (1,) * self.channels
        return tuple(
            sign * convert_exact(1 / k.value, f"{k.unit}/s", self.reads, self.fixed_density_kg_m3)
            for sign, k in zip(signs, self.k_factors, strict=True)
        )

    def _in_words(self, flow: str | None) -> str | None:
        """Return a flow in the word for its unit that the indicator reads, where both are one unit: lb/h for pph."""
        unit = read_text(flow)[1] if flow else self.reads
        is_same = unit != self.reads and read_unit(unit).size == read_unit(self.reads).size
        return f"{flow.removesuffix(unit).rstrip()} {self.reads}" if flow and is_same else flow

    def report(self) -> Report:
        """Return the settings in one line."""
        words = {
            "": " and ".join(map(str, dict.fromkeys(self.k_factors))),
            "reading ": self.reads,
            "fixed density ": self.fixed_density,
            "steps of ": self._in_words(self.resolution),
            "zero below ": self._in_words(self.low_flow_cutoff),
        }
        told = [f"{name}{value}" for name, value in words.items() if value is not None]
        if self.channels > 1:
            told.append("feed less return" if self.feed_less_return else f"{self.channels} channels added")
        return Report(", ".join(told))

    def __str__(self) -> str:
        return self.report().title

    def frequencies_for(self, given: Any) -> tuple[Fraction, ...]:
        """Return the frequency of each channel, exactly, in Hz, for a flow, a frequency or one of them per channel."""
        each, parts = self._each_flow(given)
        return tuple(
            exact_number(one, "Hz", name="frequency", zero=True)
            if is_frequency(one)
            else self.exact_in_unit_read(one) / parts / abs(per_hz)
            for one, per_hz in zip(each, self.flows_per_hz, strict=True)
        )

    def flows_for(self, given: Any) -> tuple[Fraction, ...]:
        """Return what each channel adds to the flow displayed, exactly, in the unit read, for one flow or one each."""
        each, parts = self._each_flow(given)
        signs = [per_hz / abs(per_hz) for per_hz in self.flows_per_hz]
        return tuple(sign * self.exact_in_unit_read(one) / parts for one, sign in zip(each, signs, strict=True))

    def _each_flow(self, given: Any) -> tuple[list[Any], int]:
        """Return one flow for each channel, and in how many parts it is to be divided."""
        is_list = isinstance(given, (list, tuple))
        if self.feed_less_return and not is_list:
            raise QuantityError(f"flow: {given}; give feed and return, such as ('120 L/h', '90 L/h')")
        return self.for_each_channel(given), 1 if is_list else self.channels

    def exact_flow(self, frequencies_hz: Sequence[Fraction]) -> Fraction:
        """Return the flow of one frequency per channel, exactly, before the display rounds it."""
        return sum((hz * per_hz for hz, per_hz in zip(frequencies_hz, self.flows_per_hz, strict=True)), Fraction(0))

    def exact_in_unit_read(self, flow: Any) -> Fraction:
        """Return one flow in the unit read, exactly, converted by the fixed density where it is of the other kind."""
        if self.fixed_density is None and has_dimension(flow, "kg/s", name="flow"):
            raise DimensionError(
                f"flow: {flow} is a mass flow, and an indicator that reads {self.reads} has no fixed density; "
                f"write a flow in {self.reads}"
            )
        return exact_amount(flow, self.reads, name="flow", density=self.fixed_density, zero=True)

    def true_k_factors(self, true_k: Any) -> tuple[KFactor, ...]:
        """Return the true K-factor of each channel, from one for all or a list; those entered by default."""
        return self.k_factors if true_k is None else self._each_k_factor(true_k)

    def displayed_flow(self, flow: Any) -> Any:
        """Return what the display shows of a flow in the unit read, float or array."""
        if np.any(np.less(flow, 0)):
            raise QuantityError("frequency: the return flow exceeds the feed flow; check which channel is which")
        return displayed(flow, step=self.step, cutoff=float(self.cutoff))

    def for_each_channel(self, given: Any, name: str = "frequency") -> list[Any]:
        """Return one value for each channel, from one for all or a list of them."""
        each = list(given) if isinstance(given, (list, tuple)) else [given] * self.channels
        if len(each) != self.channels:
            raise QuantityError(f"{name}: {len(each)} given for channels={self.channels}; give one for each channel")
        return each


def _reads_mass(reads: str) -> bool:
    """Return whether a unit is one of mass flow, refusing any other unit."""
    dimension = read_unit(reads).dimension
    if dimension not in (read_unit("kg/s").dimension, read_unit("m^3/s").dimension):
        raise DimensionError(
            f"reads: {reads!r} is {read_unit(reads).kind}; an indicator reads 'L/h' or 'lb/h', for example"
        )
    return dimension == read_unit("kg/s").dimension
