"""A run on the calibration bench: pulses over the volume that passed the transducer.

The volume is found by weighing or read from a measure. Each input is a number, or an uncertain number; runs that use
the same balance, densitometer or measure use the same object for it, so that the mean of the runs keeps that part.
"""

from __future__ import annotations

import difflib
import math
from abc import ABC, abstractmethod
from dataclasses import MISSING, dataclass, fields
from typing import Any, ClassVar, Self

from fuelunits.arrays import ByValue
from fuelunits.errors import QuantityError
from fuelunits.pint_units import first_quantity
from fuelunits.reports import Report, Reporting
from fuelunits.sources import Range
from fuelunits.uncertainty.budget import nominal, one_value, round_to_uncertainty, standard_uncertainty, triangular
from fuelunits.uncertainty.measured import uncertain_magnitude
from fuelunits.validation import coerce_fields, positive_number, whole_number

EXPANSIONS_PER_K = Range("cubic expansion", 0.0, 0.002, "1/K", "liquids and metals of a bench")
TEMPERATURES_C = Range("temperature", -60.0, 150.0, "degC", "liquids of a bench")

_LABEL = "a run on the bench: "
_PRINTED = {"degC": "°C", "kg/m^3": "kg/m³"}
_UNITS = {"_kg_m3": "kg/m^3", "_kg": "kg", "_c": "degC", "_s": "s", "_l": "L"}
"""Unit of a field by the end of its name; what has another end is a plain number."""


def counted(pulses: int, *, name: str = "pulse count") -> Any:
    """Return the input for a count that starts and stops anywhere between two pulses: ±1, triangular.

    Start and stop each lose a part of a pulse, evenly spread over 0 to 1: u = 1/√6 (JCGM 100:2008, 4.3.9). Where the
    pulses themselves gate the run, give the plain count instead.

    Parameters
    ----------
    pulses : int, whole pulses counted, 1 or more
    name : str, for the budget

    Examples
    --------
    >>> round(counted(272_040).std_dev, 3)
    0.408
    """
    return triangular(whole_number(pulses, "pulse count", least=1), 1.0, name=name, unit="pulse")


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class Run(ByValue, Reporting, ABC):
    """The attributes of every run: the pulses of the transducer, the time of counting, the temperature there."""

    pulses: Any
    duration_s: Any
    liquid_temperature_c: Any

    needs_uncertainty: ClassVar[tuple[tuple[str, ...], ...]] = ()
    """Fields, or alternatives of them, without whose uncertainty that of K is not known."""

    _plain = ("k_pulses_per_l", "frequency_hz", "volume_l")

    def __post_init__(self) -> None:
        coerce_fields(self, [field.name for field in fields(self)], one_value, _LABEL)
        self.require_positive("pulses", "duration_s")
        check_all(TEMPERATURES_C, self.liquid_temperature_c)

    @classmethod
    def read(cls, **inputs: Any) -> Self:
        """Return a run from text, quantities and plain numbers, given by the names of the attributes.

        Without the unit at its end a name takes text or a pint quantity, which
        :func:`fuelunits.uncertainty.measured.measured` gives an uncertainty: ``liquid_temperature="20 degC"`` or
        ``liquid_temperature_c=20.0``. ``pulses``, ratios and cubic expansions per kelvin are numbers.
        """
        first_quantity(*inputs.values())
        full = {_name_and_unit(field.name)[0]: field.name for field in fields(cls)}
        read: dict[str, Any] = {}
        for name, value in inputs.items():
            field = full.get(name, name)
            if field not in full.values() or field in read:
                close = difflib.get_close_matches(name, [*full, *full.values()], 1)
                hint = f"; did you mean {close[0]}?" if close and field not in read else ""
                raise QuantityError(f"{_LABEL}{name} is given twice or is not one of its inputs{hint}")
            is_quantity = name != field and value is not None
            unit = _name_and_unit(field)[1]
            read[field] = uncertain_magnitude(value, unit, name=name.replace("_", " ")) if is_quantity else value
        needed = {field.name for field in fields(cls) if field.default is MISSING}
        if missing := [name for name, field in full.items() if field in needed - read.keys()]:
            raise QuantityError(f"{_LABEL}{' and '.join(missing)} must be given")
        return cls(**read)

    @property
    @abstractmethod
    def volume_l(self) -> Any:
        """Volume that passed the transducer, L."""

    @property
    def k_pulses_per_l(self) -> Any:
        """K of the run, pulses per litre."""
        return self.pulses / self.volume_l

    @property
    def frequency_hz(self) -> float:
        """Pulse frequency, Hz."""
        return float(nominal(self.pulses) / nominal(self.duration_s))

    @property
    def missing(self) -> tuple[str, ...]:
        """Inputs whose uncertainty is not stated, although the uncertainty of K depends on it."""
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
                _words(name): f"{_text(value)} {_PRINTED.get(unit := _name_and_unit(name)[1], unit)}".rstrip()
                for name, value in values.items()
                if value is not None
            },
            remarks=[f"not stated: {each}" for each in self.missing],
        )

    def require_positive(self, *names: str) -> None:
        """Refuse attributes that are not positive and finite."""
        for name in names:
            positive_number(nominal(getattr(self, name)), f"{_LABEL}{name}")


def _name_and_unit(field: str) -> tuple[str, str]:
    end = next((end for end in _UNITS if field.endswith(end)), "")
    return field.removesuffix(end), _UNITS.get(end, "")


def _words(field: str) -> str:
    return _name_and_unit(field)[0].replace("_per_k", ", 1/K").replace("_", " ")


def _text(value: Any) -> str:
    u = standard_uncertainty(value)
    if not u:
        return f"{nominal(value):.10g}"
    return "{} (u = {})".format(*round_to_uncertainty(nominal(value), u))  # ± is for an interval [jcgm_100_2008, 7.2.2]


def check_all(limits: Range, *values: Any) -> None:
    """Refuse a value that is missing or outside its range."""
    for value in values:
        if math.isnan(limits.check(nominal(value))):
            raise QuantityError(f"{_LABEL}the {limits.name} is missing")
