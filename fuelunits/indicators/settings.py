"""The settings of an indicator as they were written, its display, and the check of a setting that it stores."""

from __future__ import annotations

from dataclasses import KW_ONLY, dataclass, field
from fractions import Fraction
from math import ceil, floor, inf, remainder
from typing import Any

import numpy as np

from fuelunits.confusions import number_looks_like
from fuelunits.conversion import convert_exact, density_kg_m3, exact_amount, flow_unit_name, kind_of
from fuelunits.errors import DimensionError, QuantityError
from fuelunits.indicators.written import as_written, coerce_text
from fuelunits.meters.k_factor import KFactor
from fuelunits.quantities import exact_number, first_quantity, has_dimension, read_text
from fuelunits.reports import Report, Reporting, format_percent
from fuelunits.uncertainty.decisions import Verdict
from fuelunits.units import read_unit
from fuelunits.validation import any_of, as_float, boolean, check_type, format_value, set_fields, whole_number

_COARSE = 0.01  # how far the nearest figure that can be held may be from what was intended (chosen, not from a source)
_KINDS = ("pulse/L", "kg/L", "L/h", "kg/h", "L", "kg", "Hz")
_SLACK = 1e-9  # display steps: a float this near below a change of the reading is beyond it; float errors are smaller
_MOST_DECIMALS = 6


@dataclass(frozen=True)
class Display:
    """A display that rounds to its steps, halves up, or truncates; zero where the value is below the cutoff."""

    step: Fraction | None = None
    cutoff: Fraction = Fraction(0)
    truncates: bool = False

    @property
    def errors(self) -> tuple[Fraction, Fraction]:
        """The lowest and the highest reading less the value, above the cutoff."""
        step = self.step or Fraction(0)
        return (-step, Fraction(0)) if self.truncates else (-step / 2, step / 2)

    @property
    def decimals(self) -> int:
        """How many decimals print a step exactly, up to six; three where there is no step."""
        if self.step is None:
            return 3
        exact = (places for places in range(_MOST_DECIMALS) if (self.step * 10**places).denominator == 1)
        return next(exact, _MOST_DECIMALS)

    def reading(self, value: Fraction) -> Fraction:
        """Return the reading for a value, exactly."""
        if value < self.cutoff:
            return Fraction(0)
        return value if self.step is None else floor((value + self.errors[1]) / self.step) * self.step

    def readings(self, values: Any) -> Any:
        """Return what :meth:`reading` does of a float or of an array."""
        given = rounded = as_float(values)
        if self.step is not None:
            steps = np.floor(given / float(self.step) + (0.0 if self.truncates else 0.5) + _SLACK)
            rounded = steps * float(self.step.numerator) / float(self.step.denominator)
        hidden = given < float(self.cutoff) * (1.0 - _SLACK)
        return (0.0 if hidden else float(rounded)) if isinstance(given, float) else np.where(hidden, 0.0, rounded)

    def can_show(self, number: float, is_converted: bool) -> bool:
        """Return whether a number, which conversion may round, lies on the steps, and not below the cutoff."""
        step = float(self.step or 0.0)
        slack = (1.0 if is_converted else 1e-6) * (step or number / 100.0)
        is_on_step = not step or abs(remainder(number, step)) <= slack
        return is_on_step and number >= float(self.reading(self.cutoff)) - slack

    def within(self, low: Fraction, high: Fraction) -> tuple[Fraction, Fraction] | None:
        """Return the lowest and the highest of its steps from `low` to `high`, or None without one."""
        if self.step is not None:
            low, high = ceil(low / self.step) * self.step, floor(high / self.step) * self.step
        return (low, high) if low <= high else None


