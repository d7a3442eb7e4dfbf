"""A run on the calibration bench: pulses over the volume that passed the transducer.

The volume is found by weighing (:mod:`fuelunits.bench.gravimetric`) or read from a measure
(:mod:`fuelunits.bench.volumetric`). Each input is a number, or an uncertain number of
:mod:`fuelunits.uncertainty.budget`; runs that use the same balance, densitometer or measure use the same
object for it, so that the mean of the runs keeps that part whole.
"""

from __future__ import annotations

import difflib
import math
from abc import ABC, abstractmethod
from dataclasses import MISSING, dataclass, fields
from typing import Any, ClassVar, Self

from fuelunits.errors import QuantityError
from fuelunits.ranges import Range
from fuelunits.reports import Report, Reporting
from fuelunits.uncertainty.budget import nominal, one_value, round_to_uncertainty, standard_uncertainty, triangular
from fuelunits.uncertainty.measured import uncertain_magnitude
from fuelunits.validation import coerce_fields, format_value, whole_number

__all__ = ["EXPANSIONS_PER_K", "TEMPERATURES_C", "Run", "check_all", "counted"]

EXPANSIONS_PER_K = Range("cubic expansion", 0.0, 0.002, "1/K", "liquids and metals of a bench")
TEMPERATURES_C = Range("temperature", -60.0, 150.0, "degC", "liquids of a bench")

_UNITS = {"_kg_m3": "kg/m^3", "_kg": "kg", "_c": "degC", "_s": "s", "_l": "L"}
"""Unit of a field by the end of its name; what has another end is a plain number."""


def counted(pulses: int, *, name: str = "pulse count") -> Any:
    """Make an input of a count that starts and stops anywhere between two pulses: ±1, triangular.

    Parameters
    ----------
    pulses : int
        Whole pulses counted.
    name : str
        For the budget.

    Returns
    -------
    uncertainties.UFloat

    Raises
    ------
    QuantityError
        If it is not a whole number of 1 or more.

    Notes
    -----
    Start and stop each lose a part of a pulse that is evenly spread over 0 to 1; their difference is
    triangular on ±1, so u = 1/√6 (JCGM 100:2008, 4.3.9). Where the run is gated by the pulses themselves,
    give the plain count instead.

    Examples
    --------
    >>> round(counted(272_040).std_dev, 3)
    0.408
    """
    return triangular(whole_number(pulses, "pulse count", least=1), 1.0, name=name, unit="pulse")


