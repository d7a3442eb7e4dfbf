"""Quantities in, plain numbers out, and numbers as quantities of pint, of the registry that the user's came from.

An input is text of one number and one unit, a quantity of pint (of any registry), held in a pandas Series or an xarray
array too, or a time difference. A bare number is refused, and a quantity of another library. Text is read here and
never by pint's expression parser; a quantity is converted by the definitions of its registry.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Mapping, Set
from contextlib import suppress
from datetime import timedelta
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Protocol
from weakref import WeakKeyDictionary

from fuelunits.errors import DimensionError, QuantityError
from fuelunits.units import BY_MASS, LOCK, Dimension, Unit, definitions, density_power, read_unit
from fuelunits.validation import any_of, format_value, holds_unit, is_positive, positive_number, print_unit

if TYPE_CHECKING:

    class _OfPint(Protocol):
        @property
        def units(self) -> Any: ...

    QuantityLike = str | _OfPint
    """What is read as a quantity, for type checkers, which then refuse a bare number."""

    PairLike = tuple[QuantityLike, QuantityLike] | list[Any] | _OfPint
else:
    QuantityLike = PairLike = Any


_NUMBER = re.compile(
    r"\s*(?P<number>[+-]?(?:[0-9]{1,400}(?:\.[0-9]{0,400})?|\.[0-9]{1,400})(?:[eE][+-]?[0-9]{1,3})?)"
    r"(?P<rest>(?s:.*))\Z"
)
_SEPARATED = re.compile(r"\s*[+-]?[0-9]+((,[0-9]+)+|([ \u00a0\u202f][0-9]{3})+(?![0-9]))")
_LONGEST = 500
PERCENT = ("%", "percent")
_FREQUENCY, _PULSE_RATE = (("s", -1),), (("pulse", 1), ("s", -1))
_BASES = {"length": "m", "mass": "kg", "time": "s", "temperature": "K", "current": "A", "pulse": "pulse"}
"""Our base unit for each dimension of pint."""


def is_quantity(value: Any) -> bool:
    """Return whether something is a pint quantity, and no Measurement, without importing pint."""
    return hasattr(value, "m_as") and hasattr(value, "dimensionality") and type(value).__name__ != "Measurement"


@lru_cache(maxsize=4096)
def pint_name(unit: str) -> str:
    """Write a unit in the names of pint's default registry."""
    known = {each.spellings[0]: f"({each.in_pint or each.name})" for each in definitions()}  # kg may be a kilogauss
    return re.sub("[^*/^]+", lambda part: known.get(part[0], part[0]), read_unit(unit).name).replace("^", "**")


_PARSED: WeakKeyDictionary[type, dict[str, Any]] = WeakKeyDictionary()
"""What `pint_unit` has parsed, for as long as the registry lives: parsing costs pint more than converting."""


def pint_unit(quantity: type, unit: str, name: str = "the answer") -> Any:
    """Return a unit as the registry of a class of quantities parses it; it holds no reference to the registry."""
    with LOCK:
        parsed = _PARSED.setdefault(quantity, {})
        if unit not in parsed:
            from pint.util import to_units_container

            try:
                own, one = read_unit(unit), quantity(1, pint_name(unit))
                base = "*".join(f"{base}^{power}" for base, power in own.dimension)
                if own.zero is None and base and not math.isclose(one.m_as(pint_name(base)), own.size, rel_tol=1e-7):
                    raise DimensionError(f"{name}: its registry has {unit} of another size; write it in L or kg")
                parsed[unit] = to_units_container(one)
            except AttributeError as missing:
                hint = "add the trade's units with register_units(ureg)"
                raise DimensionError(f"{name}: its registry does not know {unit}; {hint}") from missing
        return parsed[unit]


def answer(number: Any, unit: str, like: Any = None) -> Any:
    """Return a number as a quantity of the registry of `like`; for any else, of pint's application registry."""
    if isinstance(number, float) and math.isinf(number):
        raise QuantityError(f"the answer is too large a number of {unit}; look at what was given")
    getattr(number, "std_dev", None)  # a sum works itself out when first asked: now, and not by two threads at once
    if is_quantity(like):
        return type(like)(number, pint_unit(type(like), unit))
    with LOCK:
        import pint

        quantity: Any = pint.get_application_registry().Quantity  # type: ignore[no-untyped-call]
    return quantity(number, pint_unit(quantity, unit))


