"""``python -m fuelunits verify``, ``check FILE …`` and ``schema``.

All exit with 0 where all is as it should be, 1 where something deviates or fails, and 2 where
the command or a file itself is wrong.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from fuelunits.errors import FileError, FuelUnitsError

if TYPE_CHECKING:
    from fuelunits.checks.files import FilesReport

__all__ = ["main"]


def main(arguments: list[str] | None = None) -> int:
    """Run one of the commands and give its exit code."""
    options = _parser().parse_args(arguments)
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    try:
        code: int = options.run(options)
    except FuelUnitsError as wrong:
        print(f"fuelunits: {wrong}", file=sys.stderr)
        return 2
    return code


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m fuelunits", description="Fuel figures, checked.")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    verify = commands.add_parser("verify", help="recompute every published value that the library carries")
    verify.set_defaults(run=_verify)
    check = commands.add_parser("check", help="check files of assumptions")
    check.add_argument(
        "files",
        metavar="FILE",
        nargs="+",
        help="a TOML file with density, factor and k_factor entries, or a pattern such as '**/fuel_assumptions.toml'",
    )
    check.add_argument("--junit", metavar="FILE", help="also write JUnit XML, each entry a test case")
    check.add_argument(
        "--root", metavar="DIR", help="where the paths in path:line places begin (the folder of each file by default)"
    )
    check.set_defaults(run=_check)
    for command in (verify, check):
        command.add_argument("--json", action="store_true", help="print JSON for machines")
    schema = commands.add_parser("schema", help="print the JSON Schema of an assumptions file")
    schema.set_defaults(run=_schema)
    return parser


def _verify(options: argparse.Namespace) -> int:
    from fuelunits.reference import verify

    report = verify()
    print(json.dumps(report.as_dict(), indent=2) if options.json else report)
    return 0 if report.passed else 1


def _check(options: argparse.Namespace) -> int:
    from fuelunits.checks.files import check_files

    report = check_files(options.files, root=options.root)
    if options.junit:
        _write_junit(report, options.junit)
    text = json.dumps(report.as_dict(), indent=2) if options.json else report.text(colour=_wants_colour())
    if text:
        print(text)
    for message in report.wrong.values():
        print(f"fuelunits: {message}", file=sys.stderr)
    return 2 if report.wrong else 0 if report.passed else 1


def _write_junit(report: FilesReport, path: str) -> None:
    from fuelunits.checks.junit import junit

    try:
        Path(path).write_text(junit(report), encoding="utf-8")
    except OSError as wrong:
        raise FileError(f"{path}: cannot be written: {wrong.strerror or wrong}") from wrong


def _wants_colour() -> bool:
    """Colours are for terminals, and never where NO_COLOR is set."""
    return sys.stdout.isatty() and "NO_COLOR" not in os.environ and os.environ.get("TERM") != "dumb"


def _schema(_: argparse.Namespace) -> int:
    from fuelunits.checks.schema import schema

    print(json.dumps(schema(), indent=2, ensure_ascii=False))
    return 0


if __name__ == "__main__":
    sys.exit(main())
