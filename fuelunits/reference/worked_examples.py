"""How the worked examples of the 2004 volume correction are worked out with the library."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from fuelunits.conversion import convert
from fuelunits.fuels.commodities import CRUDE_OIL, LUBRICATING_OIL, REFINED_PRODUCTS
from fuelunits.fuels.density_scales import BASE_60F_C, density_from_api_gravity, density_from_relative_density
from fuelunits.fuels.edition_2004 import (
    KPA_PER_PSI,
    Expansion2004,
    Procedure2004,
    degrees_from_60f,
    given_expansion,
    round_factor,
    t68_f,
)
from fuelunits.fuels.volume_correction import base_density, compressibility, cpl, ctl, ctpl

__all__ = ["WORKED_EXAMPLES"]

_COMMODITIES = {"crude": CRUDE_OIL, "product": REFINED_PRODUCTS, "lube": LUBRICATING_OIL}


@dataclass(frozen=True)
class _Example:
    """A worked example: its inputs as text, at the units in which the standard prints them."""

    temperature: str
    density: str | float = ""
    base: str = "60 degF"
    pressure: str = "0 psi"
    commodity: str = "product"
    alpha_per_f: float | None = None
    observed: str = ""
    observed_at: str = ""
    observed_pressure: str = ""
    volume: float = 1.0
    per: str = "psi"

    @property
    def which(self) -> dict[str, Any]:
        return {"base_c": _celsius(self.base), "commodity": _COMMODITIES[self.commodity]}

    @property
    def state(self) -> tuple[float, float]:
        return _celsius(self.temperature), _gauge_kpa(self.pressure)

    @property
    def base_density(self) -> float:
        if not self.observed:
            return _density_of(str(self.density))
        state = _celsius(self.observed_at), _gauge_kpa(self.observed_pressure)
        return float(base_density(_density_of(self.observed), *state, **self.which))

    @property
    def expansion(self) -> Expansion2004:
        if self.alpha_per_f is None:
            at_60f = base_density(self.base_density, _celsius(self.base), **self.which | {"base_c": BASE_60F_C})
            return Procedure2004(_COMMODITIES[self.commodity]).expansion(at_60f)
        return given_expansion(self.base_density / self._ctl_of_base(self.alpha_per_f), self.alpha_per_f)

    def _ctl_of_base(self, alpha_per_f: float) -> float:
        """Return CTL from the base to 60 °F, exactly 1 where that is the base."""
        base_c = _celsius(self.base)
        return 1.0 if base_c == BASE_60F_C else float(given_expansion(1.0, alpha_per_f).ctl(degrees_from_60f(base_c)))

    @property
    def ctl(self) -> float:
        if self.alpha_per_f is None:
            return float(ctl(self.base_density, self.state[0], **self.which))
        return float(self.expansion.ctl(degrees_from_60f(self.state[0])) / self._ctl_of_base(self.alpha_per_f))

    @property
    def per_kpa(self) -> float:
        if self.alpha_per_f is None:
            return float(compressibility(self.base_density, self.state[0], **self.which))
        return float(self.expansion.compressibility_per_kpa(degrees_from_60f(self.state[0])))

    @property
    def cpl(self) -> float:
        if self.alpha_per_f is None:
            return float(cpl(self.base_density, *self.state, **self.which))
        return 1.0 / (1.0 - self.per_kpa * self.state[1])

    @property
    def ctpl(self) -> float:
        if self.alpha_per_f is None:
            return float(ctpl(self.base_density, *self.state, **self.which))
        return self.ctl * self.cpl


def _example(answer: Callable[[_Example], float]) -> Callable[..., float]:
    return lambda **given: answer(_Example(**given))


def _celsius(text: str) -> float:
    number, unit = text.split()
    return BASE_60F_C if text == "60 degF" else float(convert(float(number), unit, "degC"))


def _gauge_kpa(text: str) -> float:
    number, unit = text.split()
    return float(number) * {"psi": KPA_PER_PSI, "kPa": 1.0, "bar": 100.0}[unit]


def _density_of(text: str) -> float:
    number, scale = text.split()
    if scale == "API":
        return float(density_from_api_gravity(float(number)))
    return float(density_from_relative_density(float(number))) if scale == "RD" else float(number)


def _fp(example: _Example) -> float:
    """Return Fp in 1e-5 per unit of pressure."""
    return example.per_kpa * 1e5 * _gauge_kpa(f"1 {example.per}")


WORKED_EXAMPLES: dict[str, Callable[..., float]] = {
    "CTL": _example(lambda of: of.ctl),
    "CPL": _example(lambda of: of.cpl),
    "CTPL": _example(lambda of: of.ctpl),
    "Fp": _example(_fp),
    "base density": _example(lambda of: of.base_density),
    "density": _example(lambda of: of.base_density * of.ctpl),
    "density from rounded CTPL": _example(lambda of: of.base_density * round_factor(of.ctpl)),
    "volume from rounded CTPL": _example(lambda of: of.volume * round_factor(of.ctpl)),
    "temperature on IPTS-68": _example(lambda of: t68_f(of.state[0])),
    "density at IPTS-68 60 degF": _example(lambda of: of.expansion.rho_star),
    "alpha at 60 degF": _example(lambda of: of.expansion.alpha_60),
}
