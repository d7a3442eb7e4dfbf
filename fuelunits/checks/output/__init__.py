"""Reports on assumptions in the formats that people and continuous integration read."""

from __future__ import annotations

import json
from collections.abc import Callable

from fuelunits.checks.files import FilesReport
from fuelunits.checks.output.github import github
from fuelunits.checks.output.junit import junit
from fuelunits.checks.output.sarif import sarif
from fuelunits.checks.output.text import text

__all__ = ["FORMATS"]


def _json(report: FilesReport) -> str:
    return json.dumps(report.as_dict(), indent=2)


FORMATS: dict[str, Callable[[FilesReport], str]] = {
    "text": text,
    "github": github,
    "json": _json,
    "junit": junit,
    "sarif": sarif,
}
"""The formats by name."""
