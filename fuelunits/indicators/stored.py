"""Compare a stored setting with the intended one: what the indicator can hold, and what it displays."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from fuelunits.confusions import Confusion, known_confusions, number_looks_like
from fuelunits.conversion import kind_of
from fuelunits.errors import QuantityError
from fuelunits.indicators.display import decimals, displayed_exact
from fuelunits.indicators.written import as_written, set_fields
from fuelunits.meters.k_factor import KFactor
from fuelunits.pint_units import first_quantity
from fuelunits.quantities import exact, read_text
from fuelunits.reports import Report, Reporting, format_percent
from fuelunits.uncertainty.decisions import Verdict
from fuelunits.units import read_unit

_COARSE = 0.01
"""By how much the nearest figure that can be held may differ from what was intended (chosen, not from a source)."""
_KINDS = ("pulse/L", "kg/L", "L/h", "kg/h", "L", "kg", "Hz")


@dataclass(frozen=True, repr=False)
class StoredSetting(Reporting):
    """A setting as it was intended and as the indicator displays it; made by :func:`check_stored`."""

    intended: Any
    step: Any
    displayed: Any

    _plain = ("held", "difference", "verdict", "mistakes")

    def __post_init__(self) -> None:
        if isinstance(self.intended, KFactor):
            set_fields(self, intended=f"{float(self.intended)!r} pulse/{self.intended.unit}")
        first_quantity(self.intended, self.step, self.displayed)
        for name in ("intended", "step", "displayed"):
            value = getattr(self, name)
            kind = "" if isinstance(value, str) else kind_of(value, _KINDS, name=name)
            set_fields(self, **{name: as_written(value, kind, name)})
        for name in ("intended", "step", "displayed"):
            if self._number(name) <= 0:
                raise QuantityError(f"{name} must be positive, for example '11412 pulse/L'; got {getattr(self, name)}")
        if not self._held:
            raise QuantityError(f"step: {self.step} is too coarse to hold {self.intended}")

    @property
    def unit(self) -> str:
        """The unit of the figure intended."""
        return read_unit(read_text(self.intended)[1]).name

    def _number(self, name: str) -> Fraction:
        return exact(getattr(self, name), self.unit, name=name)

    @property
    def _held(self) -> Fraction:
        return displayed_exact(self._number("intended"), self._number("step"), Fraction(0))

    @property
    def held(self) -> str:
        """The nearest figure that the indicator can hold; halves up."""
        return f"{float(self._held):.{decimals(self._number('step'))}f} {self.unit}"

    @property
    def difference(self) -> float:
        """By how much what is displayed exceeds what was intended, as a fraction."""
        return float(self._number("displayed") / self._number("intended") - 1)

    @property
    def verdict(self) -> Verdict:
        """Accept the nearest figure that can be held, undecided if that is over 1 % off; reject any other."""
        if self._number("displayed") != self._held:
            return Verdict.REJECT
        return Verdict.UNDECIDED if abs(self.difference) > _COARSE else Verdict.ACCEPT

    @property
    def mistakes(self) -> tuple[Confusion, ...]:
        """The known mistakes that would explain a figure that is rejected."""
        return known_confusions(1.0 + self.difference, self.unit) if self.verdict is Verdict.REJECT else ()

    def report(self) -> Report:
        """Return the three figures and whether they agree."""
        given, right = float(self._number("displayed")), float(self._number("intended"))
        causes = "" if self.verdict is Verdict.ACCEPT else number_looks_like(given, right, self.unit)
        facts = {
            "nearest that can be held": f"{self.held}, in steps of {self.step}",
            "displayed": self.displayed,
            "displayed differs by": format_percent(self.difference, signed=True),
        }
        if self.verdict is Verdict.UNDECIDED:
            causes = f": the step is too coarse for what was intended, {facts['displayed differs by']} off"
        return Report(f"stored setting, intended {self.intended}", f"{self.verdict.value}{causes}", facts)


def check_stored(intended: Any, *, step: Any, displayed: Any) -> StoredSetting:
    """Return the check of a setting, such as a K-factor or a fixed density, that was entered into an indicator.

    Parameters
    ----------
    intended : KFactor, str or pint.Quantity
        The figure that was to be entered: ``"11412.4 pulse/L"``, ``"0.8034 kg/L"``.
    step, displayed : str or pint.Quantity
        The step in which the indicator holds it, ``"1 pulse/L"``, and what it displays after the entry.

    Examples
    --------
    >>> check_stored("11412.4 pulse/L", step="1 pulse/L", displayed="11421 pulse/L").verdict.value
    'reject'
    """
    return StoredSetting(intended, step, displayed)