def first_quantity(*values: Any) -> Any:
    """Return the first pint quantity given, whose registry the answer takes; refuse two registries or unlike labels."""
    given = list(_flat(values))
    found = [value for value in given if is_quantity(value)]
    if len({id(value._REGISTRY) for value in found}) > 1:
        use = "use one registry, or text; pint.set_application_registry(ureg) makes the answers to text of yours"
        raise QuantityError(f"quantities of two pint registries are given in one call; {use}")
    for one, other in pairwise(filter(None, map(_labels, given))):
        if list(one) != list(other) or not all(one[dim].equals(other[dim]) for dim in one):
            raise QuantityError("series or arrays of unlike labels are given in one call: align them, or give arrays")
    return found[0] if found else None


def _flat(values: Iterable[Any], depth: int = 3) -> Iterator[Any]:
    """Return values that are no text and no plain number; in place of lists and tuples their members."""
    for value in values:
        if depth and isinstance(value, (list, tuple)):
            yield from _flat(value, depth - 1)
        elif value is not None and not isinstance(value, (str, float, int)):  # most of what is given
            yield value


def _labels(value: Any) -> dict[Any, Any]:
    """Return the labels of a pandas Series, or those of each dimension of an xarray array; none of other values."""
    kind = type(value)  # not the value: what pint says that it lacks works out an uncertain sum, for all threads
    if hasattr(kind, "index") and hasattr(value.index, "equals"):
        return {"": value.index}
    return {dim: value.get_index(dim) for dim in value.dims} if hasattr(kind, "get_index") else {}


def _kind_of(dimension: Dimension) -> Dimension:
    """Return a dimension, that of a frequency for pulses per time."""
    return _FREQUENCY if dimension == _PULSE_RATE else dimension


@lru_cache(maxsize=4096)
def read_text(text: str) -> tuple[Fraction, str]:
    """Read text into its number, exactly as written, and its unit, which may be empty."""
    if len(text) > _LONGEST:
        raise QuantityError(f"a text of {len(text)} characters, beginning {text[:20]!r}, is not a quantity")
    if _SEPARATED.match(text):
        wanted = "write a decimal point, no separators: '6.7 lb/gal'"
        raise QuantityError(f"{text!r} has a comma or a space in its number; {wanted}")
    match = _NUMBER.match(text.replace("\N{MINUS SIGN}", "-").replace("\N{NO-BREAK SPACE}", " "))
    if match is None:
        raise QuantityError(f"{text!r} does not begin with a number; write one number and one unit, as '30 degC'")
    return Fraction(match["number"]), match["rest"].strip()


@lru_cache(maxsize=4096)
@lru_cache(maxsize=4096)
def exact(text: str, unit: str, *, name: str) -> Fraction:
    """Return the number of a text in a unit, exactly."""
    number, written = read_text(text)
    goal = read_unit(unit)
    if not written:
        raise QuantityError(f"{name}: {text!r} has no unit; write it, for example {goal.example!r}")
    if written in PERCENT:
        raise DimensionError(f"{name}: {text!r} is a ratio, and {goal.kind} is needed, such as {goal.example!r}")
    start = read_unit(written)
    _check_kind(start, goal, text, name)
    above_zero(float(number), start, text, name)
    return (number * start.size + (start.zero or 0) - (goal.zero or 0)) / goal.size


def _check_kind(start: Unit, goal: Unit, given: Any, name: str) -> None:
    """Refuse a unit that does not measure what is needed; a temperature is not a difference of temperatures."""
    if _kind_of(start.dimension) == _kind_of(goal.dimension) and (start.zero is None) == (goal.zero is None):
        return
    needed = f"{goal.kind} is needed, such as {goal.example!r}"
    with suppress(DimensionError):
        density_power(start, goal)
        needed += f"; convert between volume and mass with a density first; {BY_MASS}"
    raise DimensionError(f"{name}: {format_value(given)} is {start.kind}, and {needed}")


def _unwrap(value: Any) -> Any:
    """Return the quantity that a pandas Series or an xarray array holds, a time difference as text, else the value."""
    if isinstance(value, str) or hasattr(value, "dimensionality"):  # pint is slow to say what it lacks
        return value
    if isinstance(value, timedelta):
        return f"{value.total_seconds():.6f} s"
    if hasattr(getattr(value, "array", None), "quantity"):
        return value.array.quantity
    return value.data if hasattr(value, "coords") and hasattr(value.data, "dimensionality") else value


