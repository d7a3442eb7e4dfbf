"""The K-factor of a transducer, how finely a count of its pulses resolves, and feed less return.

rate = frequency / K, total = count / K. Counts stay whole numbers: add counts, then divide once. A count is uncertain
by one pulse: one in N over N pulses, 1 Hz over a gate of 1 s. Figures are floats or arrays, positive and finite; NaN
passes. A `relative` one is a fraction: 0.0001 for 0.01 %.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from itertools import product
from numbers import Rational
from typing import Any, ClassVar

from fuelunits import quantities, validation
from fuelunits.confusions import diagnose_fill_up
from fuelunits.conversion import amount, convert, density_kg_m3, kind_of
from fuelunits.errors import DimensionError, FuelUnitsError, QuantityError
from fuelunits.quantities import QuantityLike
from fuelunits.reports import Report, Reporting, format_percent
from fuelunits.uncertainty.budget import nominal
from fuelunits.units import exact_factor, read_unit

GROSS = Fraction(8, 100)  # a deviation beyond this is a mistake of an entry, a unit or the pulses (common practice)
_LARGEST_PER_L = 1_000_000  # transducers of engines give thousands to ten thousands (common practice, recalled)
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
        validation.set_fields(self, value=_positive_fraction(pulses), unit=unit.name)
        if not validation.boolean(insist, "insist") and self.exact_per("L") > _LARGEST_PER_L:
            given = f"{self} is {self.pulses_per_l:,.0f} pulses per litre, more than transducers give"
            meant = f"is the unit of volume wrong, or is it {_short(self.value / 1000, 7)} pulse/{self.unit}?"
            raise QuantityError(f"K-factor: {given}; {meant} if it is meant as it stands, write insist=True")

    @classmethod
    def read(cls, text: Any, *, insist: bool = False) -> KFactor:
        """Return the K-factor of text such as ``"11412 pulse/L"`` or ``"2950/L"``, or of a pint quantity."""
        if validation.carries_unit(text):  # 1/volume and count/volume of any library are read as pulses
            unit = "1/L"
            if quantities.is_quantity(text):
                quantities.refuse_angles(text, "K-factor")
                roots = type(text)(1.0, text.units).to_root_units().unit_items()
                unit = "pulse/L" if any(name == "pulse" for name, _ in roots) else unit
            try:
                per_l = float(quantities.exact_number(text, unit, name="K-factor"))
            except DimensionError as mismatch:
                raise DimensionError(f"K-factor: {text} is not pulses per volume") from mismatch
            return cls(_positive_fraction(per_l, given=text), per="L", insist=insist)
        if not isinstance(text, str):
            raise QuantityError(f"K-factor: {validation.format_value(text)} has no unit; write it, as '11412 pulse/L'")
        number, unit = quantities.read_text(text)
        counted, _, per = ("pulse " * unit.startswith(("/", "per ")) + unit).replace(" per ", "/").partition("/")
        if counted.strip() not in ("pulse", "pulses") or not per:
            raise DimensionError(f"K-factor: {text!r} is not pulses per volume; write for example '11412 pulse/L'")
        return cls(_positive_fraction(number, given=text), per=per.strip(), insist=insist)

    def __str__(self) -> str:
        return f"{_short(self.value, 7)} pulse/{self.unit}"

    def __repr__(self) -> str:
        return f"KFactor({_short(self.value, 15)}, per={self.unit!r})"

    def __float__(self) -> float:
        return float(self.value)

    def report(self) -> Report:
        facts = {f"pulses per {unit}": f"{self.per(unit):.7g}" for unit in (self.unit, "gal", "imp_gal", "L")}
        return Report(f"K-factor {self}", facts=facts)

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
        per_hour = quantities.positive(flow, f"{self.unit}/h", name="flow", zero=True)
        return quantities.answer(validation.as_float(per_hour) * float(self) / 3600.0, "Hz", flow)

    def flow(self, frequency: QuantityLike) -> Any:
        """Return the volume flow of a frequency such as ``"99.8 Hz"`` or ``"6000 pulse/min"``, in its unit per hour."""
        hz = quantities.positive(frequency, "Hz", name="frequency", zero=True)
        return quantities.answer(3600.0 * validation.as_float(hz) / float(self), f"{self.unit}/h", frequency)

    def volume(self, pulses: Any) -> Any:
        """Return the volume of a count, or of each of an array of any library: whole numbers, not negative."""
        import numpy as np

        count = validation.as_float_array(pulses, "pulses")
        if not np.all(np.isfinite(count)) or np.any((count != np.rint(count)) | (count < 0)):
            raise QuantityError(f"pulses: {validation.format_value(pulses)} is negative or not a whole number")
        return quantities.answer((count if count.ndim else float(count)) / float(self), self.unit, None)

    def pulses(self, volume: Any) -> Any:
        """Return how many pulses a volume such as ``"100 L"`` makes, as a plain number that need not be whole."""
        return quantities.positive(volume, self.unit, name="volume", zero=True) * float(self)

    def rounded(self, step: float = 1) -> KFactor:
        """Return this K-factor as an indicator with steps of pulses per unit stores it; halves go up."""
        size = _positive_fraction(step, "step", example=10)
        whole = (self.value / size + Fraction(1, 2)).__floor__()
        if not whole:
            raise QuantityError(f"{self} rounds to zero in steps of {float(size):g}; the step is too coarse")
        return KFactor(whole * size, per=self.unit, insist=True)

    def relative_error_to(self, true_k: Any) -> float:
        """Return by how much this K-factor exceeds the true one (a KFactor or its text), as a fraction."""
        return float(self.value / k_factor_of(true_k, "true_k").exact_per(self.unit) - 1)

    def indication_error(self, true_k: Any) -> float:
        """Return the relative error of the indication with this K-factor entered, for a transducer of the true K."""
        return float(k_factor_of(true_k, "true_k").exact_per(self.unit) / self.value - 1)

    def adjusted(self, *, indicated: QuantityLike, delivered: QuantityLike, insist: bool = False) -> KFactor:
        """Return the K-factor that would have indicated the volume delivered: K times indicated/delivered.

        Delivered is the volume at delivery temperature: convert a ticket in litres at 15 °C with ``gross_volume`` of
        the batch first. Volumes that differ by more than 8 % are refused, unless `insist` says that both are right.
        """
        quantities.first_quantity(indicated, delivered)
        read = quantities.exact_number(indicated, self.unit, name="indicated")
        true = quantities.exact_number(delivered, self.unit, name="delivered")
        if not validation.boolean(insist, "insist") and abs(read / true - 1) > GROSS:
            why = "a transducer does not err so much"
            with suppress(FuelUnitsError):  # a unit of another library that has no name here
                units = [quantities.read_text(str(volume))[1] for volume in (indicated, delivered)]
                why = " or ".join(map(str, diagnose_fill_up(float(read / true), *units))) or why
            times = f"{indicated} indicated is {float(read / true):.4g} times the {delivered} delivered"
            raise QuantityError(f"K-factor: {times}: {why}; find the cause, or write insist=True if both are right")
        return KFactor(self.value * read / true, per=self.unit, insist=True)

    def prescaled(self, pulses_per_output: int) -> KFactor:
        """Return the K-factor of an output with one pulse for a number of the transducer's pulses."""
        divisor = validation.whole_number(pulses_per_output, "pulses_per_output", least=1)
        return KFactor(self.value / divisor, per=self.unit, insist=True)


