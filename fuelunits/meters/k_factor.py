"""The K-factor of a transducer: how many pulses it gives for a volume; and how finely a count of pulses resolves.

rate = frequency / K, total = count / K. Counts stay whole numbers: add counts, then divide once. A count is uncertain
by one pulse: one in N over N `pulses`, one over the gate time in hertz; a clock counted over whole periods, by its own.
Figures are floats or arrays, positive and finite; NaN passes. A `relative` one is a fraction: 0.0001 for 0.01 %.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from numbers import Integral, Rational, Real
from typing import Any, ClassVar

from fuelunits.confusions import diagnose_fill_up
from fuelunits.conversion import convert
from fuelunits.errors import DimensionError, FuelUnitsError, QuantityError
from fuelunits.pint_units import answer, first_quantity, is_quantity
from fuelunits.quantities import QuantityLike, exact_number, magnitude, positive, read_text, refuse_angles
from fuelunits.reports import Report, Reporting
from fuelunits.units import exact_factor, read_unit
from fuelunits.validation import (
    as_float,
    as_float_array,
    boolean,
    carries_unit,
    format_value,
    is_number,
    is_positive,
    of_one_shape,
    positive_number,
    set_fields,
    whole_number,
)

GROSS = 0.08
"""A deviation beyond this is a mistake of an entry, a unit or the pulses (common practice)."""
_LARGEST_PER_L = 1_000_000
"""Common practice, from memory: transducers for aircraft engines give some thousands to some ten thousands."""
_SMALLEST, _LARGEST = Fraction(1, 10**100), Fraction(10**100)


@dataclass(frozen=True, init=False, repr=False)
class KFactor(Reporting):
    """Pulses per unit of volume.

    Parameters
    ----------
    pulses : int, float or Fraction, positive, per unit of volume; kept exactly in `value`, a float as it prints
    per : str, the unit of volume: ``"L"``, ``"gal"`` (US), ``"imp_gal"``; kept in the attribute `unit`
    insist : bool, take a K-factor of more than a million pulses per litre, which is refused otherwise

    Examples
    --------
    >>> k = KFactor(11_412, per="L")
    >>> print(k)
    11412 pulse/L
    >>> round(k.per("gal"), 2), round(k.per("kg", density="0.8 kg/L"), 2)
    (43199.12, 14265.0)
    >>> print(k.rounded(5), k.adjusted(indicated="408 L", delivered="400 L"), sep=", ")
    11410 pulse/L, 11640.24 pulse/L
    >>> f"{k.flow('99.855 Hz').magnitude:.3f}", f"{k.frequency('31.5 L/h').m_as('Hz'):.3f}"
    ('31.500', '99.855')
    """

    value: Fraction
    unit: str
    _plain: ClassVar[tuple[str, ...]] = ("pulses_per_l",)

    def __init__(self, pulses: float | Rational, *, per: str, insist: bool = False) -> None:
        unit = read_unit(per)
        if unit.dimension != (("m", 3),):
            raise DimensionError(f"a K-factor is pulses per volume; {per!r} is {unit.kind}; write for example per='L'")
        set_fields(self, value=_positive_fraction(pulses), unit=unit.name)
        if not boolean(insist, "insist") and self.exact_per("L") > _LARGEST_PER_L:
            raise QuantityError(
                f"K-factor: {self} is {self.pulses_per_l:,.0f} pulses per litre, more than transducers give; "
                f"is the unit of volume wrong, or is it {_short(self.value / 1000, 7)} pulse/{self.unit}? "
                f"if it is meant as it stands, write insist=True"
            )

    @classmethod
    def read(cls, text: Any, *, insist: bool = False) -> KFactor:
        """Return the K-factor of text such as ``"11412 pulse/L"`` or ``"2950/L"``, or of a pint quantity."""
        number, per = _read_pulses_per_volume(text)
        return cls(number, per=per, insist=insist)

    def _with(self, value: Fraction) -> KFactor:
        return KFactor(value, per=self.unit, insist=True)

    def __str__(self) -> str:
        return f"{_short(self.value, 7)} pulse/{self.unit}"

    def __repr__(self) -> str:
        return f"KFactor({_short(self.value, 15)}, per={self.unit!r})"

    def __float__(self) -> float:
        return float(self.value)

    def report(self) -> Report:
        units = dict.fromkeys((self.unit, "gal", "imp_gal", "L"))
        return Report(f"K-factor {self}", facts={f"pulses per {unit}": f"{self.per(unit):.7g}" for unit in units})

    @property
    def pulses_per_l(self) -> float:
        """Pulses per litre."""
        return self.per("L")

    def exact_per(self, unit: str) -> Fraction:
        """Return the pulses per another unit of volume, exactly."""
        return self.value * exact_factor(unit, self.unit)

    def per(self, unit: str, *, density: QuantityLike | None = None) -> float:
        """Return the pulses per another unit of volume, or of mass with the density of the fuel."""
        if density is None:
            return float(self.exact_per(unit))
        return float(self.value) * convert(1.0, unit, self.unit, density=density)

    def to(self, unit: str) -> KFactor:
        """Return the same K-factor per another unit of volume."""
        return KFactor(self.exact_per(unit), per=unit, insist=True)

    def frequency(self, flow: QuantityLike) -> Any:
        """Return the pulse frequency of a volume flow (text or quantity, scalar or array) as a quantity in Hz."""
        per_hour = positive(flow, f"{self.unit}/h", name="flow", zero=True)
        return answer(as_float(per_hour) * float(self) / 3600.0, "Hz", flow)

    def flow(self, frequency: QuantityLike) -> Any:
        """Return the volume flow of a frequency such as ``"99.8 Hz"`` or ``"6000 pulse/min"``, in its unit per hour."""
        hz = positive(frequency, "Hz", name="frequency", zero=True)
        return answer(3600.0 * as_float(hz) / float(self), f"{self.unit}/h", frequency)

    def volume(self, pulses: Any, *, like: Any = None) -> Any:
        """Return the volume of a count, or of each of an array, in its unit and the registry of the quantity `like`."""
        return answer(whole_counts(pulses) / float(self), self.unit, like)

    def pulses(self, volume: Any) -> Any:
        """Return how many pulses a volume such as ``"100 L"`` makes, as a plain number that need not be whole."""
        return positive(volume, self.unit, name="volume", zero=True) * float(self)

    def rounded(self, step: float = 1) -> KFactor:
        """Return this K-factor as an indicator with steps of pulses per unit stores it; halves go up."""
        size = _positive_fraction(step, "step", 10)
        whole = (self.value / size + Fraction(1, 2)).__floor__()
        if not whole:
            raise QuantityError(f"{self} rounds to zero in steps of {float(size):g}; the step is too coarse")
        return self._with(whole * size)

    def relative_error_to(self, true_k: Any) -> float:
        """Return by how much this K-factor exceeds the true one (a KFactor or its text), as a fraction."""
        true = k_factor_of(true_k, "true_k")
        return float(self.exact_per(true.unit) / true.value - 1)

    def indication_error(self, true_k: Any) -> float:
        """Return the relative error of the indication with this K-factor entered, for a transducer of the true K."""
        return float(k_factor_of(true_k, "true_k").exact_per(self.unit) / self.value - 1)

    def adjusted(self, *, indicated: QuantityLike, delivered: QuantityLike, insist: bool = False) -> KFactor:
        """Return the K-factor that would have indicated the volume delivered: K times indicated/delivered.

        Delivered is the volume at delivery temperature: convert a ticket in litres at 15 °C with ``gross_volume`` of
        the batch first. Volumes that differ by more than 8 % are refused, unless `insist` says that both are right.
        """
        first_quantity(indicated, delivered)
        read, true = (
            exact_number(volume, self.unit, name=name)
            for volume, name in ((indicated, "indicated"), (delivered, "delivered"))
        )
        if not boolean(insist, "insist") and abs(read / true - 1) > GROSS:
            why = "a transducer does not err so much"
            with suppress(FuelUnitsError):  # a unit of another library that has no name here
                units = [read_text(str(volume))[1] for volume in (indicated, delivered)]
                why = " or ".join(map(str, diagnose_fill_up(float(read / true), *units)[:3])) or why
            raise QuantityError(
                f"K-factor: {indicated} indicated is {float(read / true):.4g} times the {delivered} delivered: {why}; "
                f"find the cause, or write insist=True if both are right"
            )
        return self._with(self.value * read / true)

    def prescaled(self, pulses_per_output: int) -> KFactor:
        """Return the K-factor of an output with one pulse for a number of the transducer's pulses."""
        return self._with(self.value / whole_number(pulses_per_output, "pulses_per_output", least=1))


