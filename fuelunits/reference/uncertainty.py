"""Recompute published worked examples of uncertainty."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from fuelunits.bench.observations import means_of
from fuelunits.uncertainty.budget import (
    effective_degrees_of_freedom,
    nominal,
    rectangular,
    standard_uncertainty,
    triangular,
    uncertain,
)
from fuelunits.uncertainty.conformity import accepted_spread
from fuelunits.uncertainty.monte_carlo import monte_carlo
from fuelunits.uncertainty.student_t import student_t

__all__ = ["recompute"]


def recompute(what: str, given: dict[str, str]) -> float:
    """Give our value of a published one.

    Parameters
    ----------
    what : str
        Kind of value, as in the first column of ``uncertainty.csv``.
    given : dict of str to str
        What the source states it for.

    Examples
    --------
    >>> round(recompute("expanded uncertainty", {"u": "0.35", "dof": "9", "probability": "0.95"}), 2)
    0.79
    """
    return float(_KINDS[what](given))


def _expanded(given: dict[str, str]) -> float:
    return student_t(float(given["probability"]), float(given["dof"])) * float(given["u"])


def _accepted_spread(given: dict[str, str]) -> float:
    return float(accepted_spread(int(given["runs"]), float(given["expanded"])))


def _end_gauge(given: dict[str, str]) -> list[Any]:
    """Make the inputs of the length of an end gauge: standard, comparison, temperature and expansion."""
    n = {name: float(text) for name, text in given.items() if name != "probability"}
    comparison = sum(
        uncertain(0.0, n[f"u_d{i}"], name=f"comparison {i}", degrees_of_freedom=n[f"dof_d{i}"]) for i in (1, 2, 3)
    )
    return [
        uncertain(n["ls"], n["u_ls"], name="standard", degrees_of_freedom=n["dof_ls"]),
        n["d"] + comparison,
        uncertain(n["theta"], n["u_theta"], name="temperature"),
        rectangular(n["alpha"], n["a_alpha"], name="expansion of the standard"),
        uncertain(0.0, n["a_dalpha"] / 3**0.5, name="difference of expansion", degrees_of_freedom=n["dof_dalpha"]),
        uncertain(0.0, n["a_dtheta"] / 3**0.5, name="difference of temperature", degrees_of_freedom=n["dof_dtheta"]),
    ]


def _gauge_length(standard: Any, comparison: Any, warmth: Any, expansion: Any, d_expansion: Any, d_warmth: Any) -> Any:
    return standard + comparison - standard * (d_expansion * warmth + expansion * d_warmth)


def _gauge(given: dict[str, str]) -> Any:
    return _gauge_length(*_end_gauge(given))


def _expanded_gauge(given: dict[str, str]) -> float:
    length = _gauge(given)
    factor = student_t(float(given["probability"]), effective_degrees_of_freedom(length))
    return factor * standard_uncertainty(length)


def _drawn_gauge(given: dict[str, str]) -> float:
    """Draw the length, which takes in the terms of second order that propagation leaves out.

    So many draws give the standard deviation to 0.16 %.
    """
    return float(monte_carlo(_gauge_length, _end_gauge(given), seed=1, draws=200_000).std(ddof=1))


def _impedance(given: dict[str, str]) -> tuple[Any, Any, Any]:
    """Find resistance, reactance and impedance in ohm from voltages, currents in mA and phases."""
    from uncertainties import umath

    series = {name: [float(text) for text in given[name].split()] for name in ("V", "I", "phi")}
    voltage, current, phase = means_of(series)
    impedance = 1000.0 * voltage / current
    return impedance * umath.cos(phase), impedance * umath.sin(phase), impedance


def _correlation(given: dict[str, str], first: int, second: int) -> float:
    from uncertainties import correlation_matrix

    results = _impedance(given)
    return float(correlation_matrix([results[first], results[second]])[0][1])


def _standard_solution(given: dict[str, str]) -> Any:
    """Find the concentration in mg/L of a solution from mass in mg, purity and volume in mL."""
    n = {name: float(text) for name, text in given.items()}
    flask = triangular(n["V"], n["a_flask"], name="flask") + uncertain(0.0, n["u_filling"], name="filling")
    volume = flask + rectangular(0.0, n["a_temperature"], name="temperature")
    mass = uncertain(n["m"], n["u_m"], name="mass")
    return 1000.0 * mass * rectangular(n["P"], n["a_P"], name="purity") / volume


_KINDS: dict[str, Callable[[dict[str, str]], Any]] = {
    "expanded uncertainty": _expanded,
    "accepted spread": _accepted_spread,
    "length of end gauge": lambda given: nominal(_gauge(given)),
    "u of end gauge": lambda given: standard_uncertainty(_gauge(given)),
    "effective dof of end gauge taken down": lambda given: math.floor(effective_degrees_of_freedom(_gauge(given))),
    "U of end gauge": _expanded_gauge,
    "u of end gauge, second order": _drawn_gauge,
    "R": lambda given: nominal(_impedance(given)[0]),
    "X": lambda given: nominal(_impedance(given)[1]),
    "Z": lambda given: nominal(_impedance(given)[2]),
    "u(R)": lambda given: standard_uncertainty(_impedance(given)[0]),
    "u(X)": lambda given: standard_uncertainty(_impedance(given)[1]),
    "u(Z)": lambda given: standard_uncertainty(_impedance(given)[2]),
    "r(R, X)": lambda given: _correlation(given, 0, 1),
    "r(R, Z)": lambda given: _correlation(given, 0, 2),
    "r(X, Z)": lambda given: _correlation(given, 1, 2),
    "concentration": lambda given: nominal(_standard_solution(given)),
    "u(concentration)": lambda given: standard_uncertainty(_standard_solution(given)),
}
