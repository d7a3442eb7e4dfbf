"""``python -m fuelunits verify`` and ``python -m fuelunits check FILE``.

Both exit with 0 where all is as it should be, 1 where something deviates or fails, and 2 where
the command or the file itself is wrong.
"""

from __future__ import annotations

import argparse
import json
import sys

from fuelunits.errors import FuelUnitsError

__all__ = ["main"]


def main(arguments: list[str] | None = None) -> int:
    """Run one of the two commands and give its exit code."""
    options = _parser().parse_args(arguments)
    try:
        report = options.run(options)
    except FuelUnitsError as wrong:
        print(f"fuelunits: {wrong}", file=sys.stderr)
        return 2
    print(json.dumps(report.as_dict(), indent=2) if options.json else report)
    return 0 if report.passed else 1


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m fuelunits", description="Fuel figures, checked.")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    verify = commands.add_parser("verify", help="recompute every published value that the library carries")
    verify.set_defaults(run=_verify)
    check = commands.add_parser("check", help="check a file of assumptions")
    check.add_argument("file", metavar="FILE", help="a TOML file with density, factor and k_factor entries")
    check.set_defaults(run=_check)
    for command in (verify, check):
        command.add_argument("--json", action="store_true", help="print JSON for machines")
    return parser


def _verify(_: argparse.Namespace) -> object:
    from fuelunits.reference import verify

    return verify()


def _check(options: argparse.Namespace) -> object:
    from fuelunits.assumptions.file import check_file

    return check_file(options.file)


if __name__ == "__main__":
    sys.exit(main())
