"""Convert objects that a user makes to plain JSON types and back, without loss.

Of an object, the `thing`, the `data` are a dict of its ``type`` and its fields. An uncertain input is written once,
under ``inputs``, and is named by its key wherever it enters: what two runs share, such as one balance, is shared again
after loading. Its identity, ``cause``, is kept with it, so that runs share it that were saved in files of their own.
"""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import MISSING, fields
from fractions import Fraction
from importlib import import_module
from typing import Any

import numpy as np

import fuelunits as fu
from fuelunits.errors import FileError, FuelUnitsError
from fuelunits.quantities import answer, is_quantity, pint_unit
from fuelunits.uncertainty.budget import UNKNOWN, Input, cause
from fuelunits.units import read_unit
from fuelunits.validation import did_you_mean, format_value, nearest

FORMAT = 1  # the number of the format; a file of a later one is refused

_IN = {"Conformity": "uncertainty.decisions", "Range": "sources", "Reading": "fuels.batches", "Scaled": "fuels.liquids"}
TYPES = (
    *("Batch", "BenchResult", "BenchSheet", "Blend", "Calibration", "CalibrationEvent", "CalibrationPoint"),
    *("CapacitanceBox", "CapacitanceGauge", "CapacitanceSheet", "Equipment", "FillUp", "FrequencyRecord", "Fuel"),
    *("Generator", "GivenExpansion", "GravimetricRun", "Indicator", "JobRecord", "KFactor", "LowFuelByQuantity"),
    *("LowFuelByTime", "LowFuelPoint", "MeterCurve", "Part", "PetroleumProduct", "Probe", "PulseCounts"),
    *("PulseRecord", "TankTable", "TransducerHistory", "ViscosityCurve", "ViscosityLine", "VolumetricRun"),
    *_IN,
)
"""The classes that can be kept; those that are not public, with their modules, are parts of the others."""


def _product(commodity: str = "refined products", **others: Any) -> Any:
    by_name = {each.name: each for each in (fu.CRUDE_OIL, fu.REFINED_PRODUCTS, fu.LUBRICATING_OIL)}
    return fu.PetroleumProduct(commodity=by_name[_known(commodity, "commodity", by_name, "record")], **others)


def _job(results: Any = None, **others: Any) -> Any:
    if not results:
        raise FileError("results: a record keeps the figures of the day; without them no edit can be detected")
    return fu.JobRecord(results=results, **others)


_SPECIAL: dict[str, tuple[tuple[str, ...], Callable[..., Any]]] = {
    "Fuel": (("name",), lambda name: fu.fuel(name)),
    "JobRecord": ((), _job),
    "KFactor": (("value", "unit"), lambda value, unit: fu.KFactor(value, per=unit)),
    "PetroleumProduct": (("base_density_kg_m3", "base_c", "edition", "commodity"), _product),
}
"""The fields that are kept where they are not those of the constructor, and what makes the object of them."""


def type_named(name: str) -> Any:
    """Return the class of a name of :data:`TYPES`."""
    return getattr(import_module(f"fuelunits.{_IN[name]}") if name in _IN else fu, name)


def kept_fields(name: str) -> tuple[list[str], list[str]]:
    """Return the fields of a class that are kept, and those of them that must be there."""
    kept = _SPECIAL[name][0] if name in _SPECIAL else ()
    found = {each.name: each for each in fields(type_named(name)) if each.init or kept}
    needed = {key for key, each in found.items() if each.default is MISSING and each.default_factory is MISSING}
    return list(kept or found), [each for each in kept or found if each in needed]


class _Encoder:
    def __init__(self) -> None:
        self.inputs: dict[str, Any] = {}
        self._keys: dict[int, str] = {}

    def encode(self, value: Any) -> Any:
        """Return a value as plain JSON types."""
        if value is None or isinstance(value, (str, bool, int)):
            return value
        if isinstance(value, np.generic):
            return self.encode(value.item())
        if isinstance(value, float):
            return value if math.isfinite(value) else {"type": "number", "value": str(value)}
        if isinstance(value, Fraction):
            return {"type": "fraction", "value": str(value)}
        if isinstance(value, (list, tuple)):
            return [self.encode(each) for each in value]
        if isinstance(value, Mapping):
            return {"type": "mapping", "items": [[self.encode(k), self.encode(v)] for k, v in value.items()]}
        if type(value) is np.ndarray and value.dtype.kind in "fiub":
            data = [str(x) if isinstance(x, float) and not math.isfinite(x) else x for x in value.ravel().tolist()]
            return {"type": "array", "dtype": value.dtype.str, "shape": list(value.shape), "data": data}
        if is_quantity(value):
            unit = read_unit(format(value.units, "C").replace("**", "^"))
            pint_unit(type(value), unit.name)  # refused, as above, where it is not one of ours
            return {"type": "quantity", "value": self.encode(value.magnitude), "unit": unit.name}
        if hasattr(value, "nominal_value") and hasattr(value, "tag"):
            return {"type": "input", "key": self._key(value)}
        if hasattr(value, "nominal_value"):
            terms = [[self._key(each), slope] for each, slope in value.derivatives.items()]
            return {"type": "uncertain", "value": value.nominal_value, "terms": terms}
        name = type(value).__name__
        if name == "Commodity":
            return value.name
        if name not in TYPES or type(value) is not type_named(name):
            raise FuelUnitsError(f"{format_value(value)} cannot be saved in a file")
        found: dict[str, Any] = {"type": name}
        defaults = {each.name: each.default for each in fields(value)}
        for field in kept_fields(name)[0]:
            one, default = getattr(value, field), defaults.get(field, MISSING)
            if type(one) is not type(default) or one != default:
                found[field] = self.encode(one)
        return found

    def _key(self, variable: Any) -> str:
        key = self._keys.setdefault(id(variable), str(len(self._keys) + 1))
        tag, degrees = variable.tag, getattr(variable.tag, "degrees_of_freedom", math.inf)
        entry = {"value": variable.nominal_value, "uncertainty": variable.std_dev}
        entry |= {} if tag is None else {"name": str(tag), "unit": getattr(tag, "unit", "")}
        entry |= {"degrees_of_freedom": degrees if degrees < math.inf else None, "joint": getattr(tag, "joint", None)}
        entry |= {"cause": getattr(variable, "identity", f"{UNKNOWN}{os.urandom(12).hex()}")}  # foreign ones have none
        self.inputs[key] = {name: one for name, one in entry.items() if one is not None}
        return key