def k_factor_of(value: Any, name: str = "k_factor") -> KFactor:
    """Return a K-factor from a KFactor, text or a pint quantity."""
    if isinstance(value, KFactor):
        return value
    try:
        return KFactor.read(value)
    except FuelUnitsError as wrong:
        raise type(wrong)(f"{name}: {wrong}") from wrong


def _short(value: Fraction, digits: int) -> str:
    return f"{value.numerator}" if value.denominator == 1 else f"{float(value):.{digits}g}"


def _read_pulses_per_volume(text: Any) -> tuple[Fraction, str]:
    """Read ``"11412 pulse/L"``, ``"11412/L"`` or a quantity into the number and the unit of volume."""
    if carries_unit(text):
        return _positive_fraction(_pulses_per_litre(text), given=text), "L"
    if not isinstance(text, str):
        raise QuantityError(
            f"K-factor: {format_value(text)} has no unit; write '11412 pulse/L' or KFactor(11412, per='L')"
        )
    number, unit = read_text(text)
    if unit.startswith(("/", "per ")):
        unit = "pulse " + unit
    counted, _, per = unit.replace(" per ", "/").partition("/")
    if counted.strip() not in ("pulse", "pulses") or not per:
        raise DimensionError(f"K-factor: {text!r} is not pulses per volume; write for example '11412 pulse/L'")
    return _positive_fraction(number, given=text), per.strip()


