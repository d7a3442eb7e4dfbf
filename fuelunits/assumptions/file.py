"""The assumptions file: what a project has written down somewhere, to be checked again and again.

A TOML file with any number of entries of three kinds::

    [[density]]
    name = "weight of uplift"
    where = "uplift.py line 12"
    value = "6.7 lb/gal"
    fuel = "Jet A"
    between = ["0 degC", "30 degC"]
    within = "3 %"

    [[factor]]
    name = "litres in a US gallon"
    where = "constants.py line 3"
    value = 3.785
    from = "gal"
    to = "L"
    within = "0.02 %"

    [[k_factor]]
    name = "left transducer"
    where = "job card 17"
    calibrated = "28741 pulse/gal"
    entered = "28740 pulse/gal"
    within = "0.05 %"

An entry that is known to fail says so with ``expected_to_fail = "the reason"``; it counts as an
error when it holds after all.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fuelunits.assumptions.check import check_density
from fuelunits.caution import CAUTION
from fuelunits.errors import FileError, FuelUnitsError
from fuelunits.pulses.k_factor import KFactor
from fuelunits.quantity import fraction
from fuelunits.units import factor

__all__ = ["Entry", "FileReport", "Outcome", "check_file", "check_text"]


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


@dataclass(frozen=True)
class Outcome:
    """What came of one assumption.

    Attributes
    ----------
    entry : Entry
        The assumption.
    holds : bool
        Whether it holds.
    deviation, within : float
        By how much it is off, and its tolerance, both as fractions.
    remark : str
        What would be right.
    """

    entry: Entry
    holds: bool
    deviation: float
    within: float
    remark: str

    @property
    def as_expected(self) -> bool:
        """Whether it came out as the entry says it should."""
        return self.holds is not bool(self.entry.expected_to_fail)

    def __str__(self) -> str:
        if self.as_expected:
            verdict = "fails, as expected" if self.entry.expected_to_fail else "holds"
        else:
            verdict = "HOLDS, though expected to fail" if self.entry.expected_to_fail else "FAILS"
        where = f" [{self.entry.where}]" if self.entry.where else ""
        off = f"{self.deviation * 100:+.3g} % of {self.within * 100:.3g} % allowed"
        return f"{verdict}: {self.entry.name}{where}: {off}; {self.remark}"


@dataclass(frozen=True)
class FileReport:
    """What came of a file of assumptions."""

    file: str
    outcomes: tuple[Outcome, ...]

    @property
    def passed(self) -> bool:
        """Whether every entry came out as it says."""
        return all(outcome.as_expected for outcome in self.outcomes)

    def as_dict(self) -> dict[str, Any]:
        """Give everything as plain JSON types."""
        return {
            "file": self.file,
            "passed": self.passed,
            "entries": [
                {
                    **vars(outcome.entry),
                    "holds": outcome.holds,
                    "as_expected": outcome.as_expected,
                    "deviation": outcome.deviation,
                    "within": outcome.within,
                    "remark": outcome.remark,
                }
                for outcome in self.outcomes
            ],
            "caution": CAUTION,
        }

    def __str__(self) -> str:
        unexpected = sum(not outcome.as_expected for outcome in self.outcomes)
        holding = sum(outcome.holds for outcome in self.outcomes)
        failing = len(self.outcomes) - holding
        foreseen = sum(outcome.as_expected and not outcome.holds for outcome in self.outcomes)
        summary = (
            f"{self.file}: {len(self.outcomes)} entries, {holding} hold, {failing} fail "
            f"({foreseen} of them expected to): " + ("passed" if self.passed else f"{unexpected} NOT as stated")
        )
        return "\n".join([*map(str, self.outcomes), summary, CAUTION])


def check_file(path: str | Path) -> FileReport:
    """Check every assumption of a file.

    Parameters
    ----------
    path : str or Path
        A TOML file as described above.

    Returns
    -------
    FileReport

    Raises
    ------
    FileError
        If the file is wrong: naming the file, the line or key, what is wrong and what would be right.
    """
    try:
        text = Path(path).read_text(encoding="utf-8")
    except OSError as missing:
        raise FileError(f"{path}: cannot be read: {missing.strerror or missing}") from missing
    except UnicodeDecodeError as wrong:
        raise FileError(f"{path}: is not UTF-8 text, at byte {wrong.start}") from wrong
    return check_text(text, name=str(path))


def check_text(text: str, *, name: str = "assumptions") -> FileReport:
    """Check every assumption of a text in the form of an assumptions file.

    Examples
    --------
    >>> report = check_text('''
    ... [[factor]]
    ... name = "litres in a gallon"
    ... value = 3.785
    ... from = "gal"
    ... to = "L"
    ... within = "0.02 %"
    ... ''')
    >>> report.passed
    True
    """
    try:
        table = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as wrong:
        raise FileError(f"{name}: is not TOML: {wrong}") from wrong
    unknown = [kind for kind in table if kind not in _KINDS and kind != "about"]
    if unknown:
        raise FileError(f"{name}: {unknown[0]!r} is not known; write {_choices(f'[[{kind}]]' for kind in _KINDS)}")
    outcomes = [
        _outcome(kind, number, entry, name)
        for kind in _KINDS
        for number, entry in enumerate(_entries(table, kind, name), start=1)
    ]
    if not outcomes:
        raise FileError(f"{name}: has no entries; write {_choices(f'[[{kind}]]' for kind in _KINDS)}")
    return FileReport(name, tuple(outcomes))


def _choices(words: Any) -> str:
    return " or ".join(words)


def _entries(table: Mapping[str, Any], kind: str, name: str) -> list[dict[str, Any]]:
    entries = table.get(kind, [])
    if not isinstance(entries, list) or not all(isinstance(entry, dict) for entry in entries):
        raise FileError(f"{name}: {kind} is no list of entries; head each entry with [[{kind}]]")
    return entries


def _outcome(kind: str, number: int, entry: dict[str, Any], file: str) -> Outcome:
    """Check one entry; whatever is wrong with it is told with its place in the file."""
    place = f"{file}: [[{kind}]] number {number}"
    if isinstance(entry.get("name"), str):
        place += f" ({entry['name']!r})"
    check, keys = _KINDS[kind]
    _check_keys(entry, keys, place)
    head = Entry(kind, entry["name"], entry.get("where", ""), entry.get("expected_to_fail", ""))
    try:
        return check(head, entry)
    except FuelUnitsError as wrong:
        raise FileError(f"{place}: {wrong}") from wrong


_COMMON: dict[str, tuple[type, ...]] = {"name": (str,), "within": (str,)}
_OPTIONAL: dict[str, tuple[type, ...]] = {"where": (str,), "expected_to_fail": (str,)}
_WORDS = {str: "text", int: "a number", float: "a number", list: "a list of two"}


def _check_keys(entry: dict[str, Any], keys: dict[str, tuple[type, ...]], place: str) -> None:
    needed = {**_COMMON, **keys}
    for key in needed:
        if key not in entry:
            raise FileError(f"{place}: {key!r} is missing; an entry has {', '.join([*needed, *_OPTIONAL])}")
    for key, value in entry.items():
        types = {**needed, **_OPTIONAL}.get(key)
        if types is None:
            raise FileError(f"{place}: {key!r} is not known; an entry has {', '.join([*needed, *_OPTIONAL])}")
        if not isinstance(value, types) or isinstance(value, bool):
            raise FileError(f"{place}: {key} is {value!r}, and {_WORDS[types[0]]} is needed")
        if isinstance(value, str) and not value.strip():
            raise FileError(f"{place}: {key} is empty; write it or leave the key out")


def _check_density_entry(head: Entry, entry: dict[str, Any]) -> Outcome:
    check = check_density(entry["value"], entry["fuel"], between=entry["between"], within=entry["within"])
    exact = check.exact_at or "no temperature of this fuel"
    remark = f"worst {check.worst}; exact at {exact}"
    if check.worst_allowed is not None:
        remark += f"; a batch within the specification: up to {check.worst_allowed}"
    return Outcome(head, check.passed, check.worst.error, check.within, remark)


def _check_factor_entry(head: Entry, entry: dict[str, Any]) -> Outcome:
    right = factor(entry["from"], entry["to"])
    within = fraction(entry["within"], name="within")
    deviation = entry["value"] / right - 1.0
    remark = f"1 {entry['from']} is {right:.10g} {entry['to']}"
    return Outcome(head, abs(deviation) <= within, deviation, within, remark)


def _check_k_factor_entry(head: Entry, entry: dict[str, Any]) -> Outcome:
    calibrated, entered = KFactor.read(entry["calibrated"]), KFactor.read(entry["entered"])
    within = fraction(entry["within"], name="within")
    deviation = entered.relative_error_to(calibrated)
    remark = f"calibrated {calibrated.to(entered.unit)}, so {-100 * deviation / (1 + deviation):+.3g} % is indicated"
    return Outcome(head, abs(deviation) <= within, deviation, within, remark)


_Check = Callable[[Entry, dict[str, Any]], Outcome]
_KINDS: dict[str, tuple[_Check, dict[str, tuple[type, ...]]]] = {
    "density": (_check_density_entry, {"value": (str,), "fuel": (str,), "between": (list,)}),
    "factor": (_check_factor_entry, {"value": (float, int), "from": (str,), "to": (str,)}),
    "k_factor": (_check_k_factor_entry, {"calibrated": (str,), "entered": (str,)}),
}
