"""Runs on the calibration bench, by weighing or into a measure: pulses over the volume that passed the transducer.

Each input is a number, or an uncertain number; runs that use the same balance, densitometer or measure use the same
object for it, so that the mean of the runs keeps that part.
"""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from dataclasses import MISSING, dataclass, fields
from typing import Any, ClassVar, Self

from fuelunits.errors import FuelUnitsError, QuantityError
from fuelunits.fuels.water_and_air import buoyancy_factor
from fuelunits.quantities import first_quantity
from fuelunits.reports import Report, Reporting
from fuelunits.sources import Range
from fuelunits.uncertainty import budget as gum
from fuelunits.uncertainty.budget import cause, nominal, one_value, standard_uncertainty, triangular
from fuelunits.uncertainty.measured import uncertain_magnitude
from fuelunits.validation import ByValue, coerce_fields, did_you_mean, nearest, positive_number, whole_number

_RANGES = {  # valid ranges of fields by the end of their names; any other field is positive
    "balance_factor": Range("balance factor", 0.9, 1.1, "", "a balance that was adjusted, common practice"),
    "unweighed_mass_kg": Range("mass that was not weighed", 0.0, 1e6, "kg", "what passes a transducer"),
    "expansion_per_k": Range("cubic expansion", 0.0, 0.002, "1/K", "liquids and metals of a bench"),
    "reference_temperature_c": Range("reference temperature", 0.0, 40.0, "degC", "certificates, in °C: 60 °F is 15.56"),
    "temperature_c": Range("temperature", -60.0, 150.0, "degC", "liquids of a bench"),
}
# unit of a field by the end of its name; what has another end is a ratio
_UNITS = {"_kg_m3": "kg/m³", "_kg": "kg", "_c": "°C", "_s": "s", "_l": "L", "_per_k": "1/K", "pulses": "pulse"}
_LABEL = "a run on the bench: "
ONE_TEMPERATURE = 0.5  # °C by which a liquid may differ as if of one temperature: 0.05 % of a fuel (common practice)


def counted(pulses: int, *, name: str = "pulse count") -> Any:
    """Return the input for a count that starts and stops anywhere between two pulses: ±1, triangular.

    u = 1/√6 (JCGM 100:2008, 4.3.9). Where the pulses themselves gate the run, give the plain count instead, or of few
    pulses, for which a calibration asks, the uncertainty of the gate: ``uncertain(300, 0.01, name="gate")``.

    Parameters
    ----------
    pulses : int, whole pulses counted, 1 or more
    name : str, for the budget

    Examples
    --------
    >>> round(counted(272_040).std_dev, 3)
    0.408
    """
    return triangular(whole_number(pulses, "pulse count", least=1), 1.0, name=name, unit="pulse")


