"""The command ``fuelunits``, also ``python -m fuelunits``: ``check``, ``scan``, ``schema`` and ``verify``."""

from __future__ import annotations

import argparse
import contextlib
import json
import os
import sys
import traceback
from pathlib import Path
from typing import Any

from fuelunits.errors import FileError, FuelUnitsError

_EPILOG = """examples: fuelunits check fuel_assumptions.toml; fuelunits scan . --format toml\n
exit codes:
  0  every entry is as expected; no constant that was found is wrong
  1  some entry is not; some constant is wrong; a figure of a record differs
  2  the command or a file is invalid
  3  the program itself failed"""
_FILES = "a TOML file, a pattern such as '**/fuel_assumptions.toml', or - (standard input); else pyproject.toml"


def main(arguments: list[str] | None = None) -> int:
    """Run one of the commands and return its exit code."""
    options = _parser().parse_args(arguments)
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    try:
        return int(options.run(options))
    except FuelUnitsError as wrong:
        print(f"fuelunits: {wrong}", file=sys.stderr)
        return 2
    except Exception:
        traceback.print_exc()
        print("fuelunits: failed; this is an error in fuelunits and says nothing about the entries", file=sys.stderr)
        return 3


def _parser() -> argparse.ArgumentParser:
    import fuelunits

    about = "Check fuel figures: conversion factors, fixed densities, K-factors and others."
    kept: dict[str, Any] = {"epilog": _EPILOG, "formatter_class": argparse.RawDescriptionHelpFormatter}
    parser = argparse.ArgumentParser(prog="fuelunits", description=about, **kept)
    parser.add_argument("--version", action="version", version=f"fuelunits {fuelunits.__version__}")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")

    def command(name: str, run: Any, about: str, **more: Any) -> argparse.ArgumentParser:
        made = commands.add_parser(name, help=about, description=f"{about[0].upper()}{about[1:]}.", **more)
        made.set_defaults(run=run)
        return made

    verify = command("verify", _verify, "recompute every published value in the library, and compare")
    verify.add_argument("--format", choices=("text", "json"), default="text", help="how to print (text by default)")
    check = command("check", _check, "check files of assumptions, and recompute records (FILE.json)", **kept)
    check.add_argument("files", metavar="FILE", nargs="*", default=["pyproject.toml"], help=_FILES)
    check.add_argument("--root", metavar="DIR", help="the folder of the sources (the file's folder by default)")
    scan = command("scan", _scan, "find numbers in sources that look like fuel figures; say which are wrong", **kept)
    scan.add_argument("paths", metavar="PATH", nargs="+", help="file or folder; what .gitignore names is skipped")
    skip: dict[str, Any] = {"action": "append", "default": [], "help": "the name of a folder to skip; repeatable"}
    words = "text by default, or github where GITHUB_ACTIONS is set"
    default = "github" if os.environ.get("GITHUB_ACTIONS") == "true" else "text"
    for each, last, more in ((check, "junit", ""), (scan, "toml", "; toml writes an assumptions file")):
        formats = ("text", "github", "json", "sarif", last)
        each.add_argument("--format", choices=formats, default=default, help=f"{words}{more}")
        each.add_argument("--exclude", metavar="NAME", **skip)
    schema = command("schema", _schema, "print the JSON Schema of an assumptions file, or of a record")
    schema.add_argument("--record", action="store_true", help="print the schema of a record")
    return parser


def _verify(options: argparse.Namespace) -> int:
    from fuelunits.reference.verification import verify

    report = verify()
    _print(json.dumps(report.as_dict(), indent=2) if options.format == "json" else str(report))
    return 0 if report.passed else 1


def _check(options: argparse.Namespace) -> int:
    from fuelunits.checks.file import check_files
    from fuelunits.checks.output import FORMATS

    records = [each for each in options.files if each.endswith(".json")]
    files = [each for each in options.files if each not in records]
    if records and options.format not in ("text", "github"):
        raise FileError(f"{records[0]}: a record is checked as text, not as {options.format}; check it by itself")
    agree = not [path for path in records if not _recompute(path)]
    if records and not files:
        return 0 if agree else 1
    if files == ["pyproject.toml"] and not Path(files[0]).exists():
        raise FileError("there is no pyproject.toml here; name a file, such as 'fuelunits scan . --format toml' prints")
    reports = check_files(files, root=options.root, exclude=options.exclude)
    _print(FORMATS[options.format](reports))
    return 2 if any(each.problems for each in reports) else 0 if agree and all(each.passed for each in reports) else 1


def _scan(options: argparse.Namespace) -> int:
    from fuelunits.checks.scan import FORMATS, scan

    report = scan(options.paths, exclude=options.exclude)
    for line in report.skipped:
        print(f"fuelunits: skipped: {line}", file=sys.stderr)
    _print(FORMATS[options.format](report))
    return 1 if report.wrong else 0


def _recompute(path: str) -> bool:
    """Print what today's library gives differently from a record, and return whether nothing is."""
    from fuelunits.records.files import load

    record = load(path)
    if not hasattr(record, "recompute"):
        _print(f"{path}: a {type(record).__name__} that loads; only a job record has figures to compare")
        return True
    differences = record.recompute()
    lines = [f"{path}: {len(record.results) - len(differences)} of {len(record.results)} figures agree"]
    lines.append(f"  {record.report().verdict}")
    _print("\n".join([*lines, *(f"  {name}\n    on record {then}, today {now}" for name, then, now in differences)]))
    return not differences


def _print(text: str) -> None:
    """Print a text; a reader that stops early, such as head, is no failure."""
    try:
        print(text)
        sys.stdout.flush()
    except BrokenPipeError:
        with contextlib.suppress(OSError, ValueError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _schema(options: argparse.Namespace) -> int:
    from fuelunits.checks.file import schema
    from fuelunits.records.files import record_schema

    _print(json.dumps(record_schema() if options.record else schema(), indent=2, ensure_ascii=False))
    return 0


if __name__ == "__main__":
    sys.exit(main())