def _pulses_per_litre(quantity: Any) -> float:
    """Read a quantity of any library as pulses per litre: 1/volume and count/volume are read as pulses."""
    unit = "1/L"
    if is_quantity(quantity):
        refuse_angles(quantity, "K-factor")
        roots = type(quantity)(1.0, quantity.units).to_root_units().unit_items()
        unit = "pulse/L" if any(name == "pulse" for name, _ in roots) else unit
    try:
        return float(exact_number(quantity, unit, name="K-factor"))
    except DimensionError as mismatch:
        raise DimensionError(f"K-factor: {quantity} is not pulses per volume") from mismatch


def _positive_fraction(number: Any, name: str = "K-factor", example: object = 11412, given: Any = None) -> Fraction:
    """Return a number exactly, a float as the decimal number that it prints; `given` is what the user wrote."""
    value = Fraction(0)
    if is_number(number):
        with suppress(ValueError, OverflowError):
            if isinstance(number, (Integral, Rational)):
                value = Fraction(int(number.numerator), int(number.denominator))
            elif isinstance(number, (Real, Decimal)):
                # text, since float(np.float32(0.1)) prints other digits than the number that was given
                value = Fraction(str(number))
    if not _SMALLEST < value < _LARGEST:
        wrong = format_value(number if given is None else given)
        raise QuantityError(f"{name} must be positive and finite, for example {example}; got {wrong}")
    return value


def in_unit(value: Any, unit: str, name: str) -> Any:
    """Return text or a quantity of any library in the unit that the argument's name states; anything else as it is."""
    return magnitude(value, unit, name=name) if isinstance(value, str) or carries_unit(value) else value


def positive_in_unit(value: Any, unit: str, name: str) -> float:
    """Return one positive number in a unit, from a number, text or a quantity."""
    return positive_number(in_unit(value, unit, name), name)


def positive_floats(value: Any, name: str) -> Any:
    """Return a float or floating-point array, positive and finite; NaN passes."""
    number = as_float(value)
    if not is_positive(number):
        raise QuantityError(f"{name} must be positive and finite; got {format_value(value)}")
    return number


def whole_counts(pulses: Any, name: str = "pulses") -> Any:
    """Return counts as float: whole numbers that are not negative, one or an array of any library."""
    import numpy as np

    try:
        number = as_float_array(pulses, name)
    except (QuantityError, TypeError, ValueError) as wrong:
        raise QuantityError(f"{name}: {format_value(pulses)}: a whole number is needed ({wrong})") from wrong
    if not np.all(np.isfinite(number)) or np.any(number != np.floor(number)):
        raise QuantityError(f"{name}: {format_value(pulses)} is not a whole number, and counts are whole numbers")
    if np.any(number < 0):
        raise QuantityError(f"{name}: {format_value(pulses)} is negative")
    return number if number.ndim else float(number)


def gate_resolution_hz(gate_s: Any) -> Any:
    """Return the step, Hz, of a frequency found by counting whole pulses in a gate: 1/gate [frequency_counter_note].

    Parameters
    ----------
    gate_s : float or array, s, or text or a quantity such as ``"0.1 s"``

    Examples
    --------
    >>> gate_resolution_hz(0.1)
    10.0
    """
    return 1.0 / positive_floats(in_unit(gate_s, "s", "gate_s"), "gate_s")


def period_resolution(frequency_hz: Any, clock_hz: Any, *, periods: int = 1) -> Any:
    """Return the relative step, a fraction, of a frequency found by counting a clock over whole periods.

    The one count in ``n_clock`` of a reciprocal counter, source ``instrumentation_reference_book``.

    Parameters
    ----------
    frequency_hz, clock_hz : float or array, measured and of the clock, Hz, or text or quantities; positive; broadcast
    periods : int, whole periods over which the clock is counted

    Examples
    --------
    >>> period_resolution(100.0, 1e6)
    0.0001
    """
    measured, clock = in_unit(frequency_hz, "Hz", "frequency_hz"), in_unit(clock_hz, "Hz", "clock_hz")
    with of_one_shape("frequency_hz, clock_hz and periods"):
        counted = positive_floats(clock, "clock_hz") * positive_floats(whole_counts(periods, "periods"), "periods")
        return positive_floats(measured, "frequency_hz") / counted


def counting_resolution(pulses: Any) -> Any:
    """Return the relative step of a total of pulses, a fraction: one over their number [jeronymo_aibe_2010].

    Examples
    --------
    >>> counting_resolution(10_000)
    0.0001
    """
    return 1.0 / positive_floats(pulses, "pulses")


def pulses_for_resolution(relative: Any) -> Any:
    """Return the smallest whole number of pulses whose total resolves a fraction [jeronymo_aibe_2010].

    Examples
    --------
    >>> pulses_for_resolution(0.0003)
    3334.0
    """
    import numpy as np

    pulses = np.ceil((1.0 - 1e-12) / positive_floats(relative, "relative"))
    return pulses if np.ndim(pulses) else float(pulses)
