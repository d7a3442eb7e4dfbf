"""Convert objects that a user makes to plain JSON types and back, without loss.

An object is a dict of its ``type`` and its fields. An uncertain input is written once, under ``inputs``, and is named
by its key wherever it enters: what two runs share, such as one balance, is shared again after loading.
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Callable, Mapping
from dataclasses import MISSING, fields
from fractions import Fraction
from importlib import import_module
from typing import Any

import numpy as np

from fuelunits.errors import FileError, FuelUnitsError
from fuelunits.pint_units import answer, is_quantity
from fuelunits.units import read_unit
from fuelunits.validation import format_value

FORMAT = 1
"""The number of the format; a file of a later one is refused."""

TYPES = {
    "bench.calibration": "BenchResult Calibration",
    "bench.runs": "GravimetricRun VolumetricRun",
    "fuels.batches": "Batch",
    "fuels.blends": "Blend",
    "fuels.density_scales": "Reading",
    "fuels.grades": "Fuel",
    "fuels.liquids": "GivenExpansion PetroleumProduct Scaled",
    "fuels.viscosity": "ViscosityLine",
    "indicators.bench_sheet": "BenchSheet Generator LowFuelPoint",
    "indicators.capacitance": "CapacitanceGauge Probe",
    "indicators.capacitance_sheet": "CapacitanceBox CapacitanceSheet",
    "indicators.endurance": "LowFuelByQuantity LowFuelByTime",
    "indicators.fill_ups": "FillUp",
    "indicators.indicator": "Indicator",
    "indicators.tank_table": "TankTable",
    "meters.counts": "FrequencyRecord PulseCounts",
    "meters.curve": "MeterCurve",
    "meters.k_factor": "KFactor",
    "meters.points": "CalibrationPoint",
    "meters.pulse_record": "PulseRecord",
    "meters.viscosity_curve": "ViscosityCurve",
    "sources": "Range",
    "records.history": "CalibrationEvent TransducerHistory",
    "records.job": "Equipment JobRecord Part",
    "uncertainty.conformity": "Conformity",
}
"""The classes that can be kept, by module."""

_HOMES = {name: module for module, names in TYPES.items() for name in names.split()}
_KEPT: dict[str, tuple[str, ...]] = {
    "BenchResult": ("calibrations",),
    "Calibration": ("runs", "unit", "repeatability"),
    "Fuel": ("name",),
    "KFactor": ("value", "unit"),
    "PetroleumProduct": ("base_density_kg_m3", "base_c", "edition", "commodity"),
}
"""The fields that are kept where they are not those of the constructor: the rest follows from them."""


def _fuel(name: str) -> Any:
    return import_module("fuelunits.fuels.grades").fuel(name)


def _product(commodity: str = "refined products", **others: Any) -> Any:
    known = import_module("fuelunits.fuels.commodities")
    by_name = {each.name: each for each in (known.CRUDE_OIL, known.REFINED_PRODUCTS, known.LUBRICATING_OIL)}
    if commodity not in by_name:
        raise FileError(f"commodity must be one of {', '.join(by_name)}; got {format_value(commodity)}")
    return import_module("fuelunits.fuels.liquids").PetroleumProduct(commodity=by_name[commodity], **others)


def _job(results: Any = None, **others: Any) -> Any:
    job = type_named("JobRecord")(results=results or {}, **others)
    if job.results and not results:
        raise FileError("results: a record keeps the figures of the day; without them no edit can be detected")
    return job


_MAKERS: dict[str, Callable[..., Any]] = {
    "Calibration": lambda runs, **others: import_module("fuelunits.bench.calibration").calibrate(runs, **others),
    "Fuel": _fuel,
    "JobRecord": _job,
    "KFactor": lambda value, unit: type_named("KFactor")(value, per=unit),
    "PetroleumProduct": _product,
}


def type_named(name: str) -> Any:
    """Return the class of a name of :data:`TYPES`."""
    return getattr(import_module(f"fuelunits.{_HOMES[name]}"), name)


def kept_fields(name: str) -> dict[str, bool]:
    """Return the fields of a class that are kept, and whether each must be there."""
    kind = type_named(name)
    found = {each.name: each for each in fields(kind) if each.init or name in _KEPT}
    kept = _KEPT.get(name, tuple(found))
    return {
        each: each in found and found[each].default is MISSING and found[each].default_factory is MISSING
        for each in kept
    }


class _Encoder:
    def __init__(self) -> None:
        self.inputs: dict[str, Any] = {}
        self._keys: dict[int, str] = {}
        self._groups: dict[int, int] = {}

    def encode(self, value: Any, place: str) -> Any:
        """Return a value as plain JSON types, refusing by place what cannot be kept."""
        if value is None or isinstance(value, (str, bool)) or (isinstance(value, int) and value.bit_length() < 4096):
            return value
        if isinstance(value, np.generic):
            return self.encode(value.item(), place)
        if isinstance(value, float):
            return value if math.isfinite(value) else {"type": "number", "value": str(value)}
        if isinstance(value, Fraction) and max(abs(value.numerator), value.denominator).bit_length() < 4096:
            return {"type": "fraction", "value": str(value)}
        if isinstance(value, (list, tuple)):
            return [self.encode(each, f"{place}[{i}]") for i, each in enumerate(value)]
        if isinstance(value, Mapping):
            return {
                "type": "mapping",
                "items": [[self.encode(k, place), self.encode(v, place)] for k, v in value.items()],
            }
        if type(value) is np.ndarray and value.dtype.kind in "fiub":
            return {"type": "array", "dtype": value.dtype.str, "shape": list(value.shape), "data": self._data(value)}
        if is_quantity(value):
            number = value.magnitude.tolist() if isinstance(value.magnitude, np.generic) else value.magnitude
            return {"type": "quantity", "value": self.encode(number, place), "unit": _unit_of(value, place)}
        if hasattr(value, "nominal_value") and hasattr(value, "derivatives"):
            return self._uncertain(value)
        name = type(value).__name__
        if name == "Commodity":
            return value.name
        if name in _HOMES and type(value) is type_named(name):
            return self._thing(name, value, place)
        raise FuelUnitsError(f"{place}: {format_value(value)} cannot be saved in a file")

    def _data(self, array: Any) -> list[Any]:
        return [
            each if not isinstance(each, float) or math.isfinite(each) else str(each) for each in array.ravel().tolist()
        ]

    def _thing(self, name: str, value: Any, place: str) -> dict[str, Any]:
        found: dict[str, Any] = {"type": name}
        defaults = {each.name: each.default for each in fields(value)}
        for field in kept_fields(name):
            one = getattr(value, field)
            default = defaults.get(field, MISSING)
            is_plain = isinstance(one, (str, int, float, tuple, type(None))) and type(one) is type(default)
            if not (is_plain and one == default):
                found[field] = self.encode(one, f"{place}.{field}")
        return found

    def _uncertain(self, value: Any) -> dict[str, Any]:
        if hasattr(value, "tag"):
            return {"type": "input", "key": self._key(value)}
        terms = [[self._key(each), slope] for each, slope in value.derivatives.items()]
        return {"type": "uncertain", "value": value.nominal_value, "terms": terms}

    def _key(self, variable: Any) -> str:
        if id(variable) not in self._keys:
            key = self._keys[id(variable)] = str(len(self._keys) + 1)
            tag = variable.tag
            entry: dict[str, Any] = {"value": variable.nominal_value, "uncertainty": variable.std_dev}
            if tag is not None:
                entry |= {"name": str(tag), "unit": getattr(tag, "unit", "")}
                degrees = getattr(tag, "degrees_of_freedom", math.inf)
                if math.isfinite(degrees):
                    entry["degrees_of_freedom"] = degrees
                if getattr(tag, "joint", None) is not None:
                    entry["joint"] = self._groups.setdefault(id(tag.joint), len(self._groups) + 1)
            self.inputs[key] = entry
        return self._keys[id(variable)]


def to_dict(thing: Any) -> dict[str, Any]:
    """Return an object as plain JSON types, from which :func:`from_dict` constructs it again.

    Parameters
    ----------
    thing : KFactor, Indicator, BenchSheet, Calibration, JobRecord, …
        One of the classes of :data:`TYPES`. The dict holds the number of the format, the version of the library, the
        record, and the uncertain inputs that it shares.

    Examples
    --------
    >>> from fuelunits.meters.k_factor import KFactor
    >>> to_dict(KFactor.read("11412 pulse/L"))["record"]
    {'type': 'KFactor', 'value': {'type': 'fraction', 'value': '11412'}, 'unit': 'L'}
    """
    from fuelunits import __version__

    encoder = _Encoder()
    try:
        record = encoder.encode(thing, "record")
    except RecursionError:
        raise FuelUnitsError(f"{format_value(thing)} contains itself and cannot be saved in a file") from None
    if not isinstance(record, dict) or record["type"] not in _HOMES:
        raise FuelUnitsError(f"{format_value(thing)} cannot be saved in a file; {', '.join(sorted(_HOMES))} can")
    found = {"format": FORMAT, "fuelunits": __version__, "record": record}
    return {**found, "inputs": encoder.inputs} if encoder.inputs else found


class _Decoder:
    def __init__(self, inputs: Any) -> None:
        self._entries = _mapping(inputs, "inputs")
        self._made: dict[str, Any] = {}
        self._groups: dict[Any, object] = {}

    def decode(self, node: Any, place: str) -> Any:
        """Return the object of a node; lists become tuples."""
        if isinstance(node, list):
            return tuple(self.decode(each, f"{place}[{i}]") for i, each in enumerate(node))
        if not isinstance(node, dict):
            return node
        name = node.get("type")
        own = {key: value for key, value in node.items() if key != "type"}
        if isinstance(name, str) and name in _HOMES:
            return self._thing(name, own, place)
        simple = _SIMPLE.get(name) if isinstance(name, str) else None
        if simple is None:
            raise FileError(f"{place}: {_unknown('type', name, [*_HOMES, *_SIMPLE])}")
        keys, make = simple
        _check_keys(own, dict.fromkeys(keys, True), place)
        try:
            return make(self, place, *(own[key] for key in keys))
        except (TypeError, ValueError, OverflowError, ArithmeticError, KeyError) as wrong:
            if isinstance(wrong, FileError):
                raise
            raise FileError(f"{place}: {format_value(node)} is not a {name}: {wrong}") from wrong

    def _thing(self, name: str, own: dict[str, Any], place: str) -> Any:
        _check_keys(own, kept_fields(name), place)
        values = {key: self.decode(value, f"{place}.{key}") for key, value in own.items()}
        try:
            return _MAKERS.get(name, type_named(name))(**values)
        except FileError:
            raise
        except FuelUnitsError as wrong:
            raise FileError(f"{place} ({name}): {wrong}") from wrong
        except (TypeError, ValueError, AttributeError, ArithmeticError, IndexError, KeyError) as wrong:
            raise FileError(f"{place}: these are not the fields of a {name}: {wrong}") from wrong

    def input(self, key: Any) -> Any:
        """Return the uncertain input of a key, always the same object."""
        if not isinstance(key, str) or key not in self._entries:
            raise FileError(f"inputs: there is no input {format_value(key)}")
        if key not in self._made:
            from uncertainties import ufloat

            from fuelunits.uncertainty.budget import Input

            entry = _mapping(self._entries[key], f"inputs.{key}")
            known = {"value": True, "uncertainty": True, "name": False, "unit": False, "degrees_of_freedom": False}
            _check_keys(entry, {**known, "joint": False}, f"inputs.{key}")
            value, spread = (_number(entry[each], f"inputs.{key}.{each}") for each in ("value", "uncertainty"))
            degrees = _number(entry.get("degrees_of_freedom", math.inf), f"inputs.{key}.degrees_of_freedom")
            if spread < 0.0 or not degrees >= 1.0:
                raise FileError(
                    f"inputs.{key}: the uncertainty must not be negative, nor the degrees of freedom below 1"
                )
            joint = self._groups.setdefault(entry["joint"], object()) if "joint" in entry else None
            tag = Input(str(entry["name"]), str(entry.get("unit", "")), degrees, joint) if "name" in entry else None
            self._made[key] = ufloat(value, spread, tag=tag)
        return self._made[key]

    def uncertain(self, place: str, value: Any, terms: Any) -> Any:
        """Return a number that depends on inputs, by the slope on each."""
        number: Any = _number(value, place)
        for key, slope in terms:
            variable = self.input(key)
            number = number + _number(slope, place) * (variable - variable.nominal_value)
        return number


def _unit_of(quantity: Any, place: str) -> str:
    try:
        return read_unit(format(quantity.units, "C").replace("**", "^")).name
    except FuelUnitsError as unknown:
        raise FuelUnitsError(f"{place}: {quantity} is in a unit that cannot be saved; {unknown}") from unknown


_SIMPLE: dict[str, tuple[tuple[str, ...], Callable[..., Any]]] = {
    "number": (("value",), lambda _, place, value: float(_one_of(value, ("nan", "inf", "-inf"), place))),
    "fraction": (("value",), lambda _, place, value: _fraction(value, place)),
    "mapping": (("items",), lambda decoder, place, items: {k: decoder.decode(v, f"{place}[{k!r}]") for k, v in items}),
    "array": (("dtype", "shape", "data"), lambda _, place, *parts: _array(place, *parts)),
    "input": (("key",), lambda decoder, _, key: decoder.input(key)),
    "uncertain": (("value", "terms"), lambda decoder, place, value, terms: decoder.uncertain(place, value, terms)),
    "quantity": (
        ("value", "unit"),
        lambda decoder, place, value, unit: answer(decoder.decode(value, f"{place}.value"), unit),
    ),
}


def _fraction(value: Any, place: str) -> Fraction:
    if not isinstance(value, str) or len(value) > 2000 or "e" in value.lower():
        raise FileError(f"{place}: {format_value(value)} is not a fraction such as '34236/3'")
    return Fraction(value)


def _array(place: str, dtype: Any, shape: Any, data: Any) -> Any:
    if not isinstance(data, list) or not isinstance(dtype, str) or np.dtype(dtype).kind not in "fiub":
        raise FileError(f"{place}: an array has a dtype of numbers, a shape and data")
    values = [float(_one_of(each, ("nan", "inf", "-inf"), place)) if isinstance(each, str) else each for each in data]
    return np.array(values, dtype=dtype).reshape(shape)


def _one_of(value: Any, known: tuple[str, ...], place: str) -> Any:
    if value not in known:
        raise FileError(f"{place}: {format_value(value)} must be one of {', '.join(known)}")
    return value


def _number(value: Any, place: str) -> float:
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return float(value)
    raise FileError(f"{place}: {format_value(value)} is not a number")


def _mapping(value: Any, place: str) -> dict[str, Any]:
    if isinstance(value, dict):
        return value
    raise FileError(f"{place}: {format_value(value)} is not an object with keys")


def _unknown(what: str, given: Any, known: Any) -> str:
    near = difflib.get_close_matches(given, known, n=1) if isinstance(given, str) else []
    hint = f"did you mean {near[0]!r}?" if near else f"known are {', '.join(known)}"
    return f"unknown {what} {format_value(given)}; {hint}"


def _check_keys(own: Mapping[str, Any], known: Mapping[str, bool], place: str) -> None:
    for key in own:
        if key not in known:
            raise FileError(f"{place}: {_unknown('key', key, list(known))}")
    missing = [key for key, needed in known.items() if needed and key not in own]
    if missing:
        raise FileError(f"{place}: {', '.join(map(repr, missing))} is missing")


def from_dict(data: Any) -> Any:
    """Return the object that :func:`to_dict` converted.

    Parameters
    ----------
    data : dict
        As read from JSON.

    Returns
    -------
    KFactor, Indicator, BenchSheet, Calibration, JobRecord, …
        Constructed by its class; what the class refuses is a FileError that names the place.

    Examples
    --------
    >>> from fuelunits.meters.k_factor import KFactor
    >>> from_dict(to_dict(KFactor.read("11412 pulse/L")))
    KFactor(11412, per='L')
    """
    root = _mapping(data, "record")
    form = root.get("format")
    if isinstance(form, int) and not isinstance(form, bool) and form > FORMAT:
        raise FileError(
            f"format {form} is later than {FORMAT}, the latest that this version reads; use a newer fuelunits"
        )
    if form != FORMAT or isinstance(form, bool):
        raise FileError(f"format must be {FORMAT}; got {format_value(form)}. Is this a record of fuelunits?")
    _check_keys(root, {"format": True, "fuelunits": True, "record": True, "inputs": False}, "record")
    node = _mapping(root["record"], "record")
    name = node.get("type")
    if not isinstance(name, str) or name not in _HOMES:
        raise FileError(f"record: {_unknown('type', name, list(_HOMES))}")
    return _Decoder(root.get("inputs", {})).decode(node, "record")
