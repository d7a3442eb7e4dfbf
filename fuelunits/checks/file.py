"""The assumptions file: what a project has written down somewhere, to be checked again and again.

A TOML file with any number of entries of three kinds::

    [[density]]
    name = "weight of uplift"
    where = "uplift.py line 12"
    value = "6.7 lb/gal"
    fuel = "Jet A"
    between = ["0 degC", "30 degC"]
    tolerance = "3 %"

    [[factor]]
    name = "litres in a US gallon"
    where = "constants.py line 3"
    value = 3.785
    from = "gal"
    to = "L"
    tolerance = "0.02 %"

    [[k_factor]]
    name = "left transducer"
    where = "job card 17"
    calibrated = "43187 pulse/gal"
    entered = "43186 pulse/gal"
    tolerance = "0.05 %"

An entry that is known to fail says so with ``expected_to_fail = "the reason"``; it counts as an
error when it holds after all. A ``where`` of the form ``"path:line"`` is looked up: that line must
still contain the number. Anything else in it is free text.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import isfinite
from pathlib import Path
from typing import Any

from fuelunits.checks.density_check import check_density
from fuelunits.checks.entries import Entry, number_of, read_entries
from fuelunits.checks.likeness import density_looks_like
from fuelunits.checks.printing import report_lines, summary
from fuelunits.checks.where import Place
from fuelunits.confusions import looks_like
from fuelunits.errors import FileError, FuelUnitsError, QuantityError
from fuelunits.meters.k_factor import KFactor
from fuelunits.quantities import fraction
from fuelunits.reports import CAUTION
from fuelunits.units import factor
from fuelunits.validation import check_type

__all__ = ["FileReport", "Outcome", "check_file", "check_text"]


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
        What would be right, and which confusion it may be if it does not hold.
    caveat : str
        What to know although it holds: that a batch within the specification may be off by more.
    misplaced : str
        What is wrong with the place that it names; empty where nothing is, or none was looked up.
    """

    entry: Entry
    holds: bool
    deviation: float
    tolerance: float
    remark: str
    caveat: str = ""
    misplaced: str = ""

    @property
    def as_expected(self) -> bool:
        """Whether it came out as the entry says it should, and its place is right."""
        return self.holds is not bool(self.entry.expected_to_fail) and not self.misplaced

    @property
    def verdict(self) -> str:
        """What came of it, in words."""
        if self.entry.expected_to_fail and self.holds:
            return "HOLDS, though expected to fail"
        if not self.entry.expected_to_fail and not self.holds:
            return "FAILS"
        return "MISPLACED" if self.misplaced else "holds" if self.holds else "fails, as expected"

    def __str__(self) -> str:
        return report_lines([self])[0]


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
                    "tolerance": outcome.tolerance,
                    "remark": outcome.remark,
                    "caveat": outcome.caveat,
                    "misplaced": outcome.misplaced,
                }
                for outcome in self.outcomes
            ],
            "caution": CAUTION,
        }

    def __str__(self) -> str:
        return "\n".join([*report_lines(self.outcomes), summary(self), CAUTION])


def check_file(path: str | Path, *, root: str | Path | None = None) -> FileReport:
    r"""Check every assumption of a file.

    Parameters
    ----------
    path : str or Path
        A TOML file as described above.
    root : str or Path, optional
        Where the paths of ``where`` begin; by default in the folder of the file.

    Returns
    -------
    FileReport

    Raises
    ------
    FileError
        If the file is wrong: naming the file, the line or key, what is wrong and what would be right.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> entry = '[[factor]]\nname = "litres"\nvalue = 3.785\nfrom = "gal"\nto = "L"\ntolerance = "0.02 %"\n'
    >>> with TemporaryDirectory() as folder:
    ...     written = Path(folder, "assumptions.toml").write_text(entry, encoding="utf-8")
    ...     check_file(Path(folder, "assumptions.toml")).passed
    True
    """
    check_type(path, (str, Path), "path", "the name of a TOML file")
    try:
        text = Path(path).read_text(encoding="utf-8")
    except (OSError, UnicodeEncodeError) as missing:
        reason = getattr(missing, "strerror", None) or missing
        raise FileError(f"{str(path)[:200]}: cannot be read: {reason}") from missing
    except UnicodeDecodeError as wrong:
        raise FileError(f"{path}: is not UTF-8 text, at byte {wrong.start}") from wrong
    return check_text(text, name=str(path), root=Path(path).parent if root is None else root)


