"""Recorded pulses: published figures, NumPy's histogram, SciPy's linear filter, and records with known faults."""

import copy
import itertools
import math
import pickle
from dataclasses import FrozenInstanceError, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from optional import optional
from registries import OF_OFFSETS, ONE_REGISTRY
from scipy.signal import lfilter

from fuelunits.conversion import convert
from fuelunits.errors import DimensionError, FuelUnitsError, QuantityError
from fuelunits.meters import counts as pulse_counts
from fuelunits.meters.counts import FrequencyRecord, PulseCounts, unwrap_counter
from fuelunits.meters.k_factor import KFactor
from fuelunits.meters.pulse_record import Irregularity, PulseCheck, PulseRecord, RepeatingPattern
from fuelunits.uncertainty.decisions import Verdict

dd = optional("dask.dataframe")
pd = optional("pandas")
pl = optional("polars")
pa = optional("pyarrow")

K = KFactor(43_186, per="gal")  # an invented transducer
UREG = ONE_REGISTRY


def _jittered(seed, count, jitter=0.02, period_s=0.01):
    """Times of a steady flow, each moved by up to a part of the period."""
    rng = np.random.default_rng(seed)
    return period_s * (np.arange(count) + rng.uniform(-jitter, jitter, count))


def test_the_frequency_by_period_is_that_of_the_counts_and_not_the_true_one():
    """By arithmetic: 613 whole counts of a clock of 1 MHz make 1631.321 Hz of 1630 Hz."""
    counts = int(1e6 / 1630.0)
    record = PulseRecord([0.0, counts / 1e6])
    assert (counts, round(record.by_period().frequency().frequency_hz[0], 3)) == (613, 1631.321)


# the record


def test_a_record_knows_its_count_and_duration():
    record = PulseRecord(np.array([1.0, 1.5, 3.0]))
    assert (record.count, record.duration_s) == (3, 2.0)
    assert (PulseRecord([]).count, PulseRecord([]).duration_s) == (0, 0.0)


def test_a_record_neither_copies_nor_writes_nor_lets_write():
    times = np.array([0.0, 1.0, 2.0])
    record = PulseRecord(times)
    assert np.shares_memory(record.times_s, times)
    assert times.flags.writeable
    with pytest.raises(ValueError, match="read-only"):
        record.times_s[0] = 5.0
    with pytest.raises(FrozenInstanceError):
        record.times_s = times


@pytest.mark.parametrize(
    ("times", "message"),
    [
        ([0.0, 1.0, 1.0, 2.0], r"times_s\[2\] is 1.0 after 1.0"),
        ([0.0, 1.0, 0.5], r"times_s\[2\] is 0.5 after 1.0"),
        ([0.0, math.nan, 2.0], r"times_s\[1\] is nan"),
        ([0.0, 1.0, math.inf], "finite"),
        ([-math.inf, 0.0, 1.0], "finite"),
        ([math.nan], "finite"),
        ([[0.0, 1.0]], r"shape \(1, 2\)"),
        (0.0, r"shape \(\)"),
        (np.array([0.0, 1.0], dtype=np.float32), "float32; give seconds as float64"),
        (["0 s", "1 s"], "give seconds as float64"),
    ],
)
def test_times_that_are_none_are_refused(times, message):
    with pytest.raises(QuantityError, match=message):
        PulseRecord(times)


# by gate


@settings(max_examples=50)
@given(
    seed=st.integers(0, 2**32 - 1),
    count=st.integers(2, 400),
    gate=st.floats(0.01, 2.0),
    start=st.floats(-1.0, 1.0),
    stop=st.floats(3.1, 6.0),
)
def test_gates_count_every_pulse_once(seed, count, gate, start, stop):
    times = np.unique(np.random.default_rng(seed).uniform(0.0, 5.0, count))
    counted = PulseRecord(times).by_gate(gate, start_s=start, stop_s=stop)
    edges = counted.edges_s
    assert counted.total == np.count_nonzero((times >= edges[0]) & (times < edges[-1]))
    assert counted.counts.tolist() == np.histogram(times[times < edges[-1]], edges)[0].tolist()
    assert edges[0] == start
    assert stop - gate * (1 + 1e-6) < edges[-1] < stop + gate * 1e-6


def test_a_pulse_on_an_edge_belongs_to_the_later_gate():
    counted = PulseRecord([0.0, 1.0, 1.5, 2.0]).by_gate(1.0)
    assert counted.edges_s.tolist() == [0.0, 1.0, 2.0]
    assert counted.counts.tolist() == [1, 2]
    assert counted.frequency().frequency_hz.tolist() == [1.0, 2.0]


def test_one_gate_is_enough_and_may_want_a_part_in_a_thousand_million():
    record = PulseRecord([0.0, 0.5, 1.0])
    assert record.by_gate(1.0).counts.tolist() == [2]
    assert record.by_gate(1.0, stop_s=1.0 - 1e-9).counts.tolist() == [2]
    with pytest.raises(QuantityError, match="at least one"):
        record.by_gate(1.0, stop_s=math.nextafter(1.0 - 1e-9, 0.0))


def test_gates_whose_length_is_no_binary_fraction_all_fit():
    assert PulseRecord([0.0, 0.3]).by_gate(0.1).edges_s == pytest.approx([0.0, 0.1, 0.2, 0.3])
    for times in ({"start_s": 0.0}, {"stop_s": 1.0}):
        with pytest.raises(QuantityError, match="no pulses"):
            PulseRecord([]).by_gate(1.0, **times)


def test_time_without_flow_counts_when_it_is_stated():
    idle = PulseRecord([]).by_gate(1.0, start_s=0.0, stop_s=3.0)
    assert (idle.counts.tolist(), idle.total) == ([0, 0, 0], 0)
    assert PulseRecord([1.5]).by_gate(1.0, start_s=0.0, stop_s=3.0).counts.tolist() == [0, 1, 0]


@settings(max_examples=30)
@given(seed=st.integers(0, 2**32 - 1), cut=st.integers(1, 9))
def test_gates_of_two_halves_are_those_of_the_whole(seed, cut):
    record = PulseRecord(np.unique(np.random.default_rng(seed).uniform(0.0, 10.0, 300)))
    whole = record.by_gate(0.5, start_s=0.0, stop_s=10.0)
    halves = [record.by_gate(0.5, start_s=a, stop_s=b) for a, b in ((0.0, float(cut)), (float(cut), 10.0))]
    assert np.concatenate([half.counts for half in halves]).tolist() == whole.counts.tolist()
    assert sum(half.total for half in halves) == whole.total


@pytest.mark.parametrize(
    "call",
    [
        lambda record: record.by_gate(0.0),
        lambda record: record.by_gate(math.nan),
        lambda record: record.by_gate("1 Hz"),
        lambda record: record.by_gate(5.0),
        lambda record: record.by_gate(1.0, start_s=3.0, stop_s=1.0),
        lambda record: record.by_gate(1.0, start_s=math.nan),
        lambda record: record.by_gate(1.0, stop_s=math.inf),
        lambda record: record.by_gate(1e-7),
        lambda record: record.by_gate(0.5, stop_s=5e6),  # ten million gates
        lambda _: PulseRecord([]).by_gate(1.0),
    ],
)
def test_what_cannot_be_counted_is_refused(call):
    with pytest.raises(FuelUnitsError):
        call(PulseRecord([0.0, 1.0, 2.0]))


def test_one_pulse_bounds_no_period():
    with pytest.raises(FuelUnitsError, match="at least two"):
        PulseRecord([1.0]).by_period()


