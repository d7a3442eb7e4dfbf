"""What the pulse rooms refuse, word by word: the argument is named, with what was given and what to write."""

import math

import numpy as np
import pint
import pytest

from fuelunits.errors import FuelUnitsError
from fuelunits.meters.combining import (
    difference_uncertainty,
    exact_net_volume,
    exact_total_volume,
    net_flow,
    net_mass_flow,
    net_uncertainty,
    sum_uncertainty,
    total_flow,
)
from fuelunits.meters.counting import (
    counting_resolution,
    gate_resolution_hz,
    period_resolution,
    pulses_for_resolution,
    unwrap_counter,
)
from fuelunits.meters.counts import FrequencyRecord, PulseCounts, first_order_lag
from fuelunits.meters.k_factor import KFactor
from fuelunits.meters.pulse_record import PulseRecord
from fuelunits.registries import register_units
from fuelunits.validation import format_value

UREG = pint.UnitRegistry()
register_units(UREG)
K = KFactor(28_800, per="gal")
FAINT = KFactor(1e-99, per="gal")
"""So few pulses a volume that the flow of a high frequency is beyond any float."""
RECORD = PulseRecord([0.0, 1.0, 2.0])
LINES = {"feed_density": "6.7 lb/gal", "return_density": "6.5 lb/gal"}
HALF = {"feed_uncertainty": "0.5 %", "return_uncertainty": "0.5 %"}


class Stopped:
    """A K-factor of some other make, that has come to nothing."""

    def per(self, unit):
        return {"L": 0.0}[unit]


def check(call, message):
    with pytest.raises(FuelUnitsError) as refusal:
        call()
    assert str(refusal.value) == message


# the ends that several messages share

