"""What is measured, against whom, and how fast it is meant to be.

A row is a ratio, ours over the peer's, within one run: a limit of 1/40 means forty times faster. Work over arrays is
compared with one pass of a multiplication and an addition and with the formulas in C; work on one number with the same
formula written in Python: what these take differs from one processor to the next as ours does, unlike `numpy.exp`,
which takes 1 ns on some and 9 on others. Rows with the peers "2 ms" and "1 s" are plain seconds.
"""

from __future__ import annotations

import math
import tracemalloc
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from kernel import kernel
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
    """Yield every row: `large` elements in large arrays, `pairs` where each has a density of its own."""
    yield from _start()
    yield from _conversions(large)
    yield from _densities(large)
    yield from _masses()
    yield from _densities_each(pairs)
    yield from _pulses(large)
    yield from _checks()


def _temperatures(size: int) -> Any:
    return np.random.default_rng(1).uniform(-50.0, 150.0, size)


def _fresh(code: str, theirs: str | None, turns: int = 7) -> Ratio:
    """Time code in fresh processes, against other code or one second."""
    ours = [seconds_in_a_fresh_process(code) for _ in range(turns)]
    return of_times(ours, [seconds_in_a_fresh_process(theirs) for _ in range(turns)] if theirs else [1.0] * turns)


_TIMED = "import time; begin = time.perf_counter(); {}; print(time.perf_counter() - begin)"


_FIRST = {
    "first conversion": "fu.convert(50.0, 'gal', 'L')",
    "first K-factor": "fu.KFactor(11_412, per='L')",
    "first check of a density": "fu.check_density('6.7 lb/gal', 'Jet A', between=('0 degC', '9 degC'), tolerance='3%')",
}
_EXAMPLE = Path(__file__).parents[1] / "docs" / "examples" / "shop_assumptions.toml"


def _start() -> Iterator[Row]:
    numpy = _TIMED.format("import numpy")
    yield Row("import", "import numpy", 0, 0.3, lambda: _fresh(_TIMED.format("import fuelunits"), numpy))
    for what, call in _FIRST.items():
        code = _TIMED.format(f"import fuelunits as fu; {call}")
        yield Row(what, "import numpy", 0, 1.3, lambda code=code: _fresh(code, numpy))
    check = _TIMED.format(f"from fuelunits.__main__ import main; main(['check', {str(_EXAMPLE)!r}])")
    yield Row("fuelunits check FILE", "import numpy", 0, 2.0, lambda: _fresh(check, numpy))
    answer = "import numpy, fuelunits as fu; " + _TIMED.format("fu.fuel('Jet A').mass('200 gal', at='30 degC')")
    pint_ = "import numpy; " + _TIMED.format("import pint; pint.get_application_registry().Quantity(200.0, 'gal')")
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
    yield Row(
        "convert degF to degC", "(t - 32.0) / 1.8", 1, 8.0,
        lambda: ratio(lambda: fu.convert(50.0, "degF", "degC"), lambda: (_BOILING_F - 32.0) / 1.8),
    )  # fmt: skip
    for size, limit in ((1000, 2.5), (large, 1.1)):  # a call takes as long as a multiplication of 1000
        x = np.random.default_rng(1).uniform(1.0, 100.0, size)
        yield Row(
            "convert", "x * factor", size, limit,
            lambda x=x: ratio(lambda: fu.convert(x, "gal", "L"), lambda: x * 3.785411784),
        )  # fmt: skip


_BOILING_F = 212.0


def _ctl_in_python(rho: float, celsius: float) -> float:
    """Return CTL to 60 °F of a jet fuel, as somebody would write it who needs nothing else."""
    tau, difference = celsius / 630.0, 0.0
    for a in (-3.536296, 7.438081, -1.871251, -4.089591, 1.269056, 1.080760, -0.267408, -0.148759):
        difference = (difference + a) * tau
    degrees = 1.8 * (celsius - difference) + 32.0 - 60.0068749
    alpha = 330.3010 / (rho * rho)
    return math.exp(-alpha * degrees * (1.0 + 0.8 * alpha * (degrees + 0.01374979547)))