def thinning(expansion_per_k: Any, warming_k: Any, kg_m3: Any = None) -> Any:
    """Return the density of a liquid after warming, over that before, from its cubic expansion before.

    1 - x, with x = expansion × warming, within ± 0.6 x² for hydrocarbons of 7 to 12 carbon atoms, else ± 8e-6 per K²:
    water, and glycol with it, up to 8.9e-4 per K at 80 °C (computed by CoolProp). One cause for all runs.
    """
    x = expansion_per_k * warming_k
    if not standard_uncertainty(x):
        return 1.0 - x
    a_fuel = nominal(expansion_per_k) > (8.9e-4 if kg_m3 is None else 8e-4) and nominal(kg_m3 or 0.0) < 900.0
    within = 0.6 * nominal(x) ** 2 if a_fuel else 8e-6 * nominal(warming_k) ** 2
    name = "curvature of the density over temperature"
    return 1.0 - x - within * cause(0.0, 1.0 / math.sqrt(3.0), name, name)


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class Run(ByValue, Reporting, ABC):
    """The attributes of every run: the pulses of the transducer, the time of counting, the temperature there."""

    pulses: Any
    duration_s: Any
    liquid_temperature_c: Any

    _plain = ("k_pulses_per_l", "frequency_hz", "volume_l")
    _other: ClassVar[str]  # the other temperature on which K depends

    def __post_init__(self) -> None:
        names = [field.name for field in fields(self)]
        coerce_fields(self, names, lambda value, name: one_value(value, name, _name_and_unit(name)[1]), _LABEL)
        for field in fields(self):
            if (value := getattr(self, field.name)) is None:
                continue
            name = f"{_LABEL}{field.name}"
            limits = next((limits for end, limits in _RANGES.items() if name.endswith(end)), None)
            if limits is None:
                Range(name, 1e-9, 1e12, "", "any bench").check(positive_number(nominal(value), name))
            elif math.isnan(limits.check(nominal(value))):
                raise QuantityError(f"{_LABEL}the {limits.name} is missing")

    @classmethod
    def read(cls, **inputs: Any) -> Self:
        """Return a run from text, quantities and plain numbers, by the names of the attributes, with or without unit.

        ``liquid_temperature="20 degC"`` or ``liquid_temperature_c=20.0``; pulses and ratios are numbers.
        """
        first_quantity(*inputs.values())
        full = {_name_and_unit(field.name)[0]: field for field in fields(cls)}
        names = [field.name for field in full.values()]
        read: dict[str, Any] = {}
        for name, value in inputs.items():
            field = full[name].name if name in full else name
            if field not in names or field in read:
                meant = [] if field in read else nearest(name, [*full, *names])
                hint = did_you_mean(meant, f"they are {', '.join(full)}")
                raise QuantityError(f"{_LABEL}{name} is given twice or is not one of its inputs; {hint}")
            is_quantity, unit = name != field and value is not None, _name_and_unit(field)[1]
            read[field] = uncertain_magnitude(value, unit, name=name.replace("_", " ")) if is_quantity else value
        if missing := [name for name, each in full.items() if each.default is MISSING and each.name not in read]:
            raise QuantityError(f"{_LABEL}{' and '.join(missing)} must be given")
        return cls(**read)

    @property
    def identity(self) -> Any:
        """Figures and causes, the same in copies: of the count and weighing; of all inputs where the count is plain."""
        is_plain, readings = not standard_uncertainty(self.pulses), ("pulses", "mass_reading_kg")
        names = [field.name for field in fields(self) if is_plain or field.name in readings]
        return tuple(gum.figures_and_causes(getattr(self, name)) for name in names)

    @property
    @abstractmethod
    def volume_l(self) -> Any:
        """Volume that passed the transducer, L."""

    @property
    def k_pulses_per_l(self) -> Any:
        """K of the run, pulses per litre."""
        return self.pulses / self.volume_l

    @property
    def frequency_hz(self) -> float:
        """Pulse frequency, Hz."""
        return float(nominal(self.pulses) / nominal(self.duration_s))

    @property
    @abstractmethod
    def missing(self) -> tuple[str, ...]:
        """Inputs whose uncertainty is not stated, although the uncertainty of K depends on it."""

    def _unstated(self, *needed: tuple[str, ...]) -> tuple[str, ...]:
        """Return words for those fields, or alternatives of fields, that have no uncertainty."""
        lacking = [names for names in needed if not any(standard_uncertainty(getattr(self, name)) for name in names)]
        return tuple(f"the uncertainty of the {' or the '.join(map(_words, names))}" for names in lacking)

    def _warming(self) -> list[tuple[str, ...]]:
        """Return what K needs with another temperature, also where both read the same: 0.1 °C is 0.01 % of K."""
        is_warmer = abs(nominal(self.liquid_temperature_c - getattr(self, self._other))) > ONE_TEMPERATURE
        return [("liquid_temperature_c",), (self._other,), *[("liquid_expansion_per_k",)] * is_warmer]

    @property
    def presumed(self) -> str:
        """What is presumed of the temperature at the transducer, where nothing tells it apart from another; or none."""
        if (other := getattr(self, self._other)) is None:
            return (
                "The density weighed with is taken as that at the transducer: 0.1 °C between them is up to 0.01 % of K."
            )
        words = f"The difference from the {_words(self._other)} is taken as exact: 0.1 °C of it is up to 0.01 % of K."
        return words * (not standard_uncertainty(self.liquid_temperature_c - other))

    def inputs(self) -> dict[tuple[str, str], Any]:
        """Return the inputs that are stated, by their names in words and their units; a count has none."""
        stated = ((each.name, value) for each in fields(self) if (value := getattr(self, each.name)) is not None)
        return {(_words(name), _name_and_unit(name)[1].removeprefix("pulse")): value for name, value in stated}

    def report(self) -> Report:
        facts = {name: f"{_text(value)} {unit}".rstrip() for (name, unit), value in self.inputs().items()}
        title = f"{type(self).__name__}: K = {_text(self.k_pulses_per_l)} pulse/L at {self.frequency_hz:.5g} Hz"
        return Report(title, facts=facts, remarks=[f"not stated: {each}" for each in self.missing])