NO_USE = " is no positive, finite number of any use; write 28740, say"
FLOWS = "flows: give at least one positive flow, and none that is negative"
SMALLER = "return flow: it must be smaller than the feed and not negative; are the two swapped?"
NEGATIVE = (
    " is negative, more returned than fed; check which line is which, both K-factors, "
    "and whether the difference is too small for the two meters"
)
NUMBER = "; one plain number is needed"
PLAIN = " is no plain number or array of numbers, and one is needed here, in the unit that the argument's name says"
UNIT = " is given, and plain numbers are needed"
POSITIVE = " it must be positive and finite"
ONE = " give one positive, finite number in the unit that its name says"
INCREASE = " times must increase from each to the next; find out why this one does not before leaving it out"
PERCENT = " could be a fraction or a percentage; write '3 %', say"
SENSE_ZERO = " makes no sense here; it must be finite and not negative"
MISFIT = "; leave the reading out, or give the largest_increment that the flow allows"


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: KFactor(-1, per="gal"), "-1" + NO_USE),
        (lambda: KFactor(-(10**38), per="gal"), "-100000000000000000000000000000000000000" + NO_USE),
        (lambda: KFactor(-(10**39), per="gal"), "-1" + "0" * 39 + NO_USE),
        (lambda: KFactor(10**100, per="gal"), "1" + "0" * 56 + "..." + NO_USE),
        (lambda: KFactor(1, per="lb"), "a K-factor is pulses per volume; 'lb' is a mass; write per='gal', say"),
        (
            lambda: KFactor.read(28_740),
            "K-factor: 28740 has no unit; write '28740 pulse/gal' or KFactor(28740, per='gal')",
        ),
        (
            lambda: KFactor.read("28740 pulse/gal/h"),
            "a K-factor is pulses per volume; 'gal/h' is a volume flow; write per='gal', say",
        ),
        (
            lambda: KFactor.read("28740 pulse"),
            "K-factor: '28740 pulse' is not pulses per volume; write '28740 pulse/gal', say",
        ),
        (
            lambda: KFactor.read(UREG.Quantity(5.0, "pulse/meter")),
            "K-factor: 5.0 pulse / meter has dimension [pulse] / [length], "
            "and pulses per volume is needed, such as '1 pulse/L'",
        ),
        (
            lambda: KFactor.read(UREG.Quantity(5.0 + 1j, "1/L")),
            "K-factor: (5+1j) / liter is no plain number with a unit",
        ),
        (lambda: KFactor.read(UREG.Quantity(5.0, "1/meter")), "K-factor: 5.0 / meter is not pulses per volume"),
        (
            lambda: KFactor.read(UREG.Quantity(5.0, "degC/gallon")),
            "K-factor: 5.0 delta_degree_Celsius / gallon is not pulses per volume",
        ),
        (
            lambda: KFactor.read(UREG.Quantity([1.0, 2.0], "pulse/liter")),
            "K-factor: one number is needed, not an array",
        ),
        (lambda: K.rounded(100_000), "28800 pulse/gal rounds to nothing in steps of 100000; the step is too coarse"),
        (lambda: K.prescaled(0), "pulses per output pulse: 0; it must be a whole number from 1 up"),
        (
            lambda: K.adjusted(indicated=UREG.Quantity([1.0, 2.0], "gallon"), delivered="1 gal"),
            "indicated: [1.0 2.0] gallon is not one number; write one quantity",
        ),
        (
            lambda: K.adjusted(indicated="1 gal", delivered=UREG.Quantity(math.nan, "gallon")),
            "delivered: nan gallon is not one number; write one quantity",
        ),
        (
            lambda: K.adjusted(indicated="0 gal", delivered="1 gal"),
            "indicated: 0 gal makes no sense here; it must be finite and positive",
        ),
        (lambda: K.volume(UREG.Quantity([1, 2], "gallon")), "pulses: a quantity in gallon" + UNIT),
        (lambda: K.volume([[1], [1, 2]]), "pulses: [[1], [1, 2]] is no array of numbers"),
        (lambda: K.volume(-1), "pulses: -1 is negative"),
        (lambda: K.total_volume([1, -1]), "pulses: -1 is no count; counts are whole numbers that are not negative"),
    ],
)
def test_k_factors(call, message):
    check(call, message)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (
            lambda: sum_uncertainty([1.0], [0.1], correlation=1.5),
            "correlation: 1.5; between flows that are added it must be 0 to 1",
        ),
        (lambda: sum_uncertainty([], []), FLOWS),
        (lambda: sum_uncertainty([0.0, 0.0], [0.1, 0.1]), FLOWS),
        (lambda: sum_uncertainty([3.0, -1.0], [0.1, 0.1]), FLOWS),
        (lambda: sum_uncertainty(["3"], [0.1]), "array(['3'], dtype='<U1')" + PLAIN),
        (lambda: sum_uncertainty([3.0], UREG.Quantity([0.5], "percent")), "[0.5] percent" + PLAIN),
        (lambda: difference_uncertainty(60.0, 48.0, 0.01, 0.01, -1.5), "correlation: -1.5; it must be from -1 to 1"),
        (lambda: difference_uncertainty(48.0, 60.0, 0.01, 0.01), SMALLER),
        (lambda: difference_uncertainty(60.0, -48.0, 0.01, 0.01), SMALLER),
        (
            lambda: total_flow([], unit="gal/h"),
            "transducers: give pairs of a frequency and its KFactor, one pair for each transducer",
        ),
        (
            lambda: total_flow([("480 Hz", K)], unit="lb/h"),
            "flow: 60.0 gallon / hour has dimension [length] ** 3 / [time], "
            "and a mass flow is needed, such as '80 lb/h'",
        ),
        (
            lambda: exact_total_volume([(480, 28_800)], unit="gal"),
            "transducers: give pairs of a count and its KFactor, one pair for each transducer",
        ),
        (lambda: exact_net_volume(2880, K, 5760, K, unit="gal"), "net: -0.1 gal" + NEGATIVE),
        (
            lambda: net_flow("480 Hz", K, "384 Hz", K, unit="lb/h"),
            "feed: 60.0 gallon / hour has dimension [length] ** 3 / [time], "
            "and a mass flow is needed, such as '80 lb/h'",
        ),
        (lambda: net_flow("480 Hz", K, "1e300 Hz", FAINT), "return: inf gallon / hour" + SENSE_ZERO),
        (lambda: net_flow("384 Hz", K, "480 Hz", K), "net: -12 gal/h" + NEGATIVE),
        (
            lambda: net_mass_flow("480 Hz", K, "384 Hz", K, **LINES, unit="lb"),
            "feed: 60.0 gallon / hour is not a volume or a mass; write a quantity in a unit such as m^3 or kg",
        ),
        (
            lambda: net_mass_flow("480 Hz", K, "1e300 Hz", FAINT, **LINES, unit="lb/h"),
            "return: inf gallon / hour" + SENSE_ZERO,
        ),
        (lambda: net_mass_flow("384 Hz", K, "480 Hz", K, **LINES, unit="lb/h"), "net: -68.4 lb/h" + NEGATIVE),
        (
            lambda: net_uncertainty("60 gal", "48 gal/h", **HALF),
            "feed: 60 gal is not a volume flow or a mass flow; write a quantity in a unit such as L/h or kg/h",
        ),
        (
            lambda: net_uncertainty("0 gal/h", "0 gal/h", **HALF),
            "feed: 0 gal/h makes no sense here; it must be finite and positive",
        ),
        (lambda: net_uncertainty("60 gal/h", "-48 gal/h", **HALF), "return: -48 gal/h" + SENSE_ZERO),
        (
            lambda: net_uncertainty("60 gal/h", "48 gal/h", **HALF | {"feed_uncertainty": 0.005}),
            "feed_uncertainty: the bare number 0.005" + PERCENT,
        ),
        (
            lambda: net_uncertainty("60 gal/h", "48 gal/h", **HALF | {"return_uncertainty": 0.005}),
            "return_uncertainty: the bare number 0.005" + PERCENT,
        ),
    ],
)
def test_several_transducers(call, message):
    check(call, message)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: gate_resolution_hz(0.0), "gate_s is 0.0;" + POSITIVE),
        (lambda: counting_resolution(0), "pulses is 0.0;" + POSITIVE),
        (lambda: pulses_for_resolution(-0.5), "relative is -0.5;" + POSITIVE),
        (lambda: period_resolution(0.0, 1e6), "frequency_hz is 0.0;" + POSITIVE),
        (lambda: period_resolution(100.0, math.inf), "clock_hz is inf;" + POSITIVE),
        (lambda: period_resolution(100.0, 1e6, periods=0), "periods is 0.0;" + POSITIVE),
        (
            lambda: unwrap_counter([0], bits=33),
            "bits is 33; write the width of the counter, such as 16, 24 or 32 (1 to 32)",
        ),
        (
            lambda: unwrap_counter([0], bits=16, largest_increment=0),
            "largest_increment is 0; a counter of 16 bits can tell 1 to 65535",
        ),
        (
            lambda: unwrap_counter([0], bits=16, largest_increment=65_536),
            "largest_increment is 65536; a counter of 16 bits can tell 1 to 65535",
        ),
        (
            lambda: unwrap_counter([[0]], bits=16),
            "readings have the shape (1, 1); give one counter's readings, one after another",
        ),
        (
            lambda: unwrap_counter([0.5], bits=16),
            "readings are float64, and a counter shows whole numbers; leave out what is missing, give integers",
        ),
        (lambda: unwrap_counter(UREG.Quantity([1, 2], "pulse"), bits=16), "readings: a quantity in pulse" + UNIT),
        (lambda: unwrap_counter([[1], [1, 2]], bits=16), "readings: [[1], [1, 2]] is no array of numbers"),
        (
            lambda: unwrap_counter([0, 65_535, 65_536, 70_000], bits=16),
            "readings[2] is 65536; a counter of 16 bits shows 0 to 65535",
        ),
        (
            lambda: unwrap_counter([0, 65_535, 65_537], bits=16),
            "readings[2] is 65537; a counter of 16 bits shows 0 to 65535",
        ),
        (lambda: unwrap_counter([0, 1, -1], bits=16), "readings[2] is -1; a counter of 16 bits shows 0 to 65535"),
        (
            lambda: unwrap_counter([0, 100, 200, 5_000, 5_001], bits=16, largest_increment=100),
            "readings[3] is 5000 after 200: an advance of 4800, "
            "or of at least 5000 since a reset, and the largest increment is 100" + MISFIT,
        ),
        (
            lambda: unwrap_counter([50_000, 50_001, 40_000], bits=16),
            "readings[2] is 40000 after 50001: an advance of 55535, "
            "or of at least 40000 since a reset, and the largest increment is 32768" + MISFIT,
        ),
    ],
)
def test_counters_and_resolutions(call, message):
    check(call, message)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: PulseRecord(UREG.Quantity([0.0, 1.0], "ms")), "times_s: a quantity in millisecond" + UNIT),
        (
            lambda: PulseRecord([UREG.Quantity(0.0, "ms"), UREG.Quantity(1.0, "ms")]),
            f"times_s: {format_value([UREG.Quantity(0.0, 'ms'), UREG.Quantity(1.0, 'ms')])} is no array of numbers",
        ),
        (lambda: PulseRecord([[0.0, 1.0]]), "times_s have the shape (1, 2); give one time after another"),
        (
            lambda: PulseRecord(np.array([0.0, 1.0], dtype=np.float32)),
            "times_s are float32; give seconds as float64, which has the digits that times need",
        ),
        (lambda: PulseRecord([0.0, 1.0, 1.0]), "times_s[2] is 1.0 after 1.0:" + INCREASE),
        (lambda: PulseRecord([0.0, math.inf]), "times_s go from 0.0 to inf; every time must be finite"),
        (lambda: RECORD.by_gate(0.0), "gate_s is 0.0;" + ONE),
        (lambda: RECORD.by_gate(math.inf), "gate_s is inf;" + ONE),
        (lambda: PulseRecord([]).by_gate(1.0, start_s=0.0), "there are no pulses; give start_s and stop_s"),
        (lambda: PulseRecord([]).by_gate(1.0, stop_s=1.0), "there are no pulses; give start_s and stop_s"),
        (lambda: RECORD.by_gate(5.0), "not one gate of 5.0 s fits between 0.0 s and 2.0 s"),
        (lambda: RECORD.by_gate(1.0, stop_s=math.inf), "not one gate of 1.0 s fits between 0.0 s and inf s"),
        (lambda: RECORD.by_gate(1.0, start_s="0 s"), "start_s is '0 s'" + NUMBER),
        (
            lambda: RECORD.by_gate(1.0, stop_s=UREG.Quantity(2.0, "ms")),
            "stop_s is 2.0 millisecond" + NUMBER,
        ),
        (lambda: RECORD.by_period(3), "3 pulses bound 2 periods; every is 3"),
        (lambda: PulseRecord([1.0]).by_period(), "1 pulses bound 0 periods; every is 1"),
        (lambda: PulseRecord([]).by_period(), "0 pulses bound 0 periods; every is 1"),
        (
            lambda: PulseRecord(np.arange(11.0)).missed_pulses(),
            "11 pulses have no rhythm to judge by; at least 12 are needed",
        ),
        (
            lambda: PulseRecord(np.arange(12.0)).double_pulses(tolerance=0.5),
            "tolerance is 0.5; give a part of a period, above 0 and below 0.5",
        ),
    ],
)
def test_recorded_pulses(call, message):
    check(call, message)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (
            lambda: PulseCounts([0.0, 1.0], [1.5]),
            "counts are whole numbers that are not negative; these are float64: [1.5]",
        ),
        (
            lambda: PulseCounts([0.0, 1.0], [-1]),
            "counts are whole numbers that are not negative; these are int64: [-1]",
        ),
        (lambda: PulseCounts([0.0, 1.0], UREG.Quantity([1], "pulse")), "counts: a quantity in pulse" + UNIT),
        (lambda: PulseCounts([0.0, 1.0, 1.0], [1, 1]), "edges_s[2] is 1.0 after 1.0:" + INCREASE),
        (lambda: PulseCounts([0.0, 1.0], [1, 1]), "2 edges_s bound 1 intervals; values are of shape (2,)"),
        (lambda: PulseCounts([], []), "0 edges_s bound 0 intervals; values are of shape (0,)"),
        (
            lambda: PulseCounts.of_counter([0.0, 0.0], unwrap_counter([1, 2], bits=16)),
            "times_s[1] is 0.0 after 0.0:" + INCREASE,
        ),
        (lambda: FrequencyRecord([0.0, 1.0], UREG.Quantity([1.0], "kHz")), "[1.0] kilohertz" + PLAIN),
        (lambda: FrequencyRecord([0.0, 1.0], ["5 Hz"]), "array(['5 Hz'], dtype='<U4')" + PLAIN),
        (lambda: FrequencyRecord([0.0, 1.0], [5.0]).cut_off(0.0), "below_hz is 0.0;" + ONE),
        (
            lambda: FrequencyRecord([0.0, 1.0], [5.0]).flow(28_740.0, "gal/h"),
            'k_factor: 28740.0 has no unit; write KFactor(28_740, per="gal"), say; '
            "plain numbers go to fuelunits.meters.k_factor.flow_per_hour",
        ),
        (lambda: FrequencyRecord([0.0, 1.0], [5.0]).flow(Stopped(), "gal/h"), "K-factor per litre is 0.0;" + ONE),
        (lambda: FrequencyRecord([0.0, 1.0], [5.0]).smoothed(0.0), "time_constant_s is 0.0;" + ONE),
        (lambda: first_order_lag([1.0], [1.0], math.inf), "time_constant_s is inf;" + ONE),
        (
            lambda: first_order_lag([1.0], [1.0, 2.0], 1.0),
            "values have the shape (1,) and intervals_s (2,); give one interval a value",
        ),
        (
            lambda: first_order_lag([1.0, 2.0], [1.0, 0.0], 1.0),
            "intervals_s holds one that is not positive; a lag runs forward in time only",
        ),
        (lambda: first_order_lag([1.0], UREG.Quantity([1.0], "ms"), 1.0), "[1.0] millisecond" + PLAIN),
    ],
)
def test_counts_and_frequencies(call, message):
    check(call, message)