@pytest.mark.parametrize("gate", [0.1, 0.3, 1e-3, 1 / 3, 0.7])
@pytest.mark.parametrize("start", [0.0, 5.1, 1.7e9])
@pytest.mark.parametrize(
    "times_of",
    [
        lambda n, gate: n * gate,
        lambda n, gate: n / (1 / gate),
        lambda n, gate: np.cumsum(0 * n + gate) - gate,
    ],
)
def test_each_gate_has_its_pulse_where_pulses_stand_on_the_edges(start, gate, times_of):
    """One each, by the rule, whichever way times of the same decimal numbers were rounded."""
    if start > 1e9 and gate < 0.01:
        start = 1.7e6
    times = start + times_of(np.arange(301.0), gate)
    counts = PulseRecord(times).by_gate(gate, start_s=start).counts
    assert set(counts.tolist()) == {1}
    assert counts.size == 300


def test_whole_numbers_of_numpy_and_pandas_are_whole_numbers():
    record = PulseRecord(np.arange(100.0))
    for number in (np.int64(2), np.uint8(2), np.float64(2.0), pd.Series([2, 3])[0], np.array(2)):
        assert record.by_gate(number).counts.tolist() == [2] * 49


def test_times_are_text_as_well():
    record = PulseRecord(np.arange(100) / 10.0)
    assert record.by_gate("1 s", start_s="0 s", stop_s="0.1 min").counts.tolist() == [10] * 6
    frequency = record.by_gate(1.0).frequency()
    assert frequency.smoothed("10 s").frequency_hz.tolist() == frequency.smoothed(10.0).frequency_hz.tolist()
    assert frequency.cut_off("11 Hz").frequency_hz.tolist() == frequency.cut_off("660 pulse/min").frequency_hz.tolist()
    assert frequency.cut_off("11 L/h", k_factor="3600 pulse/L").cut_off_s == 9.0
    assert frequency.cut_off("9 L/h", k_factor="3600 pulse/L").cut_off_s == 0.0
    assert frequency.flow("3600 pulse/L", "L/h").tolist() == pytest.approx([10.0] * 9)
    with pytest.raises(DimensionError, match="below_hz"):
        frequency.cut_off("9 L/h")


@pytest.mark.parametrize(
    "times",
    [
        pd.Series([0.0, 0.5, 1.5]),
        pl.Series([0.0, 0.5, 1.5]),
        pa.array([0.0, 0.5, 1.5]),
        dd.from_array(np.array([0.0, 0.5, 1.5])),
    ],
    ids=lambda times: type(times).__module__,
)
def test_times_of_other_libraries_are_read(times):
    record = PulseRecord(times)
    assert record.times_s.tolist() == [0.0, 0.5, 1.5]
    assert FrequencyRecord(times, pl.Series([5, 6])).frequency_hz.tolist() == [5.0, 6.0]


def _milliseconds():
    """0, 500 and 1500 ms as quantities and time differences of four libraries."""
    ms, xr = np.array([0, 500, 1500]), pytest.importorskip("xarray")
    of_pint = ONE_REGISTRY.Quantity(ms.astype(float), "ms")
    differences = ms.astype("m8[ms]")
    return [of_pint, xr.DataArray(of_pint), differences, pd.Series(differences), xr.DataArray(differences)]


def test_times_of_other_units_are_converted():
    for times in _milliseconds():
        record = PulseRecord(times)
        assert record.times_s == pytest.approx([0.0, 0.5, 1.5], rel=1e-15)
        assert PulseCounts(times, [1, 2]).edges_s == pytest.approx([0.0, 0.5, 1.5], rel=1e-15)
        running = unwrap_counter([0, 1, 2], bits=16)
        assert PulseCounts.of_counter(times, running).edges_s[1] == pytest.approx(0.5, rel=1e-15)
    units = ONE_REGISTRY
    assert FrequencyRecord([0, 1, 2] * units.min, [1, 2] * units.kHz).frequency_hz.tolist() == [1000.0, 2000.0]
    assert PulseRecord([0.0, 1.0, 2.0]).by_gate(500 * units.ms, stop_s=0.025 * units.min).counts.tolist() == [1, 0, 1]


@pytest.mark.parametrize(
    "times",
    [
        *(np.ma.array([0.0, 1.0, 2.0], mask=[0, 1, 0]), pl.Series([0.0, None, 2.0]), pd.Series([0.0, None, 2.0])),
        *(pd.Series(pd.to_datetime([0, 1], unit="s")), [True, False], [0.0, True], "5 s"),
        *(ONE_REGISTRY.Quantity([0.0, 1.0], "kg"), [UREG.Quantity(0.0, "ms"), UREG.Quantity(1.0, "ms")]),
        *(UREG.Quantity(np.ma.array([0.0, 1.0], mask=[0, 1]), "s"), pa.array([0, 1], pa.duration("ms"))),
    ],
    ids=str,
)
def test_times_that_are_missing_or_no_seconds_are_refused(times):
    with pytest.raises(FuelUnitsError):
        PulseRecord(times)


# by period


@settings(max_examples=50)
@given(seed=st.integers(0, 2**32 - 1), count=st.integers(2, 300))
def test_periods_times_frequency_are_the_pulses(seed, count):
    times = np.cumsum(np.random.default_rng(seed).uniform(1e-3, 1.0, count))
    counted = PulseRecord(times).by_period()
    assert counted.total == count - 1
    assert counted.frequency().frequency_hz.tolist() == (1.0 / np.diff(times)).tolist()


@settings(max_examples=30)
@given(seed=st.integers(0, 2**32 - 1), cut=st.integers(1, 98))
def test_periods_of_two_parts_are_those_of_the_whole(seed, cut):
    times = np.cumsum(np.random.default_rng(seed).uniform(1e-3, 1.0, 100))
    whole, first, second = (PulseRecord(part).by_period() for part in (times, times[: cut + 1], times[cut:]))
    assert first.total + second.total == whole.total == 99
    joined = [*first.frequency().frequency_hz, *second.frequency().frequency_hz]
    assert joined == whole.frequency().frequency_hz.tolist()


def test_blocks_join(monkeypatch):
    record = PulseRecord(_jittered(3, 500))
    expected = record.by_period().frequency().frequency_hz.tolist(), record.check().missed
    monkeypatch.setattr(pulse_counts, "_BLOCK", 7)
    with pytest.raises(QuantityError, match=r"times_s\[17\] is 15.5 after 16.0"):
        PulseRecord([*range(17), 15.5, 18.0, 17.0])
    assert (record.by_period().frequency().frequency_hz.tolist(), record.check().missed) == expected


# counts and totals


def test_totals_are_sums_of_whole_numbers():
    counts = PulseCounts([0.0, 1.0, 2.0], np.array([2**53, 1]))
    assert counts.total == 2**53 + 1
    assert PulseCounts([0.0, 1.0], np.array([5], dtype=np.uint64)).total == 5
    assert PulseCounts([0.0, 1.0, 2.0], [2**62, 2**62 - 1]).total == 2**63 - 1
    assert PulseCounts([0.0], []).total == 0


@pytest.mark.parametrize(
    "counts",
    [
        *(np.diff(np.array([5, 3], dtype=np.uint64)), np.array([2**63], dtype=np.uint64), [2**62, 2**62]),
        [1, 2**63 - 1],
        *(np.ma.array([1], mask=[True]), pl.Series([None], dtype=pl.Int64), [True], [5, True]),
    ],
    ids=str,
)
def test_counts_that_overflow_or_are_missing_are_refused(counts):
    """A running total of 64 bits would turn negative; unsigned differences of a counter that fell are near 2**64."""
    assert PulseCounts([0.0, 1.0, 2.0], [1, 2**63 - 2]).total == 2**63 - 1
    with pytest.raises(QuantityError):
        PulseCounts(np.arange(len(counts) + 1.0), counts)


