"""The K-factor of a transducer: how many pulses it gives for a volume.

rate = frequency / K, total = count / K, and back. A K-factor is a type of its own, so that pulses
per gallon never pass for anything else. Counts stay whole numbers: add counts, then divide once.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from numbers import Rational
from typing import Any

from fuelunits.amounts import exact_number
from fuelunits.arrays import as_float
from fuelunits.conversion import convert
from fuelunits.errors import DimensionError, QuantityError
from fuelunits.html import report
from fuelunits.meters.rates import positive_fraction, read_pulses_per_volume, total_count, whole_counts
from fuelunits.quantities import answer, positive
from fuelunits.units import exact_factor, read_unit
from fuelunits.validation import check_type, format_value

__all__ = ["KFactor", "flow_per_hour", "frequency_hz", "k_factor_of"]


def frequency_hz(flow_per_hour: Any, k_pulses: Any) -> Any:
    """Give the pulse frequency of a flow, f = q K.

    Parameters
    ----------
    flow_per_hour : float or array
        Volume flow, in any unit of volume per hour.
    k_pulses : float or array
        Pulses per that same unit of volume.

    Returns
    -------
    float or array
        Hz.

    Examples
    --------
    >>> frequency_hz(12.5, 28_740.0)
    99.79166666666667
    """
    return as_float(flow_per_hour) * k_pulses / 3600.0


def flow_per_hour(frequency_hz: Any, k_pulses: Any) -> Any:
    """Give the flow of a pulse frequency, q = f / K, in K's unit of volume per hour.

    Examples
    --------
    >>> flow_per_hour(99.79166666666667, 28_740.0)
    12.5
    """
    return 3600.0 * as_float(frequency_hz) / k_pulses


@dataclass(frozen=True, init=False)
class KFactor:
    """Pulses per unit of volume.

    Parameters
    ----------
    pulses : int, float or Fraction
        Pulses per unit of volume, positive. A float is taken as the decimal number that it prints.
    per : str
        The unit of volume: ``"gal"`` (US), ``"imp_gal"``, ``"L"``.

    Attributes
    ----------
    value : Fraction
        Pulses per unit, exactly.
    unit : str
        The unit of volume.

    Raises
    ------
    QuantityError, DimensionError
        If the number is not positive and finite, or the unit is not one of volume.

    Examples
    --------
    >>> k = KFactor(28_740, per="gal")
    >>> print(k)
    28740 pulse/gal
    >>> round(k.per("L"), 3)
    7592.305
    """

    value: Fraction
    unit: str

    def __init__(self, pulses: float | Rational, *, per: str) -> None:
        unit = read_unit(per)
        if unit.dimension != (("m", 3),):
            raise DimensionError(f"a K-factor is pulses per volume; {per!r} is {unit.kind}; write per='gal', say")
        object.__setattr__(self, "value", positive_fraction(pulses))
        object.__setattr__(self, "unit", unit.name)

    @classmethod
    def read(cls, text: Any) -> KFactor:
        """Read a K-factor from text such as ``"28740 pulse/gal"``, or from a pint quantity.

        Examples
        --------
        >>> KFactor.read("28740 pulses per gallon") == KFactor.read("28740/gal") == KFactor(28740, per="gal")
        True
        """
        number, per = read_pulses_per_volume(text)
        return cls(number, per=per)

    @classmethod
    def from_thousands(cls, stamped: float, *, per: str) -> KFactor:
        """Take a K-factor that is stamped in thousands of pulses.

        Examples
        --------
        >>> print(KFactor.from_thousands(28.74, per="gal"))
        28740 pulse/gal
        """
        return cls(positive_fraction(stamped) * 1000, per=per)

    def __str__(self) -> str:
        return f"{_short(self.value, 7)} pulse/{self.unit}"

    def __repr__(self) -> str:
        return f"KFactor({_short(self.value, 15)}, per={self.unit!r})"

    def __float__(self) -> float:
        return float(self.value)

    def as_dict(self) -> dict[str, Any]:
        """Give it as plain JSON types."""
        return {"pulses": float(self), "per": self.unit, "pulses_per_l": self.per("L")}

    def _repr_html_(self) -> str:
        units = dict.fromkeys((self.unit, "gal", "imp_gal", "L"))
        return report(f"K-factor {self}", rows=[{"per": unit, "pulses": f"{self.per(unit):.7g}"} for unit in units])

    def exact_per(self, unit: str) -> Fraction:
        """Give the pulses per another unit of volume, exactly.

        Examples
        --------
        >>> KFactor(28_740, per="gal").exact_per("qt")
        Fraction(7185, 1)
        """
        return self.value * exact_factor(unit, self.unit)

    def per(self, unit: str, *, density: Any = None) -> float:
        """Give the pulses per another unit, as a plain number.

        Parameters
        ----------
        unit : str
            A unit of volume; or of mass, with the density of the fuel.
        density : str or pint.Quantity, optional
            Density of the fuel, for a unit of mass.

        Examples
        --------
        >>> round(KFactor(28_740, per="gal").per("lb", density="6.7 lb/gal"), 2)
        4289.55
        """
        if density is None:
            return float(self.exact_per(unit))
        return float(self.value) * float(convert(1.0, unit, self.unit, density=density))

    def to(self, unit: str) -> KFactor:
        """Give the same K-factor per another unit of volume.

        Examples
        --------
        >>> KFactor(42, per="bbl").to("gal")
        KFactor(1, per='gal')
        """
        return KFactor(self.exact_per(unit), per=unit)

    def frequency(self, flow: Any) -> Any:
        """Give the pulse frequency of a volume flow.

        Parameters
        ----------
        flow : str or pint.Quantity
            Volume flow, not negative; scalar or array.

        Returns
        -------
        pint.Quantity
            Hz.

        Examples
        --------
        >>> f"{KFactor(28_740, per='gal').frequency('12.5 gal/h').m_as('Hz'):.3f}"
        '99.792'
        """
        per_hour = positive(flow, f"{self.unit}/h", name="flow", zero=True)
        return answer(frequency_hz(per_hour, float(self)), "Hz", flow)

    def flow(self, frequency: Any) -> Any:
        """Give the volume flow of a pulse frequency, in this K-factor's unit of volume per hour.

        Parameters
        ----------
        frequency : str or pint.Quantity
            Frequency, not negative; scalar or array.

        Returns
        -------
        pint.Quantity

        Examples
        --------
        >>> f"{KFactor(28_740, per='gal').flow('99.8 Hz').magnitude:.3f}"
        '12.501'
        """
        hz = positive(frequency, "Hz", name="frequency", zero=True)
        return answer(flow_per_hour(hz, float(self)), f"{self.unit}/h", frequency)

    def volume(self, pulses: Any, *, like: Any = None) -> Any:
        """Give the volume of a count of pulses, in this K-factor's unit.

        Parameters
        ----------
        pulses : int or integer array
            Counts; a running total in chunks is added as counts first, see :meth:`total_volume`.
        like : pint.Quantity, optional
            A quantity of the registry in which the answer is wanted.

        Returns
        -------
        pint.Quantity

        Examples
        --------
        >>> f"{KFactor(28_740, per='gal').volume(1_234_567).magnitude:.4f}"
        '42.9564'
        """
        return answer(whole_counts(pulses) / float(self), self.unit, like)

    def total_volume(self, counts: Any, *, like: Any = None) -> Any:
        """Give the volume of several counts: the counts are added as whole numbers, then divided once.

        Examples
        --------
        >>> k = KFactor(28_740, per="gal")
        >>> k.total_volume([400_000, 834_567]) == k.volume(1_234_567)
        True
        """
        return self.volume(total_count(counts), like=like)

    def exact_volume(self, pulses: int, unit: str | None = None) -> Fraction:
        """Give the volume of a count exactly, in a unit (this K-factor's own by default).

        Examples
        --------
        >>> KFactor(28_740, per="gal").exact_volume(14_370)
        Fraction(1, 2)
        """
        return total_count([pulses]) / self.exact_per(self.unit if unit is None else unit)

    def pulses(self, volume: Any) -> Any:
        """Give how many pulses a volume makes, as a plain number that need not be whole.

        Examples
        --------
        >>> round(KFactor(28_740, per="gal").pulses("100 L"), 1)
        759230.5
        """
        return positive(volume, self.unit, name="volume", zero=True) * float(self)

    def rounded(self, step: float = 1) -> KFactor:
        """Give this K-factor as an indicator stores it that takes it in steps; halves go up.

        Parameters
        ----------
        step : int or float
            The smallest step, in pulses per unit.

        Examples
        --------
        >>> print(KFactor(28_746, per="gal").rounded(10))
        28750 pulse/gal
        """
        size = positive_fraction(step)
        steps = self.value / size + Fraction(1, 2)
        whole = steps.numerator // steps.denominator
        if not whole:
            raise QuantityError(f"{self} rounds to nothing in steps of {step:g}; the step is too coarse")
        return KFactor(whole * size, per=self.unit)

    def relative_error_to(self, true: KFactor) -> float:
        """Give by how much this K-factor exceeds the true one, relative to it.

        An indicator with a K-factor that is 1 % too high reads about 1 % too low: see
        :meth:`indication_error`.

        Examples
        --------
        >>> KFactor(29_000, per="gal").relative_error_to(KFactor(28_000, per="gal"))
        0.03571428571428571
        """
        return float(self.exact_per(k_factor_of(true, "true").unit) / true.value - 1)

    def indication_error(self, true: KFactor) -> float:
        """Give the relative error of what is indicated with this K-factor entered, by a transducer of the true one.

        Examples
        --------
        >>> round(KFactor(29_000, per="gal").indication_error(KFactor(28_000, per="gal")), 5)
        -0.03448
        """
        return float(k_factor_of(true, "true").exact_per(self.unit) / self.value - 1)

    def adjusted(self, *, indicated: Any, delivered: Any) -> KFactor:
        """Give the K-factor that would have shown what was delivered.

        Parameters
        ----------
        indicated : str or pint.Quantity
            Volume that the indicator showed with this K-factor; add up several fill-ups first.
        delivered : str or pint.Quantity
            Volume that truly passed, at the temperature at which it passed (a truck that bills litres
            at 15 °C is taken back by ``gross_volume`` of the batch).

        Returns
        -------
        KFactor
            This one times indicated over delivered, in the same unit.

        Examples
        --------
        >>> k = KFactor(28_740, per="gal").adjusted(indicated="102.4 gal", delivered="100.1 gal")
        >>> round(k.per("gal"))
        29400
        """
        format_value = exact_number(indicated, self.unit, name="indicated")
        passed = exact_number(delivered, self.unit, name="delivered")
        return KFactor(self.value * format_value / passed, per=self.unit)

    def with_meter_factor(self, meter_factor: float) -> KFactor:
        """Give the K-factor that takes in a meter factor (true volume over indicated volume): K / MF.

        Examples
        --------
        >>> print(KFactor(1000, per="L").with_meter_factor(1.25))
        800 pulse/L
        """
        return KFactor(self.value / positive_fraction(meter_factor), per=self.unit)

    def meter_factor(self, true: KFactor) -> float:
        """Give the meter factor that corrects an indication with this K-factor: nominal K over true K.

        Examples
        --------
        >>> KFactor(1000, per="L").meter_factor(KFactor(800, per="L"))
        1.25
        """
        return float(self.exact_per(k_factor_of(true, "true").unit) / true.value)

    def prescaled(self, pulses_per_output: int) -> KFactor:
        """Give the K-factor of an output that gives one pulse for each so many of the transducer's.

        Examples
        --------
        >>> print(KFactor(28_740, per="gal").prescaled(10))
        2874 pulse/gal
        """
        if not isinstance(pulses_per_output, int) or pulses_per_output < 1:
            raise QuantityError(
                f"pulses per output pulse: {format_value(pulses_per_output)}; it must be a whole number from 1 up"
            )
        return KFactor(self.value / pulses_per_output, per=self.unit)


def k_factor_of(value: KFactor, name: str) -> KFactor:
    """Give a K-factor back, or refuse what is none, by the argument's name."""
    return check_type(value, KFactor, name, 'KFactor(28_740, per="gal")')


def _short(value: Fraction, digits: int) -> str:
    return f"{value.numerator}" if value.denominator == 1 else f"{float(value):.{digits}g}"
