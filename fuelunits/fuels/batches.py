"""A measured batch of a grade, and whether its density allows that grade: accept, reject or undecided, with the reason.

It is read on a hydrometer, an oscillating tube or a certificate, and converted by the expansion of the grade.
"""

from __future__ import annotations

import os
from dataclasses import dataclass, field
from functools import cached_property
from math import inf
from typing import Any, Literal, get_args

from fuelunits.conversion import DENSITIES, convert, density_kg_m3
from fuelunits.errors import FuelUnitsError, QuantityError
from fuelunits.fuels.editions import BASE_60F_C, GAUGE_PRESSURES_KPA, standard_temperature_c
from fuelunits.fuels.liquids import EXPANSION_DOUBT_PER_C, Amounts, Liquid, batch_of
from fuelunits.fuels.water_and_air import SCALES, buoyancy_factor, hydrometer_factor
from fuelunits.quantities import QuantityLike, answer, first_quantity, fraction, is_ratio, positive, temperature_c
from fuelunits.reports import Report, Reporting, format_percent
from fuelunits.sources import Range
from fuelunits.uncertainty.budget import Input, cause, coverage_factor, nominal, standard_uncertainty
from fuelunits.uncertainty.decisions import Verdict
from fuelunits.uncertainty.measured import is_uncertain, uncertain_amount, uncertain_magnitude
from fuelunits.validation import finite_number, format_value, positive_number, set_fields

_ROUNDING = 1e-7  # relative: a certificate at the very limit lies within it
_STEP = 1e-4  # relative step of the density read, from whose effect the sensitivity to it is taken
_BEYOND = 0.03  # how far batches may lie beyond known figures where no limit is set (common practice)
_FAR = 0.1  # how far beyond that a fuel that is none of aircraft is another one (common practice)
UNSTATED_KG_M3 = 5.0
"""Allowed for near a limit where no uncertainty was stated: a hydrometer with a thermometer 5 °C off."""

By = Literal["hydrometer", "densitometer", "certificate"]


@dataclass(frozen=True, repr=False)
class Reading(Reporting):
    """A density that was read, uncorrected, at °C and kPa above atmospheric; with the scale of glass at °C."""

    by: By
    as_given: str
    kg_m3: float
    at_c: float
    gauge_pressure_kpa: float
    calibrated_at_c: float | None
    standard_uncertainty_kg_m3: float | None
    shared_error: Any = field(default=None, hash=False)  # 0 kg/m³, with that uncertainty: an instrument's
    identity: str = field(default="", compare=False)  # of its own error, in copies and files too
    _plain = ("glass_factor", "density_kg_m3")

    def __post_init__(self) -> None:
        DENSITIES.check(positive_number(self.kg_m3, "density read, in kg/m^3,", example=805.0))
        if abs(self.kg_m3 - (stated := _stated_kg_m3(self.as_given))) > 1e-5 * stated:
            raise QuantityError(f"{self.as_given} is {stated:.2f} kg/m³; got {self.kg_m3:.2f} kg/m³: measure it anew")
        if (self.by == "hydrometer") != (self.calibrated_at_c is not None):
            raise FuelUnitsError(f"calibrated_at is that of a glass hydrometer; leave it out for a {self.by}")
        at_c = finite_number(self.at_c, "at_c")
        if self.by == "certificate":
            at_c = standard_temperature_c(at_c, 'at of a certificate (not of the tank; a reading is by="densitometer")')
            if at_c == 20.0 and self.as_given.startswith("relative"):
                raise QuantityError('relative_density at 20 degC is to water of 4 degC: write density="0.7752 kg/L"')
        set_fields(self, at_c=at_c)
        GAUGE_PRESSURES_KPA.check(finite_number(self.gauge_pressure_kpa, "gauge_pressure"))
        positive_number((known := self.standard_uncertainty_kg_m3) or 0.0, "standard uncertainty", zero=True)
        if (e := self.shared_error) is not None and (nominal(e), standard_uncertainty(e)) != (0.0, known):
            raise QuantityError('uncertainty: write a shared error as measured("0 kg/m^3", "0.8 kg/m^3", name="H1")')
        if self.doubt_kg_m3 >= self.kg_m3:
            raise QuantityError(f"uncertainty: U of {self.doubt_kg_m3:.3g} kg/m³ is the density or more")

    @property
    def glass_factor(self) -> float:
        """The factor from the reading to the density at its temperature; 1 unless glass was read."""
        glass_c = self.calibrated_at_c
        return 1.0 if glass_c is None else float(hydrometer_factor(self.at_c, calibrated_c=glass_c))

    @property
    def density_kg_m3(self) -> float:
        """True density at the temperature and pressure of the reading, kg/m³."""
        return self.kg_m3 * self.glass_factor

    @property
    def doubt_kg_m3(self) -> float:
        """2 u, Student's t times u where its degrees of freedom are few, or what is allowed for without any, kg/m³."""
        k = coverage_factor(self.shared_error or ())
        return round(k, 4) * (self.standard_uncertainty_kg_m3 or 0.0) or UNSTATED_KG_M3

    def report(self) -> Report:
        pressure = f", {self.gauge_pressure_kpa:g} kPa above atmospheric" if self.gauge_pressure_kpa else ""
        at = "60 °F" if self.at_c == BASE_60F_C else f"{self.at_c:.4g} °C"
        text = f"{self.as_given} by {self.by} at {at}{pressure}: {self.kg_m3:.2f} kg/m³"
        if self.calibrated_at_c is not None:
            text += f", times {self.glass_factor:.6f} for glass made for {self.calibrated_at_c:.4g} °C"
        if self.standard_uncertainty_kg_m3:  # zero states none
            text += f", standard uncertainty {self.standard_uncertainty_kg_m3:.2g} kg/m³, the thermometer included"
        if self.shared_error is not None:
            text += f", by the error of {' and '.join(str(each.tag) for each in self.shared_error.derivatives)}"
        return Report(text)