@pytest.mark.parametrize("at_least", [[2], [-1], [0, 2], [-1, 0], [True, False], [0.5]], ids=str)
def test_intervals_with_a_reset_are_named_by_their_index(at_least):
    with pytest.raises(QuantityError, match="at_least"):
        PulseCounts([0.0, 1.0, 2.0], [5, 6], at_least)
    assert np.isnan(PulseCounts([0.0, 1.0, 2.0], [5, 6], [1]).frequency().frequency_hz).tolist() == [False, True]
    assert np.isnan(PulseCounts([0.0, 1.0], [5], [0]).frequency().frequency_hz).all()


@pytest.mark.parametrize(
    "frequency", [[-1.0], [math.inf], [-0.5], [5.0, -1.0], [5.0, math.inf], np.ma.array([1.0], mask=[True])], ids=str
)
def test_frequencies_that_cannot_be_are_refused(frequency):
    with pytest.raises(QuantityError):
        FrequencyRecord(np.arange(len(frequency) + 1.0), frequency)


def test_records_report_what_they_hold():
    pytest.importorskip("pandas")
    counts = PulseCounts.of_counter(
        [10.0, 20.0, 30.0], unwrap_counter([31_000, 400, 1_400], bits=16, largest_increment=2_000)
    )
    assert "at least 1400" in repr(counts)
    assert "70 Hz" in str(counts)  # 1400 pulses in 20 s
    assert counts.as_dict()["total"] == 1400
    assert counts.to_frame()["pulses"].tolist() == [400, 1000]
    for record in (counts, counts.frequency()):
        assert (record.report().facts["time"], record.report().facts["intervals"]) == ("10 s to 30 s", 2)
    uneven = FrequencyRecord([0.0, 10.0, 20.0, 50.0], [120.0, 80.0, 100.0]).report().facts
    assert (uneven["frequency"], uneven["mean frequency"]) == ("80 Hz to 120 Hz", "100 Hz")
    assert "below the low-flow cutoff: 10 s" in str(FrequencyRecord([0.0, 10.0, 20.0], [1.0, 80.0]).cut_off(2.0))
    assert "cutoff" not in str(counts.frequency())
    assert "Hz" not in str(PulseCounts([0.0], []))
    assert "not known for: 10 s" in str(counts.frequency())
    assert counts.frequency().to_frame().shape == (2, 3)


@pytest.mark.parametrize("counts", [np.array([200, 100], dtype=np.uint8), np.array([200, 100], dtype=np.int16)])
def test_totals_of_narrow_numbers_are_wide(counts):
    assert PulseCounts([0.0, 1.0, 2.0], counts).total == 300


def test_edges_and_frequencies_become_floats_and_edges_are_not_written_to():
    counted, frequency = PulseCounts([0, 1, 3], [5, 6]), FrequencyRecord([0, 1, 3], [5, 6])
    for record in (counted, frequency):
        assert (record.edges_s.dtype, record.edges_s.tolist()) == (np.float64, [0.0, 1.0, 3.0])
        assert not record.edges_s.flags.writeable
    for record in (pickle.loads(pickle.dumps(counted)), copy.deepcopy(counted), copy.copy(counted)):
        assert not any(values.flags.writeable for values in (record.edges_s, record.counts, record.at_least))
    for values in (counted.counts, counted.at_least, frequency.frequency_hz, counted.frequency().frequency_hz):
        assert not values.flags.writeable
    assert frequency.frequency_hz.dtype == np.float64
    assert FrequencyRecord([0, 1], np.array([5.5], dtype=np.float32)).frequency_hz.dtype == np.float64


def test_a_counter_read_now_and_then_gives_the_flow_of_a_recorded_train():
    record = PulseRecord(_jittered(5, 5_000))
    by_gate = record.by_gate(5.0, start_s=-1.0, stop_s=54.0)
    displayed = (65_000 + np.cumsum([0, *by_gate.counts])) % 2**16
    of_counter = PulseCounts.of_counter(by_gate.edges_s, unwrap_counter(displayed, bits=16))
    assert of_counter.counts.tolist() == by_gate.counts.tolist()
    assert of_counter.total == by_gate.total == record.count
    assert of_counter.frequency().frequency_hz.tolist() == by_gate.frequency().frequency_hz.tolist()


def test_a_reset_leaves_a_flow_that_is_not_known_and_a_least_total():
    running = unwrap_counter([30_000, 31_000, 400, 1_400], bits=16, largest_increment=2_000)
    counts = PulseCounts.of_counter([0.0, 10.0, 20.0, 30.0], running)
    assert counts.at_least.tolist() == [1]
    assert counts.total == 2_400
    frequency = counts.frequency().frequency_hz
    assert np.isnan(frequency).tolist() == [False, True, False]
    assert frequency[[0, 2]].tolist() == [100.0, 100.0]


@pytest.mark.parametrize(
    ("edges", "counts"),
    [
        ([0.0, 1.0], [1, 2]),
        ([0.0, 1.0], [1.0]),
        ([0.0, 1.0], [-1]),
        ([0.0, 1.0, 2.0], [5, -1]),
        ([1.0, 0.0], [1]),
        ([], []),
        ([0.0, 1.0, 2.0], [[1, 2]]),
    ],
)
def test_counts_that_make_no_sense_are_refused(edges, counts):
    with pytest.raises(QuantityError):
        PulseCounts(edges, counts)


# smoothing


def first_order_lag(values, intervals_s, time_constant_s):
    return FrequencyRecord(np.cumsum([0.0, *intervals_s]), values).smoothed(time_constant_s).frequency_hz


@pytest.mark.parametrize("size", [1, 2, 3, 10, 1000, 1024])
def test_even_sampling_is_scipys_linear_filter(size):
    x = np.random.default_rng(size).uniform(0.0, 200.0, size)
    keep = math.exp(-0.25 / 2.0)
    expected = x[0] + lfilter([1.0 - keep], [1.0, -keep], x - x[0])
    assert first_order_lag(x, np.full(size, 0.25), 2.0) == pytest.approx(expected, rel=1e-12)


@settings(max_examples=50)
@given(
    constant=st.floats(1e-3, 1e6),
    seed=st.integers(0, 2**32 - 1),
    size=st.integers(0, 200),
    tau=st.floats(1e-4, 1e6),
)
def test_a_constant_stays(constant, seed, size, tau):
    intervals = np.random.default_rng(seed).uniform(1e-3, 1e3, size)
    assert first_order_lag(np.full(size, constant), intervals, tau) == pytest.approx(np.full(size, constant), rel=1e-12)


@settings(max_examples=50)
@given(seed=st.integers(0, 2**32 - 1), size=st.integers(1, 60), at=st.integers(0, 59), share=st.floats(0.05, 0.95))
def test_dividing_a_step_changes_nothing(seed, size, at, share):
    rng = np.random.default_rng(seed)
    x, dt = rng.uniform(0.0, 100.0, size), rng.uniform(0.01, 3.0, size)
    at %= size
    whole = first_order_lag(x, dt, 0.7)
    halves = np.insert(dt, at, share * dt[at])
    halves[at + 1] *= 1.0 - share
    divided = first_order_lag(np.insert(x, at, x[at]), halves, 0.7)
    assert np.delete(divided, at) == pytest.approx(whole, rel=1e-12, abs=1e-12)


def test_a_step_is_followed_by_63_percent_in_a_time_constant():
    smooth = first_order_lag([0.0, 1.0], [1.0, 5.0], 5.0)
    assert smooth.tolist() == pytest.approx([0.0, 1.0 - math.exp(-1.0)])


def test_what_is_missing_stays_missing_and_the_lag_begins_anew():
    smooth = first_order_lag([5.0, 9.0, math.nan, math.nan, 2.0, 2.0], np.ones(6), 1.0)
    assert np.isnan(smooth).tolist() == [False, False, True, True, False, False]
    assert smooth[4:].tolist() == pytest.approx([2.0, 2.0], rel=1e-15)
    assert np.isnan(first_order_lag([math.nan], [1.0], 1.0)).all()


