"""Simulate what an indicator with a known fault displays, and ask which cause is suspected; all figures are invented.

It knows nothing of how a cause is found: it makes fuel, pulses, entries and a display, and hands over what a
technician would state. Run as a script, it prints the table of true causes against first suspects.
"""

from __future__ import annotations

import sys
from collections import Counter, defaultdict
from dataclasses import dataclass
from typing import Any

import numpy as np

import fuelunits as fu

LITRES = {"L": 1.0, "gal": 3.785411784, "imp_gal": 4.54609}
KILOGRAMS = {"kg": 1.0, "lb": 0.45359237}
BASE = {"Jet A": (808.0, 8.7, 0.00091), "100LL": (719.0, 4.0, 0.00122)}
"""Density at 15 °C, how batches differ, kg/m³, and expansion per °C: one digit more or less does not matter here."""
KINDS = (
    *("k_per_litre", "k_per_gallon", "k_per_imperial_gallon", "k_power_of_ten", "k_digits_lost", "k_digits_swapped"),
    *(
        "k_digit_retyped",
        "k_not_matched",
        "density_setting",
        "fuel_temperature",
        "other_fuel",
        "compensated_volume",
        "transducer_temperature",
    ),
    *("pulses_doubled", "pulses_halved", "pulses_missing", "pulses_multiplied", "one_channel_of_two"),
    "dead_channels",
    "transducer_worn",
    *("minutes_for_hours", "gallon_for_litre_display", "imperial_display", "pounds_for_kilograms", "mass_for_volume"),
    *("return_not_subtracted", "low_flow", "viscosity", "batch_density"),
)
OF_MASS = {"density_setting", "fuel_temperature", "other_fuel", "pounds_for_kilograms", "batch_density"}
OF_VOLUME = {
    "compensated_volume",
    "transducer_temperature",
    "gallon_for_litre_display",
    "imperial_display",
    "mass_for_volume",
}
OF_FLOW = {"minutes_for_hours", "low_flow"}


@dataclass
class Bench:
    """An installation as it truly is; faults alter it."""

    rng: np.random.Generator
    fuel: str
    in_tank: str
    at_c: float
    is_mass: bool
    is_flow: bool
    volume_unit: str
    mass_unit: str
    litres: float  # of a total, or per hour
    plate: int
    plate_unit: str
    channels: int
    u: float

    @classmethod
    def drawn(cls, rng: np.random.Generator, faults: tuple[str, ...]) -> Bench:
        wants_mass, wants_volume = bool(OF_MASS & set(faults)), bool(OF_VOLUME & set(faults))
        is_mass = wants_mass or (not wants_volume and bool(rng.random() < 0.4))
        warmth = {"compensated_volume", "transducer_temperature"} & set(faults)
        is_flow = bool(OF_FLOW & set(faults)) or (not warmth and bool(rng.random() < 0.5))
        fuel = "Jet A" if {"viscosity", "batch_density"} & set(faults) or rng.random() < 0.6 else "100LL"
        unit = str(rng.choice(["L", "gal"]))
        per_litre = rng.uniform(2000, 16000)
        return cls(
            rng, fuel, fuel, float(rng.uniform(5, 30)), is_mass, is_flow, unit, str(rng.choice(["kg", "lb"])),
            float(rng.uniform(60, 900)), int(per_litre * LITRES[unit]), unit, int(rng.choice([1, 2])),
            float(rng.choice([0.003, 0.005, 0.01])),
        )  # fmt: skip


def density(fuel: str, base: float, at_c: float) -> float:
    return base * (1.0 - BASE[fuel][2] * (at_c - 15.0))


@dataclass(frozen=True)
class Case:
    faults: tuple[str, ...]
    effect: float
    u: float
    call: dict[str, Any]