@dataclass(frozen=True, kw_only=True, repr=False)
class Run(Reporting, ABC):
    """What every run on a bench has.

    Attributes
    ----------
    pulses : float
        Pulses of the transducer; see :func:`counted`.
    duration_s : float
        Time over which the pulses were counted and the liquid collected.
    liquid_temperature_c : float
        Of the liquid at the transducer.
    """

    pulses: Any
    duration_s: Any
    liquid_temperature_c: Any

    needs_uncertainty: ClassVar[tuple[tuple[str, ...], ...]] = ()
    """Fields, or alternatives of them, without whose uncertainty that of K is not known."""

    _plain = ("k_pulses_per_l", "frequency_hz", "volume_l")

    def __post_init__(self) -> None:
        coerce_fields(self, [field.name for field in fields(self)], one_value, "a run on the bench: ")
        self.require_positive("pulses", "duration_s")
        check_all(TEMPERATURES_C, self.liquid_temperature_c)

    @classmethod
    def read(cls, **inputs: Any) -> Self:
        """Take a run from text, quantities and plain numbers.

        Parameters
        ----------
        **inputs
            By the names of the attributes. Without the unit at its end a name takes text or a pint quantity, which
            :func:`fuelunits.uncertainty.measured.measured` gives an uncertainty: ``liquid_temperature="20 degC"``
            or ``liquid_temperature_c=20.0``. ``pulses``, ratios and cubic expansions per kelvin are numbers.

        Raises
        ------
        QuantityError
            If an input is missing, has no unit, or is not one of the run's.

        Examples
        --------
        >>> from fuelunits.bench.volumetric import VolumetricRun
        >>> run = VolumetricRun.read(
        ...     pulses=43_186, measure_volume="1 gal", duration="1 min", liquid_temperature="68 degF",
        ...     measure_temperature="68 degF", measure_expansion_per_k=50e-6, liquid_expansion_per_k=9e-4,
        ... )
        >>> round(run.k_pulses_per_l, 2)
        11408.53
        """
        units = {field.name: _unit(field.name) for field in fields(cls)}
        short = {_short(name): name for name in units}
        read: dict[str, Any] = {}
        for name, value in inputs.items():
            field = short.get(name, name)
            if field not in units or field in read:
                close = difflib.get_close_matches(name, [*short, *units], 1)
                hint = f"; did you mean {close[0]}?" if close and field not in read else ""
                raise QuantityError(f"a run on the bench: {name} is given twice or is not one of its inputs{hint}")
            if name == field or value is None:
                read[field] = value
            else:
                read[field] = uncertain_magnitude(value, units[field], name=name.replace("_", " "))
        missing = [_short(each.name) for each in fields(cls) if each.default is MISSING and each.name not in read]
        if missing:
            raise QuantityError(f"a run on the bench: {' and '.join(missing)} must be given")
        return cls(**read)

    @property
    @abstractmethod
    def volume_l(self) -> Any:
        """Volume that passed the transducer, L."""

    @property
    def k_pulses_per_l(self) -> Any:
        """K found, pulses per litre."""
        return self.pulses / self.volume_l

    @property
    def frequency_hz(self) -> float:
        """Pulse frequency, Hz."""
        return float(nominal(self.pulses) / nominal(self.duration_s))

    @property
    def missing(self) -> tuple[str, ...]:
        """Inputs whose uncertainty is not stated, although that of K depends on it."""
        return tuple(
            f"the uncertainty of the {' or the '.join(_words(name) for name in names)}"
            for names in self.needs_uncertainty
            if not any(standard_uncertainty(getattr(self, name)) for name in names)
        )

    def report(self) -> Report:
        """Return K of the run and its inputs, with their standard uncertainties."""
        values = {field.name: getattr(self, field.name) for field in fields(self)}
        return Report(
            f"{type(self).__name__}: K = {_text(self.k_pulses_per_l)} pulse/L at {self.frequency_hz:.5g} Hz",
            facts={
                _words(
                    name
                ): f"{_text(value)} {(_unit(name) or '').replace('degC', '°C').replace('m^3', 'm³')}".rstrip()
                for name, value in values.items()
                if value is not None
            },
            remarks=[f"not stated: {each}" for each in self.missing],
        )

    def require_positive(self, *names: str) -> None:
        """Refuse attributes that are not positive and finite."""
        for name in names:
            value = getattr(self, name)
            if not 0.0 < nominal(value) < math.inf:
                raise QuantityError(
                    f"a run on the bench: {name} must be positive and finite; got {format_value(nominal(value))}"
                )


def _ending(name: str) -> str:
    return next((end for end in _UNITS if name.endswith(end)), "")


def _unit(name: str) -> str:
    return _UNITS.get(_ending(name), "")


def _short(name: str) -> str:
    return name.removesuffix(_ending(name))


def _words(name: str) -> str:
    return _short(name).replace("_per_k", ", 1/K").replace("_", " ")


def _text(value: Any) -> str:
    u = standard_uncertainty(value)
    return " ± ".join(round_to_uncertainty(nominal(value), u)) if u else f"{nominal(value):.10g}"


def check_all(limits: Range, *values: Any) -> None:
    """Refuse what is outside its range, or missing."""
    for value in values:
        if math.isnan(limits.check(nominal(value))):
            raise QuantityError(f"a run on the bench: the {limits.name} is missing")
