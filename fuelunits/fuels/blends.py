"""Blends: jet fuel with a synthetic component, say, by volume or by mass.

The parts of a blend keep their masses and very nearly their volumes. So at every temperature and
pressure the volumes of the parts add up, each part expanding as it does alone.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from fuelunits.arrays import as_float
from fuelunits.errors import FuelUnitsError, QuantityError
from fuelunits.fuels.grades import fuel
from fuelunits.fuels.liquid import Liquid
from fuelunits.fuels.quantity_methods import Amounts
from fuelunits.quantities import fraction, is_quantity
from fuelunits.ranges import OnOutOfRange, Range
from fuelunits.reports import CAUTION
from fuelunits.sources import source

__all__ = ["Blend", "blend", "blend_by_mass"]

_BASE_C = 15.0

_ROUNDING = 1e-9
"""What the sum of the fractions may miss 1 by."""


@dataclass(frozen=True, repr=False)
class Blend(Amounts):
    """Liquids mixed in given fractions; made by :func:`blend` or :func:`blend_by_mass`.

    Attributes
    ----------
    parts : tuple of Liquid
        What is mixed: fuels, measured batches, liquids or other blends.
    mass_fractions : tuple of float
        The mass of each over the whole, in the same order.

    Raises
    ------
    QuantityError
        If a fraction is not positive, or they do not sum to 1.
    FuelUnitsError
        If the density of a part is refused, or no temperature is common to all.

    Notes
    -----
    Volume-additive: one over the density is the sum of each mass fraction over the density of its
    part. What volume the mixing itself makes or takes is neglected: little between hydrocarbons
    and esters, more with an alcohol (common practice). Published blends of HEFA and Jet A are met
    within 0.15 %.

    Examples
    --------
    >>> half = blend({"Jet A": "50 %", "HEFA-SPK": "50 %"})
    >>> [round(share, 4) for share in half.mass_fractions], round(half.density_kg_m3(15.0), 1)
    ([0.515, 0.485], 780.7)
    """

    parts: tuple[Liquid, ...]
    mass_fractions: tuple[float, ...]

    def __post_init__(self) -> None:
        _check_fractions(self.mass_fractions)
        valid = self.valid_temperatures_c
        if not valid.low <= valid.high:
            raise FuelUnitsError(
                f"{self.name}: no temperature is common to its parts (the warmest begins at {valid.low:g} degC, "
                f"the coldest ends at {valid.high:g} degC), so no density can be given"
            )
        self.density_kg_m3(valid.low)

    @property
    def name(self) -> str:
        """What it is made of."""
        return f"blend of {' and '.join(map(_name, self.parts))}"

    @property
    def source(self) -> str:
        """Key of the source of the mixing rule."""
        return "volume_additive_mixing"

    @cached_property
    def valid_temperatures_c(self) -> Range:
        """Temperatures at which every part is answered for, °C."""
        warmest = max(self.parts, key=lambda part: part.valid_temperatures_c.low)
        coldest = min(self.parts, key=lambda part: part.valid_temperatures_c.high)
        names = dict.fromkeys((_name(warmest), _name(coldest)))
        limits = (warmest.valid_temperatures_c.low, coldest.valid_temperatures_c.high)
        return Range("temperature of the blend", *limits, "degC", " and ".join(names))

    @property
    def volume_fractions(self) -> tuple[float, ...]:
        """The volume of each part over the sum of all, at 15 °C and in the order of the parts."""
        return _normalised(
            mass / density for mass, density in zip(self.mass_fractions, _base_densities(self.parts), strict=True)
        )

    def density_kg_m3(
        self, temperature_c: Any, gauge_pressure_kpa: Any = 0.0, *, out_of_range: OnOutOfRange = "raise"
    ) -> Any:
        """Give the density of the blend.

        Parameters
        ----------
        temperature_c : float or array
            °C, within the range of every part.
        gauge_pressure_kpa : float or array
            Pressure above atmospheric, kPa, within the range of every part. Broadcasts.
        out_of_range : {"raise", "nan"}
            What to do outside.

        Returns
        -------
        float or array
            kg/m³.
        """
        t = self.valid_temperatures_c.check(as_float(temperature_c), out_of_range)
        volume_m3_per_kg = 0.0
        for part, mass in zip(self.parts, self.mass_fractions, strict=True):
            density = part.density_kg_m3(t, gauge_pressure_kpa, out_of_range=out_of_range)
            volume_m3_per_kg = volume_m3_per_kg + mass / density
        return 1.0 / volume_m3_per_kg

    def __repr__(self) -> str:
        return f"<{self.name}>"

    def __str__(self) -> str:
        valid = self.valid_temperatures_c
        lines = [self.name]
        lines += [
            f"  {mass:.2%} by mass: {_name(part)}" for part, mass in zip(self.parts, self.mass_fractions, strict=True)
        ]
        lines += [f"  density: {self.density_kg_m3(_BASE_C):.1f} kg/m³ at 15 °C"] if valid.contains(_BASE_C) else []
        lines += [
            f"  temperatures: {valid.low:g} to {valid.high:g} °C",
            f"  rule: {source(self.source)}",
            f"  {CAUTION}",
        ]
        return "\n".join(lines)


def blend(parts: Mapping[Any, Any]) -> Blend:
    """Mix liquids by volume at 15 °C.

    Parameters
    ----------
    parts : mapping
        From each part, or the name of a grade, to its fraction: 0.3 or ``"30 %"``. A part is a fuel,
        a measured batch, a liquid or another blend.

    Returns
    -------
    Blend

    Raises
    ------
    QuantityError
        If a fraction is not positive, or they do not sum to 1 within 1e-9.
    OutOfRange
        If a part has no density at 15 °C.
    FuelUnitsError
        If the density of a part is refused, or no temperature is common to all.

    Notes
    -----
    The volumes are those of the parts before mixing. See :class:`Blend` for the rule.

    Examples
    --------
    >>> mixed = blend({"Jet A": 0.7, "HEFA-SPK": 0.3})
    >>> round(mixed.density_kg_m3(15.0), 1)
    790.0
    >>> f"{mixed.mass('1000 L', at='-20 degC').m_as('kg'):.1f}"
    '815.6'
    """
    liquids, fractions = _read(parts)
    return Blend(
        liquids,
        _normalised(share * density for share, density in zip(fractions, _base_densities(liquids), strict=True)),
    )


def blend_by_mass(parts: Mapping[Any, Any]) -> Blend:
    """Mix liquids by mass.

    Parameters
    ----------
    parts : mapping
        As for :func:`blend`, with fractions of mass.

    Returns
    -------
    Blend

    Raises
    ------
    QuantityError, FuelUnitsError
        As for :func:`blend`.

    Examples
    --------
    >>> round(blend_by_mass({"Jet A": "50 %", "HEFA-SPK": "50 %"}).density_kg_m3(15.0), 1)
    780.0
    """
    return Blend(*_read(parts))


def _read(parts: Mapping[Any, Any]) -> tuple[tuple[Liquid, ...], tuple[float, ...]]:
    if not isinstance(parts, Mapping):
        raise QuantityError('parts of a blend are written as {"Jet A": 0.7, "HEFA-SPK": 0.3}')
    fractions = tuple(_fraction(part, share) for part, share in parts.items())
    _check_fractions(fractions)
    return tuple(fuel(part) for part in parts), fractions


def _fraction(part: Any, share: Any) -> float:
    if isinstance(share, str) or is_quantity(share):
        return fraction(share, name=f"fraction of {_name(part)}")
    try:
        return float(share)
    except (TypeError, ValueError):
        raise QuantityError(f"fraction of {_name(part)}: {share!r} is no number; write 0.3 or '30 %', say") from None


def _check_fractions(fractions: tuple[float, ...]) -> None:
    total = sum(fractions)
    if not all(share > 0.0 for share in fractions) or not abs(total - 1.0) <= _ROUNDING:
        raise QuantityError(
            f"fractions of a blend are {', '.join(f'{share:.10g}' for share in fractions) or 'missing'}; each must be "
            f"positive and their sum 1, not {total:.10g} (write 0.3 or '30 %' for thirty per cent)"
        )


def _base_densities(parts: tuple[Liquid, ...]) -> tuple[float, ...]:
    return tuple(float(part.density_kg_m3(_BASE_C)) for part in parts)


def _normalised(amounts: Any) -> tuple[float, ...]:
    amounts = tuple(amounts)
    return tuple(amount / sum(amounts) for amount in amounts)


def _name(part: Any) -> str:
    if isinstance(part, Blend):
        return f"({part.name})"
    return part if isinstance(part, str) else str(getattr(part, "name", type(part).__name__))
