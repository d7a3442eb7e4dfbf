"""Hypothesis strategies of text in every accepted spelling of a number and of its unit."""

from collections.abc import Callable
from typing import Any

from hypothesis import strategies as st

from fuelunits.errors import QuantityError
from fuelunits.units import read_unit, spellings


@st.composite
def unit_texts(draw: Callable[[Any], Any], unit: str) -> str:
    """Draw an accepted spelling of units joined by ``/``: ``"lb/gal"``, ``"pounds per US gallon"``, ``"LBS / USG"``."""
    read_unit(unit)
    named = [spellings(part.strip()) for part in unit.split("/")]
    if not all(named):
        raise QuantityError(f"{unit!r} has a part that has no spellings of its own; write named units joined by /")
    spaced = [draw(st.sampled_from(each)).replace("_", draw(st.sampled_from("_ "))) for each in named]
    return str(draw(st.sampled_from(("/", " / ", " per ")))).join(spaced)


@st.composite
def texts(draw: Callable[[Any], Any], unit: str, min_value: float, max_value: float) -> str:
    """Draw a quantity as text, in any accepted spelling of its number and of its unit, such as a flow in gal/h."""
    value = draw(st.floats(min_value, max_value))
    number = draw(st.sampled_from((f"{value!r}", f"{value:.6f}", f"{value:+.9e}", f"{value:.4g}")))
    if not min_value <= float(number) <= max_value:
        number = repr(value)
    signed = number.replace("-", draw(st.sampled_from(("-", "\N{MINUS SIGN}")))) if "e-" not in number else number
    space = draw(st.sampled_from((" ", "  ", "\N{NO-BREAK SPACE}")))
    return f"{signed}{space}{draw(unit_texts(unit))}"