def k_factor_of(value: Any, name: str = "k_factor") -> KFactor:
    """Return a K-factor from a KFactor, text or a pint quantity."""
    if isinstance(value, KFactor):
        return value
    try:
        return KFactor.read(value)
    except FuelUnitsError as wrong:
        raise type(wrong)(f"{name}: {wrong}") from wrong


def compared(entered: Sequence[KFactor], kind: str, known: Sequence[Any], doubt: float, beyond: float) -> Iterator[str]:
    """Compare K as left with known ones, or none in their place: each with its own where there is a place for each."""

    def off(k: KFactor, other: KFactor) -> float:
        return abs(k.relative_error_to(other))

    if in_order := len(entered) == len(known):
        own = ((n, *pair) for n, pair in enumerate(zip(entered, known, strict=True), 1) if pair[1])
        pairs = [(f"K as left of channel {n}", k, f"that of {kind} {n}", other) for n, k, other in own]
    else:
        nearest = [(k, min(entered, key=partial(off, k))) for k in known if entered]
        pairs = [(f"K of a {kind}", k, "the nearest as left", near) for k, near in nearest]
    for name, k, its, near in pairs:
        if off(k, near) > beyond:
            yield f"{name}, {k}, differs by {format_percent(k.relative_error_to(near), signed=True)} from {its}, {near}"
    both: Any = [[pair[i] for pair in pairs] for i in (1, 3)]
    by_size = (sorted(each, key=lambda k: k.pulses_per_l) for each in both)
    if in_order and sum(map(off, *both)) - sum(map(off, *by_size)) > doubt:
        yield f"K as left of the channels fit the {kind}s better in another order: are two swapped?"


