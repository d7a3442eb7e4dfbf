"""What is measured, against whom, and how fast it is meant to be.

A row is a ratio, ours over the peer's, within one run: a limit of 1/40 means forty times faster.
Rows with the peer "1 s" are plain seconds.
"""

from __future__ import annotations

import tracemalloc
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from timing import Ratio, of_times, ratio, seconds_in_a_fresh_process

import fuelunits as fu

__all__ = ["Row", "rows"]

_JET = fu.PetroleumProduct(800.0)


@dataclass(frozen=True)
class Row:
    """One line of the table. `elements` is 0 where it has no meaning; no limit, no target."""

    what: str
    peer: str
    elements: int
    limit: float | None
    measure: Callable[[], Ratio]


def rows(large: int, pairs: int) -> Iterator[Row]:
    """Give every row: `large` elements in large arrays, `pairs` in the search for base densities."""
    yield from _start()
    yield from _conversions(large)
    yield from _densities(large)
    yield from _door()
    yield from _searches(pairs)
    yield from _pulses(large)
    yield from _checks()


def _temperatures(size: int) -> Any:
    return np.random.default_rng(1).uniform(-50.0, 150.0, size)


def _fresh(code: str, theirs: str | None, turns: int = 7) -> Ratio:
    """Time code in fresh processes, against other code or one second."""
    ours = [seconds_in_a_fresh_process(code) for _ in range(turns)]
    return of_times(ours, [seconds_in_a_fresh_process(theirs) for _ in range(turns)] if theirs else [1.0] * turns)


_TIMED = "import time; begin = time.perf_counter(); {}; print(time.perf_counter() - begin)"


def _start() -> Iterator[Row]:
    ours, numpy = _TIMED.format("import fuelunits"), _TIMED.format("import numpy")
    text = "import numpy, fuelunits as fu; " + _TIMED.format("fu.convert(50.0, 'gal', 'L')")
    answer = "import numpy, fuelunits as fu; " + _TIMED.format("fu.fuel('Jet A').mass('200 gal', at='30 degC')")
    pint_ = "import numpy; " + _TIMED.format("import pint; pint.get_application_registry().Quantity(200.0, 'gal')")
    yield Row("import", "import numpy", 0, 1.2, lambda: _fresh(ours, numpy))
    yield Row("first conversion", "1 s", 0, 0.25, lambda: _fresh(text, None))
    yield Row("first answer to text", "pint's first quantity", 0, None, lambda: _fresh(answer, pint_))


def _conversions(large: int) -> Iterator[Row]:
    def pint_() -> Any:
        quantity = _pint().Quantity
        return lambda: quantity(50.0, "gal").m_as("L")

    def astropy_() -> Any:
        from astropy import units

        gallon, litre = units.imperial.gallon, units.l
        return lambda: (50.0 * gallon).to_value(litre)

    def unyt_() -> Any:
        import unyt

        return lambda: unyt.unyt_quantity(50.0, "ft**3").to_value("m**3")

    for peer, made, limit in (
        ("pint", pint_, 1 / 40),
        ("astropy", astropy_, 1 / 20),
        ("unyt, ft3 to m3", unyt_, 1 / 20),
    ):
        yield Row("convert", peer, 1, limit, lambda made=made: ratio(lambda: fu.convert(50.0, "gal", "L"), made()))
    for size in (1000, large):
        x = np.random.default_rng(1).uniform(1.0, 100.0, size)
        yield Row(
            "convert", "x * factor", size, 1.1,
            lambda x=x: ratio(lambda: fu.convert(x, "gal", "L"), lambda: x * 3.785411784),
        )  # fmt: skip


def _densities(large: int) -> Iterator[Row]:
    yield Row("density", "5 us", 1, 1.0, lambda: _against(lambda: _JET.density_kg_m3(30.0), 5e-6))
    for size, limit in ((1000, None), (large, 2.0)):
        t = _temperatures(size)
        yield Row(
            "density", "numpy.exp", size, limit, lambda t=t: ratio(lambda: _JET.density_kg_m3(t), lambda: np.exp(t))
        )
    t = _temperatures(large)
    some, share = t[:2000], large / 2000
    yield Row(
        "density", "CoolProp", large, 1 / 500,
        lambda: _scaled(ratio(lambda: _JET.density_kg_m3(t), _coolprop(some), turns=5), share),
    )  # fmt: skip
    jet, tolerance = fu.fuel("Jet A"), np.clip(t, -40.0, 100.0)
    yield Row(
        "density of a grade", "numpy.exp", large, 2.0,
        lambda: ratio(lambda: jet.density_kg_m3(tolerance), lambda: np.exp(tolerance)),
    )  # fmt: skip
    yield Row("density: memory besides", "the result", large, 0.05, lambda: _memory(t))