def simulated(rng: np.random.Generator, faults: tuple[str, ...]) -> Case:
    """Return a case of an installation with faults: what is displayed, what is true, and what is stated."""
    b = Bench.drawn(rng, faults)
    if "fuel_temperature" in faults or "viscosity" in faults:
        b.at_c = float(rng.uniform(-38, -22))
    if "compensated_volume" in faults:
        b.at_c = float(rng.choice([rng.uniform(-35, -15), rng.uniform(38, 48)]))
    if "transducer_temperature" in faults:
        b.at_c = float(rng.uniform(12, 18))
    if "other_fuel" in faults:
        b.in_tank = "100LL" if b.fuel == "Jet A" else "Jet A"
    if "one_channel_of_two" in faults:
        b.channels = 2
    if "dead_channels" in faults:
        b.channels = int(rng.choice([3, 4]))
    typical, spread, _ = BASE[b.in_tank]
    base = float(rng.normal(typical, spread))
    if "batch_density" in faults:  # near the limits of the specification of Jet A, 4 % from the mean
        base = typical * (1.0 + rng.choice([-1, 1]) * rng.uniform(0.03, 0.041))
    true_density = density(b.in_tank, base, b.at_c)
    cutoff = b.litres / rng.uniform(1.2, 2.5) if "low_flow" in faults else b.litres / rng.uniform(5, 20)

    # what is entered: K, and for a mass the density of the declared fuel at its temperature
    entered, entered_unit = float(b.plate), b.plate_unit
    if "k_per_litre" in faults:
        b.plate_unit, entered_unit = "L", str(rng.choice(["gal", "imp_gal"]))
    if "k_per_gallon" in faults:
        b.plate_unit, entered_unit = "gal", str(rng.choice(["L", "imp_gal"]))
    if "k_per_imperial_gallon" in faults:
        b.plate_unit, entered_unit = "imp_gal", str(rng.choice(["L", "gal"]))
    if {"k_per_litre", "k_per_gallon", "k_per_imperial_gallon"} & set(faults):
        entered = float(b.plate)
    if "k_power_of_ten" in faults:
        entered = b.plate * 10.0 ** int(rng.choice([-2, -1, 1]))
    if "k_digits_lost" in faults:
        size = 10 ** (len(str(b.plate)) - int(rng.choice([1, 2])))
        entered = float(b.plate // size * size)
    if "k_digits_swapped" in faults:
        digits = list(str(b.plate))
        place = int(rng.integers(digits[1] == "0", len(digits) - 1))  # a zero in front would be a digit left out
        digits[place], digits[place + 1] = digits[place + 1], digits[place]
        entered = float("".join(digits))
    while "k_digit_retyped" in faults and entered / b.plate in (1.0, 0.1, 10.0):  # a zero too few or many is a shift
        digits, place = str(b.plate), int(rng.integers(0, len(str(b.plate))))
        entered = float(digits[:place] + digits[place] * int(rng.choice([0, 2])) + digits[place + 1 :])
    if "k_not_matched" in faults:
        entered = float(round(b.plate * (1.0 + rng.normal(0.0, 0.04))))
    set_for = 15.0 if "fuel_temperature" in faults else b.at_c
    is_measured = b.is_mass and not {"other_fuel", "batch_density"} & set(faults) and bool(rng.random() < 0.5)
    fixed = round(density(b.fuel, base if is_measured else BASE[b.fuel][0], set_for), 1)
    if "density_setting" in faults:
        wrong = [719.0 if b.fuel == "Jet A" else 803.0, 999.0]
        fixed = float(rng.choice(wrong))

    # the pulses that the indicator counts
    passes = b.litres
    per_litre = b.plate / LITRES[b.plate_unit]
    factor = 1.0
    if "pulses_doubled" in faults:
        factor *= 2.0
    if "pulses_halved" in faults or "one_channel_of_two" in faults:
        factor *= 0.5
    if "dead_channels" in faults:
        factor *= 1.0 - int(rng.integers(1, b.channels)) / b.channels
    if "pulses_multiplied" in faults:
        factor *= float(rng.choice([4.0, 0.25, 8.0, 0.125, 16.0]))
    if "pulses_missing" in faults:
        factor *= 1.0 - rng.uniform(0.02, 0.3)
    if "low_flow" in faults:
        factor *= 1.0 - rng.uniform(0.01, 0.12)
    if "transducer_worn" in faults:
        factor *= 1.0 + rng.choice([-1, -1, -1, 1]) * rng.uniform(0.005, 0.05)
    if "viscosity" in faults:
        factor *= 1.0 - rng.uniform(0.01, 0.05)
    if "return_not_subtracted" in faults:
        factor /= 1.0 - rng.uniform(0.2, 0.8)
    hours = 1.0 if b.is_flow else passes / rng.uniform(60, 300)
    hours = max(hours, 0.05)
    pulses = np.floor(passes * per_litre * factor + rng.random())

    # what is displayed, and how it is read
    litres = pulses / (entered / LITRES[entered_unit])
    unit = b.mass_unit if b.is_mass else b.volume_unit
    size = KILOGRAMS[unit] / (fixed / 1000.0) if b.is_mass else LITRES[unit]
    number, step = litres / size, float(rng.choice([0.1, 0.2, 0.5]))
    misread = 1.0
    if "minutes_for_hours" in faults:
        misread, step = 1.0 / 60.0, 0.01
    if "gallon_for_litre_display" in faults:
        misread = LITRES["gal"] if unit == "gal" else 1.0 / LITRES["gal"]
    if "imperial_display" in faults:
        misread = LITRES[unit] / LITRES["imp_gal"]
    if "pounds_for_kilograms" in faults:
        misread = 1.0 / KILOGRAMS["lb"] if unit == "kg" else KILOGRAMS["lb"]
    if "mass_for_volume" in faults:
        kg = true_density / 1000.0 * LITRES[unit]
        misread = kg / KILOGRAMS["lb"] if unit == "gal" else kg
    displayed = np.floor(number * misread / step + 0.5) * step

    # the true amount, by a reference with noise
    reference = passes * (true_density / 1000.0 / KILOGRAMS[unit] if b.is_mass else 1.0 / LITRES[unit])
    if "compensated_volume" in faults:
        reference *= true_density / base
    if "transducer_temperature" in faults:  # of a truck that stood in the sun, or in the frost
        reference *= true_density / density(b.in_tank, base, b.at_c + rng.choice([-1, 1]) * rng.uniform(15, 35))
    clean = number * misread / reference
    noisy = reference * np.exp(rng.normal(0.0, b.u))
    per = "/h" if b.is_flow else ""
    per_step = {"resolution": f"{step} {unit}/h", "total_resolution": f"{step} {unit}"}
    display = fu.Indicator(
        fu.KFactor(entered, per=entered_unit, insist=True),
        reads=f"{unit}/h",
        fixed_density=f"{fixed} kg/m^3" if b.is_mass else None,
        low_flow_cutoff=f"{cutoff / size:.3f} {unit}/h",
        channels=b.channels,
        **per_step,
    )
    measured = fu.fuel(b.fuel)
    spread = 0.0 if not b.is_mass else spread / typical
    if is_measured:
        read = base + rng.normal(0.0, 0.8)  # what the laboratory found
        measured, spread = measured.measured(f"{read:.2f} kg/m^3", "15 degC", uncertainty="0.8 kg/m^3"), 0.001
    call = {
        "indicated": f"{displayed:.6g} {unit}{per}",
        "true": f"{noisy:.6g} {unit}{per}",
        "indicator": display,
        "stamped": f"{b.plate} pulse/{b.plate_unit}",
        "fuel": measured,
        "at": f"{b.at_c:.2f} degC",
        "channels": b.channels,
        "uncertainty": f"{100 * b.u} %",
    }
    rounding = step / 12**0.5 / max(displayed, step)
    effect = float(abs(np.log(clean))) if not b.is_flow or number * size > cutoff else 0.0  # else it displays zero
    return Case(faults, effect, float(np.hypot(np.hypot(b.u, spread), rounding)), call)


EQUAL = (
    {"pulses_halved", "pulses_multiplied", "dead_channels"},
    {"pulses_halved", "one_channel_of_two"},
    {
        *("pulses_missing", "low_flow", "viscosity", "return_not_subtracted", "transducer_worn", "other_fuel"),
        *("batch_density", "transducer_temperature", "fuel_temperature", "compensated_volume"),
    },
)
"""Causes that the numbers stated cannot tell apart: each halves the pulses, or is off by a few percent."""

PAIRS = (
    ("fuel_temperature", "k_digits_lost"),
    ("density_setting", "k_not_matched"),
    ("k_digits_lost", "low_flow"),
    ("k_not_matched", "pulses_missing"),
)


def cases(seed: int, count: int) -> list[Case]:
    """Return cases of one fault (six in ten), of none and of two (two in ten each)."""
    rng = np.random.default_rng(seed)
    found = []
    while len(found) < count:
        of = len(found) % 10
        faults: tuple[str, ...] = ()
        if of < 6:
            faults = (KINDS[int(rng.integers(len(KINDS)))],)
        elif of < 8:
            faults = PAIRS[int(rng.integers(len(PAIRS)))]
        case = simulated(rng, faults)
        if len(faults) == 1 and case.effect <= 3.0 * case.u:
            continue  # too small a fault is drawn again, and one that is no ratio
        found.append(case)
    return found


@dataclass
class Tally:
    """How often the true cause of a single fault is named: alone, first with equals, or among three."""

    single: int = 0
    alone: int = 0
    first: int = 0
    three: int = 0
    none: int = 0
    quiet: int = 0
    double: int = 0
    both: int = 0

    def add(self, case: Case, found: Any) -> None:
        kinds = [each.kind for each in found.suspects]
        front = [each.kind for each in found.suspects if each.rank == 1]
        if not case.faults:
            self.none += 1
            self.quiet += not kinds
        elif len(case.faults) == 1:
            (fault,) = case.faults
            self.single += 1
            self.alone += front == [fault]
            is_first = fault in front and any(set(front) <= equal for equal in ({fault}, *EQUAL))
            self.first += is_first
            self.three += is_first or fault in kinds[:3]
        else:
            self.double += 1
            named = [kind.split(" + ") for kind in kinds[:3]]
            self.both += any(set(case.faults) <= set(each) for each in named)


def run(seed: int, count: int) -> tuple[Tally, dict[str, Counter[str]]]:
    """Return the tally of so many cases, and for each true cause how often each kind was suspected first."""
    tally, table = Tally(), defaultdict(Counter)
    for case in cases(seed, count):
        found = fu.diagnose(**case.call)
        tally.add(case, found)
        front = sorted({each.kind for each in found.suspects if each.rank == 1})
        (fault,) = case.faults if len(case.faults) == 1 else (" + ".join(case.faults) or "no fault",)
        told = fault if len(case.faults) == 1 and fault in front else " or ".join(front) or "no suspect"
        equals = f" (with {', '.join(each for each in front if each != fault)})" if told == fault and front[1:] else ""
        table[fault][told + equals] += 1
    return tally, table


if __name__ == "__main__":
    seed, count = (int(each) for each in (sys.argv[1:3] or ("16", "2000")))
    counted, confusion = run(seed, count)
    print(counted)
    for cause in sorted(confusion):
        total = sum(confusion[cause].values())
        print(f"{cause} ({total})")
        for suspect, times in confusion[cause].most_common():
            print(f"    {times:4d}  {suspect}")