def errors_by(entered: Sequence[KFactor], known: Sequence[Any]) -> Iterator[tuple[Any, ...]]:
    """Yield the errors of all channels by known pulses per litre, each of its place, or of the nearest channel."""
    places = range(len(entered))
    nearest = [min(places, key=lambda n: abs(float(nominal(each)) / entered[n].pulses_per_l - 1.0)) for each in known]
    owners = list(places) if len(known) == len(entered) else nearest
    errors = [(n, 1.0 - entered[n].pulses_per_l / each) for n, each in zip(owners, known, strict=True)]
    return product(*([error for n, error in errors if n == place] or [0.0] for place in places))


def _short(value: Fraction, digits: int) -> str:
    return f"{value.numerator}" if value.denominator == 1 else f"{float(value):.{digits}g}"


def _positive_fraction(number: Any, name: str = "K-factor", example: object = 11412, given: Any = None) -> Fraction:
    """Return a number exactly, a float as the decimal number that it prints; `given` is what the user wrote."""
    value = Fraction(0)
    if validation.is_number(number):
        with suppress(ValueError):  # text, since float(np.float32(0.1)) prints other digits than were given
            value = Fraction(str(number))
    if not _SMALLEST < value < _LARGEST:
        wrong = validation.format_value(number if given is None else given)
        raise QuantityError(f"{name} must be positive and finite, for example {example}; got {wrong}")
    return value


def pulses_for_resolution(relative: Any) -> Any:
    """Return the smallest whole number of pulses whose total resolves a fraction [jeronymo_aibe_2010].

    Examples
    --------
    >>> pulses_for_resolution(0.0003)
    3334.0
    """
    import numpy as np

    pulses = np.ceil((1.0 - 1e-12) / validation.positive_floats(relative, "relative"))
    return pulses if np.ndim(pulses) else float(pulses)