def magnitude(value: Any, unit: str, *, name: str, takes: str = "") -> Any:
    """Return the number, or the array, of a quantity in a unit; `takes` is what would take a plain number."""
    value = _unwrap(value)
    if isinstance(value, str):
        try:
            return float(exact(value, unit, name=name))
        except OverflowError:
            raise QuantityError(f"{name}: {value!r} is too large a number") from None
    goal = read_unit(unit)
    if is_quantity(value):
        return _pint_magnitude(value, goal, name)
    if getattr(getattr(value, "dtype", None), "kind", "") == "m":  # time differences of NumPy, pandas or xarray
        import numpy as np

        _check_kind(read_unit("s"), goal, value, name)
        with suppress(TypeError):  # months and years, which differ in length, are refused below
            return np.asarray(value) / np.timedelta64(1, "s") / float(goal.size)
    if holds_unit(value):
        such = f"{goal.example!r}, or one of pint that holds an array"
        raise QuantityError(f"{name} must be one quantity, such as {such}; got {format_value(value)}")
    bare = f"the bare number {format_value(value)}" if isinstance(value, (int, float)) else type(value).__name__
    hint = f"; plain numbers go to {takes}" if takes else ""
    raise QuantityError(f"{name}: {bare} has no unit; write text such as {goal.example!r}, or a quantity{hint}")


def _dimension_of(value: Any) -> Any:
    """Return the dimension of a quantity, empty for a ratio; None of what has no unit."""
    value = _unwrap(value)
    if isinstance(value, str):
        written = read_text(value)[1]
        return () if written in PERCENT else _kind_of(read_unit(written).dimension) if written else None
    if not is_quantity(value):
        return None
    powers = {_BASES.get(base.strip("[]"), base): power for base, power in value.dimensionality.items()}
    return _kind_of(tuple(sorted(powers.items())))


def has_dimension(value: Any, unit: str) -> bool:
    """Return whether a quantity has the dimension of a unit; pulses per second count as a frequency."""
    return bool(_dimension_of(value) == _kind_of(read_unit(unit).dimension))


def is_ratio(value: Any) -> bool:
    """Return whether something is a percentage or a quantity without dimension."""
    return bool(_dimension_of(value) == ())


def _pint_magnitude(quantity: Any, goal: Unit, name: str) -> Any:
    parts = [part for part, _ in quantity.unit_items()]
    if goal.zero is not None and any(part.startswith("delta_") for part in parts):
        raise DimensionError(f"{name}: {quantity} is a temperature difference, and a temperature is needed")
    scale, unit = 1.0, goal.name
    if goal.dimension in (_FREQUENCY, _PULSE_RATE):
        refuse_angles(quantity, name)
        scale, unit = float(1 / goal.size), "pulse/s" if any("pulse" in part for part in parts) else "1/s"
    wanted = pint_unit(type(quantity), unit, name)
    dtype: Any = getattr(quantity.magnitude, "dtype", None)
    if dtype == "float16" or (getattr(dtype, "kind", "") in ("i", "u") and dtype.itemsize < 8):
        quantity = type(quantity)(quantity.magnitude.astype("float64"), quantity.units)  # pint's factors overflow these
    # a context of pint would convert another kind all the same
    _check_kind(goal._replace(dimension=_dimension_of(quantity)), goal, quantity, name)
    try:
        number = quantity.m_as(wanted)
    except (TypeError, ValueError, OverflowError) as wrong:
        raise QuantityError(f"{name}: {format_value(quantity)} is too large, or is no number: {wrong}") from wrong
    if type(number) is not float:
        number = _plain(number, name, quantity)
    return above_zero(number if scale == 1.0 else number * scale, goal, quantity, name)


def refuse_angles(quantity: Any, name: str) -> None:
    """Refuse a pint quantity of turns, angles or bytes: pint takes a cycle for 6.28, a radian for 1, a byte for 8."""
    if any(part in ("radian", "bit") for part, _ in type(quantity)(1, quantity.units).to_root_units().unit_items()):
        counted = f"{format_value(quantity)} counts angles, turns or bits"
        raise DimensionError(f"{name}: {counted}, not pulses; write '99.8 Hz'")


def above_zero(number: Any, unit: Unit, given: Any, name: str) -> Any:
    """Return a number of a unit, or refuse a temperature below absolute zero; NaN and masked cells pass."""
    if unit.zero is None:
        return number
    lowest = -float(unit.zero / unit.size)
    if not any_of(getattr(number, "nominal_value", number) < lowest):
        return number
    limit = f"absolute zero, {lowest:g} {print_unit(unit.name)}"
    raise QuantityError(f"{name} must not be below {limit}; got {format_value(given)}")