def to_dict(thing: Any) -> dict[str, Any]:
    """Return a K-factor, an indicator, a sheet, a calibration, a job or other object as plain JSON types.

    The dict holds the number of the format, the version of the library, the record and the uncertain inputs.

    Examples
    --------
    >>> from fuelunits import KFactor
    >>> to_dict(KFactor.read("11412 pulse/L"))["record"]
    {'type': 'KFactor', 'value': {'type': 'fraction', 'value': '11412'}, 'unit': 'L'}
    """
    encoder = _Encoder()
    try:
        record = encoder.encode(thing)
    except FuelUnitsError:
        raise
    except (RecursionError, ValueError) as wrong:  # it contains itself; an integer of thousands of digits
        raise FuelUnitsError(f"{format_value(thing)} cannot be saved in a file: {wrong}") from wrong
    if not isinstance(record, dict) or record["type"] not in TYPES:
        raise FuelUnitsError(f"{format_value(thing)} cannot be saved in a file; {', '.join(TYPES)} can")
    found = {"format": FORMAT, "fuelunits": fu.__version__, "record": record}
    return {**found, "inputs": encoder.inputs} if encoder.inputs else found


class _Decoder:
    def __init__(self, inputs: Any) -> None:
        self._entries = _kind(inputs, dict, "inputs")
        self._made: dict[str, Any] = {}
        self._file = f"{UNKNOWN}{os.urandom(12).hex()}"  # begins the identities that it does not state

    def decode(self, node: Any, place: str) -> Any:
        """Return the object of a node; lists become tuples."""
        if isinstance(node, list):
            return tuple(self.decode(each, f"{place}[{i}]") for i, each in enumerate(node))
        if not isinstance(node, dict):
            return node
        own = {key: value for key, value in node.items() if key != "type"}
        name = _known(node.get("type"), "type", [*TYPES, *_SIMPLE], place)
        try:
            if name in _SIMPLE:
                keys, make = _SIMPLE[name]
                _check_keys(own, keys, keys, place)
                return make(self, place, *(own[key] for key in keys))
            early = own.pop("attitudes", None) if name == "TankTable" else None  # a key of an early version
            if early not in (None, {"type": "mapping", "items": []}):
                raise FileError(f"{place}: attitudes are not kept in a table: make and save one TankTable for each")
            _check_keys(own, *kept_fields(name), place)
            values = {key: self.decode(value, f"{place}.{key}") for key, value in own.items()}
            return (_SPECIAL[name][1] if name in _SPECIAL else type_named(name))(**values)
        except FileError:
            raise
        except FuelUnitsError as wrong:
            raise FileError(f"{place} ({name}): {wrong}") from wrong
        except (TypeError, ValueError, AttributeError, ArithmeticError, LookupError) as wrong:
            raise FileError(f"{place}: {format_value(node)} is not a {name}: {wrong}") from wrong

    def input(self, key: Any) -> Any:
        """Return the uncertain input of a key, always the same object."""
        if key not in self._entries:
            raise FileError(f"inputs: there is no input {format_value(key)}")
        if key not in self._made:
            place = f"inputs.{key}"
            entry = {"degrees_of_freedom": math.inf, **_kind(self._entries[key], dict, place)}
            _check_keys(entry, _INPUT, _INPUT[:2], place)
            value, spread = (_number(entry[each], f"{place}.{each}") for each in _INPUT[:2])
            degrees = float(_kind(entry["degrees_of_freedom"], (int, float), f"{place}.degrees_of_freedom"))
            if spread < 0.0 or not degrees >= 1.0:
                raise FileError(f"{place}: the uncertainty must not be negative, nor the degrees of freedom below 1")
            joint = entry.get("joint")  # in files of an early version a number, without identities
            joint = f"{self._file}/{joint}" if isinstance(joint, int) else joint and _kind(joint, str, f"{place}.joint")
            tag = Input(str(entry["name"]), str(entry.get("unit", "")), degrees, joint) if "name" in entry else None
            identity = _kind(entry.get("cause", f"{self._file}/{key}"), str, f"{place}.cause")
            self._made[key] = cause(value, spread, tag, identity)
        return self._made[key]

    def uncertain(self, place: str, value: Any, terms: Any) -> Any:
        """Return a number that depends on inputs, by the slope on each."""
        number: Any = _number(value, place)
        for key, slope in terms:
            variable = self.input(key)
            number = number + _number(slope, place) * (variable - variable.nominal_value)
        return number


