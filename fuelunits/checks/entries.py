"""The entries of an assumptions file: their kinds and keys, how they are read, and the published schema.

msgspec validates each value against the types below and writes the schema from the same types. The schema knows the
form of a value and not its meaning: whether a fuel exists, or a unit is one of density, only the check can tell.
"""

import difflib
import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from itertools import takewhile
from typing import Annotated, Any, Literal, cast, get_args, get_origin

import msgspec
from msgspec import Meta

from fuelunits.checks.places import without_comments
from fuelunits.errors import FileError
from fuelunits.quantities import read_text
from fuelunits.reports import plain
from fuelunits.units import spellings
from fuelunits.validation import format_value

_NUMBER = r"(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
_POSITIVE = rf"^\s*\+?(?=[0-9.]*[1-9]){_NUMBER}\s*"
_SCALES = "|".join(each.replace("_", r"[_\s]+") for scale in ("degC", "degF", "K", "degR") for each in spellings(scale))
_LARGEST = 1e300


def _text(pattern: str, meaning: str, example: str) -> Meta:
    return Meta(pattern=pattern, description=meaning, examples=[example])


_Unit = Annotated[str, _text(r"[A-Za-z°℃℉]", "A unit.", "gal")]
_Temperature = Annotated[str, _text(rf"^\s*[+\-−]?{_NUMBER}\s*(?:{_SCALES})\s*$", "A temperature.", "0 degC")]
_Pulses = rf"{_POSITIVE}(?:pulses?\b)?\s*(?:/|per\s)\s*\S"
_API = r"(?:deg|°)\s*API\s*$"
_DENSITY = rf"{_POSITIVE}(?:{_API}|[A-Za-z].*(?:/|\sper\s|\^-|\*\*-|⁻).*\S)"
_AMOUNT = rf"{_POSITIVE}[A-Za-z]"
_READ_UNIT = "The unit of a number that is read by name."
_WHERE = (
    "Where it is used: path:line holds this number only, path:line:column holds it at that column; path:NAME is the "
    "constant, key or define of that name, whose number is read there. Comments never count; other text is not read."
)
_EXPECTED_TO_FAIL = "The reason why the assumption is known to fail; it is then an error if it holds."