def _name_and_unit(field: str) -> tuple[str, str]:
    end = next((end for end in _UNITS if field.endswith(end)), "")
    return field.removesuffix(end) or field, _UNITS.get(end, "")


def _words(field: str) -> str:
    return _name_and_unit(field)[0].replace("_", " ")


def _text(value: Any) -> str:
    if not (u := standard_uncertainty(value)):
        return f"{nominal(value):.10g}"
    rounded = gum.round_to_uncertainty(nominal(value), u)
    return "{} (u = {})".format(*rounded)  # ± is for an interval [jcgm_100_2008, 7.2.2]


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class GravimetricRun(Run):
    """One run by weighing. Any number may be an uncertain one; text and quantities go to :meth:`read`.

    Attributes
    ----------
    pulses, duration_s, liquid_temperature_c : float, of the transducer (:func:`counted`); of the liquid there
    mass_reading_kg : float, mass collected, as weighed in air, full minus empty
    liquid_density_kg_m3 : float, of the liquid, at `density_temperature_c`
    air_density_kg_m3 : float, of the air around the balance, as ``fuelunits.air_density_kg_m3`` computes it
    density_temperature_c, vessel_temperature_c : float, optional
        Where the density was determined (in the line: the reading there), and of the liquid on the balance, if another.
    liquid_expansion_per_k : float, cubic, where the density was determined; with either of these, and only then
    balance_factor : float, true over displayed reading of the balance: its calibration, shared by its runs
    weights_density_kg_m3 : float, for which the balance was adjusted; 8000 by convention (OIML D 28)
    unweighed_mass_kg : float, mass that passed the transducer but not to the balance: evaporated, or held in the line

    Examples
    --------
    >>> run = GravimetricRun(pulses=counted(408_900), mass_reading_kg=28.702, duration_s=120.0,
    ...     liquid_temperature_c=20.1, liquid_density_kg_m3=802.1, air_density_kg_m3=1.19)
    >>> round(run.k_pulses_per_l.nominal_value, 2), round(run.frequency_hz, 1)
    (11411.78, 3407.5)
    """

    _other = "density_temperature_c"
    mass_reading_kg: Any
    liquid_density_kg_m3: Any
    air_density_kg_m3: Any
    density_temperature_c: Any = None
    vessel_temperature_c: Any = None
    liquid_expansion_per_k: Any = None
    balance_factor: Any = 1.0
    weights_density_kg_m3: Any = 8000.0
    unweighed_mass_kg: Any = 0.0

    @property
    def missing(self) -> tuple[str, ...]:
        """Inputs whose uncertainty is not stated: where K depends on it, and of an unweighed mass above 1e-4 of all."""
        needed: list[tuple[str, ...]] = [("mass_reading_kg", "balance_factor"), ("liquid_density_kg_m3",)]
        needed += self._warming() if self.density_temperature_c is not None else []
        needed += [("unweighed_mass_kg",)] * (nominal(self.unweighed_mass_kg) > 1e-4 * nominal(self.mass_reading_kg))
        return self._unstated(*needed)

    def __post_init__(self) -> None:
        super().__post_init__()
        has_others = (self.density_temperature_c, self.vessel_temperature_c) != (None, None)
        if has_others != (self.liquid_expansion_per_k is not None):
            needed = "with density_temperature or vessel_temperature, and only with them"
            raise FuelUnitsError(f"a run by weighing: liquid_expansion_per_k is needed {needed}")
        if not nominal(self.unweighed_mass_kg) <= 0.1 * nominal(self.mass_reading_kg):  # common practice: far less
            raise QuantityError(f"{_LABEL}unweighed_mass is above 10 % of the mass reading; is it in another unit?")
        for liquid in map(self.density_kg_m3_at, (self.density_temperature_c, None, self.vessel_temperature_c)):
            buoyancy_factor(*map(nominal, (liquid, self.air_density_kg_m3, self.weights_density_kg_m3)))

    def density_kg_m3_at(self, temperature_c: Any) -> Any:
        """Return the density of the liquid at a temperature, °C; None stands for that at the transducer."""
        if self.liquid_expansion_per_k is None:
            return self.liquid_density_kg_m3
        at, known = (self.liquid_temperature_c if t is None else t for t in (temperature_c, self.density_temperature_c))
        return self.liquid_density_kg_m3 * thinning(self.liquid_expansion_per_k, at - known, self.liquid_density_kg_m3)

    @property
    def volume_l(self) -> Any:
        """Volume that passed the transducer, L: [m (1 - air/weights) / (1 - air/vessel) + m_unweighed] / liquid.

        The form of ISO 4787 without the expansion of a vessel; the density on the balance decides the buoyancy.
        """
        air, in_vessel = self.air_density_kg_m3, self.density_kg_m3_at(self.vessel_temperature_c)
        weighed_kg = self.mass_reading_kg * self.balance_factor
        true_kg = weighed_kg * (1.0 - air / self.weights_density_kg_m3) / (1.0 - air / in_vessel)
        return 1000.0 * (true_kg + self.unweighed_mass_kg) / self.density_kg_m3_at(None)


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class VolumetricRun(Run):
    """One run into a measure or through a prover. Any number may be an uncertain one; text goes to :meth:`read`.

    Attributes
    ----------
    pulses, duration_s, liquid_temperature_c : float, as for a run by weighing
    measure_volume_l : float, volume of the measure or prover at its reference temperature
    measure_temperature_c : float, of the measure with the liquid in it
    measure_expansion_per_k, liquid_expansion_per_k : float, cubic: as certified; larger, at the measure's temperature
    reference_temperature_c : float, of the measure's certificate

    Examples
    --------
    >>> run = VolumetricRun(pulses=counted(59_010), measure_volume_l=20.0, duration_s=60.0, liquid_temperature_c=22.0,
    ...     measure_temperature_c=22.0, measure_expansion_per_k=50e-6, liquid_expansion_per_k=9e-4)
    >>> round(run.k_pulses_per_l.nominal_value, 2)
    2950.2
    """

    _other = "measure_temperature_c"
    measure_volume_l: Any
    measure_temperature_c: Any
    measure_expansion_per_k: Any
    liquid_expansion_per_k: Any
    reference_temperature_c: Any = 20.0

    def __post_init__(self) -> None:
        super().__post_init__()
        measure, liquid = nominal(self.measure_expansion_per_k), nominal(self.liquid_expansion_per_k)
        if measure >= liquid:
            raise QuantityError(f"{_LABEL}measure expands {measure:g} 1/K, liquid {liquid:g} 1/K; are they swapped?")

    @property
    def missing(self) -> tuple[str, ...]:
        """Inputs whose uncertainty is not stated."""
        return self._unstated(("measure_volume_l",), *self._warming())

    @property
    def volume_l(self) -> Any:
        """Volume that passed the transducer, L: that of the measure, which expands linearly (common practice)."""
        measure = 1.0 + self.measure_expansion_per_k * (self.measure_temperature_c - self.reference_temperature_c)
        warming = self.liquid_temperature_c - self.measure_temperature_c
        return self.measure_volume_l * measure / thinning(self.liquid_expansion_per_k, warming)