def read(given: dict[str, Any], at: Any, by: By, calibrated_at: Any, gauge_pressure: Any, uncertainty: Any) -> Reading:
    """Return a reading of the one of density, api_gravity and relative_density that is given, as ``Fuel.measured``."""
    if not isinstance(by, str) or by not in get_args(By):
        meant = "'hydrometer' (of glass), 'densitometer' (oscillating tube) or 'certificate'"
        raise FuelUnitsError(f"by is {format_value(by)}; write {meant}")
    read = [(scale, value) for scale, value in given.items() if value is not None]
    if len(read) != 1:
        raise QuantityError('give one of density="0.812 kg/L", api_gravity=42.6 and relative_density=0.8128')
    scale, value = read[0]
    if scale == "density":
        as_given = value if isinstance(value, str) else f"{float(density_kg_m3(value)) / 1000.0:.15g} kg/L"
    else:
        as_given = f"{scale.replace('_', ' ').replace('api', 'API')} {finite_number(value, scale):.15g}"
    kg_m3, scale_c = _stated_kg_m3(as_given), 15.0 if scale == "density" else BASE_60F_C
    if at is None and by != "certificate":
        raise QuantityError(f'at: a {by} reading needs the temperature of the fuel; write at="22 degC", for example')
    glass_c = scale_c if by == "hydrometer" else None
    if calibrated_at is not None:
        glass_c = finite_number(temperature_c(calibrated_at, name="calibrated_at"), "calibrated_at")
    scale_at_c = None if glass_c is None else standard_temperature_c(glass_c, "calibrated_at")
    pressure = 0.0 if gauge_pressure is None else positive(gauge_pressure, "kPa", name="gauge_pressure", zero=True)
    error = uncertain_magnitude(uncertainty, "kg/m^3", name="uncertainty") if is_uncertain(uncertainty) else None
    if uncertainty is not None and is_ratio(uncertainty):
        uncertainty = fraction(uncertainty, name="uncertainty") * kg_m3
    elif uncertainty is not None:
        own = standard_uncertainty(error) or positive(uncertainty, "kg/m^3", name="uncertainty", zero=True)
        uncertainty = finite_number(own, "uncertainty")
    at_c = scale_c if at is None else finite_number(temperature_c(at, name="at"), "at")
    return Reading(by, as_given, kg_m3, at_c, pressure, scale_at_c, uncertainty, error, os.urandom(12).hex())


def _stated_kg_m3(as_given: str) -> float:
    """Return the density of a reading as given, ``"0.812 kg/L"`` or ``"API gravity 42.6"``, in kg/m³."""
    scale, _, number = as_given.rpartition(" ")
    of_scale = SCALES.get(scale.replace(" ", "_").lower())
    return float(of_scale(float(number)) if of_scale else density_kg_m3(as_given))


def spread_about(*known: float) -> tuple[float, float]:
    """Return the densities between which batches are taken to lie, from those that are known."""
    return min(known) * (1.0 - _BEYOND), max(known) * (1.0 + _BEYOND)