class Entry(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What every entry has."""

    name: Annotated[str, _text(r"\S", "The name of the assumption.", "weight of uplift")]
    tolerance: Annotated[str, _text(rf"^\s*\+?{_NUMBER}\s*(?:%|percent)\s*$", "The tolerance, a percentage.", "3 %")]
    where: Annotated[str, _text(r"\S", _WHERE, "uplift.py:GAL_TO_L")] = ""
    expected_to_fail: Annotated[str, _text(r"\S", _EXPECTED_TO_FAIL, "the sheet is not used below 0 degC")] = ""

    @property
    def kind(self) -> str:
        """The heading of the entry."""
        return next(kind for kind, of in KINDS.items() if isinstance(self, of))

    @property
    def number(self) -> Any:
        """The number that is judged, as written; None or empty where it is read from the source."""
        return getattr(self, "value", None) or getattr(self, "entered", "")


class WithUnit(Entry, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An entry whose number has a unit."""

    unit: Annotated[str, _text(r"[A-Za-z]", _READ_UNIT, "lb/gal")] = ""


_Fuel = Annotated[str, _text(r"[A-Za-z0-9]", "The grade of fuel.", "Jet A")]
_Base = Annotated[
    Literal["15 degC", "20 degC", "60 degF"], Meta(description="The base temperature.", examples=["15 degC"])
]
_At = Annotated[_Temperature, Meta(description="The temperature of the fuel.", examples=["30 degC"])]
_PerMass = Annotated[str, _text(_DENSITY, "The density that turns a mass into a volume.", "6.7 lb/gal")]


class DensityEntry(WithUnit, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One fixed density for a fuel over a range of temperatures."""

    value: Annotated[str, _text(rf"{_DENSITY}|{_POSITIVE}$", "The fixed density.", "6.7 lb/gal")] = ""
    reference: Annotated[
        _Temperature, Meta(description="Of a relative density, the temperature of water.", examples=["60 degF"])
    ] = ""
    fuel: _Fuel
    between: Annotated[
        tuple[_Temperature, _Temperature],
        Meta(description="Lowest and highest temperature of the fuel.", examples=[["0 degC", "30 degC"]]),
    ]


class FactorEntry(Entry, frozen=True, kw_only=True, forbid_unknown_fields=True, rename={"start": "from", "goal": "to"}):
    """A factor from one unit to another."""

    value: Annotated[float, Meta(gt=0, le=_LARGEST, description="The factor.", examples=[3.785412])] | None = None
    start: Annotated[_Unit, Meta(description="The unit of the number that is multiplied.", examples=["gal"])]
    goal: Annotated[_Unit, Meta(description="The unit of the product.", examples=["L"])]


class KFactorEntry(WithUnit, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A K-factor as calibrated and as entered."""

    calibrated: Annotated[str, _text(_Pulses, "The K-factor of the calibration.", "11412 pulse/L")]
    entered: Annotated[str, _text(_Pulses, "The K-factor that was entered.", "11410 pulse/L")] = ""


class OfBatch(Entry, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What follows from the expansion of a fuel: of the typical one, or of a batch of known density."""

    fuel: _Fuel
    base: _Base = "15 degC"
    density: Annotated[str, _text(_DENSITY, "The density of the batch at the base.", "0.804 kg/L")] = ""


class VolumeCorrectionEntry(OfBatch, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The factor of a volume from a temperature to the base temperature."""

    value: Annotated[float, Meta(gt=0, le=_LARGEST, description="The factor.", examples=[0.9863])] | None = None
    at: _At


class ExpansionEntry(OfBatch, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The thermal expansion at the base temperature, per degree Celsius (or kelvin) or Fahrenheit."""

    value: Annotated[float, Meta(gt=0, le=_LARGEST, description="The expansion.", examples=[9.2e-4])] | None = None
    per: Annotated[Literal["degC", "degF", "K"], Meta(description="The degree.", examples=["degC"])] = "degC"


class ApiGravityEntry(Entry, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The API gravity of a fuel; the tolerance is one of the density."""

    value: Annotated[str, _text(rf"{_POSITIVE}{_API}", "The API gravity.", "44.1 degAPI")] = ""
    unit: Annotated[Literal["degAPI"], Meta(description=_READ_UNIT, examples=["degAPI"])] = "degAPI"
    fuel: _Fuel
    base: _Base = "60 degF"


class ViscosityEntry(WithUnit, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The kinematic viscosity of a fuel at a temperature."""

    value: Annotated[str, _text(_AMOUNT, "The kinematic viscosity.", "1.52 cSt")] = ""
    fuel: _Fuel
    at: _At


class UsableFuelEntry(WithUnit, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The usable fuel of a tank: what it holds less what cannot be used."""

    value: Annotated[str, _text(_AMOUNT, "The usable fuel.", "190 L")] = ""
    total: Annotated[str, _text(_AMOUNT, "The volume or mass that the tank holds.", "196 L")]
    unusable: Annotated[str, _text(_AMOUNT, "The part that cannot be used.", "6 L")]
    density: _PerMass = ""


class PulseRateEntry(WithUnit, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The pulse rate of a test point: the frequency that represents a flow."""

    value: Annotated[str, _text(_AMOUNT, "The pulse rate.", "99.855 Hz")] = ""
    flow: Annotated[str, _text(_AMOUNT, "The flow of the test point.", "31.5 L/h")]
    k_factor: Annotated[str, _text(_Pulses, "The K-factor of the transducer.", "11412 pulse/L")]
    density: _PerMass = ""


class _File(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Fixed densities, factors, K-factors and the like, written down somewhere, checked by: fuelunits check FILE."""

    format: Annotated[Literal[1], Meta(description="The format of the file.")] = 1
    about: Annotated[Any, Meta(description="Free text about the file; it is not read.")] = None
    density: tuple[DensityEntry, ...] = ()
    factor: tuple[FactorEntry, ...] = ()
    k_factor: tuple[KFactorEntry, ...] = ()
    volume_correction: tuple[VolumeCorrectionEntry, ...] = ()
    expansion: tuple[ExpansionEntry, ...] = ()
    api_gravity: tuple[ApiGravityEntry, ...] = ()
    viscosity: tuple[ViscosityEntry, ...] = ()
    usable_fuel: tuple[UsableFuelEntry, ...] = ()
    pulse_rate: tuple[PulseRateEntry, ...] = ()


KINDS: dict[str, type[Entry]] = {
    each.name: get_args(each.type)[0] for each in msgspec.structs.fields(_File) if get_origin(each.type) is tuple
}
"""The kinds of entries, by their heading."""

_HEADINGS = " or ".join(f"[[{kind}]]" for kind in KINDS)
_PYPROJECT = re.compile(r"(?:.*[/\\])?pyproject\.toml", re.DOTALL)
_SYNONYMS = {"grade": "fuel", "temperatures": "between", "temperature": "at", "place": "where"}
_SYNONYMS |= dict.fromkeys(("within", "rel", "limit"), "tolerance")


def schema() -> dict[str, Any]:
    """Return the JSON Schema of an assumptions file as plain JSON types."""
    _, parts = msgspec.json.schema_components([_File], ref_template="#/$defs/{name}")
    found = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": "urn:fuelunits:assumptions:1",
        **parts.pop("_File"),
        "title": "Assumptions of a project about fuel",
        "anyOf": [{"required": [name], "properties": {name: {"minItems": 1}}} for name in KINDS],
        "$defs": parts,
    }
    return cast(dict[str, Any], plain(found))


@dataclass(frozen=True)
class Problem:
    """What is wrong with a file, and on which of its lines; 0 where no line can be named."""

    file: str
    line: int
    message: str

    def __str__(self) -> str:
        return f"{self.file}{f':{self.line}' if self.line else ''}: {self.message}"


def read_entries(text: str, file: str) -> tuple[list[tuple[int, Entry]], list[Problem]]:
    """Return each entry of a file, or of ``tool.fuelunits``, with its line; and everything that is wrong."""
    try:
        table = _table(text, file)
    except FileError as wrong:
        place = re.search(r"at line (\d+)", str(wrong))
        return [], [Problem(file, int(place[1]) if place else 0, str(wrong))]
    lines = _Lines(text)
    entries: list[tuple[int, Entry]] = []
    problems = []
    for kind, value in table.items():
        if wrong_heading := _wrong_heading(kind, value):
            problems.append(Problem(file, lines.of(kind, 1), wrong_heading))
            continue
        for number, entry in enumerate(value if kind in KINDS else (), start=1):
            wrong_keys = list(_problems(KINDS[kind], entry))
            line, name = lines.of(kind, number), entry.get("name")
            label = f"[[{kind}]] " + (format_value(name) if isinstance(name, str) else f"number {number}")
            problems += [Problem(file, lines.of_key(line, key), f"{label}: {message}") for key, message in wrong_keys]
            if not wrong_keys:
                entries.append((line, msgspec.convert(entry, KINDS[kind])))
    if not entries and not problems:
        problems.append(Problem(file, 0, f"has no entries; write {_HEADINGS}"))
    if _PYPROJECT.fullmatch(file):
        problems = [replace(each, message=each.message.replace("[[", "[[tool.fuelunits.")) for each in problems]
    return entries, problems


def _wrong_heading(kind: str, value: Any) -> str:
    if kind not in (*KINDS, "about", "format"):
        near = difflib.get_close_matches(kind, KINDS, 1)
        hint = f"did you mean [[{near[0]}]]?" if near else f"write {_HEADINGS}"
        return f"{format_value(kind)} is not known; {hint}"
    if kind == "format" and (value != 1 or isinstance(value, bool)):
        return f"format is {format_value(value)}; expected 1"
    if kind in KINDS and not (isinstance(value, list) and all(isinstance(each, dict) for each in value)):
        return f"{kind} is not a list of entries; head each entry with [[{kind}]]"
    return ""


def _table(text: str, file: str) -> Mapping[str, Any]:
    try:
        table = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as wrong:
        raise FileError(f"is not TOML: {wrong}") from wrong
    except ValueError:
        raise FileError("has a number of thousands of digits; write it shorter") from None
    if not _PYPROJECT.fullmatch(file):
        return table
    tool = table.get("tool", {})
    own = tool.get("fuelunits", {}) if isinstance(tool, dict) else {}
    if not isinstance(own, dict):
        raise FileError("tool.fuelunits is not a table; write [[tool.fuelunits.factor]]")
    return own


def _problems(kind: type[Entry], entry: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Return each key with what is wrong with it."""
    fields = {each.encode_name: each for each in msgspec.structs.fields(kind)}
    meant = set()
    for key, value in entry.items():
        if key not in fields:
            known = {**{name: name for name in fields}, **_SYNONYMS}
            near = [known[each] for each in difflib.get_close_matches(key, known, 1) if known[each] in fields]
            meant.update(near)
            hint = f"did you mean {near[0]!r}?" if near else f"an entry has {', '.join(fields)}"
            yield key, f"{format_value(key)} is not known; {hint}"
            continue
        try:
            msgspec.convert(value, fields[key].type)
        except (msgspec.ValidationError, OverflowError):
            yield key, f"{key} is {format_value(value)}; expected {_expected(kind, key)}"
    for key, field in fields.items():
        if field.required and key not in entry and key not in meant:
            yield "", f"{key!r} is missing; expected {_expected(kind, key)}"


@cache
def _expected(kind: type[Entry], key: str) -> str:
    """Return what a key holds, with an example, from the schema."""
    found = schema()["$defs"][kind.__name__]["properties"][key]
    found = next((each for each in found.get("anyOf", ()) if "examples" in each), found)
    meaning = found["description"].split(". ")[0].rstrip(".")
    return f"{meaning[0].lower()}{meaning[1:]}, for example {found['examples'][0]!r}"


_HEADING = re.compile(r"""\s*\[\[\s*(?:tool\s*\.\s*fuelunits\s*\.\s*)?["']?(\w+)["']?\s*\]\]""")


class _Lines:
    """The lines of the headings and keys of a TOML text; strings over several lines are passed over."""

    def __init__(self, text: str) -> None:
        self._lines = ["", *without_comments(text, "toml").split("\n")]
        self._headings: dict[str, list[int]] = {}
        for number, line in enumerate(self._lines):
            if match := _HEADING.match(line):
                self._headings.setdefault(match[1], []).append(number)

    def of(self, kind: str, number: int) -> int:
        """Return the line of the n-th entry of a kind, or of the first line that mentions it."""
        numbers = self._headings.get(kind, [])
        if number <= len(numbers):
            return numbers[number - 1]
        key = re.compile(rf"""\s*\[*\s*["']?{re.escape(kind)}["']?\s*[=\]]""")
        return next((n for n, line in enumerate(self._lines) if key.match(line)), 0)

    def of_key(self, start: int, key: str) -> int:
        """Return the line of a key of the entry that begins on a line; that line where it cannot be found."""
        pattern = re.compile(rf"""\s*["']?{re.escape(key)}["']?\s*=""")
        own = takewhile(lambda line: not line.lstrip().startswith("["), self._lines[start + 1 :])
        return next((n for n, line in enumerate(own, start + 1) if key and pattern.match(line)), start)


def number_of(value: str | float) -> Fraction:
    """Return the number of a value, exactly as written."""
    return read_text(value)[0] if isinstance(value, str) else Fraction(repr(value))