def check_text(text: str, *, name: str = "assumptions", root: str | Path | None = None) -> FileReport:
    """Check every assumption of a text in the form of an assumptions file.

    Without a `root` no ``where`` is looked up.

    Examples
    --------
    >>> report = check_text('''
    ... [[factor]]
    ... name = "litres in a gallon"
    ... value = 3.785
    ... from = "gal"
    ... to = "L"
    ... tolerance = "0.02 %"
    ... ''')
    >>> report.passed
    True
    """
    return FileReport(name, tuple(_outcome(*each, root) for each in read_entries(text, name)))


def _outcome(place: str, head: Entry, entry: dict[str, Any], root: str | Path | None) -> Outcome:
    try:
        found = _CHECKS[head.kind](entry)
        named = None if root is None else Place.read(head.where)
        misplaced = "" if named is None else named.trouble(number_of(entry, head.kind), Path(str(root)))
    except FuelUnitsError as wrong:
        raise FileError(f"{place}: {wrong}") from wrong
    holds = abs(found.deviation) <= found.tolerance
    remark = found.remark if holds else found.remark + found.likeness()
    return Outcome(head, holds, found.deviation, found.tolerance, remark, found.caveat, misplaced)


@dataclass(frozen=True)
class _Found:
    """What a check found; what a number that does not hold looks like is worked out only then."""

    deviation: float
    tolerance: float
    remark: str
    likeness: Callable[[], str]
    caveat: str = ""


def _check_density(entry: dict[str, Any]) -> _Found:
    check = check_density(entry["value"], entry["fuel"], between=entry["between"], tolerance=entry["tolerance"])
    middle = sum(check.between_c) / 2.0
    remark = (
        f"worst {check.worst}; equals the typical density at {check.equals_typical_at or 'no temperature of this fuel'}"
    )
    batches = f"a batch within the specification: up to {check.worst_allowed}"
    return _Found(
        check.worst.error,
        check.tolerance,
        remark if check.worst_allowed is None else f"{remark}; {batches}",
        lambda: density_looks_like(check.assumed_kg_m3, check.fuel, middle, check.unit),
        batches if check.passed_for_all is False else "",
    )


def _check_factor(entry: dict[str, Any]) -> _Found:
    start, goal, value = entry["from"], entry["to"], entry["value"]
    right = factor(start, goal)
    tolerance = fraction(entry["tolerance"], name="tolerance")
    if not isfinite(value / right):
        raise QuantityError(f"value is {value:g}, and right is {right:.10g}; no factor is so far off")
    remark = f"1 {start} is {right:.10g} {goal}"
    return _Found(value / right - 1.0, tolerance, remark, lambda: looks_like(value / right, goal, per=start))


def _check_k_factor(entry: dict[str, Any]) -> _Found:
    calibrated, entered = (KFactor.read(entry[key], insist=True) for key in ("calibrated", "entered"))
    tolerance = fraction(entry["tolerance"], name="tolerance")
    error, indicated = entered.relative_error_to(calibrated), entered.indication_error(calibrated)
    remark = f"calibrated {calibrated.to(entered.unit)}, so {100.0 * indicated:+.3g} % is indicated"
    return _Found(error, tolerance, remark, lambda: looks_like(1.0 + error, f"pulse/{entered.unit}"))


_CHECKS: dict[str, Callable[[dict[str, Any]], _Found]] = {
    "density": _check_density,
    "factor": _check_factor,
    "k_factor": _check_k_factor,
}
