"""The settings of an indicator as they were written, and the exact numbers that follow from them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Any

import numpy as np

from fuelunits.amounts import convert_exact, exact_amount, exact_density, exact_number, first_quantity, flow_unit_name
from fuelunits.errors import DimensionError, QuantityError
from fuelunits.indicators.display import displayed
from fuelunits.indicators.written import as_written, exact_hertz, is_frequency
from fuelunits.meters.k_factor import KFactor
from fuelunits.reports import Report, Reporting
from fuelunits.units import read_unit
from fuelunits.validation import boolean, check_type, whole_number

__all__ = ["IndicatorSettings"]

_MOST_CHANNELS = 64


@dataclass(frozen=True, init=False, repr=False)
class IndicatorSettings(Reporting):
    """What was entered into an indicator; the base of :class:`fuelunits.indicators.indicator.Indicator`.

    Attributes
    ----------
    k_factors : tuple of KFactor
        One for each channel.
    reads : str
        The unit displayed.
    fixed_density, resolution, low_flow_cutoff, total_resolution : str or None
        As they were written.
    channels : int
        How many transducers it has.
    feed_less_return : bool
        Whether the second channel is subtracted from the first.
    """

    k_factors: tuple[KFactor, ...]
    reads: str
    fixed_density: str | None
    resolution: str | None
    low_flow_cutoff: str | None
    channels: int
    total_resolution: str | None
    feed_less_return: bool

    def __init__(
        self,
        k_factor: Any,
        *,
        reads: str,
        fixed_density: Any = None,
        resolution: Any = None,
        low_flow_cutoff: Any = None,
        channels: int = 1,
        total_resolution: Any = None,
        feed_less_return: bool = False,
    ) -> None:
        first_quantity(k_factor, fixed_density, resolution, low_flow_cutoff, total_resolution)
        reads = flow_unit_name(check_type(reads, str, "reads", "a unit such as 'L/h'"))
        by_mass = _reads_mass(reads)
        if by_mass and fixed_density is None:
            raise QuantityError(
                f"fixed_density: {reads} is a mass flow, found with a density, for example fixed_density='6.7 lb/gal'"
            )
        if not by_mass and fixed_density is not None:
            raise QuantityError(f"fixed_density: {reads} is a volume flow and needs none; leave it out")
        total = reads.rpartition("/")[0]
        count = whole_number(channels, "channels", least=1, most=_MOST_CHANNELS)
        values = {
            "k_factors": _k_factors(k_factor, count),
            "reads": reads,
            "fixed_density": _optional(fixed_density, "kg/m^3", "fixed_density"),
            "resolution": _optional(resolution, reads, "resolution"),
            "low_flow_cutoff": _optional(low_flow_cutoff, reads, "low_flow_cutoff"),
            "channels": count,
            "total_resolution": _optional(total_resolution, total, "total_resolution"),
            "feed_less_return": boolean(feed_less_return, "feed_less_return"),
        }
        if feed_less_return and count != 2:
            raise QuantityError(f"feed_less_return: two channels are needed, feed and return; got {count}")
        for name, value in values.items():
            object.__setattr__(self, name, value)

    @property
    def k_factor(self) -> KFactor:
        """The K-factor of the first channel."""
        return self.k_factors[0]

    @cached_property
    def fixed_density_kg_m3(self) -> Fraction | None:
        """The fixed density, exactly, in kg/m³."""
        return exact_density(self.fixed_density)

    @cached_property
    def step(self) -> Fraction | None:
        """The display step, exactly, in the unit read."""
        return None if self.resolution is None else exact_number(self.resolution, self.reads, name="resolution")

    @cached_property
    def cutoff(self) -> Fraction:
        """The lowest flow displayed, exactly, in the unit read."""
        if self.low_flow_cutoff is None:
            return Fraction(0)
        return exact_number(self.low_flow_cutoff, self.reads, name="low_flow_cutoff")

    @property
    def total_unit(self) -> str:
        """The unit of its totals."""
        return self.reads.rpartition("/")[0]

    @cached_property
    def total_step(self) -> Fraction | None:
        """The step of its totals, exactly, in their unit."""
        if self.total_resolution is None:
            return None
        return exact_number(self.total_resolution, self.total_unit, name="total_resolution")

    @cached_property
    def flows_per_hz(self) -> tuple[Fraction, ...]:
        """What one pulse a second of each channel adds to the flow displayed, exactly, in the unit read."""
        signs = (1, -1) if self.feed_less_return else (1,) * self.channels
        return tuple(
            sign * convert_exact(1 / k.value, f"{k.unit}/s", self.reads, self.fixed_density_kg_m3)
            for sign, k in zip(signs, self.k_factors, strict=True)
        )

    def report(self) -> Report:
        """Return the settings in one line."""
        words = [" and ".join(map(str, dict.fromkeys(self.k_factors))), f"reading {self.reads}"]
        if self.fixed_density is not None:
            words.append(f"fixed density {self.fixed_density}")
        if self.resolution is not None:
            words.append(f"steps of {self.resolution}")
        if self.low_flow_cutoff is not None:
            words.append(f"zero below {self.low_flow_cutoff}")
        if self.channels > 1:
            words.append("feed less return" if self.feed_less_return else f"{self.channels} channels added")
        return Report(", ".join(words))

    def __str__(self) -> str:
        return self.report().title

    def frequencies_for(self, given: Any) -> tuple[Fraction, ...]:
        """Return the frequency of each channel, exactly, in Hz, for a flow, a frequency or one of them a channel.

        A flow is that of all channels together, in equal parts; with a return line both must be given.
        """
        if self.feed_less_return and not isinstance(given, (list, tuple)):
            raise QuantityError(f"flow: {given}; give feed and return, such as ('120 L/h', '90 L/h')")
        each_apart = isinstance(given, (list, tuple))
        parts = 1 if each_apart else self.channels
        return tuple(
            exact_hertz(each, "frequency")
            if is_frequency(each)
            else self.exact_in_unit_read(each) / parts / abs(per_hz)
            for each, per_hz in zip(self.for_each_channel(given), self.flows_per_hz, strict=True)
        )

    def exact_flow(self, frequencies_hz: Sequence[Fraction]) -> Fraction:
        """Return the flow of one frequency a channel, exactly, before the display rounds it."""
        return sum((hz * per_hz for hz, per_hz in zip(frequencies_hz, self.flows_per_hz, strict=True)), Fraction(0))

    def exact_in_unit_read(self, flow: Any) -> Fraction:
        """Return one flow in the unit read, exactly, converted by the fixed density where it is of the other kind."""
        return exact_amount(flow, self.reads, name="flow", density=self.fixed_density, zero=True)

    def true_k_factors(self, true_k: KFactor | str | None) -> tuple[KFactor, ...]:
        """Return the true K-factor of each channel; those entered by default."""
        return self.k_factors if true_k is None else (k_factor_or_text(true_k),) * self.channels

    def displayed_at(self, flow: Fraction) -> float:
        """Return what the display shows of an exact flow in the unit read."""
        return float(self.displayed_flow(float(flow)))

    def displayed_flow(self, flow: Any) -> Any:
        """Return what the display shows of a flow in the unit read, float or array."""
        negative = np.less(flow, 0)
        if np.any(negative):
            raise QuantityError("frequency: the return flow exceeds the feed flow; check which channel is which")
        return displayed(flow, step=self.step, cutoff=float(self.cutoff))

    def for_each_channel(self, given: Any) -> list[Any]:
        """Return one value for each channel, from one for all or a list of them."""
        each = list(given) if isinstance(given, (list, tuple)) else [given] * self.channels
        if len(each) != self.channels:
            raise QuantityError(f"frequency: {len(each)} given; give one for each of {self.channels} channels")
        return each


def k_factor_or_text(k_factor: KFactor | str) -> KFactor:
    return k_factor if isinstance(k_factor, KFactor) else KFactor.read(k_factor)


def _k_factors(given: Any, channels: int) -> tuple[KFactor, ...]:
    if not isinstance(given, (list, tuple)):
        return (k_factor_or_text(given),) * channels
    if len(given) != channels:
        raise QuantityError(f"k_factor: {len(given)} K-factors for channels={channels}; give one for each channel")
    return tuple(map(k_factor_or_text, given))


def _reads_mass(reads: str) -> bool:
    """Return whether a unit is one of mass flow, refusing what is no flow."""
    dimension = read_unit(reads).dimension
    if dimension == read_unit("kg/s").dimension:
        return True
    if dimension == read_unit("m^3/s").dimension:
        return False
    raise DimensionError(
        f"reads: {reads!r} is {read_unit(reads).kind}; an indicator reads 'L/h' or 'lb/h', for example"
    )


def _optional(value: Any, unit: str, name: str) -> str | None:
    if value is None:
        return None
    exact_number(value, unit, name=name)
    return as_written(value, unit, name)
