"""The K-factor of a transducer: how many pulses it gives for a volume.

rate = frequency / K, total = count / K, and back. A K-factor is a type of its own, so that pulses
per gallon never pass for anything else. Counts stay whole numbers: add counts, then divide once.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from numbers import Rational
from typing import Any, ClassVar

from fuelunits.arrays import as_float
from fuelunits.conversion import convert
from fuelunits.errors import DimensionError, FuelUnitsError, QuantityError
from fuelunits.meters.rates import positive_fraction, read_pulses_per_volume, whole_counts
from fuelunits.pint_units import answer, first_quantity
from fuelunits.quantities import QuantityLike, exact_number, positive
from fuelunits.reports import Report, Reporting, Table
from fuelunits.units import exact_factor, read_unit
from fuelunits.validation import boolean, plain_number, whole_number

_LARGEST_PER_L = 1_000_000
"""Common practice, from memory: transducers for aircraft engines give some thousands to some ten thousands."""


@dataclass(frozen=True, init=False, repr=False)
class KFactor(Reporting):
    """Pulses per unit of volume.

    Parameters
    ----------
    pulses : int, float or Fraction
        Pulses per unit of volume, positive; kept exactly in the attribute `value`, a float as the decimal it prints.
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
        object.__setattr__(self, "value", positive_fraction(pulses))
        object.__setattr__(self, "unit", unit.name)
        if not boolean(insist, "insist") and self.exact_per("L") > _LARGEST_PER_L:
            raise QuantityError(
                f"K-factor: {self} is {self.pulses_per_l:,.0f} pulses per litre, more than transducers give; "
                f"is the unit of volume wrong, or is it {_short(self.value / 1000, 7)} pulse/{self.unit}? "
                f"if it is meant as it stands, write insist=True"
            )

    @classmethod
    def read(cls, text: Any, *, insist: bool = False) -> KFactor:
        """Return the K-factor of text such as ``"11412 pulse/L"`` or ``"2950/L"``, or of a pint quantity."""
        number, per = read_pulses_per_volume(text)
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
        """Return the K-factor per litre and per gallon as well."""
        return Report(f"K-factor {self}", tables=[Table.of(self.rows())])

    def rows(self) -> list[dict[str, str]]:
        """Return it per several units of volume."""
        units = dict.fromkeys((self.unit, "gal", "imp_gal", "L"))
        return [{"per": unit, "pulses": f"{self.per(unit):.7g}"} for unit in units]

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
        return float(self.value) * plain_number(convert(1.0, unit, self.unit, density=density), "density")

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
        """Return the volume of a count, or of each of an array, in its unit and in the registry of the quantity `like`.

        Of a total in chunks, add the counts, which are whole, and divide once.
        """
        return answer(whole_counts(pulses) / float(self), self.unit, like)

    def pulses(self, volume: Any) -> Any:
        """Return how many pulses a volume such as ``"100 L"`` makes, as a plain number that need not be whole."""
        return positive(volume, self.unit, name="volume", zero=True) * float(self)

    def rounded(self, step: float = 1) -> KFactor:
        """Return this K-factor as an indicator with steps of pulses per unit stores it; halves go up."""
        size = positive_fraction(step, "step", 10)
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

    def adjusted(self, *, indicated: QuantityLike, delivered: QuantityLike) -> KFactor:
        """Return the K-factor that would have indicated the volume delivered: K times indicated/delivered.

        Add up the volumes of several fill-ups first. Delivered is the volume at delivery temperature: convert a ticket
        in litres at 15 °C with ``gross_volume`` of the batch first.
        """
        first_quantity(indicated, delivered)
        read = exact_number(indicated, self.unit, name="indicated")
        return self._with(self.value * read / exact_number(delivered, self.unit, name="delivered"))

    def with_meter_factor(self, meter_factor: float) -> KFactor:
        """Return the K-factor corrected by a meter factor (true volume over indicated volume): K / MF."""
        return self._with(self.value / positive_fraction(meter_factor, "meter_factor", 1.002))

    def meter_factor(self, true_k: Any) -> float:
        """Return the meter factor that corrects an indication with this K-factor: nominal K over true K."""
        true = k_factor_of(true_k, "true_k")
        return float(self.exact_per(true.unit) / true.value)

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