@dataclass(frozen=True, repr=False)
class Batch(Amounts, Reporting):
    """A batch of a grade whose density was measured; made by :meth:`fuelunits.Fuel.measured`.

    Attributes
    ----------
    fuel : Fuel or Blend, the grade
    reading : Reading, what was read, with what, and at which temperature
    liquid : Liquid, how its density changes with temperature and pressure

    Examples
    --------
    >>> from fuelunits.fuels.grades import fuel
    >>> batch = fuel("Jet A").measured("0.805 kg/L", at="22 degC", by="hydrometer")
    >>> round(batch.reading.density_kg_m3, 2), round(batch.base_density_kg_m3, 2), round(batch.density_kg_m3(-10.0), 1)
    (804.87, 810.02, 828.2)
    >>> batch.verdict.value, batch.reason
    ('accept', 'density within the limits of Jet A')
    """

    fuel: Any = field(repr=False)
    reading: Reading
    liquid: Liquid = field(init=False, repr=False)
    _plain = ("name", "base_density_kg_m3", "verdict", "reason", "remarks")

    def __post_init__(self) -> None:
        self.valid_temperatures_c.check(self.reading.at_c)
        set_fields(self, liquid=self._liquid(1.0))

    def _liquid(self, times: float) -> Liquid:
        read = self.reading
        return batch_of(self.fuel.liquid, times * read.density_kg_m3, read.at_c, read.gauge_pressure_kpa)

    @property
    def name(self) -> str:
        """The grade, and that it was measured."""
        return f"measured {self.fuel.name}"

    @property
    def source(self) -> str:
        """Key of the source of the expansion."""
        return self.liquid.source

    @property
    def valid_temperatures_c(self) -> Range:
        """Valid temperatures of the grade, °C."""
        return self.fuel.valid_temperatures_c  # type: ignore[no-any-return]

    @property
    def base_density_kg_m3(self) -> float:
        """Density at 15 °C and atmospheric pressure, kg/m³."""
        return float(self.liquid.density_kg_m3(self.base_c))

    def apparent_mass(self, volume: QuantityLike, at: QuantityLike) -> Any:
        """Return the mass, kg, that a balance displays, in air of 1.2 and with weights of 8000 kg/m³ (recalled)."""
        return self.mass(volume, at) / buoyancy_factor(self._density(at, None), 1.2)

    def uncertain_mass(self, volume: QuantityLike, at: QuantityLike, gauge_pressure: QuantityLike | None = None) -> Any:
        """Return the mass of a volume in kg, with the uncertainty of the reading and a ``measured`` volume or `at`.

        To first order; all from one batch are correlated, and batches of one shared `uncertainty`. Text is exact, also
        `at`, of which 1 °C is some 0.1 %. That of the expansion is not in it: tables agree within 0.4 % over 55 °C.
        """
        measured_c = uncertain_magnitude(at, "degC", name="at")
        t, valid = nominal(measured_c), self.valid_temperatures_c
        p = 0.0 if gauge_pressure is None else positive(gauge_pressure, "kPa", name="gauge_pressure", zero=True)
        lighter, denser = (self._liquid(1.0 + side).density_kg_m3(t, p) for side in (-_STEP, _STEP))
        error = (denser - lighter) / (2.0 * _STEP * self.reading.density_kg_m3) * self._error_of_reading
        if is_uncertain(at):
            cold, warm = max(t - 0.5, valid.low), min(t + 0.5, valid.high)
            error += (self.density_kg_m3(warm, p) - self.density_kg_m3(cold, p)) / (warm - cold) * (measured_c - t)
        read = uncertain_amount if is_uncertain(volume) else positive
        kg = read(volume, "m3", name="volume", zero=True) * (self.density_kg_m3(t, p) + error)
        return answer(kg, "kg", first_quantity(volume, at, gauge_pressure))

    @cached_property
    def _error_of_reading(self) -> Any:
        """One variable a batch, so that what rests on it stays correlated, or that of its instrument."""
        read, u = self.reading, self.reading.standard_uncertainty_kg_m3
        if u is None:
            raise FuelUnitsError(f'{self.name} without an uncertainty; measure it with uncertainty="0.5 kg/m^3"')
        own = cause(read.kg_m3, u, Input(f"density read by {read.by}", "kg/m^3"), read.identity) - read.kg_m3
        return own if read.shared_error is None else read.shared_error + 0.0 * own  # by this kind of instrument

    @property
    def verdict(self) -> Verdict:
        """Accept only where no reason is against it and nothing is missing."""
        return self._judgement[0]

    @property
    def reason(self) -> str:
        """The reason for the verdict."""
        return self._judgement[1]

    @cached_property
    def _judgement(self) -> tuple[Verdict, str]:
        """The verdict by its density, and the reason.

        Near a limit, by the expanded uncertainty or 5 kg/m³ and by its expansion to there, it is undecided. On a side
        without one nothing is accepted; outside its ordinary densities aircraft fuels are rejected, others far outside.
        """
        fuel, base = self.fuel, self.base_density_kg_m3
        reject, undecided, unset = list(fuel.objections), list[str](), list[str]()
        k = self.reading.doubt_kg_m3 / (self.reading.standard_uncertainty_kg_m3 or inf)
        stated = f"of uncertainty (k = {k:.3g})" if k else "allowed for, as no uncertainty was stated"
        for side, limit, sign in (("lower", fuel.low, -1.0), ("upper", fuel.high, 1.0)):
            if limit is None:
                unset.append(side)
                continue
            excess = sign * (float(self.liquid.density_kg_m3(limit.at_c)) - limit.density_kg_m3)
            excess = excess if abs(excess) > _ROUNDING * limit.density_kg_m3 else 0.0
            degrees = abs(limit.at_c - self.reading.at_c)
            margin = self.reading.doubt_kg_m3 + EXPANSION_DOUBT_PER_C * degrees * limit.density_kg_m3
            if excess > margin:
                reject.append(f"{excess:.1f} kg/m³ ({format_percent(excess / limit.density_kg_m3)}) beyond {limit}")
            elif excess > -margin:
                expands = f" and of {degrees:.3g} °C of expansion" if degrees else ""
                near = f"{abs(excess):.1f} kg/m³ {'beyond' if excess > 0.0 else 'within'} {limit}"
                undecided.append(f"{near}, no more than the {margin:.2g} kg/m³ {stated}{expands}")
        if unset:
            unknown = f"the specification sets no {' or '.join(unset)} limit known here"
            undecided.append(f"{unknown}: compare with the supplier's certificate")
        low, high = fuel.ordinary_kg_m3
        if (fuel.low is None and base < low) or (fuel.high is None and base > high):
            far = f"{base - float(fuel.density_kg_m3(self.base_c)):+.1f} kg/m³ from the typical density, outside the "
            far += f"{low:.0f} to {high:.0f} kg/m³ that lie within 3 % of published figures"
            is_another = fuel.for_aircraft or not low - _FAR * base <= base <= high + _FAR * base
            (reject if is_another else undecided).append(far)
        low, high = getattr(fuel, "parts_kg_m3", (base, base))
        margin = self.reading.doubt_kg_m3 + EXPANSION_DOUBT_PER_C * abs(self.base_c - self.reading.at_c) * base
        if not low - margin <= base <= high + margin:
            undecided.append(f"its parts make {low:.0f} to {high:.0f} kg/m³ at 15 °C: other parts, or other fractions")
        if reject:
            alike = self._alike(any_kind=True)
            reject += [f"these have such a density: {', '.join(alike)}"] if alike else []
            return Verdict.REJECT, f"not {fuel.name}: {'; '.join(reject)}"
        if undecided:
            return Verdict.UNDECIDED, "; ".join(undecided)
        return Verdict.ACCEPT, f"density within the limits of {fuel.name}"

    def _alike(self, *, any_kind: bool) -> tuple[str, ...]:
        """Return the names of the four nearest other aircraft and motor fuels that may have its density."""
        from fuelunits.fuels.grades import all_fuels

        fuel, base, near = self.fuel, self.base_density_kg_m3, []
        for grade in all_fuels():
            other = grade != fuel and (any_kind or grade.kind != fuel.kind) and not grade.refused
            if other and (grade.for_aircraft or grade.kind == "motor fuel"):
                low, high = grade.ordinary_kg_m3
                if low - UNSTATED_KG_M3 <= base <= high + UNSTATED_KG_M3:
                    near.append((abs(grade.density_kg_m3(self.base_c) - base), grade.name))
        return tuple(name for _, name in sorted(near)[:4])

    def remarks(self, *, typical: bool = True, limits: bool = True) -> tuple[str, ...]:
        """Return the remarks on the batch for use where it decides; the typical density counts only without a limit."""
        alike = self._alike(any_kind=False) if self.verdict is not Verdict.REJECT else ()
        own = [f"density does not distinguish it from {', '.join(alike)}"] if alike else []
        if not self.reading.standard_uncertainty_kg_m3:
            own.append(f"no uncertainty was stated; {UNSTATED_KG_M3:g} kg/m³ was allowed for (common practice)")
        return (*own, *self.fuel.remarks(typical=typical and None in (self.fuel.low, self.fuel.high), limits=limits))

    def report(self) -> Report:
        base, limits = self.base_density_kg_m3, (("at least", self.fuel.low), ("at most", self.fuel.high))
        known = {"density as read": self.reading.density_kg_m3, f"density at {self.base_c:g} °C": base}
        facts = {
            "read": self.reading.report().title,
            **{name: f"{rho:.2f} kg/m³, {convert(rho, 'kg/m^3', 'lb/gal'):.4f} lb/gal" for name, rho in known.items()},
            **{name: str(limit or "no limit of the specification is known here") for name, limit in limits},
        }
        title = f"{self.name}, {base:.2f} kg/m³ at {self.base_c:g} °C"
        return Report(title, f"{self.verdict.value}: {self.reason}", facts, (), self.remarks(), (self.source,))


