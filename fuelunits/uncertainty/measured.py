"""Inputs with an uncertainty, from text and pint quantities: a value, its standard uncertainty and its name."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from typing import Any

from fuelunits import quantities
from fuelunits.conversion import exact_amount, kind_of
from fuelunits.errors import DimensionError, QuantityError, UnitError
from fuelunits.quantities import answer, first_quantity, fraction, is_quantity, is_ratio, magnitude, read_text
from fuelunits.uncertainty.budget import COVERAGE_FACTORS, K_DIGIT, degrees_of_coverage, one_value, uncertain
from fuelunits.units import check_unit, exact_factor, read_unit
from fuelunits.validation import check_type, finite_number, plain_number

_UNITS = ("kg", "L", "kg/m^3", "degC", "s", "L/h", "kg/h", "Hz", "kPa", "mm")  # in which inputs of these kinds are kept
_DENSITY_DOUBT = 0.05  # relative; beyond it one over the density is skewed, and grades of jet fuel are within 4 %


def measured(
    value: Any,
    uncertainty: Any = None,
    *,
    name: str,
    degrees_of_freedom: float | None = None,
    expanded_uncertainty: Any = None,
    coverage_factor: float | None = None,
) -> Any:
    """Return an input of text or pint quantities: a pint quantity of an uncertain number.

    Parameters
    ----------
    value : str or pint.Quantity, ``"28.702 kg"``; ``"0 delta_degC"`` of the error that readings of °C share
    uncertainty : str or pint.Quantity, standard: ``"1.5 g"``, ``"0.01 %"``; of °C ``"0.1 degC"``, in pint a delta_degC
    name : str, for the budget
    degrees_of_freedom : float, of the uncertainty: n - 1 for a mean of n observations, else infinity
        Of `expanded_uncertainty` those at which k is Student's t; write ``math.inf`` for k = 3 of 99.73 %.
    expanded_uncertainty : str or pint.Quantity, in place of `uncertainty`: U as a certificate states it
    coverage_factor : float, of `expanded_uncertainty`, from the certificate: k, from 1 to 64, not in %; else 2

    Examples
    --------
    >>> mass = measured("28.702 kg", "1.5 g", name="balance reading")
    >>> f"{mass.m_as('kg').std_dev:.4f}"
    '0.0015'
    """
    check_type(name, str, "name", "what a budget should call it")
    if (uncertainty is None) == (expanded_uncertainty is None):
        raise QuantityError(f"{name}: write either uncertainty or expanded_uncertainty, for example '0.1 %'")
    if uncertainty is not None and coverage_factor is not None:
        raise QuantityError(f"{name}: uncertainty is standard; U with its coverage factor is expanded_uncertainty")
    u, k = (expanded_uncertainty, 2.0) if uncertainty is None else (uncertainty, 1.0)
    k = k if coverage_factor is None else COVERAGE_FACTORS.check(finite_number(coverage_factor, "coverage factor"))
    first_quantity(value, u)
    unit = kind_of(value, _UNITS, name=name)
    if unit == "degC" and "delta_" in repr(getattr(value, "units", value)):
        unit = "delta_degC"
    number = magnitude(value, unit, name=name)
    if is_ratio(u):
        if read_unit(unit).zero is not None or not plain_number(number, name):
            raise DimensionError(f"{name}: {u} of a temperature or of zero is nothing; write '0.1 degC' or '1.5 g'")
        spread = abs(number) * fraction(u, name=f"uncertainty of {name}")
    else:
        spread = difference(u, unit, f"uncertainty of {name}")
    degrees = degrees_of_coverage(k - K_DIGIT, degrees_of_freedom)
    made = uncertain(number, spread / k, name=name, unit=unit, degrees_of_freedom=degrees)
    if spread and read_unit(unit).zero is None:
        own = str(value.units) if is_quantity(value) else quantities.pint_name(read_text(value)[1])
        made.tag = replace(made.tag, written=own)
    return answer(made, unit, value)


def as_given(value: Any) -> Any:
    """Return a measured quantity in the unit in which it was given; anything else, also what follows from it, as is."""
    written = getattr(getattr(value.magnitude, "tag", None), "written", "") if is_uncertain(value) else ""
    return value.to(written) if written else value


def difference(u: Any, unit: str, name: str) -> float:
    """Return an uncertainty or an error in a unit, which for a temperature is a difference of temperatures."""
    scale = unit.removeprefix("delta_")
    if read_unit(scale).zero is None:
        return plain_number(magnitude(u, unit, name=name), name)
    wanted = f"delta_{read_unit(scale).name}"
    if isinstance(u, str):
        number, written = read_text(u)
        given = read_unit(written)
        return float(number * exact_factor(given.name if given.zero is None else f"delta_{given.name}", wanted))
    if is_quantity(u) and "delta_" not in format(u.units, "D") and format(u.units, "D") != "kelvin":
        raise DimensionError(f"{name}: {u} is a temperature, and a difference is needed, such as a delta_degC")
    return plain_number(magnitude(u, wanted, name=name), name)


def uncertain_magnitude(value: Any, unit: str, *, name: str) -> Any:
    """Return the number of a quantity in a unit, with the uncertainty that it carries, if any; text is exact."""
    number = magnitude(nominal_quantity(value, name), unit, name=name)  # refuses what is not of the unit's kind
    return one_value(value.m_as(answer(1.0, unit, value).units), name, unit) if is_uncertain(value) else number


def is_uncertain(value: Any) -> bool:
    """Return whether something is a quantity that carries an uncertainty."""
    return is_quantity(value) and hasattr(value.magnitude, "nominal_value")


def uncertain_amount(value: Any, unit: str, *, name: str, density: Any = None, zero: bool = False) -> Any:
    """Return the number of one amount or flow in a unit, with any uncertainty; without one it is exact, a Fraction."""
    plain, at_density = nominal_quantity(value, name), nominal_quantity(density, "density")
    exact = exact_amount(plain, unit, name=name, density=at_density, zero=zero)
    if not is_uncertain(value) and not is_uncertain(density):
        return exact
    start = kind_of(value, (unit, *_UNITS), name=name)
    of_one = float(exact_amount(f"1 {start}", unit, name=name, density=at_density))
    number = uncertain_magnitude(value, start, name=name) * of_one
    if not is_uncertain(density) or read_unit(start).dimension == read_unit(unit).dimension:
        return number
    ratio = density.magnitude / density.magnitude.nominal_value
    if ratio.std_dev > _DENSITY_DOUBT * (1.0 + 1e-9):
        raise QuantityError(f"density: {density}; its standard uncertainty is above 5 %, too large here; measure it")
    return number / ratio if "kg" in start else number * ratio


def nominal_quantity(value: Any, name: str = "value") -> Any:
    """Return a quantity without the uncertainty that it carries, if any; refuse one that states another unit."""
    if not is_uncertain(value):
        return value
    with suppress(UnitError):  # of a unit that only pint knows
        check_unit(value.magnitude, format(value.units, "D").replace(" ** ", "^"), name)
    return type(value)(value.magnitude.nominal_value, value.units)