@dataclass(frozen=True, repr=False)
class IndicatorSettings(Reporting):
    """What was entered into an ``Indicator``, and what follows exactly, such as the flow of a pulse each second."""

    k_factor: Any
    _: KW_ONLY
    reads: str
    fixed_density: Any = None
    resolution: Any = None
    low_flow_cutoff: Any = None
    channels: int = 1
    total_resolution: Any = None
    feed_less_return: bool = False
    truncates: bool = False
    k_factors: tuple[KFactor, ...] = field(init=False, repr=False)
    fixed_density_kg_m3: Fraction | None = field(init=False, repr=False)
    total_unit: str = field(init=False, repr=False)
    display: Display = field(init=False, repr=False)
    total_display: Display = field(init=False, repr=False)
    flows_per_hz: tuple[Fraction, ...] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        first_quantity(self.k_factor, self.fixed_density, self.resolution, self.low_flow_cutoff, self.total_resolution)
        reads = flow_unit_name(check_type(self.reads, str, "reads", "a unit such as 'L/h'"))
        is_mass = kind_of(f"1 {reads}", ("m^3/s", "kg/s"), name="reads") == "kg/s"
        if is_mass is (self.fixed_density is None):
            needed = "needs one, for example fixed_density='6.7 lb/gal'" if is_mass else "needs none; leave it out"
            raise QuantityError(f"fixed_density: {reads} is {read_unit(reads).kind} and {needed}")
        set_fields(
            self,
            reads=reads,
            channels=whole_number(self.channels, "channels", least=1, most=64),
            feed_less_return=boolean(self.feed_less_return, "feed_less_return"),
            truncates=boolean(self.truncates, "truncates"),
        )
        if self.feed_less_return and self.channels != 2:
            raise QuantityError(f"feed_less_return: feed and return are two channels; got channels={self.channels}")
        if self.truncates and self.resolution is None and self.total_resolution is None:
            raise QuantityError(f"truncates: to which step? give resolution, for example '0.1 {reads}'")
        each, total_unit = self.each_k_factor(self.k_factor), reads.rpartition("/")[0]
        set_fields(self, k_factor=each[0] if len(set(each)) == 1 else each, k_factors=each, total_unit=total_unit)
        units = {"resolution": reads, "low_flow_cutoff": reads, "total_resolution": total_unit}
        coerce_text(self, {"fixed_density": "kg/m^3", **units})
        step, cutoff, total_step = (
            None if (value := getattr(self, name)) is None else exact_number(value, unit, name=name)
            for name, unit in units.items()
        )
        set_fields(
            self,
            fixed_density_kg_m3=density_kg_m3(self.fixed_density, "fixed_density") if is_mass else None,
            display=Display(step, cutoff or Fraction(0), self.truncates),
            total_display=Display(total_step, truncates=self.truncates),
            flows_per_hz=tuple(
                sign * convert_exact(1 / k.value, f"{k.unit}/s", reads, self.fixed_density)
                for sign, k in zip((1, -1) if self.feed_less_return else (1,) * self.channels, each, strict=True)
            ),
        )

    def for_each_channel(self, given: Any, name: str = "frequency") -> list[Any]:
        """Return one value for each channel, from one for all or a list of them."""
        each = list(given) if isinstance(given, (list, tuple)) else [given] * self.channels
        if len(each) != self.channels:
            raise QuantityError(f"{name}: {len(each)} given for channels={self.channels}; give one for each channel")
        return each

    def each_k_factor(self, given: Any) -> tuple[KFactor, ...]:
        """Return one K-factor for each channel, from one for all or a list of them."""
        return tuple(k if isinstance(k, KFactor) else KFactor.read(k) for k in self.for_each_channel(given, "K-factor"))

    @property
    def exact(self) -> tuple[Any, ...]:
        """Everything that decides a reading, exactly: equal for settings that are only written otherwise."""
        return self.reads, self.fixed_density_kg_m3, self.flows_per_hz, self.display, self.total_display

    def report(self) -> Report:
        words = {"fixed density": self.fixed_density, "steps of": self.resolution, "zero below": self.low_flow_cutoff}
        told = [" and ".join(map(str, dict.fromkeys(self.k_factors))), f"reading {self.reads}"]
        told += [f"{name} {value}" for name, value in words.items() if value is not None]
        several = "feed less return" if self.feed_less_return else f"{self.channels} channels added"
        told += ["truncating"] * self.truncates + [several] * (self.channels > 1)
        return Report(", ".join(told))

    def __str__(self) -> str:
        return self.report().title

    def _each_flow(self, given: Any) -> tuple[list[Any], int]:
        """Return one flow for each channel, and in how many parts it is to be divided."""
        is_list = isinstance(given, (list, tuple))
        if self.feed_less_return and not is_list:
            raise QuantityError(f"flow: {given}; give feed and return, such as ('120 L/h', '90 L/h')")
        return self.for_each_channel(given), 1 if is_list else self.channels

    def frequencies_for(self, given: Any) -> tuple[Fraction, ...]:
        """Return the frequency of each channel, exactly, in Hz, for a flow, a frequency or one of them per channel."""
        each, parts = self._each_flow(given)
        return tuple(
            exact_number(one, "Hz", name="frequency", zero=True)
            if has_dimension(one, "Hz")
            else self._in_unit_read(one) / parts / abs(per_hz)
            for one, per_hz in zip(each, self.flows_per_hz, strict=True)
        )

    def flows_for(self, given: Any) -> tuple[Fraction, ...]:
        """Return what each channel adds to the flow displayed, exactly, in the unit read, for one flow or one each."""
        each, parts = self._each_flow(given)
        flows = [self._in_unit_read(one) / parts for one in each]
        return tuple(flow if per_hz > 0 else -flow for flow, per_hz in zip(flows, self.flows_per_hz, strict=True))

    def _in_unit_read(self, flow: Any) -> Fraction:
        """Return one flow in the unit read, exactly, converted by the fixed density where it is of the other kind."""
        if self.fixed_density is None and has_dimension(flow, "kg/s"):
            lacks = f"an indicator that reads {self.reads} has no fixed density; write a flow in {self.reads}"
            raise DimensionError(f"flow: {flow} is a mass flow, and {lacks}")
        return exact_amount(flow, self.reads, name="flow", density=self.fixed_density, zero=True)

    def displayed_flow(self, flow: Any) -> Any:
        """Return what the display shows of a flow in the unit read, float or array."""
        given = as_float(flow)
        if any_of(given < 0.0):
            raise QuantityError("frequency: the return flow exceeds the feed flow; check which channel is which")
        if any_of(given == inf):
            raise QuantityError(f"flow: {format_value(flow)} is too large a number")
        return self.display.readings(given)


