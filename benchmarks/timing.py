"""Times of two things taken turn by turn, and their ratio: the machine's bad moments fall on both."""

from __future__ import annotations

import atexit
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from statistics import median, quantiles
from tempfile import mkdtemp
from typing import Any

__all__ = ["Ratio", "ratio", "seconds_in_a_fresh_process"]

_SHORTEST_S = 0.002
"""A turn of something quick is repeated until it takes this long."""


@dataclass(frozen=True)
class Ratio:
    """Ours over theirs, of the medians; the spread is that of the middle half of the turns."""

    ours_s: float
    theirs_s: float
    low: float
    high: float

    @property
    def value(self) -> float:
        """Ours over theirs."""
        return self.ours_s / self.theirs_s


def ratio(ours: Callable[[], Any], theirs: Callable[[], Any], *, turns: int = 9) -> Ratio:
    """Time both, one turn after the other."""
    rounds = [_rounds(each) for each in (ours, theirs)]
    times = [[_once(each, n) for each, n in zip((ours, theirs), rounds, strict=True)] for _ in range(turns)]
    return of_times([pair[0] for pair in times], [pair[1] for pair in times])


def of_times(ours: list[float], theirs: list[float]) -> Ratio:
    """Return the ratio of times that were taken in pairs."""
    low, _, high = quantiles([a / b for a, b in zip(ours, theirs, strict=True)], n=4)
    return Ratio(median(ours), median(theirs), low, high)


def _rounds(call: Callable[[], Any]) -> int:
    call()
    n, taken = 1, _once(call, 1)
    while taken * n < _SHORTEST_S and n < 100_000:
        n *= 4
        taken = _once(call, n)
    return n


def _once(call: Callable[[], Any], rounds: int) -> float:
    begin = time.perf_counter()
    for _ in range(rounds):
        call()
    return (time.perf_counter() - begin) / rounds


@cache
def _environment() -> dict[str, str]:
    """Return an environment in which modules are compiled once, as where they are installed."""
    folder = mkdtemp()
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    return {**kept, "PYTHONPYCACHEPREFIX": folder, "PYTHONPATH": os.pathsep.join(sys.path[1:])}


def seconds_in_a_fresh_process(code: str) -> float:
    """Run code that prints seconds, in a new interpreter."""
    done = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True, env=_environment())
    return float(done.stdout.split()[-1])
