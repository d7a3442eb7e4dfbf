"""Reports on assumptions as SARIF 2.1.0, the format of the OASIS standard for results of static analysis."""

from __future__ import annotations

import json
from typing import Any

import fuelunits
from fuelunits.checks.entries import KINDS
from fuelunits.checks.file import FileReport, Outcome
from fuelunits.checks.files import FilesReport
from fuelunits.checks.output.locations import relative, source_path
from fuelunits.checks.output.text import one_line
from fuelunits.reports import CAUTION

__all__ = ["sarif"]

_SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/os/schemas/sarif-schema-2.1.0.json"


def sarif(report: FilesReport) -> str:
    """Return a SARIF log with a result for everything that is not as expected."""
    rules = {**{name: (kind.__doc__ or "").partition("\n")[0] for name, kind in KINDS.items()}, "file": "A valid file."}
    driver = {
        "name": "fuelunits",
        "version": fuelunits.__version__,
        "fullDescription": {"text": CAUTION},
        "rules": [{"id": name, "shortDescription": {"text": words}} for name, words in rules.items()],
    }
    results = [
        result
        for file in report.files
        for result in (
            *(_outcome(each, file) for each in file.outcomes if not each.as_expected),
            *(_result("file", each.message, [(each.file, each.line)]) for each in file.problems),
        )
    ]
    run = {"tool": {"driver": driver}, "columnKind": "unicodeCodePoints", "results": results}
    return json.dumps({"$schema": _SCHEMA, "version": "2.1.0", "runs": [run]}, indent=2)


def _outcome(outcome: Outcome, report: FileReport) -> dict[str, Any]:
    source = source_path(outcome, report)
    own = (report.file, outcome.line)
    result = _result(outcome.entry.kind, str(outcome), [source or own])
    if source:
        result["relatedLocations"] = [{**_location(*own), "id": 1, "message": {"text": "the assumption"}}]
    return result


def _result(rule: str, message: str, places: list[tuple[str, int]]) -> dict[str, Any]:
    return {
        "ruleId": rule,
        "level": "error",
        "message": {"text": one_line(message)},
        "locations": [_location(*place) for place in places],
    }


def _location(path: str, line: int) -> dict[str, Any]:
    return {
        "physicalLocation": {"artifactLocation": {"uri": _uri(relative(path))}, "region": {"startLine": max(line, 1)}}
    }


def _uri(path: str) -> str:
    """Return a path as a URI: bytes that RFC 3986 does not leave unreserved, percent-encoded."""
    safe = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-._~/"
    return "".join(chr(byte) if byte in safe else f"%{byte:02X}" for byte in path.encode("utf-8", "surrogateescape"))