@dataclass(frozen=True, repr=False)
class StoredSetting(Reporting):
    """A setting as intended, held and displayed; accepted as the nearest, undecided if that is over 1 % off."""

    intended: str
    step: str
    displayed: str
    held: str
    difference: float
    verdict: Verdict
    because: str = ""

    def report(self) -> Report:
        facts = {
            "nearest that can be held": f"{self.held}, in steps of {self.step}",
            "displayed": self.displayed,
            "displayed differs by": format_percent(self.difference, signed=True),
        }
        return Report(f"stored setting, intended {self.intended}", f"{self.verdict.value}{self.because}", facts)


def check_stored(intended: Any, *, step: Any, displayed: Any) -> StoredSetting:
    """Return the check of a setting, such as a K-factor or a fixed density, that was entered into an indicator.

    Parameters
    ----------
    intended : KFactor, str or pint.Quantity, what was to be entered: ``"11412.4 pulse/L"``, ``"0.8034 kg/L"``; a
        density that no liquid fuel has is refused, and a K-factor too large to be read as one
    step, displayed : str or pint.Quantity, in which the indicator holds it, and what it displays after the entry

    Examples
    --------
    >>> check_stored("11412.4 pulse/L", step="1 pulse/L", displayed="11421 pulse/L").verdict.value
    'reject'
    """
    if insist := isinstance(intended, KFactor):
        intended = f"{float(intended)!r} pulse/{intended.unit}"
    first_quantity(intended, step, displayed)
    texts = {
        name: as_written(value, "" if isinstance(value, str) else kind_of(value, _KINDS, name=name), name)
        for name, value in {"intended": intended, "step": step, "displayed": displayed}.items()
    }
    unit = read_unit(read_text(texts["intended"])[1]).name
    right, size, found = (exact_number(text, unit, name=name) for name, text in texts.items())
    if has_dimension(texts["intended"], "kg/m^3"):
        density_kg_m3(texts["intended"], "intended")
    elif has_dimension(texts["intended"], "pulse/L"):
        KFactor(exact_number(texts["intended"], "pulse/L", name="intended"), per="L", insist=insist)
    display, difference = Display(size), float(found / right - 1)
    nearest, verdict, because = display.reading(right), Verdict.ACCEPT, ""
    if not nearest:
        raise QuantityError(f"step: {texts['step']} is too coarse to hold {texts['intended']}")
    if found % size == 0 and abs(found - right) == size / 2:
        nearest = found  # half way between two steps, either is the nearest
    if found != nearest:
        verdict, because = Verdict.REJECT, number_looks_like(float(found), float(right), unit)
    elif abs(difference) > _COARSE:
        off = format_percent(difference, signed=True)
        verdict, because = Verdict.UNDECIDED, f": the step is too coarse for what was intended, {off} off"
    held = f"{float(nearest):.{display.decimals}f} {unit}"
    return StoredSetting(**texts, held=held, difference=difference, verdict=verdict, because=because)
