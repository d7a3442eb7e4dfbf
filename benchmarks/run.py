"""Measure the library against its peers and print one table of ratios.

    python benchmarks/run.py [--small] [--history FILE]

With ``--small`` the arrays have a hundredth of the elements, no time is judged and nothing is kept:
a run that shows that everything still can be measured. Otherwise a line of JSON is added to the
history. Peers that are not installed are left out and named (``pip install ".[bench]"``).
"""

from __future__ import annotations

import argparse
import json
import os
import platform
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
from targets import Row, rows

import fuelunits

HISTORY = Path(__file__).with_name("history.jsonl")


def main() -> None:
    parser = argparse.ArgumentParser(description="measure fuelunits against its peers")
    parser.add_argument("--small", action="store_true", help="a hundredth of the elements; judges no times")
    parser.add_argument("--history", type=Path, default=HISTORY, metavar="FILE", help="where to add the results")
    chosen = parser.parse_args()
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else float("nan")
    large, pairs = (200_000, 20_000) if chosen.small else (10_000_000, 1_000_000)
    print(f"fuelunits {fuelunits.__version__}, Python {platform.python_version()}, NumPy {np.__version__}")
    print(f"{'':32}{'peer':24}{'elements':>10}{'ours':>12}{'peer':>12}{'ratio':>10}{'middle half':>18}{'at most':>9}")
    results = [_measured(row, judge=not chosen.small) for row in rows(large, pairs)]
    if not chosen.small:
        _keep(results, chosen.history, load)


def _measured(row: Row, *, judge: bool) -> dict[str, Any]:
    """Measure and print one row."""
    head = f"{row.what:32}{row.peer:24}{row.elements or '':>10}"
    try:
        found = row.measure()
    except ImportError as missing:
        print(f"{head}  not measured: {missing.name} is not installed")
        return {"what": row.what, "peer": row.peer, "elements": row.elements, "ratio": None}
    verdict = "" if not judge or row.limit is None or found.value <= row.limit else "  missed"
    times = f"{found.ours_s:>12.3g}{found.theirs_s:>12.3g}"
    limit = "" if row.limit is None else f"{row.limit:.3g}"
    spread = f"{found.low:.3g} to {found.high:.3g}"
    print(f"{head}{times}{found.value:>10.3g}{spread:>18}{limit:>9}{verdict}", flush=True)
    return {
        "what": row.what,
        "peer": row.peer,
        "elements": row.elements,
        "ratio": float(f"{found.value:.3g}"),
        "middle_half": [float(f"{each:.3g}") for each in (found.low, found.high)],
        "at_most": row.limit and float(f"{row.limit:.3g}"),
    }


def _keep(results: list[dict[str, Any]], history: Path, load: float) -> None:
    entry = {
        "at": datetime.now(UTC).strftime("%Y-%m-%dT%H:%MZ"),
        "fuelunits": fuelunits.__version__,
        "python": platform.python_version(),
        "numpy": np.__version__,
        "machine": platform.machine(),
        "cores": os.cpu_count(),
        "load_before": round(load, 1),
        "results": results,
    }
    with history.open("a", encoding="utf-8") as file:
        file.write(json.dumps(entry) + "\n")


if __name__ == "__main__":
    main()