def _densities(large: int) -> Iterator[Row]:
    # 15 µs, the limit of a scalar correction, is 24 times the formula here
    plain = "a formula in Python"
    for what, limit, call in (
        ("density", 5.0, lambda: _JET.density_kg_m3(30.0)),
        ("ctl", 24.0, lambda: fu.ctl(800.0, 30.0)),
    ):
        yield Row(what, plain, 1, limit, lambda call=call: ratio(call, lambda: 800.0 * _ctl_in_python(800.0, 30.0)))
    for size, limit in ((1000, None), (10_000, 6.0), (131_072, 3.5), (large, 3.5)):
        t = _temperatures(size)
        yield Row(
            "density", "C", size, limit,
            lambda t=t: ratio(lambda: _JET.density_kg_m3(t), kernel("density", 800.0, t)),
        )  # fmt: skip
    t = _temperatures(large)
    some, share = t[:2000], large / 2000
    yield Row("density", "0.7 * t + 800.0", large, 4.0, lambda: ratio(lambda: _JET.density_kg_m3(t), _line(t)))
    yield Row(
        "density", "CoolProp", large, 1 / 500,
        lambda: _scaled(ratio(lambda: _JET.density_kg_m3(t), _coolprop(some), turns=5), share),
    )  # fmt: skip
    jet, tolerated = fu.fuel("Jet A"), np.clip(t, -40.0, 100.0)
    yield Row(
        "density of a grade", "C", large, 3.5,
        lambda: ratio(lambda: jet.density_kg_m3(tolerated), kernel("density", 800.0, tolerated)),
    )  # fmt: skip
    yield Row("density: memory besides", "the result", large, 0.05, lambda: _memory(lambda: _JET.density_kg_m3(t)))


def _line(t: Any) -> Callable[[], Any]:
    return lambda: 0.7 * t + 800.0


def _against(call: Callable[[], Any], seconds: float) -> Ratio:
    """Compare with a fixed time."""
    taken = ratio(call, call)
    scale = taken.ours_s / seconds
    return Ratio(taken.ours_s, seconds, scale, scale)


def _scaled(taken: Ratio, share: float) -> Ratio:
    return Ratio(taken.ours_s, taken.theirs_s * share, taken.low / share, taken.high / share)


def _coolprop(t: Any) -> Callable[[], Any]:
    """Return a call for the density of n-heptane, element by element, as its state object does it fastest."""
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


def _memory(call: Callable[[], Any]) -> Ratio:
    """Compare the most memory in use, but for the result, with the result."""
    tracemalloc.start()
    try:
        result = call()
        besides = tracemalloc.get_traced_memory()[1] - result.nbytes
    finally:
        tracemalloc.stop()
    share = besides / result.nbytes
    return Ratio(besides, result.nbytes, share, share)


@cache
def _pint() -> Any:
    import pint

    return pint.UnitRegistry()


def _masses() -> Iterator[Row]:
    jet, quantity = fu.fuel("Jet A"), _pint().Quantity
    gallons = iter(range(10**9))

    def fresh_text() -> Any:
        return jet.mass(f"{next(gallons)} gal", at="30 degC")

    def pints() -> Any:
        return quantity(200.0, "gal"), quantity(30.0, "degC"), quantity(600.0, "kg")

    volume, celsius, density = quantity(200.0, "gal"), quantity(30.0, "degC"), quantity(6.65, "lb/gal")
    peer = "its 3 pint quantities"
    yield Row("mass of a text, never seen", peer, 1, 2.0, lambda: ratio(fresh_text, pints))
    yield Row("mass of a text, seen", peer, 1, 2.0, lambda: ratio(lambda: jet.mass("200 gal", at="30 degC"), pints))
    yield Row("mass of pint quantities", peer, 1, 2.0, lambda: ratio(lambda: jet.mass(volume, at=celsius), pints))

    def by_pint() -> Any:
        return celsius.m_as("degC"), (volume * density).to("kg")

    yield Row(
        "mass of pint quantities", "volume * density in pint", 1, 1.5,
        lambda: ratio(lambda: jet.mass(volume, at=celsius), by_pint),
    )  # fmt: skip


def _densities_each(pairs: int) -> Iterator[Row]:
    random = np.random.default_rng(2)
    base, t = random.uniform(700.0, 1000.0, pairs), random.uniform(-40.0, 90.0, pairs)
    observed = base * fu.ctl(base, t)
    for what, base_c, name, limit in (
        ("15 degC", 15.0, "ctl_from_15", 8.0),
        ("60 degF", fu.BASE_60F_C, "ctl_from_60", 12.0),
    ):
        yield Row(
            f"ctl, a density each, {what}", "C", pairs, limit,
            lambda base_c=base_c, name=name: ratio(lambda: fu.ctl(base, t, base_c=base_c), kernel(name, base, t)),
        )  # fmt: skip
        yield Row(
            f"base density, {what}", "C, 60 degF", pairs, 10.0,
            lambda base_c=base_c: ratio(
                lambda: fu.base_density(observed, t, base_c=base_c), kernel("base_density", observed, t)
            ),
        )  # fmt: skip
    yield Row("ctl: memory besides", "the result", pairs, 0.5, lambda: _memory(lambda: fu.ctl(base, t)))


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
        "import fuelunits as fu; from fuelunits.reference.verification import TOPICS, published; "
        "values = published(*(topic for topic in TOPICS if topic != 'pure_liquids'))"
    )
    verify = f"{code}; {_TIMED.format('fu.verify(values)').replace('perf_counter', 'process_time')}"
    yield Row("verify, without CoolProp's rows", "1 s of CPU", 0, 1.0, lambda: _fresh(verify, None, turns=5))
