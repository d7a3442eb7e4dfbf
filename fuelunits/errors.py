"""The family of errors: all are :class:`FuelUnitsError`, a :class:`ValueError`.

Every message says what was given, what was needed and what to write instead.
"""

from __future__ import annotations

from math import nan
from typing import Any


class FuelUnitsError(ValueError):
    """Base of every error that fuelunits raises.

    Examples
    --------
    >>> from fuelunits.conversion import convert
    >>> convert(50.0, "gal", "lb")  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    fuelunits.errors.DimensionError: gal is a volume and lb is a mass: ...
    """


class UnitError(FuelUnitsError):
    """A unit that is not in ``units.txt``, has more than one meaning, or cannot be used as written."""


class DimensionError(FuelUnitsError):
    """Two values of different dimension, such as a volume where a mass is needed."""


class QuantityError(FuelUnitsError):
    """A value that is not one number with one unit, or an impossible amount."""


class OutOfRange(FuelUnitsError):
    """The first ``value`` outside a range of its source: name, unit, source, and the limits ``low`` and ``high``.

    Examples
    --------
    >>> from fuelunits.fuels.grades import fuel
    >>> try:
    ...     fuel("Jet A").density_kg_m3(150.0)
    ... except OutOfRange as refusal:
    ...     print(refusal.value, refusal.low, refusal.high, refusal.unit)
    150.0 -40.0 100.0 degC
    """

    name = unit = source = ""
    value = low = high = nan

    def __init__(self, message: str, **limits: Any) -> None:
        super().__init__(message)
        vars(self).update(limits)


class UnknownFuel(FuelUnitsError):
    """A fuel name that is not in ``grades.toml``."""


class SourceError(FuelUnitsError):
    """A number without a source, or a source that does not exist."""


class FileError(FuelUnitsError):
    """A file that cannot be read, or has the wrong content."""


class MissingExtra(FuelUnitsError, ImportError):
    """An optional library that is needed here and not installed."""