def test_long_gaps_do_not_overflow():
    smooth = first_order_lag([1.0, 2.0, 3.0], [1e-9, 1e6, 1e-3], 1.0)
    assert smooth.tolist() == pytest.approx([1.0, 2.0, 3.0 - math.exp(-1e-3)], rel=1e-9)


@pytest.mark.parametrize("tau", [0.0, math.nan, "2 Hz"])
def test_a_time_constant_that_makes_no_sense_is_refused(tau):
    with pytest.raises(FuelUnitsError):
        FrequencyRecord([0.0, 1.0], [1.0]).smoothed(tau)


def test_a_smoothed_record_keeps_its_edges_and_leaves_the_first_alone():
    record = PulseRecord(_jittered(9, 300)).by_period().frequency()
    before = record.frequency_hz.copy()
    smooth = record.smoothed(0.5)
    assert smooth.edges_s.tolist() == record.edges_s.tolist()
    assert record.frequency_hz.tolist() == before.tolist()
    assert smooth.frequency_hz[100:].std() < 0.2 * record.frequency_hz[100:].std()


# low-flow cutoff


def test_below_the_cutoff_is_zero_and_its_time_is_reported():
    record = FrequencyRecord([0.0, 1.0, 3.0, 6.0, 10.0, 15.0], [5.0, 4.9, math.nan, 0.0, 50.0])
    cut = record.cut_off(5.0)
    assert cut.frequency_hz[[0, 1, 3, 4]].tolist() == [5.0, 0.0, 0.0, 50.0]
    assert math.isnan(cut.frequency_hz[2])
    assert cut.cut_off_s == 2.0 + 4.0
    assert record.cut_off_s == 0.0
    assert record.frequency_hz[1] == 4.9
    assert cut.smoothed(1.0).cut_off_s == 6.0


@pytest.mark.parametrize("below", [0.0, -1.0, math.nan, math.inf, "5 s", True])
def test_a_cutoff_is_one_positive_number(below):
    with pytest.raises(FuelUnitsError, match="below_hz"):
        FrequencyRecord([0.0, 1.0], [5.0]).cut_off(below)


@pytest.mark.parametrize("below", [UREG.Quantity(math.nan, "L/h"), UREG.Quantity([1.0], "L/h"), "5 Hz", 5.0], ids=str)
def test_a_cutoff_by_flow_is_one_known_flow(below):
    """A cutoff that is NaN would cut off nothing, and say nothing."""
    with pytest.raises(FuelUnitsError, match=r"below_hz|flow"):
        FrequencyRecord([0.0, 1.0], [5.0]).cut_off(below, k_factor=K)


# flow


@settings(max_examples=30)
@given(k=st.floats(1.0, 1e6), frequency=st.floats(0.0, 1e4))
def test_flow_is_frequency_over_k_in_every_unit(k, frequency):
    record = FrequencyRecord([0.0, 1.0], [frequency])
    (gal_h,) = record.flow(KFactor(k, per="gal"), "gal/h")
    (l_min,) = record.flow(KFactor(k, per="gal"), "L/min")
    (lb_h,) = record.flow(KFactor(k, per="gal"), "lb/h", density="6.7 lb/gal")
    assert gal_h == pytest.approx(3600.0 * frequency / k, rel=1e-14)
    assert l_min == pytest.approx(convert(gal_h, "gal/h", "L/min"), rel=1e-14)
    assert lb_h == pytest.approx(6.7 * gal_h, rel=1e-14)


def test_the_same_k_factor_in_another_unit_gives_the_same_flow():
    record = PulseRecord(_jittered(11, 50)).by_period().frequency()
    per_litre = KFactor(K.exact_per("L"), per="L")
    assert record.flow(per_litre, "gal/h") == pytest.approx(record.flow(K, "gal/h"), rel=1e-15)


@pytest.mark.parametrize("registry", [ONE_REGISTRY, OF_OFFSETS])
def test_a_density_may_be_a_quantity_of_any_registry(registry):
    record = FrequencyRecord([0.0, 1.0], [100.0])
    expected = record.flow(K, "lb/h", density="6.7 lb/gal")
    assert record.flow(K, "lb/h", density=registry.Quantity(6.7, "lb/gal")) == pytest.approx(expected, rel=1e-12)


def test_the_mean_flow_over_the_time_is_the_volume_of_the_count():
    counts = PulseRecord(_jittered(13, 2_000)).by_gate(1.0)
    flow_gal_s = counts.frequency().flow(K, "gal/s")
    volume = K.volume(counts.total).m_as("gallon")
    assert (flow_gal_s * np.diff(counts.edges_s)).sum() == pytest.approx(volume, rel=1e-12)


@pytest.mark.parametrize(
    ("k", "unit", "density", "error"),
    [
        (43_186.0, "gal/h", None, QuantityError),
        (K, "gal", None, DimensionError),
        (K, "lb/h", None, DimensionError),
        (K, "gal/h", "6.7 lb/gal", DimensionError),
        (K, "gallons hourly", None, FuelUnitsError),
    ],
)
def test_a_flow_that_makes_no_sense_is_refused(k, unit, density, error):
    with pytest.raises(error):
        FrequencyRecord([0.0, 1.0], [100.0]).flow(k, unit, density=density)


def test_a_frequency_record_needs_one_edge_more():
    with pytest.raises(QuantityError, match="interval"):
        FrequencyRecord([0.0, 1.0], [100.0, 100.0])


# irregularities: records whose faults are known, because they were put there

PLACES = st.sets(st.integers(1, 18), min_size=1, max_size=8)
"""Numbers of the faults' places, each sixteen pulses from the next."""


@settings(max_examples=50)
@given(seed=st.integers(0, 2**32 - 1), places=PLACES, data=st.data())
def test_missed_pulses_are_found_where_they_are(seed, places, data):
    times = _jittered(seed, 320)
    lost = {16 * place: data.draw(st.integers(1, 3)) for place in sorted(places)}
    gone = [at + i for at, how_many in lost.items() for i in range(how_many)]
    kept = np.delete(times, gone)
    before = {int(np.searchsorted(kept, times[at])) - 1: (times[at - 1], n) for at, n in lost.items()}
    record = PulseRecord(kept)
    assert record.check().missed == tuple(Irregularity(i, time, n) for i, (time, n) in before.items())
    assert record.check().doubled == ()
    assert record.count + sum(found.pulses for found in record.check().missed) == times.size


@settings(max_examples=50)
@given(seed=st.integers(0, 2**32 - 1), places=PLACES, phase=st.floats(0.3, 0.7))
def test_double_pulses_are_found_where_they_are(seed, places, phase):
    times = _jittered(seed, 320)
    extra = [times[16 * place] + phase * (times[16 * place + 1] - times[16 * place]) for place in sorted(places)]
    record = PulseRecord(np.sort(np.concatenate((times, extra))))
    found = record.check().doubled
    assert [each.time_s for each in found] == extra
    assert [each.index for each in found] == np.searchsorted(record.times_s, extra).tolist()
    assert {each.pulses for each in found} == {1}
    assert record.check().missed == ()
    assert record.count == times.size + len(extra)  # reported, not mended


@settings(max_examples=30)
@given(seed=st.integers(0, 2**32 - 1), bounce=st.floats(0.01, 0.1))
def test_a_bounce_is_found_within_a_pulse(seed, bounce):
    times = _jittered(seed, 100)
    record = PulseRecord(np.sort(np.append(times, times[50] + bounce * 0.01)))
    (found,) = record.check().doubled
    assert found.index in (50, 51)