def _plain(number: Any, name: str, quantity: Any) -> Any:
    """Return a float for one number, and an array as it is; masked cells are refused."""
    import numpy as np

    if isinstance(number, np.ma.MaskedArray) or number is np.ma.masked:
        if np.ma.is_masked(number):
            raise QuantityError(f"{name} must have no masked cells; leave them out, or fill them with NaN")
        number = np.asarray(number)
    if np.ndim(number) or isinstance(number, np.ndarray):
        kind = getattr(number, "dtype", np.dtype(float)).kind
        if kind in "fiu" or (kind == "O" and not any(hasattr(each, "nominal_value") for each in number.flat)):
            return number
    elif not isinstance(number, (bool, np.bool_, complex)):
        with suppress(TypeError, ValueError, OverflowError):
            return float(number)
    raise QuantityError(f"{name} must be plain numbers with a unit; got {format_value(quantity)}")


def in_unit(value: Any, unit: str, name: str) -> Any:
    """Return text or a quantity in the unit that the argument's name states; anything else as it is."""
    return magnitude(value, unit, name=name) if isinstance(value, str) or holds_unit(value) else value


def positive_in_unit(value: Any, unit: str, name: str) -> float:
    """Return one positive number in a unit, from a number, text or a quantity."""
    return positive_number(in_unit(value, unit, name), name)


def temperature_c(value: Any, *, name: str = "temperature", takes: str = "") -> Any:
    """Return a temperature in degrees Celsius, from text or a pint quantity."""
    return magnitude(value, "degC", name=name, takes=takes)


def positive(value: Any, unit: str, *, name: str, zero: bool = False) -> Any:
    """Return the number of an amount that cannot be negative, nor zero unless `zero` says so."""
    number = magnitude(value, unit, name=name)
    if is_positive(number, zero=zero):
        return number
    needed, such = "zero or positive" if zero else "positive", read_unit(unit).example
    raise QuantityError(f"{name} must be {needed} and finite, for example {such!r}; got {format_value(value)}")


def exact_number(value: Any, unit: str, *, name: str, zero: bool = False) -> Fraction:
    """Return the number of one positive quantity exactly; a float counts as the binary number that it is."""
    number = positive(value, unit, name=name, zero=zero)
    if not isinstance(number, float) or math.isnan(number):
        raise QuantityError(f"{name} must be one quantity; got {format_value(value)}")
    return exact(value, unit, name=name) if isinstance(value, str) else Fraction(float(number))


def fraction(value: Any, *, name: str) -> float:
    """Return a tolerance such as ``"3 %"`` as a fraction; a bare number (3 or 0.03?) is refused."""
    number = ratio(value, name=name)
    if not 0 <= number < 1e100:  # its square is a number too
        raise QuantityError(f"{name} must be finite and not negative, for example '3 %'; got {format_value(value)}")
    return number


def tolerance_fraction(value: Any, *, name: str = "tolerance") -> float:
    """Return a tolerance such as ``"3 %"`` as a fraction below 1: from 100 % on, zero would pass for any figure."""
    if (found := fraction(value, name=name)) >= 1.0:
        raise QuantityError(f"{name}: {value} would accept zero; a tolerance is below 100 %, for example '3 %'")
    return found


def ratio(value: Any, *, name: str) -> float:
    """Return the number of a percentage, or of one quantity without dimension."""
    if isinstance(value, str):
        number, unit = read_text(value)
        if unit in PERCENT:
            with suppress(OverflowError):
                return float(number / 100)
    elif is_quantity(value):
        refuse_angles(value, name)
        with suppress(TypeError, ValueError, OverflowError):
            return float(value.m_as("dimensionless"))
    raise QuantityError(f"{name} must be a percentage, for example '3 %'; got {format_value(value)}")


def pair(value: Any, unit: str, *, name: str) -> tuple[float, float]:
    """Return the two ends of a range such as ``("-20 degC", "40 degC")``, the lower first."""
    ends = members(value)
    if len(ends) != 2 or any(map(members, ends)):
        such = f"two quantities, such as {read_unit(unit).example!r}, the lower first"
        raise QuantityError(f"{name} must be {such}; got {format_value(value)}")
    first_quantity(*ends)
    low, high = (float(magnitude(end, unit, name=name)) for end in ends)
    if not low <= high:
        raise QuantityError(f"{name}: {ends[0]} is above {ends[1]}; write the lower one first")
    return low, high


def members(value: Any) -> list[Any]:
    """Return the members of a list or any other iterable; none of a text, a set or what gives names or is labelled."""
    with suppress(TypeError):
        return [] if isinstance(value, (str, Set, Mapping)) or is_labelled(value) else list(value)
    return []


def is_labelled(value: Any) -> bool:
    """Return whether something is a frame, or has labels that are not whole numbers: its order may be another."""
    kinds = {each.inferred_type for each in _labels(value).values()}
    return hasattr(type(value), "columns") or not kinds <= {"integer", "empty"}
