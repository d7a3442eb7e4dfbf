"""What an assumptions file is made of: the kinds of entries and their keys.

The file is read by this definition, and its published schema is written from it.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from fuelunits.errors import FileError
from fuelunits.quantities import read_text
from fuelunits.unit_definitions import spellings
from fuelunits.validation import format_value

__all__ = ["KINDS", "Entry", "Form", "Key", "Kind", "read_entries"]

_NUMBER = r"(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
_POSITIVE = rf"^\s*\+?(?=[0-9.]*[1-9]){_NUMBER}\s*"
_LARGEST = 1e300


@dataclass(frozen=True)
class Form:
    """The form of a value: what the reader takes, and what the schema says.

    Attributes
    ----------
    words : str
        What is needed, for a message.
    types : tuple of type
        What TOML must make of it.
    schema : dict
        Its JSON Schema.
    """

    words: str
    types: tuple[type, ...]
    schema: Mapping[str, Any]

    def trouble(self, value: Any) -> str:
        """Say what is wrong with a value; nothing where it is right."""
        if not isinstance(value, self.types) or isinstance(value, bool):
            return f"is {format_value(value)}, and {self.words} is needed"
        if isinstance(value, str) and not value.strip():
            return "is empty; write it or leave the key out"
        if isinstance(value, (int, float)) and not 0 < value <= _LARGEST:
            return f"is {format_value(value)}, and a positive number up to {_LARGEST:g} is needed"
        return ""


def _text(pattern: str) -> Form:
    return Form("text", (str,), {"type": "string", "pattern": pattern})


def _temperatures() -> Form:
    scales = "|".join(
        each.replace("_", r"[_\s]+") for scale in ("degC", "degF", "K", "degR") for each in spellings(scale)
    )
    one = {"type": "string", "pattern": rf"^\s*[+\-−]?{_NUMBER}\s*(?:{scales})\s*$"}
    return Form("a list of two", (list,), {"type": "array", "items": one, "minItems": 2, "maxItems": 2})


_WORDS = _text(r"\S")
_UNIT = _text(r"[A-Za-z°℃℉]")
_FUEL = _text(r"[A-Za-z0-9]")
_PERCENTAGE = _text(rf"^\s*\+?{_NUMBER}\s*(?:%|percent)\s*$")
_DENSITY = _text(rf"{_POSITIVE}[A-Za-z].*(?:/|\sper\s|\^-|\*\*-|⁻).*\S")
_PULSES = _text(rf"{_POSITIVE}(?:pulses?\b)?\s*(?:/|per\s)\s*\S")
_FACTOR = Form("a number", (float, int), {"type": "number", "exclusiveMinimum": 0, "maximum": _LARGEST})


@dataclass(frozen=True)
class Key:
    """One key of an entry."""

    name: str
    form: Form
    meaning: str
    example: Any
    needed: bool = True


@dataclass(frozen=True)
class Kind:
    """One kind of entry.

    Attributes
    ----------
    name, meaning : str
        The heading of the entry, and what it assumes.
    own_keys : tuple of Key
        The keys that only this kind has.
    number_key : str
        The key whose number stands in the place that ``where`` names.
    """

    name: str
    meaning: str
    own_keys: tuple[Key, ...]
    number_key: str

    @property
    def keys(self) -> tuple[Key, ...]:
        """Every key, the needed ones first."""
        return (*_NEEDED, *self.own_keys, *_OPTIONAL)


_NEEDED = (
    Key("name", _WORDS, "What the assumption is called.", "weight of uplift"),
    Key("tolerance", _PERCENTAGE, "The tolerance, a percentage.", "3 %"),
)
_OPTIONAL = (
    Key(
        "where",
        _WORDS,
        "Where it is used. In the form path:line the line is looked up, and must contain the number.",
        "uplift.py:12",
        needed=False,
    ),
    Key(
        "expected_to_fail",
        _WORDS,
        "The reason why the assumption is known to fail; it is then an error if it holds.",
        "the sheet is not used below 0 degC",
        needed=False,
    ),
)
KINDS = {
    kind.name: kind
    for kind in (
        Kind(
            "density",
            "One fixed density for a fuel over a range of temperatures.",
            (
                Key("value", _DENSITY, "The fixed density.", "6.7 lb/gal"),
                Key("fuel", _FUEL, "The grade of fuel.", "Jet A"),
                Key("between", _temperatures(), "Lowest and highest temperature of the fuel.", ["0 degC", "30 degC"]),
            ),
            "value",
        ),
        Kind(
            "factor",
            "A factor from one unit to another.",
            (
                Key("value", _FACTOR, "The factor.", 3.785412),
                Key("from", _UNIT, "The unit of the number that is multiplied.", "gal"),
                Key("to", _UNIT, "The unit of the product.", "L"),
            ),
            "value",
        ),
        Kind(
            "k_factor",
            "A K-factor as calibrated and as entered.",
            (
                Key("calibrated", _PULSES, "The K-factor of the calibration.", "43187 pulse/gal"),
                Key("entered", _PULSES, "The K-factor that was entered.", "43186 pulse/gal"),
            ),
            "entered",
        ),
    )
}
"""The kinds of entries, by their heading."""


@dataclass(frozen=True)
class Entry:
    """One assumption as it stands in the file.

    Attributes
    ----------
    kind : str
        ``"density"``, ``"factor"`` or ``"k_factor"``.
    name, where : str
        What it is called, and where it is used.
    expected_to_fail : str
        The reason why it is expected to fail; empty if it should hold.
    """

    kind: str
    name: str
    where: str
    expected_to_fail: str


def read_entries(text: str, file: str) -> list[tuple[str, Entry, dict[str, Any]]]:
    """Read the text of an assumptions file.

    Returns
    -------
    list of (str, Entry, dict)
        For each entry its place in the file, for messages; its head; and all of its keys.

    Raises
    ------
    FileError
        If the text is no assumptions file.
    """
    try:
        table = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as wrong:
        raise FileError(f"{file}: is not TOML: {wrong}") from wrong
    except ValueError:
        raise FileError(f"{file}: has a number of thousands of digits; write it shorter") from None
    headings = " or ".join(f"[[{kind}]]" for kind in KINDS)
    for kind in table:
        if kind not in KINDS and kind != "about":
            raise FileError(f"{file}: {format_value(kind)} is not known; write {headings}")
    entries = [
        _read(KINDS[kind], number, entry, file) for kind in KINDS for number, entry in _listed(table, kind, file)
    ]
    if not entries:
        raise FileError(f"{file}: has no entries; write {headings}")
    return entries


def number_of(entry: Mapping[str, Any], kind: str) -> Fraction:
    """Give the number that stands in the place that an entry names, exactly as written."""
    value = entry[KINDS[kind].number_key]
    return read_text(value)[0] if isinstance(value, str) else Fraction(repr(value))


def _listed(table: Mapping[str, Any], kind: str, file: str) -> enumerate[dict[str, Any]]:
    entries = table.get(kind, [])
    if not isinstance(entries, list) or not all(isinstance(entry, dict) for entry in entries):
        raise FileError(f"{file}: {kind} is no list of entries; head each entry with [[{kind}]]")
    return enumerate(entries, start=1)


def _read(kind: Kind, number: int, entry: dict[str, Any], file: str) -> tuple[str, Entry, dict[str, Any]]:
    """Read one entry; whatever is wrong with it is told with its place in the file."""
    place = f"{file}: [[{kind.name}]] number {number}"
    if isinstance(entry.get("name"), str):
        place += f" ({format_value(entry['name'])})"
    keys = {key.name: key for key in kind.keys}
    choices = f"an entry has {', '.join(keys)}"
    for key in kind.keys:
        if key.needed and key.name not in entry:
            raise FileError(f"{place}: {key.name!r} is missing; {choices}")
    for name, value in entry.items():
        if name not in keys:
            raise FileError(f"{place}: {format_value(name)} is not known; {choices}")
        trouble = keys[name].form.trouble(value)
        if trouble:
            raise FileError(f"{place}: {name} {trouble}")
    head = Entry(kind.name, entry["name"], entry.get("where", ""), entry.get("expected_to_fail", ""))
    return place, head, entry