class Measurable(Amounts):
    """A grade or a blend, of which a batch can be measured."""

    objections: tuple[str, ...] = ()
    """The reasons against it as an aircraft fuel, apart from its density."""

    def _at_base(self: Any, figure: Any) -> float:
        return float(batch_of(self.liquid, figure.density_kg_m3, figure.at_c).density_kg_m3(self.base_c))

    def measured(
        self: Any,
        density: QuantityLike | None = None,
        at: QuantityLike | None = None,
        *,
        by: By = "certificate",
        api_gravity: float | None = None,
        relative_density: float | None = None,
        calibrated_at: QuantityLike | None = None,
        gauge_pressure: QuantityLike | None = None,
        uncertainty: QuantityLike | None = None,
    ) -> Batch:
        """Return a batch of it from a measurement: of ``density``, ``api_gravity`` or ``relative_density``.

        Parameters
        ----------
        density, at : str or pint.Quantity, what was read, and at which temperature; without it a certificate states the
            density at 15 °C (60 °F on a scale), unless the limits of the grade are at another
        by : {"hydrometer", "densitometer", "certificate"}; only the reading of glass is corrected for its expansion
            A certificate states it at 15 °C, 20 °C or 60 °F (also 15.56 or 15.6 °C); another temperature is a reading.
        api_gravity, relative_density : float, instead of the density: a number on a scale at 60 °F, of water at 60 °F
        calibrated_at : str or pint.Quantity, of a hydrometer's scale: 15 °C (by default), 20 °C or 60 °F (on a scale)
        gauge_pressure : str or pint.Quantity, above atmospheric when it was read
        uncertainty : str or pint.Quantity, standard, of what was read and of `at`, of which 1 °C is some 0.7 kg/m³ of
            kerosene, 0.9 of gasoline: ``"0.9 kg/m^3"``, ``"0.1 %"``; `density` and `at` are stated without theirs.
            Of one instrument for several batches, made once: ``measured("0 kg/m^3", "0.9 kg/m^3", name="glass 1")``
        """
        first_quantity(density, at, calibrated_at, gauge_pressure, uncertainty)
        if is_uncertain(density) or is_uncertain(at):
            both = "'0.9 kg/m^3' is √(0.5² + 0.7²), for 0.5 kg/m³ and 1 °C of kerosene; 1 °C of gasoline is 0.9 kg/m³"
            raise QuantityError(f"density and at are written without, and their uncertainty as uncertainty=: {both}")
        if self.refused:
            raise FuelUnitsError(f"{self.name} cannot be converted from one temperature to another: {self.refused}")
        limit_c = next((limit.at_c for limit in (self.low, self.high) if limit), 15.0)
        if at is None and abs(limit_c - 15.0) > 1.0:
            rule = f"the limits of {self.name} are at {limit_c:g} degC, and so may its certificates be"
            base = 'at="60 degF", or the density' if density is None else f'at="{limit_c:g} degC" or at="15 degC"'
            raise QuantityError(f"at: {rule}; write {base}, as it stands there")
        given = {"density": density, "api_gravity": api_gravity, "relative_density": relative_density}
        return Batch(self, read(given, at, by, calibrated_at, gauge_pressure, uncertainty))
