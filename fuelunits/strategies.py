"""Hypothesis strategies for the test suites of other projects: ``from fuelunits import strategies``.

Nothing is registered with hypothesis: that would import fuelunits and numpy into every test session.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import Any

from fuelunits.errors import MissingExtra
from fuelunits.fuels.batches import Batch
from fuelunits.fuels.grades import Fuel, all_fuels
from fuelunits.fuels.grades import fuel as find_fuel
from fuelunits.meters.k_factor import KFactor

try:
    from hypothesis import strategies as st
except ImportError as missing:
    raise MissingExtra("fuelunits.strategies needs hypothesis; python -m pip install hypothesis") from missing

__all__ = ["batches", "grades", "k_factors", "temperatures_c"]


def grades(*, for_aircraft: bool = False) -> st.SearchStrategy[Fuel]:
    """Draw a grade of fuel; with `for_aircraft` aviation gasolines and jet fuels alone."""
    return st.sampled_from([each for each in all_fuels() if not each.refused and each.for_aircraft >= for_aircraft])


def temperatures_c(fuel: Any) -> st.SearchStrategy[float]:
    """Draw a temperature, °C, that is valid for a grade, a measured batch or a blend."""
    limits = find_fuel(fuel).valid_temperatures_c
    return st.floats(limits.low, limits.high)


@st.composite
def batches(draw: Callable[[Any], Any], fuel: Any = None) -> Batch:
    """Draw a measured batch, of any aircraft fuel by default, with an ordinary density at 15 °C: within its limits."""
    grade: Any = draw(grades(for_aircraft=True)) if fuel is None else find_fuel(fuel)
    low, high = grade.ordinary_kg_m3  # where the specification has no limit, 3 % beyond published figures
    within = st.floats(low * (1.0 + 1e-8), high * (1.0 - 1e-8))  # so that no rounding leads out of the limits
    return grade.measured(f"{draw(within):.9g} kg/m^3", at="15 degC")  # type: ignore[no-any-return]


def k_factors(
    min_pulses: float = 1_000, max_pulses: float = 100_000, *, per: str | None = None
) -> st.SearchStrategy[KFactor]:
    """Draw a K-factor, in whole pulses and in tenths, per US gallon, imperial gallon or litre by default."""
    tenths = st.integers(round(10 * min_pulses), round(10 * max_pulses))
    units = st.sampled_from(("gal", "imp_gal", "L") if per is None else (per,))
    return st.builds(lambda pulses, unit: KFactor(Fraction(pulses, 10), per=unit), tenths, units)