@settings(max_examples=50)
@given(
    seed=st.integers(0, 2**32 - 1),
    jitter=st.floats(0.0, 0.08),
    depth=st.floats(0.0, 0.6),
    beat=st.integers(60, 2000),
)
def test_clean_records_show_nothing_though_the_flow_swings(seed, jitter, depth, beat):
    """The period swings by `depth` to either side once in `beat` pulses, and each pulse is jittered besides."""
    periods = 0.01 * (1.0 + depth * np.sin(2.0 * np.pi * np.arange(600) / beat))
    noise = np.random.default_rng(seed).uniform(-jitter, jitter, 600)
    record = PulseRecord(np.cumsum(periods) + noise * periods)
    assert record.check().missed == ()
    assert record.check().doubled == ()


@pytest.mark.parametrize("factor", [0.1, 0.25, 0.5, 2.0, 3.0, 4.0])
def test_a_step_of_the_flow_is_no_irregularity(factor):
    periods = np.concatenate((np.full(40, 0.01), np.full(40, 0.01 * factor), np.full(40, 0.01)))
    record = PulseRecord(np.cumsum(periods))
    assert record.check().missed == ()
    assert record.check().doubled == ()


def test_a_long_gap_is_a_pause_and_no_missed_pulses():
    times = np.arange(60.0)
    times[30:] += 4.0
    assert PulseRecord(times).check().missed == ()
    (pause,) = PulseRecord(times).check("1 Hz").pauses
    assert pause == Irregularity(29, 29.0, 4)


@pytest.mark.parametrize("pulses", [2, 3, 4])
@pytest.mark.parametrize("jitter", [0.003, 0.03, 0.08])
def test_a_burst_of_noise_between_two_pulses_is_not_accepted(pulses, jitter):
    """What truly happens: ignition noise or relay bounce adds pulses 0.1 ms apart to a record whose mean agrees."""
    generator, accepted = np.random.default_rng(pulses), 0
    for _ in range(12):
        times = np.sort(np.arange(600.0) + generator.normal(0.0, jitter, 600)) / 10.0
        accepted += PulseRecord(times).check("10 Hz").verdict is Verdict.ACCEPT
        burst = times[generator.integers(100, 500)] + generator.uniform(0.005, 0.09) + 1e-4 * np.arange(pulses)
        assert PulseRecord(np.sort([*times, *burst])).check("10 Hz").verdict is not Verdict.ACCEPT
    assert accepted >= 11


def _recorded(generator, hz, periods=(1.0,), count=600, jitter=0.002, step_s=0.0):
    """Times of a flow with these periods at a random place, each as jittered, rounded down to the recorder's step."""
    at = generator.integers(30, count - 50)
    each = np.concatenate([np.ones(at), periods, np.ones(count - at)])
    times = (np.concatenate([[0.0], np.cumsum(each)]) + generator.normal(0.0, jitter, each.size + 1) + 1.0) / hz
    return PulseRecord(np.floor(times / step_s) * step_s if step_s else times)


@pytest.mark.simulation
@pytest.mark.parametrize("periods", [(2.5, 1.5), (1.6, 1.4), (1.3, 1.7), (3.5, 1.5), (1.5,), (1.35,), (0.6,)], ids=str)
@pytest.mark.parametrize("step_s", [0.0, 1.6e-3])
def test_periods_that_fit_no_rhythm_are_never_accepted(periods, step_s):
    """What truly happens: pulses are lost and one of noise comes in the gap; in steps of 0.16, where it is seen."""
    step_s *= max(periods) >= 1.5
    generator = np.random.default_rng(7)
    for jitter in (0.0, 0.002, 0.01):
        for _ in range(12):
            record = _recorded(generator, 97.3, periods, jitter=jitter, step_s=step_s)
            assert record.check("97.3 Hz").verdict is not Verdict.ACCEPT


@pytest.mark.parametrize(("digits", "hz", "seconds"), [(6, 86.1, 1040), (5, 61.3, 180), (5, 8.7, 1200)])
def test_times_of_so_many_digits_are_too_coarse_from_a_power_of_ten_on(digits, hz, seconds):
    """A program writes times with six digits: 998.123 s, then 1001.23 s; a regular record is not rejected for it."""
    times = np.arange(1, int(seconds * hz)) / hz
    assert PulseRecord(times).check(f"{hz} Hz").verdict is Verdict.ACCEPT
    written = [float(f"{each:.{digits}g}") for each in times]
    check = PulseRecord(written).check(f"{hz} Hz")
    assert (check.verdict, check.faults) == (Verdict.UNDECIDED, ())
    assert "are too coarse" in str(check.missing)
    before = next(n for n, each in enumerate(written) if each >= 10.0 ** math.floor(math.log10(seconds)))
    assert PulseRecord(written[:before]).check(f"{hz} Hz").verdict is Verdict.ACCEPT


@pytest.mark.parametrize("hz", [195.0, 230.0, 260.0, 340.0, 500.0, 704.0, 905.0])
def test_times_too_coarse_to_judge_single_periods_are_undecided(hz):
    """A recorder of whole milliseconds stores periods of 1.42 ms as 1 or 2 ms; the mean frequency is right."""
    generator = np.random.default_rng(int(hz))
    for periods in ((1.0,), (3.0,), (2.5, 1.5)):
        found = _recorded(generator, hz, periods, step_s=1e-3)
        check = found.check(f"{hz} Hz")
        assert (check.verdict, check.faults, check.missed) == (Verdict.UNDECIDED, (), ())
        assert "steps of 1 ms are too coarse" in str(check.missing)
        assert "Hz expected" in str(found.check(f"{1.05 * hz} Hz").faults)  # the mean can be judged


@pytest.mark.parametrize("hz", [410.0, 704.0, 930.0])
@pytest.mark.parametrize("start_ms", [3_600_000, 43_200_000, 1_900_000_000_000])
def test_whole_milliseconds_are_too_coarse_after_the_first_time_is_subtracted(start_ms, hz):
    """Seconds of the day, or since 1970, less the first keep the rounding of those larger numbers."""
    stamps = (start_ms + np.floor((np.arange(3000) + 0.3) / hz * 1000.0)) / 1000.0
    for times in (stamps, stamps - stamps[0], np.cumsum(np.diff(stamps)), 1.0000123 * (stamps - stamps[0])):
        check = PulseRecord(times).check(f"{hz} Hz")
        assert (check.verdict, check.faults) == (Verdict.UNDECIDED, ())
        assert "steps of 1 ms are too coarse" in str(check.missing)


@pytest.mark.parametrize("depth", [0.25, 0.5])
def test_a_flow_that_pulsates_is_not_rejected_where_its_mean_is_known(depth):
    """What truly happens: a pulse at each whole turn of a rotor whose speed swings, as behind a diaphragm pump."""
    generator = np.random.default_rng(5)
    for _ in range(12):
        hz, swings = generator.uniform(50.0, 300.0), generator.uniform(3.0, 30.0)
        t = np.arange(0.0, 10.0, 1e-4)
        waves = np.cos(2.0 * np.pi * swings * t) * depth / (2.0 * np.pi * swings)
        turned = hz * (t - waves + waves[0])
        record = PulseRecord(np.interp(np.arange(1, int(turned[-1])), turned, t))
        check = record.check(f"{hz} Hz")
        assert (check.faults, check.irregular_share < 0.1 or "pulsates" in str(check.missing)) == ((), True)
        apart = record.check(f"{1.1 * hz} Hz")
        assert apart.verdict is Verdict.REJECT
        assert check.irregular_share < 0.1 or bool(apart.patterns) or "pulsates" in str(apart.faults)


