"""How the worked examples of guides to measurement uncertainty are worked out with the library.

An input is written as ``value u 0.1``, ``value rect 0.1`` or ``value tri 0.1``, the half width of a rectangle or a
triangle, with ``dof 18`` where its degrees of freedom are few; ``5.007 4.994 5.005`` are observations made together.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache, partial
from typing import Any

import numpy as np

from fuelunits.uncertainty import budget
from fuelunits.uncertainty.budget import monte_carlo, student_t
from fuelunits.uncertainty.decisions import conformance_probability, global_risk, guard_band

_SHAPES: dict[str, Callable[..., Any]] = {"u": budget.uncertain, "rect": budget.rectangular, "tri": budget.triangular}


def _umath(name: str, value: Any) -> Any:
    from uncertainties import umath

    return getattr(umath, name)(value)


_LAWS: dict[str, Callable[..., Any]] = {
    "sum": lambda *parts: sum(parts),
    "product": lambda *factors: math.prod(factors),
    "end gauge": lambda ls, d, d1, d2, d3, theta, alpha, dalpha, dtheta: (
        ls + d + d1 + d2 + d3 - ls * (dalpha * theta + alpha * dtheta)
    ),
    "resistance": lambda voltage, current_ma, phase: 1000.0 * voltage / current_ma * _umath("cos", phase),
    "reactance": lambda voltage, current_ma, phase: 1000.0 * voltage / current_ma * _umath("sin", phase),
    "impedance": lambda voltage, current_ma, _: 1000.0 * voltage / current_ma,
    "deviation of a weight": lambda m, dm, air, weight, standard: (
        (m + dm) * (1.0 + (air - 1.2) * (1.0 / weight - 1.0 / standard)) - 1e5
    ),
    "comparison loss": lambda x1, x2: 1e6 * (x1 * x1 + x2 * x2),
    "radius": np.hypot,
    "angle": lambda x1, x2: np.arctan2(x2, x1),
    "two unlike isotopes": lambda x: 2.0 * x * (1.0 - x),
    "airspeed": lambda dp, p, t, r: (2.0 * dp * r * t / p) ** 0.5,
    "solution": lambda m, p, v, filling, warmth: 1000.0 * m * p / (v + filling + warmth),
}


def _input(name: str, text: Any) -> Any:
    if isinstance(text, float):
        return text
    value, shape, width, *dof = text.split()
    made = _SHAPES[shape](float(value), float(width), name=name)
    return budget.uncertain(made.n, made.s, name=name, degrees_of_freedom=float(dof[1])) if dof else made


def means_of(observations: Mapping[str, Sequence[float]]) -> tuple[Any, ...]:
    """Return the means of quantities observed together, with n - 1 joint degrees of freedom [jcgm_100_2008, 5.2.3]."""
    data = np.array(list(observations.values()))
    means, count = dict(zip(observations, data.mean(axis=1).tolist(), strict=True)), data.shape[1]
    return budget.correlated_inputs(means, np.atleast_2d(np.cov(data)) / count, degrees_of_freedom=count - 1)


def _inputs(r: float = 0.0, **given: Any) -> tuple[Any, ...]:
    if all(isinstance(each, str) and set(each) <= set("0123456789. ") for each in given.values()):
        return means_of({name: [float(each) for each in text.split()] for name, text in given.items()})
    made = [_input(name, text) for name, text in given.items()]
    if r:
        first, second = made
        shared = r * first.s * second.s
        values = dict(zip(given, (first.n, second.n), strict=True))
        return budget.correlated_inputs(values, [[first.s**2, shared], [shared, second.s**2]])
    return tuple(made)


def _result(law: str, **given: Any) -> Any:
    return _LAWS[law](*_inputs(**given))


def _expanded(probability: float, **given: Any) -> float:
    result = _result(**given)
    k = student_t(probability, budget.effective_degrees_of_freedom(result))
    return k * budget.standard_uncertainty(result)


def _correlation(law: str, other: str, **given: Any) -> Any:
    from uncertainties import correlation_matrix

    inputs = _inputs(**given)
    return correlation_matrix([_LAWS[each](*inputs) for each in (law, other)])[0][1]


@lru_cache(maxsize=16)
def _draws(law: str, **given: Any) -> Any:
    return monte_carlo(_LAWS[law], _inputs(**given), seed=1, draws=50_000)


UNCERTAINTY: dict[str, Callable[..., Any]] = {
    "value": lambda **given: budget.nominal(_result(**given)),
    "standard uncertainty": lambda **given: budget.standard_uncertainty(_result(**given)),
    "degrees of freedom": lambda **given: budget.effective_degrees_of_freedom(_result(**given)),
    "expanded uncertainty": _expanded,
    "low end": lambda probability, **given: budget.nominal(_result(**given)) - _expanded(probability, **given),
    "high end": lambda probability, **given: budget.nominal(_result(**given)) + _expanded(probability, **given),
    "correlation": _correlation,
    "mean of draws": lambda **given: _draws(**given).mean(),
    "standard deviation of draws": lambda **given: _draws(**given).std(ddof=1),
    "correlation of draws": lambda law, other, **x: np.corrcoef(_draws(law, **x), _draws(other, **x))[0, 1],
}


def _risk(answer: str, limit: float = 1.0, acceptance: float = 1.0, **of: float) -> float:
    """Return a risk in percent for symmetric limits, of acceptance a share of them; `conforming` is a percentage."""
    deviation = of.get("deviation") or limit / student_t(of["conforming"] / 100.0, math.inf)
    if "uncertainty_ratio" in of:
        u = 0.5 * limit / of["uncertainty_ratio"]
    else:
        u = of.get("uncertainty") or deviation / of["spread_ratio"]
    edge = acceptance * limit
    risk = global_risk(0.0, deviation, u, limits=(-limit, limit), acceptance_limits=(-edge, edge))
    return 100.0 * float(getattr(risk, answer))


_RISKS = ("false_accept", "false_reject", "false_among_accepted", "accepted", "conforming")
DECISIONS: dict[str, Callable[..., Any]] = {
    "conformance probability": conformance_probability,
    "specific risk": lambda **given: 100.0 * (1.0 - conformance_probability(**given)),
    "guard band": guard_band,
    "limit and guard band": lambda limit, **given: limit + guard_band(**given),
    "limit over one less the guard band": lambda limit, **given: limit / (1.0 - guard_band(**given)),
    **{name.replace("_", " "): partial(_risk, name) for name in _RISKS},
}
