"""Find the numbers in a project's sources that look like fuel arithmetic, and say which are wrong.

Conversion factors, fixed densities, K-factors, constants of API gravity, thermal expansion, temperature offsets and
tank sizes. A factor is right at its digits, ``rounded`` where it is more than 0.05 % off, or wrong; a density or an
expansion is plausible for the fuel that is named, or wrong; a K-factor or a tank size is not judged.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from itertools import accumulate
from pathlib import Path
from typing import Any

from fuelunits.checks.entries import number_of
from fuelunits.checks.output import annotation, sarif_log, sarif_result, wrapped
from fuelunits.checks.places import Place, SourceFiles
from fuelunits.checks.scan_files import texts
from fuelunits.checks.scan_judging import Judgement, judge, known
from fuelunits.checks.scan_numbers import FUEL, HOT, NUMBER, Beside, value_of
from fuelunits.reports import CAUTION, Report, Reporting, Table, format_percent
from fuelunits.validation import check_types

_LONGEST_LINE = 5_000
"""Letters of a line, beyond which it is data."""


@dataclass(frozen=True)
class Finding:
    """A number that looks like fuel arithmetic: its place, what it looks like, and whether it is right.

    ``difference`` is the value over the expected one, less 1; None, as ``expected``, where nothing can be expected.
    ``judgement`` has the units and the fuel, ``name`` is the constant that holds this number alone.
    """

    file: str
    line: int
    column: int
    text: str
    value: float
    judgement: Judgement = field(repr=False)
    name: str = field(repr=False)

    @property
    def difference(self) -> float | None:
        """The value over the expected one, less 1."""
        expected = self.judgement.expected
        return None if expected is None else self.value / expected - 1.0

    def as_row(self) -> dict[str, Any]:
        """Return the finding as plain types."""
        own, judged = ("file", "line", "column", "text", "value"), ("kind", "what", "expected")
        row = {name: getattr(self, name) for name in own} | {name: getattr(self.judgement, name) for name in judged}
        return {**row, "difference": self.difference, "verdict": self.judgement.verdict}

    def __str__(self) -> str:
        found = self.judgement
        off = "" if self.difference is None else f", {format_percent(self.difference, signed=True)}"
        right = "" if found.expected is None else f"; expected {found.expected:.10g}"
        return f"{self.text}: {found.verdict}{off}; {found.what}{right}"


@dataclass(frozen=True, repr=False)
class ScanReport(Reporting):
    """The findings of a scan, by file and line, and a line for each file that was skipped."""

    findings: tuple[Finding, ...]
    skipped: tuple[str, ...] = ()

    @property
    def wrong(self) -> list[Finding]:
        """The findings that are wrong."""
        return [each for each in self.findings if each.judgement.verdict == "wrong"]

    @property
    def verdict(self) -> str:
        """How many were found, and how many of them are wrong."""
        return f"{len(self.findings)} found, {len(self.wrong)} wrong"

    def rows(self) -> list[dict[str, Any]]:
        """Return a row for each finding."""
        return [each.as_row() for each in self.findings]

    def as_dict(self) -> dict[str, Any]:
        """Return the findings as plain types."""
        return {"findings": self.rows()}

    def report(self) -> Report:
        """Return the findings as a table."""
        cells = [{"place": f"{each.file}:{each.line}", "finding": str(each)} for each in self.findings]
        return Report("scan", self.verdict, tables=[Table.of(cells)] if cells else [], remarks=[*self.skipped, _LIMITS])


def scan(paths: Iterable[str], *, exclude: Iterable[str] = ()) -> ScanReport:
    r"""Return the numbers in files and folders that look like fuel arithmetic.

    Parameters
    ----------
    paths : iterable of str
        Files, and folders: of these every file but what ``.gitignore`` names, packages, data and minified code.
    exclude : iterable of str
        Names of further folders that are passed over.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     written = Path(folder, "fuel.h").write_text("#define GAL_TO_L 4.546\n", encoding="utf-8")
    ...     row = scan([folder]).rows()[0]
    >>> row["verdict"], row["expected"], "imperial gallon" in row["what"]
    ('wrong', 3.785411784, True)
    """
    findings: list[Finding] = []
    skipped = []
    for path, text, wrong in texts(check_types(paths, str, "paths", "the names of files and folders"), exclude):
        skipped += [wrong] * bool(wrong)
        findings += scan_text(text, path)
    return ScanReport(tuple(findings), tuple(skipped))


def scan_text(text: str, path: str) -> Iterator[Finding]:
    """Return the findings of one text; only numbers near a word of the trade, or long known ones, are looked at."""
    lines = text.split("\n")
    starts = list(accumulate((len(line) + 1 for line in lines), initial=0))
    row, seen, is_hot, is_of_fuel = 0, -1, False, FUEL.search(f"{path} {text}") is not None
    for match in NUMBER.finditer(text):
        start, end = match.span()
        number = match["number"] or match["joined"]
        if len(number) < 2 or (number[0] == "0" and number[1] not in "._"):
            continue
        while starts[row + 1] <= start:
            row += 1
        if seen != row:
            seen, is_hot = row, any(map(HOT.search, lines[max(row - 3, 0) : row + 1]))
        if (not is_hot and len(number) < 6) or len(lines[row]) > _LONGEST_LINE:
            continue
        value = value_of(number)
        if not 1e-9 < value < 1e9 or not (is_hot or known(value, number)):
            continue
        beside = Beside(path, is_of_fuel, lines, row, start - starts[row], end - starts[row])
        judged = judge(value, number, beside) if beside.in_text or not match["grouped"] else None
        if judged:
            place = Path(path).as_posix(), row + 1, start - starts[row] + 1
            yield Finding(*place, match[0], value, judged, beside.name if beside.is_alone else "")


def _text(report: ScanReport) -> str:
    lines = [line for each in report.findings for line in wrapped(f"{each.file}:{each.line}: {each}")]
    return "\n".join([*lines, report.verdict, *wrapped(f"Note: {_LIMITS}"), *wrapped(f"Caution: {CAUTION}")])


def _github(report: ScanReport) -> str:
    wrong = (annotation(each.file, each.line, each.judgement.kind, str(each)) for each in report.wrong)
    return "\n".join([_text(report), *wrong])


def _sarif(report: ScanReport) -> str:
    rules = {each.judgement.kind: f"A wrong {each.judgement.kind}." for each in report.wrong}
    return sarif_log(
        rules, [sarif_result(each.judgement.kind, str(each), each.file, each.line) for each in report.wrong]
    )


_LIMITS = "A constant without telling words beside it is not found: a scan that finds nothing wrong proves nothing."

_HEAD = """# Found by: fuelunits scan. Replace its fuels, ranges, tolerances and calibrated K-factors by your own.
# Paths begin in the folder of this file.
"""


def _toml(report: ScanReport) -> str:
    """Return an assumptions file: by name where the source gives it one number, else by line and value."""
    sources, entries, left = SourceFiles(Path()), [], []
    for each in report.findings:
        entry = _entry(each, sources)
        if entry and entry not in entries:
            entries.append(entry)
        elif not entry:
            left += [f"# {line}" for line in wrapped(f"not guarded: {each.file}:{each.line}: {each}")]
    return "\n".join([_HEAD, *entries, *left])


def _entry(found: Finding, sources: SourceFiles) -> str:
    """Return the entry for a finding; nothing where no kind of entry fits, or its place cannot be looked up."""
    line = found.file, found.line
    for place in (Place(found.file, 0, found.name), Place(*line), Place(*line, column=found.column)):
        where = f"{place.path}:{place.name or place.line}{f':{place.column}' if place.column else ''}"
        kind, keys = _guard(found, bool(place.name))
        if kind and Place.read(where) == place and not sources.problem(place, number_of(found.value)):
            name = f"{place.name or kind}, {found.file}" + f":{found.line}" * (not place.name)
            lines = (f"{key} = {json.dumps(each)}" for key, each in {"name": name, "where": where, **keys}.items())
            return "\n".join([f"[[{kind}]]", *lines, ""])
    return ""


def _guard(found: Finding, is_named: bool) -> tuple[str, dict[str, Any]]:
    """Return the kind of entry and its keys; with the number itself, where the source does not give it by name."""
    kind, _, _, _, start, goal, grade = found.judgement
    unit, off = f"{goal}/{start}", 100.0 * abs(found.difference or 0.0)
    off = 0.0 if found.judgement.verdict == "wrong" else off  # no tolerance is stretched over what is wrong
    number: dict[str, Any] = {} if is_named else {"value": found.value}
    value = {"unit": unit} if is_named else {"value": f"{found.value!r} {unit}"}
    if kind == "factor" and start:
        return "factor", {**number, "from": start, "to": goal, "tolerance": _tolerance(off, _FACTOR_PERCENT)}
    if kind == "density" and start:
        tolerance = _tolerance(off + 2.1, _DENSITY_PERCENT)  # it changes by 2 % over the range
        return "density", {**value, "fuel": grade, "between": ["0 degC", "30 degC"], "tolerance": tolerance}
    if kind == "K-factor" and start:
        entered = {"unit": unit} if is_named else {"entered": value["value"]}
        return "k_factor", {**entered, "calibrated": f"{found.value!r} {unit}", "tolerance": "0.1 %"}
    if kind == "thermal expansion" and grade:
        return "expansion", {**number, "per": start, "fuel": grade, "tolerance": "35 %"}
    return "", {}


_FACTOR_PERCENT, _DENSITY_PERCENT = (0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0), (3, 4, 5, 7, 9)


def _tolerance(off: float, percent: Iterable[float]) -> str:
    """Return the least of some tolerances that holds, or the least at all where none does."""
    return f"{next((each for each in percent if off < each), min(percent)):g} %"


FORMATS: dict[str, Callable[[ScanReport], str]] = {
    "text": _text,
    "json": lambda report: json.dumps(report.as_dict(), indent=2),
    "github": _github,
    "sarif": _sarif,
    "toml": _toml,
}