def net_flow(
    feed: Any,
    feed_k: Any,
    return_: Any,
    return_k: Any,
    *,
    unit: str | None = None,
    feed_density: Any = None,
    return_density: Any = None,
) -> Any:
    """Return the flow fed less the flow returned, by volume, or by mass with the density in each line.

    By volume it is right where both lines are at one temperature. One negative element of an array is noise.
    A negative flow, of an array its mean, and a return over 0.5 % denser are refused: swapped, a wrong K, or too close.

    Parameters
    ----------
    feed, return_ : str or pint.Quantity, pulse frequencies of the two transducers; scalars or arrays
    feed_k, return_k : KFactor or str, their K-factors
    unit : str, optional, of the flow wanted; by default the feed K-factor's unit per hour, or kg/h with densities
    feed_density, return_density : str or pint.Quantity, of the fuel in each line at its temperature; for a mass flow

    Examples
    --------
    >>> f"{net_flow('480 Hz', '7200 pulse/L', '384 Hz', '7200 pulse/L').magnitude:.3f}"
    '48.000'
    >>> densities = {"feed_density": "0.72 kg/L", "return_density": "0.70 kg/L"}
    >>> f"{net_flow('480 Hz', '7200/L', '384 Hz', '7200/L', **densities).magnitude:.2f}"
    '38.40'
    """
    import numpy as np

    feed_k, return_k = k_factor_of(feed_k, "feed_k"), k_factor_of(return_k, "return_k")
    by_mass = feed_density is not None or return_density is not None
    unit = ("kg/h" if by_mass else f"{feed_k.unit}/h") if unit is None else unit
    if by_mass and read_unit(unit).dimension == read_unit("L/h").dimension:
        raise QuantityError(f"unit: {unit} is of volume; write a flow of mass such as 'kg/h', or no densities")
    fed = amount(feed_k.flow(feed), unit, name="feed", density=feed_density)
    returned = amount(return_k.flow(return_), unit, name="return", density=return_density)
    if by_mass and density_kg_m3(return_density) > 1.005 * density_kg_m3(feed_density):
        given = " is above that of the feed, ".join(map(validation.format_value, (return_density, feed_density)))
        raise QuantityError(f"return_density: {given}, though a return is warmer; are the two swapped?")
    with validation.of_one_shape("feed and return"):
        net = fed - returned
    known = np.asarray(net, dtype=float)[~np.isnan(net)]
    if known.size and known.mean() < 0.0:
        check = "check which line is which, both K-factors, and whether the difference is too small for the two meters"
        raise QuantityError(f"net: {known.mean():g} {unit} is negative, more returned than fed; {check}")
    return quantities.answer(net, unit, quantities.first_quantity(feed, return_, feed_density, return_density))


@validation.of_one_shape("feed and return")
def net_uncertainty(
    feed: Any, return_: Any, *, feed_uncertainty: Any, return_uncertainty: Any, correlation: float = 0.0
) -> Any:
    """Return the relative standard uncertainty of feed minus return, the small difference of two large flows.

    A fraction of the net flow, by JCGM 100:2008, 5.2.2: u = sqrt((qf uf)² + (qr ur)² - 2 r qf uf qr ur) / (qf - qr).

    Parameters
    ----------
    feed, return_ : str or pint.Quantity, the two flows, both by volume or both by mass
    feed_uncertainty, return_uncertainty : str or pint.Quantity, relative and standard, such as ``"0.5 %"``
    correlation : float, r of the two errors, -1 to 1, dimensionless: what both share (a bench, a density) cancels

    Examples
    --------
    >>> round(net_uncertainty("240 L/h", "192 L/h", feed_uncertainty="0.5 %", return_uncertainty="0.5 %"), 4)
    0.032
    """
    quantities.first_quantity(feed, return_, feed_uncertainty, return_uncertainty)
    unit, r = kind_of(feed, ("L/h", "kg/h"), name="feed"), validation.plain_number(correlation, "correlation")
    fed = quantities.positive(feed, unit, name="feed")
    returned = quantities.positive(return_, unit, name="return", zero=True)
    part = validation.as_float_array(returned, "return") / validation.as_float_array(fed, "feed")
    part = part if part.ndim else float(part)
    u_fed = quantities.fraction(feed_uncertainty, name="feed_uncertainty")
    u_returned = part * quantities.fraction(return_uncertainty, name="return_uncertainty")
    if not abs(r) <= 1:
        raise QuantityError(f"correlation must be from -1 to 1; got {validation.format_value(correlation)}")
    if validation.any_of(part >= 1.0):
        raise QuantityError("return flow must be smaller than the feed; are the two swapped?")
    # the square written as a sum of two squares: it cannot turn negative by rounding
    return ((u_fed - r * u_returned) ** 2 + (1.0 - r * r) * u_returned**2) ** 0.5 / (1.0 - part)
