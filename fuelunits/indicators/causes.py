"""The causes of a wrong indication that the facts make possible, and the ratio that each predicts.

A ratio is indicated over true; it is kept as its logarithm, in which causes add. A fixed cause predicts one ratio; a
free one has an unknown figure, such as the share of pulses missing, and predicts a range (common practice, recalled).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import product
from math import exp, hypot, log, sqrt
from typing import Any

from fuelunits import confusions
from fuelunits.errors import FuelUnitsError
from fuelunits.fuels.grades import all_fuels
from fuelunits.fuels.liquids import temperature_c_at
from fuelunits.fuels.properties import viscosity
from fuelunits.fuels.water_and_air import water_density_kg_m3
from fuelunits.meters.k_factor import KFactor
from fuelunits.quantities import read_text
from fuelunits.units import exact_factor, factor
from fuelunits.validation import print_unit

_PLATES = {"L": "k_per_litre", "gal": "k_per_gallon", "imp_gal": "k_per_imperial_gallon"}
_SAME = 5e-4  # a K-factor that is off by a known ratio within this was entered in another unit, or by a decimal point
_NEARER = 3.0  # times nearer to 15 °C than to that of the fuel: a temperature for which a density was set (chosen)
_BASE_C = 15.0
_EXPANSION_PER_C = 0.001  # expansion of fuels that are not known, to one digit: kerosene 0.0009, gasoline 0.0012
_TEMPERATURE_SPREAD = 30.0 * _EXPANSION_PER_C  # standard deviation of densities at temperatures that are not known
_BATCHES = 0.01  # standard deviation of the densities of batches of one grade, where there are no data
_SETTING_SPREAD = 0.015  # standard deviation of densities set for one kind of fuel (common practice, from memory)
_RETURNED = 2.5  # the flow returned over that burned, half of it more or less (common practice, from memory)
_OF_LINES = (
    ("return_pulses_missing", 0.7, 0.7, "pulses of the return are missing, all of them if its transducer is dead"),
    ("feed_pulses_missing", -0.3, 0.3, "pulses of the feed are missing: 1 % of them is several of the net"),
    ("return_added", 1.4, 0.6, "the return is added in place of subtracted"),
    ("return_warmer", -0.08, 0.06, "the return is warmer than the feed, and more litres return than were fed for it"),
)
"""Errors of one line of feed less return: kind, logarithm of the ratio, its spread (common practice, from memory)."""
_BENCH_MM2_S = 1.2  # viscosity of the liquid in which transducers are calibrated, mm²/s
_SETTINGS = {name: float(lb_gal) * factor("lb/gal", "kg/m^3") for name, lb_gal in confusions.FIXED.items()}


@dataclass(frozen=True)
class Facts:
    """The facts besides the ratio, in the units written; None or empty where they are not known."""

    unit: str = ""
    true_unit: str = ""
    is_flow: bool = False
    is_mass: bool = False
    true_is_mass: bool = False
    entered: tuple[KFactor, ...] = ()
    stamped: tuple[KFactor, ...] = ()
    fixed_kg_m3: float = 0.0
    fixed: str = ""
    fuel: Any = None
    at_c: float | None = None
    channels: int | None = None
    near_low: bool | None = None
    subtracts_return: bool = False
    is_misread: bool = False

    @property
    def is_known_fuel(self) -> bool:
        """Whether the density of the fuel at the transducer is known."""
        return self.fuel is not None and self.at_c is not None

    def density(self, grade: Any = None) -> float:
        """Return the density of a grade, by default of the fuel, kg/m³, at its temperature or 15 °C."""
        return float((grade or self.fuel).density_kg_m3(_BASE_C if self.at_c is None else self.at_c))

    def warmer_c(self, log_ratio: float) -> float | None:
        """Return by how many °C the fuel is warmer here, from a ratio of volumes; None beyond its range."""
        if not hasattr(self.fuel, "valid_temperatures_c"):
            return log_ratio / _EXPANSION_PER_C
        celsius = temperature_c_at(self.fuel, self.density() * exp(log_ratio))
        return None if celsius is None else (_BASE_C if self.at_c is None else self.at_c) - celsius

    def told(self, kg_m3: float) -> str:
        """Return a density in words, in the unit of the one set."""
        unit = read_text(self.fixed)[1] if self.fixed else "kg/m^3"
        return f"{kg_m3 * factor('kg/m^3', unit):.4g} {print_unit(unit)}"

    @property
    def densities(self) -> dict[str, float]:
        """The density of the fuel, kg/m³, or those that fuels are taken to have where it is not known."""
        return _SETTINGS if self.fuel is None else {self.fuel.name: self.density()}

    @property
    def density_cancels(self) -> bool:
        """Whether any fuel gives this ratio: volume counted, times the density set, over volume delivered."""
        return bool(self.is_mass and not self.true_is_mass and self.fixed)

    @property
    def batch_spread(self) -> float:
        """Relative standard uncertainty of the density of the fuel: how batches of a grade differ."""
        if self.fuel is None:
            return 0.0
        if reading := getattr(self.fuel, "reading", None):
            return float(reading.doubt_kg_m3 / 2.0 / self.density())
        spread = getattr(self.fuel, "spread", None)
        return (spread.low + spread.high) / 2.0 / self.density() if spread else _BATCHES

    @property
    def density_spread(self) -> float:
        """The same, as far as not every ratio of masses has it anyway, with a temperature that is not known."""
        batches = 0.0 if self.is_mass or self.true_is_mass else self.batch_spread
        return hypot(batches, 0.0 if self.is_known_fuel else _TEMPERATURE_SPREAD)


@dataclass(frozen=True)
class Cause:
    """A possible cause: the logarithm of its ratio, its standard uncertainty, and why; a free one may fit any ratio."""

    kind: str
    log_ratio: float
    reason: str
    spread: float = 0.0
    is_free: bool = False
    fits_any: bool = False
    weight: float = 1.0
    warmer_c: Callable[[float], float | None] = lambda _: 0.0  # how much warmer a ratio says; None for no such fuel

    def told(self, log_ratio: float) -> str:
        """Return the reason, of a free cause with the figures of a fitted ratio."""
        if not self.is_free:
            return self.reason
        degrees = self.warmer_c(log_ratio) or 0.0
        return self.reason.format(
            change=f"{100.0 * abs(exp(log_ratio) - 1.0):.2g} %",
            share=f"{100.0 * (1.0 - exp(-log_ratio)):.2g} %",
            warmer=f"{abs(degrees):.0f} °C {'warmer' if degrees > 0.0 else 'colder'}",
        )


def known_causes(facts: Facts) -> Iterator[Cause]:
    """Return what is wrong as stated: K entered against K stamped, the density set against that of the fuel."""
    if facts.entered and facts.stamped:
        pairs = list(zip(facts.entered, facts.stamped, strict=True))
        off, spread = _effect([float(stamped.exact_per(k.unit) / k.value) for k, stamped in pairs], facts)
        words = "; ".join(f"K {k} entered for {right} stamped" for k, right in dict.fromkeys(pairs) if k != right)
        slips = _k_causes(replace(facts, entered=())) if len(set(pairs)) == 1 else ()
        apart = [(abs(each.log_ratio - off), each) for each in slips if not each.is_free]
        near = [(far, each) for far, each in apart if far < (1e-9 if "digit" in each.kind else _SAME)]
        slip = min(near, key=lambda each: each[0])[1] if near else Cause("k_not_matched", off, "")
        swapped = "the wrong way round" if spread and facts.entered == facts.stamped[::-1] else ""
        why = swapped or slip.reason.rpartition(": ")[2] or "it is that of another transducer, or an old one"
        if off or spread:
            yield replace(slip, log_ratio=off, reason=f"{words}: {why}", spread=spread, is_free=True)
    if facts.is_mass and facts.fixed and facts.is_known_fuel:
        fixed, right = facts.fixed_kg_m3, facts.density()
        kind, others = "density_setting", {"water": float(water_density_kg_m3(_BASE_C))}
        others |= {grade.name: facts.density(grade) for grade in other_fuels(facts)}
        alike = [name for name, kg_m3 in others.items() if abs(fixed / kg_m3 - 1.0) < _BATCHES]
        words = f"; it is a density of {' or '.join(alike)}" if alike else ""
        equal_c = temperature_c_at(facts.fuel, fixed) if hasattr(facts.fuel, "valid_temperatures_c") else None
        if equal_c is not None and _NEARER * abs(equal_c - _BASE_C) <= abs(equal_c - (facts.at_c or 0.0)):
            kind, words = "fuel_temperature", f", and the density set only at {equal_c:.0f} °C"
        words = f"{facts.fuel.name} has {facts.told(right)} at {facts.at_c:g} °C{words}"
        yield Cause(kind, log(fixed / right), f"{facts.fixed} is set; {words}")


def _effect(ratios: list[float], facts: Facts) -> tuple[float, float]:
    """Return what a ratio of each channel does to the whole, and its spread: how the flow divides is not known."""
    middle, spread = sum(ratios) / len(ratios), (max(ratios) - min(ratios)) / sqrt(12.0)
    if facts.subtracts_return:
        feed, returned = ratios
        middle, spread = feed + _RETURNED * (feed - returned), _RETURNED / 2.0 * abs(feed - returned)
    off, spread = log(max(middle, 0.01)), spread / max(middle, 0.01)
    return (0.0 if abs(off) < spread else off), spread


def other_fuels(facts: Facts) -> list[Any]:
    """Return one grade of each other kind of aircraft fuel that is valid at the temperature."""
    celsius = _BASE_C if facts.at_c is None else facts.at_c
    own = getattr(getattr(facts.fuel, "fuel", facts.fuel), "kind", "")
    grades = [each for each in all_fuels() if each.for_aircraft and not each.refused]
    kinds = {each.kind: each for each in reversed(grades) if each.valid_temperatures_c.contains(celsius)}
    return [each for kind, each in kinds.items() if kind != own]


def other_causes(facts: Facts) -> list[Cause]:
    """Return every further cause that the facts make possible; the variants of one kind share its weight."""
    found: dict[Any, Cause] = {}
    sources = _display_causes, _k_causes, _density_causes, _volume_causes, _pulse_causes
    for source in sources[:1] if facts.is_misread else sources:
        for each in source(facts):
            found.setdefault((each.kind, round(each.log_ratio, 9), each.is_free), each)
    kinds = [each.kind for each in found.values()]
    spread = facts.density_spread if facts.is_mass or facts.true_is_mass else 0.0  # of every ratio of masses
    alike = ((each, each.weight / kinds.count(each.kind)) for each in found.values())
    return [replace(each, weight=weight, spread=each.spread or spread) for each, weight in alike]


def _k_causes(facts: Facts) -> Iterator[Cause]:
    """Return mistakes of K as entered, where K entered and K stamped are not both known."""
    if facts.entered and facts.stamped:
        return
    plates, boxes = ([each[0].unit] if each else list(_PLATES) for each in (facts.stamped, facts.entered))
    for plate, box in product(plates, boxes):
        if plate != box and plate in _PLATES:
            words = f"K of the plate, per {plate}, entered as if it were per {box}"
            yield Cause(_PLATES[plate], log(exact_factor(box, plate)), words)
    for shift in confusions.SHIFTS:
        words = f"K entered is {float(1 / shift.ratio):g} times the right one: a decimal point, or a digit"
        yield Cause(shift.kind, log(shift.ratio), words)
    words, spread = "K differs by {change} from that of the transducer fitted", 0.03
    if facts.subtracts_return:
        words, spread = "K of one line or of both differs from that of the transducer fitted", 0.15
    yield Cause("k_not_matched", 0.0, words, spread, is_free=True, fits_any=True)
    for k in facts.entered[:1]:
        step = 10.0 ** int(Decimal(f"{float(k):.12g}").normalize().as_tuple().exponent)
        words = f"K entered in whole steps of {step:g} pulse/{k.unit}: digits worth {{change}} are missing"
        yield Cause("k_digits_lost", 0.0, words, step / float(k) / sqrt(3.0), is_free=True)
        for other in confusions.swapped_digits(k.value):
            words = f"K entered as {k}, for {float(other):.10g}: two digits swapped"
            yield Cause("k_digits_swapped", log(other / k.value), words)
    for k in facts.stamped[:1]:
        for kind, words, slips in (
            ("k_digit_retyped", "a digit left out or typed twice", confusions.retyped_digits),
            ("k_digits_swapped", "two digits swapped", confusions.swapped_digits),
            ("k_digits_lost", "digits lost", confusions.shortened),
        ):
            for entered in slips(k.value):
                yield Cause(kind, log(k.value / entered), f"K entered as {float(entered):.10g}, for {k}: {words}")


def _display_causes(facts: Facts) -> Iterator[Cause]:
    """Return causes by the unit of either amount; the sign is that of its mistakes."""
    sides = [(unit, "the display", 1) for unit in ("gal/h", "L/h", "imp_gal/h", "lb/h", "kg/h", "gal/min")]
    if facts.unit:
        sides = [(facts.unit, "the display", 1), (facts.true_unit, "the amount it is compared with", -1)]
        sides = sides[: 1 if facts.is_misread else 2]
    for unit, side, sign in sides:
        for each in confusions.unit_confusions(unit, confusions.IN_USE):
            if each.kind:
                words = f"{side} is in {each.reading} and was read as {unit}: ratio {float(each.ratio**sign):.5g}"
                yield Cause(each.kind, sign * log(each.ratio), words)
        base = unit.partition("/")[0]
        for (name, kg_m3), (mass, volume) in product(facts.densities.items(), (("lb", "gal"), ("kg", "L"))):
            density = kg_m3 * factor("kg/m^3", f"{mass}/{volume}")
            if base in (mass, volume):
                meant, power = (mass, sign) if base == volume else (volume, -sign)
                words = f"{side} is in {meant} and was read as {base}: {name} has {density:.4g} {mass}/{volume}"
                yield Cause("mass_for_volume", power * log(density), words, facts.density_spread)


def _density_causes(facts: Facts) -> Iterator[Cause]:
    """Return causes by the density: of a mass that is indicated, or of a volume that is compared with a mass."""
    if facts.unit and not (facts.is_mass or facts.true_is_mass):
        return
    fuel, spread, rights = facts.fuel, facts.density_spread, facts.densities
    may_differ = fuel is not None and not (hasattr(fuel, "reading") or facts.density_cancels)
    for grade in other_fuels(facts) if may_differ else ():
        found, meant = facts.told(facts.density(grade)), facts.told(facts.density())
        words = f"{grade.name} in place of {fuel.name}: {found} for {meant}"
        yield Cause("other_fuel", log(facts.density() / facts.density(grade)), words, hypot(spread, _BATCHES))
    if may_differ and hasattr(fuel, "ordinary_kg_m3"):
        low, high = fuel.ordinary_kg_m3
        words = f"this batch is {{change}} from typical {fuel.name}, {facts.told(low)} to {facts.told(high)} at 15 °C"
        yield Cause("batch_density", 0.0, words, log(high / low) / 4.0, is_free=True)
    if (facts.unit and not facts.is_mass) or (facts.fixed and facts.is_known_fuel):
        return
    settings, apart = {facts.fixed: facts.fixed_kg_m3}, spread
    if not facts.fixed:
        settings, apart = _SETTINGS, hypot(spread, _SETTING_SPREAD)
    for (name, kg_m3), (fuel_name, right) in product(settings.items(), rights.items()):
        words = f"{'about ' * (not facts.fixed)}{facts.told(kg_m3)} set, and {fuel_name} has about {facts.told(right)}"
        for kind in ("density_setting", "other_fuel") if fuel is None else ("density_setting",):
            if name != fuel_name:
                yield Cause(kind, log(kg_m3 / right), words, apart)
    if not facts.fixed and fuel is not None:
        words = "the density set, which is not stated, is {change} from that of the fuel"
        yield Cause("density_setting", 0.0, words, 2.0 * _SETTING_SPREAD, is_free=True)
    if facts.is_known_fuel:
        base = float(fuel.density_kg_m3(_BASE_C))
        words = f"{fuel.name} has {facts.told(facts.density())} at {facts.at_c:g} °C, and {facts.told(base)} at 15 °C"
        yield Cause("fuel_temperature", log(base / facts.density()), words, spread)
    else:
        words, degrees = "the fuel is about {warmer} than where the density set is right", facts.warmer_c
        yield Cause("fuel_temperature", 0.0, words, _TEMPERATURE_SPREAD, is_free=True, warmer_c=degrees)


def _volume_causes(facts: Facts) -> Iterator[Cause]:
    """Return causes by a total that was delivered at one temperature and is billed, or counted, at another."""
    if facts.is_flow or facts.true_is_mass:
        return
    words = "the fuel was about {warmer} at the transducer than the volume is stated for"
    kind = "transducer_temperature" if facts.is_known_fuel else "compensated_volume"
    yield Cause(kind, 0.0, words, _TEMPERATURE_SPREAD, is_free=True, warmer_c=facts.warmer_c)
    if facts.is_known_fuel:
        vcf = facts.density() / float(facts.fuel.density_kg_m3(_BASE_C))
        for slip, ratio in confusions.volume_correction_mistakes(vcf):  # rarely the others than the first, from memory
            words = f"the volume delivered is stated at 15 °C, factor {vcf:.4f} at {facts.at_c:g} °C: {slip}"
            yield Cause("compensated_volume", log(ratio), words, weight=2.0 if slip == "no correction" else 0.5)


def _pulse_causes(facts: Facts) -> Iterator[Cause]:
    """Return causes by the pulses: counted wrongly, missing, or of a transducer at the ends of its range."""
    for each in confusions.PULSES:
        if each.kind != "one_channel_of_two" or facts.channels is None:
            yield Cause(each.kind, log(each.ratio), f"{each.name}: ratio {float(each.ratio):g}")
    words = "the transducer is worn or damaged, and its own K has moved by a few per cent"
    yield Cause("transducer_worn", 0.0, words, 0.15 if facts.subtracts_return else 0.03, is_free=True)
    if facts.subtracts_return:
        for kind, off, spread, words in _OF_LINES:
            yield Cause(kind, off, words, spread, is_free=True, fits_any=kind != "return_added")
        return
    count = facts.channels or 1
    for dead in range(1, count):  # a third to two thirds of the flow in each of two is common practice, from memory
        kind = "one_channel_of_two" if count == 2 else "dead_channels"
        off, spread = log(1.0 - dead / count), 0.25 * sqrt(2.0 * dead / count / (count - dead))
        words = f"{dead} of {count} channels without pulses"
        yield Cause(kind, off, f"{words}, of equal flows")
        yield Cause(kind, off, f"{words}, with {{change}} of the flow", spread, is_free=True)
    yield Cause("pulses_missing", -0.15, "{change} of the pulses are missing", 0.15, is_free=True)
    words = "{share} of the fuel fed returns and is not subtracted"
    yield Cause("return_not_subtracted", log(2.0), words, 0.5, is_free=True)
    if facts.near_low is not False:
        words = "near its low end the transducer gives {change} too few pulses"
        yield Cause("low_flow", -0.04, words, 0.04, is_free=True)
    grade, thick, words = getattr(facts.fuel, "fuel", facts.fuel), True, "thick fuel"
    if facts.at_c is not None:
        with suppress(FuelUnitsError):  # of which no sample is carried, or none so cold
            nu = float(viscosity(grade).kinematic_viscosity_mm2_s(facts.at_c))
            thick, words = nu > 2.0 * _BENCH_MM2_S, f"{nu:.2g} mm²/s in place of about {_BENCH_MM2_S:g} on the bench"
    if thick and getattr(grade, "kind", "") != "aviation gasoline":
        yield Cause("viscosity", -0.02, f"{words} takes {{change}} of the pulses", 0.015, is_free=True)