_INPUT = ("value", "uncertainty", "degrees_of_freedom", "name", "unit", "joint", "cause")
_SIMPLE: dict[str, tuple[tuple[str, ...], Callable[..., Any]]] = {
    "number": (("value",), lambda _, place, value: _not_finite(value, place)),
    "fraction": (("value",), lambda _, place, value: _fraction(_kind(value, str, place))),
    "mapping": (("items",), lambda it, place, items: {k: it.decode(v, f"{place}[{k!r}]") for k, v in unique(items)}),
    "array": (("dtype", "shape", "data"), lambda _, place, *parts: _array(place, *parts)),
    "input": (("key",), lambda decoder, _, key: decoder.input(key)),
    "uncertain": (("value", "terms"), lambda decoder, place, value, terms: decoder.uncertain(place, value, terms)),
    "quantity": (("value", "unit"), lambda decoder, place, value, unit: answer(decoder.decode(value, place), unit)),
}
"""The other types: their keys, and what makes the object of their values."""


def unique(pairs: list[tuple[Any, Any]]) -> list[tuple[Any, Any]]:
    """Return pairs, and refuse a key that is given twice: a reader sees one value, and the other would count."""
    keys = [key for key, _ in pairs]
    if len(set(keys)) < len(keys):
        raise FileError(f"the key {max(keys, key=keys.count)!r} is given twice in one object")
    return pairs


def _fraction(text: str) -> Fraction:
    if "e" in text.lower():  # 1e999999999 would take for ever
        raise ValueError("write it as '34236/3'")
    return Fraction(text)


def _array(place: str, dtype: Any, shape: Any, data: Any) -> Any:
    if np.dtype(_kind(dtype, str, place)).kind not in "fiub":
        raise ValueError("an array has a dtype of numbers")
    values = [_not_finite(each, place) if isinstance(each, str) else each for each in _kind(data, list, place)]
    return np.array(values, dtype=dtype).reshape(shape)


def _not_finite(value: Any, place: str) -> float:
    return float(_known(value, "number", ("nan", "inf", "-inf"), place))


def _kind(value: Any, kind: type | tuple[type, ...], place: str) -> Any:
    """Return a value of the kind that JSON should have here, or refuse it."""
    if isinstance(value, kind) and not isinstance(value, bool):
        return value
    words: dict[Any, str] = {dict: "an object with keys", list: "a list", str: "text"}
    raise FileError(f"{place}: {format_value(value)} is not {words.get(kind, 'a number')}")


def _number(value: Any, place: str) -> float:
    if not abs(_kind(value, (int, float), place)) < 1e100:  # its square would overflow
        raise FileError(f"{place}: {format_value(value)} must be below 1e100")
    return float(value)


def _known(given: Any, what: str, known: Iterable[str], place: str) -> str:
    """Return a text that is among those known, or refuse it with the nearest one."""
    if isinstance(given, str) and given in known:
        return given
    hint = did_you_mean(nearest(given, known), f"known are {', '.join(known)}")
    raise FileError(f"{place}: unknown {what} {format_value(given)}; {hint}")


def _check_keys(own: Mapping[str, Any], known: Sequence[str], needed: Iterable[str], place: str) -> None:
    for key in own:
        _known(key, "key", known, place)
    missing = [key for key in needed if key not in own]
    if missing:
        raise FileError(f"{place}: {', '.join(map(repr, missing))} is missing")


def from_dict(data: Any) -> Any:
    """Return the object that :func:`to_dict` converted; what its class refuses is a FileError that names the place.

    Examples
    --------
    >>> from fuelunits import KFactor
    >>> from_dict(to_dict(KFactor.read("11412 pulse/L")))
    KFactor(11412, per='L')
    """
    root = _kind(data, dict, "record")
    form = root.get("format")
    if not isinstance(form, int) or isinstance(form, bool) or form < FORMAT:
        raise FileError(f"format must be {FORMAT}; got {format_value(form)}. Is this a record of fuelunits?")
    if form > FORMAT:
        raise FileError(f"format {form} is later than {FORMAT}, which this version reads; use a newer fuelunits")
    _check_keys(root, ("format", "fuelunits", "record", "inputs"), ("fuelunits", "record"), "record")
    node = _kind(root["record"], dict, "record")
    _known(node.get("type"), "type", TYPES, "record")
    return _Decoder(root.get("inputs", {})).decode(node, "record")
