"""Recompute the published viscosities that took no part in drawing the lines."""

from __future__ import annotations

from collections.abc import Callable

from fuelunits.fuels.viscosity import ViscosityLine, viscosity

__all__ = ["recompute"]


def recompute(what: str, given: dict[str, str]) -> float:
    """Give our value of a published one.

    Parameters
    ----------
    what : str
        Kind of value, as in the first column of ``viscosity.csv``.
    given : dict of str to str
        What the source states it for.

    Examples
    --------
    >>> round(recompute("kinematic viscosity", {"fuel": "JP-8", "temperature_c": "-40"}), 2)
    6.61
    """
    line = _LINES[what](given)
    return float(line.kinematic_viscosity_mm2_s(float(given["temperature_c"])))


def _between_two_points(given: dict[str, str]) -> ViscosityLine:
    first, second = ((float(given[f"{end}_c"]), float(given[f"{end}_mm2_s"])) for end in ("first", "second"))
    return ViscosityLine.through(first, second, source="the two points of the row")


_LINES: dict[str, Callable[[dict[str, str]], ViscosityLine]] = {
    "kinematic viscosity": lambda given: viscosity(given["fuel"]),
    "kinematic viscosity between two points": _between_two_points,
}