def _against(call: Callable[[], Any], seconds: float) -> Ratio:
    """Compare with a fixed time."""
    taken = ratio(call, call)
    scale = taken.ours_s / seconds
    return Ratio(taken.ours_s, seconds, scale, scale)


def _scaled(taken: Ratio, share: float) -> Ratio:
    return Ratio(taken.ours_s, taken.theirs_s * share, taken.low / share, taken.high / share)


def _coolprop(t: Any) -> Callable[[], Any]:
    """Give the density of n-heptane, element by element, as its state object does it fastest."""
    import CoolProp

    state = CoolProp.AbstractState("HEOS", "n-Heptane")
    kelvin = (np.clip(t, -50.0, 90.0) + 273.15).tolist()

    def densities() -> list[float]:
        found = []
        for each in kelvin:
            state.update(CoolProp.PT_INPUTS, 101_325.0, each)
            found.append(state.rhomass())
        return found

    return densities


def _memory(t: Any) -> Ratio:
    """Compare the most memory in use, but for the result, with the result."""
    tracemalloc.start()
    try:
        result = _JET.density_kg_m3(t)
        besides = tracemalloc.get_traced_memory()[1] - result.nbytes
    finally:
        tracemalloc.stop()
    share = besides / result.nbytes
    return Ratio(besides, result.nbytes, share, share)


@cache
def _pint() -> Any:
    import pint

    return pint.UnitRegistry()


def _door() -> Iterator[Row]:
    jet, quantity = fu.fuel("Jet A"), _pint().Quantity
    gallons = iter(range(10**9))

    def fresh_text() -> Any:
        return jet.mass(f"{next(gallons)} gal", at="30 degC")

    def pints() -> Any:
        return quantity(200.0, "gal"), quantity(30.0, "degC"), quantity(600.0, "kg")

    volume, celsius = quantity(200.0, "gal"), quantity(30.0, "degC")
    peer = "its 3 pint quantities"
    yield Row("mass of a text, never seen", peer, 1, 2.0, lambda: ratio(fresh_text, pints))
    yield Row("mass of a text, seen", peer, 1, 2.0, lambda: ratio(lambda: jet.mass("200 gal", at="30 degC"), pints))
    yield Row("mass of pint quantities", peer, 1, 2.0, lambda: ratio(lambda: jet.mass(volume, at=celsius), pints))
    yield Row(
        "mass of pint quantities", "the 2 given alone", 1, 2.0,
        lambda: ratio(
            lambda: jet.mass(volume, at=celsius), lambda: (quantity(200.0, "gal"), quantity(30.0, "degC"))
        ),
    )  # fmt: skip


def _searches(pairs: int) -> Iterator[Row]:
    random = np.random.default_rng(2)
    base, t = random.uniform(700.0, 1000.0, pairs), random.uniform(-40.0, 90.0, pairs)
    observed = base * fu.ctl(base, t)
    for name, base_c in (("base density, 15 degC", 15.0), ("base density, 60 degF", fu.BASE_60F_C)):
        yield Row(
            name, "numpy.exp", pairs, 60.0,
            lambda base_c=base_c: ratio(lambda: fu.base_density(observed, t, base_c=base_c), lambda: np.exp(t)),
        )  # fmt: skip


def _pulses(large: int) -> Iterator[Row]:
    random = np.random.default_rng(0)
    times = np.cumsum(random.uniform(0.009, 0.011, large))
    readings = np.cumsum(random.integers(90, 110, large)) % 65_536
    k = fu.KFactor(43_186, per="gal")
    yield Row(
        "pulses to flow", "numpy.diff", large, 3.5,
        lambda: ratio(
            lambda: fu.PulseRecord(times).by_period().frequency().flow(k, "gal/h"), lambda: np.diff(times)
        ),
    )  # fmt: skip
    yield Row(
        "unwrap_counter", "numpy.diff", large, 3.0,
        lambda: ratio(lambda: fu.unwrap_counter(readings, bits=16), lambda: np.diff(readings)),
    )  # fmt: skip


def _checks() -> Iterator[Row]:
    def check() -> Any:
        found = fu.check_density("6.7 lb/gal", "Jet A", between=("-20 degC", "40 degC"), tolerance="3 %")
        return found.passed, found.equals_typical_at, found.worst

    yield Row("check_density", "2 ms", 0, 1.0, lambda: _against(check, 0.002))
    code = (
        "import fuelunits as fu; from fuelunits.reference import TOPICS, published; "
        "values = published(*(topic for topic in TOPICS if topic != 'pure_liquids'))"
    )
    verify = f"{code}; {_TIMED.format('fu.verify(values)')}"
    yield Row("verify, without CoolProp's rows", "1 s", 0, 1.0, lambda: _fresh(verify, None, turns=5))