@pytest.mark.parametrize(("depth", "cycle"), [(0.15, 5.3), (0.18, 5.3), (0.15, 7.3), (0.18, 11.7)])
def test_a_pulse_that_is_missing_in_a_flow_that_pulsates_is_seldom_accepted(depth, cycle):
    """One of 100 pulses of a flow that swings as a sine, with jitter of 0.5 %, is lost; the mean agrees within 2 %."""
    generator, accepted, n = np.random.default_rng(5), 0, np.arange(100)
    for _ in range(40):
        swing = np.sin(2.0 * np.pi * n / cycle + generator.uniform(0.0, 6.28)) * depth * cycle / (2.0 * np.pi)
        times = np.sort(n + swing + generator.normal(0.0, 0.005, n.size)) / 104.3
        accepted += PulseRecord(np.delete(times, generator.integers(5, 95))).check("104.3 Hz").verdict is Verdict.ACCEPT
    assert accepted <= 6


@pytest.mark.parametrize("step_s", [1e-6, 1e-4, 6e-4, 1.5e-3])
def test_times_in_small_steps_are_judged(step_s):
    generator = np.random.default_rng(3)
    sound = [_recorded(generator, 97.3, step_s=step_s).check("97.3 Hz").verdict for _ in range(10)]
    lost = [_recorded(generator, 97.3, (2.0,), step_s=step_s).check("97.3 Hz").verdict for _ in range(10)]
    assert sound.count(Verdict.ACCEPT) >= 9
    assert lost.count(Verdict.REJECT) >= 9
    if step_s < 1e-3:  # jitter of 5 % is not taken for rounding
        uneven = [_recorded(generator, 97.3, jitter=0.05, step_s=step_s).check("97.3 Hz").verdict for _ in range(10)]
        assert uneven.count(Verdict.ACCEPT) >= 9


@pytest.mark.parametrize("pulses", [8.0, 12.0, 40.0])
@pytest.mark.parametrize(
    "stop", [lambda left: 2.0 - 2.0 * np.sqrt(left), lambda left: -np.log(left)], ids=["even", "drag"]
)
def test_a_flow_that_stops_or_starts_lacks_no_pulse(stop, pulses):
    """What truly happens to a rotor that friction slows evenly, or drag in proportion to its speed, over some turns."""
    for phase in np.linspace(0.02, 0.98, 13):
        left = phase + np.arange(pulses + 200.0)[::-1]  # until it stands still
        times = np.where(left > pulses, pulses - left, pulses * stop(np.minimum(left / pulses, 1.0)))
        assert PulseRecord(times).check().missed == PulseRecord(-times[::-1]).check().missed == ()
        (missed,) = PulseRecord(np.delete(times, 100)).check().missed
        assert (missed.index, missed.pulses) == (99, 1)
    assert _with_periods(1.05, 1.2, 1.4, 1.7, 2.1).check("1 Hz", tolerance="20 %").verdict is Verdict.ACCEPT


def test_half_a_period_too_long_is_neither():
    times = np.arange(60.0)
    times[30:] += 0.5
    record = PulseRecord(times)
    assert record.check().missed == record.check().doubled == ()


def _with_periods(*periods_s):
    """A pulse a second, but for these periods after the seventh pulse."""
    return PulseRecord(np.cumsum([0.0, *[1.0] * 6, *periods_s, *[1.0] * 12]))


def test_a_gap_may_be_off_by_the_tolerance_and_no_more():
    assert _with_periods(2.25).check().missed == (Irregularity(6, 6.0, 1),)
    assert _with_periods(1.75).check().missed == (Irregularity(6, 6.0, 1),)
    assert _with_periods(2.25 + 2**-40).check().missed == ()
    assert [_with_periods(each).check().irregular_share for each in (1.25, 1.25 + 2**-40)] == [0.0, 1.0 / 19.0]
    assert _with_periods(4.4).check().missed == _with_periods(4.4).check().pauses == ()
    assert _with_periods(5.4).check().pauses == (Irregularity(6, 6.0, 4),)
    assert (_with_periods(4.0).check().missed, _with_periods(4.0).check().pauses) == ((Irregularity(6, 6.0, 3),), ())


def test_a_pair_may_be_off_by_the_tolerance_and_no_more():
    assert _with_periods(0.75, 0.5).check().doubled == (Irregularity(7, 6.75, 1),)
    assert _with_periods(0.5, 0.25).check().doubled == (Irregularity(7, 6.5, 1),)
    assert _with_periods(0.75, 0.5 + 2**-40).check().doubled == ()


def test_of_two_pulses_astride_of_one_the_former_is_named():
    assert _with_periods(0.875, 0.25, 0.875).check().doubled == (Irregularity(7, 6.875, 1),)


def test_the_first_and_the_last_period_are_judged_by_the_rhythm_beside_them():
    for before, after in itertools.product((0, 1, 5), (5, 6)):
        missed = PulseRecord(np.cumsum([0.0, *[1.0] * before, 3.0, *[1.0] * (after + 5)])).check(
            "1 Hz", tolerance="30 %"
        )
        assert missed.missed == (Irregularity(before, float(before), 2),)
        assert missed.verdict is Verdict.REJECT
    bounced = PulseRecord(np.sort(np.append(np.arange(60) / 100.0, 0.0004))).check("100 Hz")
    assert bounced.doubled == (Irregularity(1, 0.0004, 1),)
    late = PulseRecord(np.append(np.arange(60) / 100.0, 0.5904)).check("100 Hz")
    assert [each.index for each in late.doubled] == [59]
    among = PulseRecord(np.delete(np.arange(600) / 100.0, [1, 3, 5, 7])).check("100 Hz")
    assert sum(each.pulses for each in among.missed) == 4


@pytest.mark.parametrize("spacing", [[0.0, 0.04, -0.03, 0.045], [0.0, 0.11], [0.0, 0.09, -0.05]])
def test_uneven_blades_are_no_multiplied_pulses_where_the_flow_is_known(spacing):
    n = np.arange(3000)
    record = PulseRecord((n + np.array(spacing)[n % len(spacing)]) / 100.0)
    found = record.check("100 Hz")
    assert (found.verdict, found.faults, len(found.patterns)) == (Verdict.UNDECIDED, (), 1)
    assert "unevenly spaced" in found.missing[0]
    assert "too high" not in str(found)
    for others in ((), ("50 Hz",)):  # without a known flow, or with another, the pulses may be doubled
        assert record.check(*others).verdict is Verdict.REJECT
        assert "unevenly spaced" in record.check(*others).faults[0]


@pytest.mark.parametrize("spacing", [[0.0, 0.14, -0.14, 0.1, 0.0], [0.0, 0.15, -0.15, 0.0, 0.1, 0.0, -0.1, 0.1]])
def test_a_rotor_of_many_uneven_blades_is_undecided_however_long_the_record(spacing):
    """Nothing is lost or doubled; a fifth of the periods or more are off the rhythm by a quarter."""
    for count in (16, 24, 40, 48, 120, 3000):
        n = np.arange(count + 1)
        record = PulseRecord((n + np.array(spacing)[n % len(spacing)]) / 100.0)
        check = record.check("100 Hz")
        assert (check.verdict, check.faults) == (Verdict.UNDECIDED, ()), count
    assert "unevenly spaced" in str(check.missing)
    assert "unevenly spaced" in str(record.check().faults)


@pytest.mark.parametrize("count", [12, 15, 20, 30, 48])
def test_a_short_record_of_noise_is_not_accepted(count):
    """Periods anywhere from 0.2 to 1.8 of their mean, which is that expected."""
    generator, accepted = np.random.default_rng(count), 0
    for _ in range(60):
        times = np.cumsum([0.0, *generator.uniform(0.002, 0.018, count - 1)])
        accepted += PulseRecord(times).check(f"{(count - 1) / times[-1]} Hz").verdict is Verdict.ACCEPT
    assert accepted <= 1


def test_too_few_pulses_decide_nothing():
    few, enough = (PulseRecord(np.arange(count)).check() for count in (11, 12))
    assert "at least 12 pulses" in few.missing
    assert math.isnan(few.irregular_share)
    assert (len(enough.missing), enough.irregular_share) == (1, 0.0)
    assert [PulseRecord(times).check().frequency_hz for times in ([], [1.0], [1.0, 3.0])] == [0.0, 0.0, 0.5]


# the verdict: trains with jitter, with every kind of fault and with none


def _train(rng, count=400, jitter=0.01, swing=0.0):
    """A flow that swings, each pulse moved at random; the period is 10 ms."""
    periods = 0.01 * (1.0 + swing * np.sin(2.0 * np.pi * np.arange(count) / 150))
    return np.cumsum(periods) + 0.01 * np.clip(rng.normal(0.0, jitter, count), -0.3, 0.3)


def _each_repeated(times, rng, times_over, spread=0.0):
    late = np.sort(rng.uniform(0.0005, 0.0045, times_over - 1))
    return np.sort(np.concatenate([times, *(times + each + spread * rng.normal(size=times.size) for each in late)]))


def _without(times, places):
    return np.delete(times, places)


FAULTS = {
    "every pulse doubled": lambda t, rng: _each_repeated(t, rng, 2),
    "every pulse doubled, the delay scattered": lambda t, rng: _each_repeated(t, rng, 2, 5e-5),
    "every pulse tripled": lambda t, rng: _each_repeated(t, rng, 3),
    "every third missing": lambda t, _: _without(t, slice(None, None, 3)),
    "every fourth missing": lambda t, _: _without(t, slice(None, None, 4)),
    "every fifth missing": lambda t, _: _without(t, slice(None, None, 5)),
    "the second half doubled": lambda t, rng: np.concatenate([t[:200], _each_repeated(t[200:], rng, 2)]),
    "half of the pulses doubled": lambda t, rng: np.sort(np.append(t, rng.choice(t, t.size // 2, False) + 0.003)),
    "a tenth of the pulses missing": lambda t, rng: _without(t, rng.choice(t.size, t.size // 10, False)),
    "one missing": lambda t, rng: _without(t, rng.integers(10, t.size - 10)),
    "one doubled": lambda t, rng: np.sort(np.append(t, t[rng.integers(10, t.size - 10)] + 0.004)),
}


def _verdicts(fault, repeats, seed=1, **options):
    rng = np.random.default_rng(seed)
    return [PulseRecord(fault(_train(rng, **options), rng)).check().verdict.value for _ in range(repeats)]


@pytest.mark.simulation
@pytest.mark.parametrize("fault", FAULTS)
def test_trains_with_a_fault_are_rejected(fault):
    verdicts = _verdicts(FAULTS[fault], 20, jitter=0.01) + _verdicts(FAULTS[fault], 20, jitter=0.005, swing=0.3)
    assert verdicts.count("reject") == len(verdicts)


@pytest.mark.parametrize("late_ms", [0.5, 1.0, 2.5, 4.0, 4.5])
def test_a_train_in_which_every_pulse_is_doubled_is_rejected_however_late_the_second(late_ms):
    """The indicator reads exactly double."""
    times = _jittered(3, 400, jitter=0.005)
    check = PulseRecord(np.sort(np.concatenate([times, times + late_ms / 1000.0]))).check()
    assert check.verdict.value == "reject"
    (pattern,) = check.patterns
    assert pattern.length == 2
    assert pattern.shape == pytest.approx((late_ms / 5.0, 2.0 - late_ms / 5.0), abs=0.01)
    assert "2 times too high" in str(check)
    assert "reject" in repr(check)


@pytest.mark.parametrize(("single", "paired"), [(0, 60), (24, 48), (48, 48), (0, 400), (96, 71), (200, 100)])
def test_the_share_of_a_pattern_is_that_of_the_periods_with_it(single, paired):
    """The period is 10 ms, later 3 and 7 ms by turns, and two more at either end make the ends."""
    periods = np.concatenate([np.full(single + 2, 0.01), np.tile([0.003, 0.007], paired // 2 + 2)])[
        : single + paired + 4
    ]
    (pattern,) = PulseRecord(np.concatenate([[0.0], np.cumsum(periods)])).check().patterns
    stretch = 48 / (single + paired)  # a stretch is searched as a whole
    assert pattern.share == pytest.approx(paired / (single + paired), abs=stretch if single % 48 else 1e-12)
    assert pattern.share <= 1.0


@pytest.mark.parametrize(
    ("periods", "lacking"),
    [
        ((1.1, 1.3, 1.7, 3.0), 0),  # each longer than the one before, the last by 1.765, and 1.308 cubed is 2.237
        ((1.03125, 1.0625, 1.59375, 1.59375 * 1.5**3), 0),  # by just that: 1.59375 is 1.5 times the one before
        ((1.03125, 1.0625, 1.59375, 1.59375 * 1.5**3 + 2**-40), 4),
        ((1.25, 1.5, 2.625, 3.15), 2),  # 2.625 is 1.75 times the one before: a pulse may be missing there
        ((1.25, 1.5, 2.62, 3.15), 0),
        ((1.0, 1.2, 1.5, 1.95), 1),
        ((1.25, 1.25, 1.5, 2.0), 1),
        ((1.625, 2.625, 2.625, 2.1875), 1),
        ((1.3, 1.7, 2.6, 2.2), 0),
    ],
)
@pytest.mark.parametrize("step", [1, -1])
def test_a_flow_stops_by_periods_that_lengthen_steadily_and_starts_likewise(periods, lacking, step):
    found = PulseRecord(np.cumsum([0.0, *[*[1.0] * 12, *periods][::step]])).check()
    assert sum(each.pulses for each in (*found.missed, *found.pauses)) == lacking


def test_four_periods_before_show_whether_a_flow_stops():
    for first, lacking in ((1.0, 1.1, 1.3, 1.7, 3.0), 0), ((1.1, 1.4, 1.7, 2.9), 2):
        found = PulseRecord(np.cumsum([0.0, *first, *[1.0] * 8])).check()
        assert sum(each.pulses for each in found.missed) == lacking


def test_a_pattern_shows_from_28_periods_on():
    found = [PulseRecord(np.cumsum(np.tile([0.003, 0.007], 15)[: size + 1])).check() for size in (27, 28)]
    assert [len(each.patterns) for each in found] == [0, 1]


@pytest.mark.parametrize("every", [3, 4, 5])
def test_of_a_missing_third_both_causes_are_named(every):
    check = PulseRecord(_without(_jittered(3, 400), slice(None, None, every))).check()
    assert [each.length for each in check.patterns] == [every - 1]
    assert f"{every - 1} times too high" in " ".join(str(check).split())
    assert f"one pulse in {every} is missing (it reads {1 - 1 / every:.2f}" in " ".join(str(check).split())


@pytest.mark.parametrize(
    ("shape", "is_missing"),
    [
        ((0.53, 1.47), True),  # two thirds and four thirds, within 0.15 of the mean period
        ((0.5, 1.5), False),
        ((0.75, 0.75, 1.5), True),
        ((0.5, 1.0, 1.5), False),
        ((0.8, 0.8, 0.8, 1.6), True),
        ((0.6, 0.8, 1.0, 1.6), False),
    ],
)
def test_a_missing_pulse_is_told_from_pulses_of_other_spacing(shape, is_missing):
    found = RepeatingPattern(len(shape), shape, 0.25)
    assert ("missing" in found.causes) == is_missing
    assert "25 %" in str(found)


def test_three_unequal_periods_are_a_pattern_where_one_of_them_is_the_mean():
    (pattern,) = PulseRecord(np.cumsum(np.tile([0.0081, 0.010, 0.0119], 40))).check().patterns
    assert pattern.shape == pytest.approx((0.81, 1.0, 1.19))


@pytest.mark.parametrize(
    ("pulses", "share", "verdict"),
    [
        (50, 0.1, Verdict.ACCEPT),
        (50, 0.101, Verdict.UNDECIDED),
        (49, 0.101, Verdict.ACCEPT),
        (500, 0.4, Verdict.UNDECIDED),
    ],
)
def test_more_than_a_tenth_of_fifty_periods_off_the_rhythm_is_a_fault_where_the_mean_does_not_agree(
    pulses, share, verdict
):
    found = PulseCheck(pulses, 100.0, 100.0, 0.02, irregular_share=share)
    assert found.verdict is verdict
    for apart in (replace(found, expected_hz=None), replace(found, expected_hz=90.0)):
        assert (f"{100.0 * share:.3g} %" in " ".join(apart.faults)) == (verdict is Verdict.UNDECIDED)


def test_stretches_off_the_known_flow_are_told_from_the_first_and_summed():
    spacing = [1.0] * 15 + [2.0] * 15 + [1.0] * 15 + [0.5] * 20 + [1.0] * 15
    check = PulseRecord(np.cumsum([0.0, *spacing])).check("1 Hz", tolerance="30 %")
    assert check.unexpected == (Irregularity(15, 15.0, 15), Irregularity(45, 60.0, 20))
    assert "35 periods from 15 s" in " ".join(check.missing)
    whole = PulseRecord(np.arange(20) / 2.0).check("1 Hz")
    assert whole.unexpected == (Irregularity(0, 0.0, 19),)


@pytest.mark.parametrize(
    ("period_s", "tolerance", "off"),
    [(1.25, "2 %", 0), (1.26, "2 %", 19), (0.75, "2 %", 0), (0.74, "2 %", 19), (1.5, "50 %", 0), (1.26, "30 %", 0)],
)
def test_a_stretch_may_be_off_by_a_quarter_or_the_tolerance(period_s, tolerance, off):
    check = PulseRecord(np.arange(20) * period_s).check("1 Hz", tolerance=tolerance)
    assert sum(each.pulses for each in check.unexpected) == off


@pytest.mark.parametrize(("count", "title"), [(20, ""), (21, "first 20 of 21")])
def test_a_report_has_the_first_twenty_irregularities(count, title):
    pauses = tuple(Irregularity(i, float(i), 5) for i in range(count))
    (table,) = PulseCheck(1000, 100.0, 100.0, 0.02, pauses=pauses).report().tables
    assert (len(table.rows), table.title) == (20, title)


@pytest.mark.parametrize("jitter", [0.0, 0.01, 0.05, 0.08])
def test_clean_trains_are_not_rejected(jitter):
    for swing in (0.0, 0.3):
        assert "reject" not in _verdicts(lambda t, _: t, 40, jitter=jitter, swing=swing)


@pytest.mark.long
def test_false_alarms_and_misses_counted():
    """Of 2,000 clean trains with 3 % jitter at most 2 are rejected, of 400 of each fault at most 2 missed."""
    clean = _verdicts(lambda t, _: t, 2000, jitter=0.03, swing=0.2)
    assert clean.count("reject") <= 2
    for fault in FAULTS.values():
        assert _verdicts(fault, 400, jitter=0.01, swing=0.2).count("reject") >= 398


def test_what_the_record_alone_cannot_show_is_undecided_until_the_frequency_is_known():
    times = np.arange(400) / 100.0
    even = np.sort(np.concatenate([times, times + 0.005]))
    for record, factor in ((PulseRecord(even), 2.0), (PulseRecord(times[::2]), 0.5)):
        assert record.check().missed == record.check().doubled == ()
        assert record.check().verdict.value == "undecided"
        assert "known flow" in repr(record)
        check = record.check("6000 pulse/min")
        assert check.verdict.value == "reject"
        assert f"{factor:g} times" in str(check)
    assert PulseRecord(times).check("100 Hz", tolerance="1 %").verdict.value == "accept"
    assert PulseRecord(times).check("102 Hz", tolerance="1 %").verdict.value == "reject"
    assert PulseRecord(times).check("95 Hz").verdict.value == "reject"
    assert "100 Hz ± 2 %" in repr(PulseRecord(times).check("100 Hz"))
    paused = PulseRecord(np.append(times, times[-1] + 1.0 + times)).check("100 Hz", tolerance="20 %")
    assert paused.verdict.value == "undecided"
    assert [each.pulses for each in paused.pauses] == [99]
    assert PulseRecord(times[:11]).check("100 Hz").verdict.value == "undecided"


def test_a_mean_frequency_may_be_off_by_the_tolerance_and_no_more():
    even = PulseRecord(np.arange(100.0))  # 1 Hz is 1.25 times 0.8 Hz
    verdicts = [even.check("0.8 Hz", tolerance=each).verdict for each in ("25 %", "24.9 %")]
    assert verdicts == [Verdict.ACCEPT, Verdict.REJECT]
    for hz in (98.0, 102.0):
        assert PulseRecord(np.arange(100) / hz).check("100 Hz", tolerance="2 %").verdict is Verdict.ACCEPT


def test_a_record_prints_no_false_digits_and_no_nan():
    times = np.sort(np.append(np.arange(100.0) / 3.0, 20.4501438201064896))
    text = str(PulseRecord(times).check())
    assert "20.4501" in text
    assert "20.45014" not in text
    assert "1 pulse may be too many" in text
    assert "nan %" not in str(PulseRecord(times[:3]).check())


def test_a_record_reports_its_faults_by_time():
    times = np.sort(np.append(np.delete(np.arange(100.0), [30, 31]), 60.4))
    record = PulseRecord(times)
    assert record.check().rows() == [
        {"time, s": 29.0, "kind": "missed", "pulses": 2},
        {"time, s": 60.4, "kind": "double", "pulses": 1},
    ]
    assert record.as_dict()["count"] == 99
    assert record.check().as_dict()["verdict"] == "reject"
    assert "60.4" in record._repr_html_()


@pytest.mark.parametrize("from_pulse", [1500, 2800, 2950])
@pytest.mark.parametrize("times_too_fast", [2, 0.5])
def test_pulses_that_come_twice_evenly_for_a_while_are_not_accepted(from_pulse, times_too_fast):
    """The flow stays what it was, and from one moment on every pulse comes twice, or every second one is lost."""
    steady = np.arange(from_pulse) / 100.0
    rest = from_pulse / 100.0 + np.arange(int((3000 - from_pulse) * times_too_fast)) / (100.0 * times_too_fast)
    record = PulseRecord(np.concatenate([steady, rest]))
    found = record.check("100 Hz")
    assert found.verdict is not Verdict.ACCEPT
    assert found.unexpected[0].time_s == pytest.approx(from_pulse / 100.0, abs=0.1)
    assert PulseRecord(np.arange(3000) / 100.0).check("100 Hz").verdict is Verdict.ACCEPT


@pytest.mark.parametrize("lost", [6, 10, 15])
def test_pulses_lost_from_a_generator_are_no_step_of_the_times(lost):
    """Periods of a generator and gaps of two are multiples of one time, which few of 3000 do not show as a step."""
    at = np.random.default_rng(lost).choice(np.arange(1, 2999), lost, replace=False)
    check = PulseRecord(np.delete(np.arange(3000) * 1e-2, at)).check("100 Hz")
    assert (check.verdict, check.step_s) == (Verdict.REJECT, 0.0)


def test_a_pattern_is_one_only_far_beyond_what_jitter_makes():
    """Periods that alternate by 8 %, with jitter of 7 %: some one in five is seen, twice as many at five times u."""
    rng, found = np.random.default_rng(4), 0
    for _ in range(400):
        late = 0.5 * 0.08 * np.where(np.arange(53) % 2, 1.0, -1.0) + 0.07 * rng.normal(size=53)
        found += bool(PulseRecord(0.01 * (np.arange(53) + late)).check().patterns)
    assert 0.12 < found / 400 < 0.32
