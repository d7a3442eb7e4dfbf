"""What a count resolves, and counters of finite width unwrapped: against NumPy's unwrap and a plain loop."""

import math

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from optional import optional

from fuelunits.errors import FuelUnitsError, QuantityError
from fuelunits.meters import counts as counting
from fuelunits.meters.counts import unwrap_counter
from fuelunits.meters.k_factor import pulses_for_resolution

pd = optional("pandas")
pl = optional("polars")
pa = optional("pyarrow")

WIDTHS = st.sampled_from([16, 24, 32])


# resolution


@given(n=st.integers(1, 10**9))
def test_pulses_and_resolution_are_inverse(n):
    assert pulses_for_resolution(1.0 / n) == n


@given(relative=st.floats(1e-9, 2.0))
def test_pulses_for_resolution_is_the_smallest_number_that_resolves(relative):
    n = pulses_for_resolution(relative)
    assert n == math.floor(n) >= 1
    assert 1.0 / n <= relative * (1 + 1e-11)
    if n > 1:
        assert 1.0 / (n - 1) > relative


def test_scalars_give_floats_and_arrays_of_any_library_arrays():
    assert type(pulses_for_resolution(2)) is float
    assert math.isnan(pulses_for_resolution(math.nan))
    for kind in (pd.Series, pl.Series, pa.array, np.array, tuple):
        assert np.asarray(pulses_for_resolution(kind([0.5, 0.25]))).tolist() == [2.0, 4.0]
    units = pytest.importorskip("astropy.units")
    for wrong in ([2.0] * units.kg, [True, 2.0], [2.0 * units.s]):
        with pytest.raises(FuelUnitsError):
            pulses_for_resolution(wrong)
    for wrong in (0.0, -1.0, math.inf, [1.0, 0.0]):
        with pytest.raises(QuantityError, match="must be positive and finite"):
            pulses_for_resolution(wrong)


# counters of finite width


def _plain_loop(readings, bits, largest):
    """The rule, one reading at a time, in integers of any size."""
    counts, rollovers, resets = [readings[0]], [], []
    for i in range(1, len(readings)):
        advance = (readings[i] - readings[i - 1]) % 2**bits
        if advance > largest:
            if readings[i] > largest:
                return None
            resets.append(i)
            advance = readings[i]
        elif readings[i] < readings[i - 1]:
            rollovers.append(i)
        counts.append(counts[-1] + advance)
    return counts, rollovers, resets


def _found(run):
    return run.counts.tolist(), run.rollovers.tolist(), run.resets.tolist()


@st.composite
def true_counts(draw, at_most):
    steps = draw(st.lists(st.integers(0, at_most), max_size=60))
    return [*np.cumsum([draw(st.integers(0, at_most)), *steps]).tolist()]


@settings(max_examples=50)
@given(data=st.data(), bits=WIDTHS)
def test_a_wrapped_series_unwraps_to_itself(data, bits):
    true = np.array(data.draw(true_counts(2 ** (bits - 1))))
    run = unwrap_counter(true % 2**bits, bits=bits)
    assert run.counts.tolist() == true.tolist()
    assert run.total == true[-1] - true[0]
    assert not run.resets.size
    assert "at least" not in str(run)
    turns = true // 2**bits
    assert run.rollovers.tolist() == (np.flatnonzero(np.diff(turns)) + 1).tolist()


@settings(max_examples=50)
@given(data=st.data(), bits=WIDTHS)
def test_numpy_unwraps_the_same(data, bits):
    readings = np.array(data.draw(true_counts(2 ** (bits - 1) - 1))) % 2**bits
    assert unwrap_counter(readings, bits=bits).counts.tolist() == np.unwrap(readings, period=2**bits).tolist()


@settings(max_examples=50)
@given(
    readings=st.lists(st.integers(0, 255), min_size=1, max_size=40),
    largest=st.integers(1, 255),
)
@example(readings=[100, 228], largest=128)
@example(readings=[0, 129], largest=128)
@example(readings=[200, 72], largest=128)
@example(readings=[200, 73], largest=128)
@example(readings=[100, 40, 90, 250, 10], largest=160)
def test_the_rule_one_reading_at_a_time(readings, largest):
    expected = _plain_loop(readings, 8, largest)
    if expected is None:
        with pytest.raises(QuantityError, match="largest increment is"):
            unwrap_counter(readings, bits=8, largest_increment=largest)
    else:
        assert _found(unwrap_counter(readings, bits=8, largest_increment=largest)) == expected


@pytest.mark.parametrize("block", [1, 2, 7, 1000])
def test_blocks_join(monkeypatch, block):
    rng = np.random.default_rng(20)
    true = np.cumsum(rng.integers(0, 60, 500))
    readings = true % 256
    readings[200:] = (true[200:] - true[199]) % 256  # the supply failed after reading 199
    expected = _plain_loop(readings.tolist(), 8, 60)
    monkeypatch.setattr(counting, "_BLOCK", block)
    run = unwrap_counter(readings, bits=8, largest_increment=60)
    assert _found(run) == expected
    assert len(run.rollovers) > 20


def test_a_reset_is_told_from_a_roll_over_and_reported():
    readings = [40_000, 65_000, 20_000, 30, 5_000]
    run = unwrap_counter(readings, bits=16, largest_increment=25_000)
    assert run.rollovers.tolist() == [2]
    assert run.resets.tolist() == [3]
    assert run.resets.size
    assert "at least" in str(run)
    # 25 000, then 20 536 over the end, at least 30 since the reset, and 4970
    assert run.total == 25_000 + 20_536 + 30 + 4_970


def test_the_largest_increment_decides():
    roll_over = unwrap_counter([60_000, 100], bits=16)
    assert (roll_over.total, roll_over.rollovers.tolist(), roll_over.resets.tolist()) == (5_636, [1], [])
    reset = unwrap_counter([60_000, 100], bits=16, largest_increment=5_635)
    assert (reset.total, reset.rollovers.tolist(), reset.resets.tolist()) == (100, [], [1])


@settings(max_examples=50)
@given(data=st.data(), cut=st.integers(0, 60))
def test_chunks_that_share_a_reading_add_up(data, cut):
    readings = np.array(data.draw(true_counts(30_000))) % 2**16
    readings[len(readings) // 2 :] //= 4
    cut = min(cut, len(readings) - 1)
    try:
        whole = unwrap_counter(readings, bits=16)
    except QuantityError:
        return
    first, second = (unwrap_counter(part, bits=16) for part in (readings[: cut + 1], readings[cut:]))
    assert first.total + second.total == whole.total
    assert [*first.resets, *second.resets + cut] == whole.resets.tolist()


@pytest.mark.parametrize("dtype", [np.uint16, np.int32, np.uint32, np.int64, np.uint64, ">u2"])
def test_any_integer_type_and_never_written_to(dtype):
    readings = np.array([65_000, 65_535, 0, 500], dtype)
    readings.flags.writeable = False
    run = unwrap_counter(readings, bits=16)
    assert run.counts.dtype == np.int64
    assert run.counts.tolist() == [65_000, 65_535, 65_536, 66_036]


def test_counts_beyond_the_reach_of_floats_stay_exact():
    turns = 2**22 + 2
    readings = np.tile(np.array([0, 2**31], dtype=np.uint32), turns)
    run = unwrap_counter(readings, bits=32)
    assert run.total == (2 * turns - 1) * 2**31
    plus_one = unwrap_counter(np.append(readings, np.uint32(2**31 + 1)), bits=32)
    assert plus_one.total == run.total + 1 > 2**53


def test_none_and_one_reading():
    assert unwrap_counter([], bits=16).total == 0
    one = unwrap_counter([7], bits=16)
    assert (one.counts.tolist(), one.total, one.resets.size) == ([7], 0, 0)


def test_the_narrowest_counter_has_one_bit():
    run = unwrap_counter([0, 1, 0, 1, 1], bits=1)
    assert (run.counts.tolist(), run.rollovers.tolist(), run.resets.size) == ([0, 1, 2, 3, 3], [2], 0)


@pytest.mark.parametrize(
    ("readings", "options", "message"),
    [
        ([1, 70_000], {"bits": 16}, r"readings\[1\] is 70000; a counter of 16 bits"),
        ([1, -2], {"bits": 16}, r"readings\[1\] is -2"),
        ([0, 1, -1, 70_000], {"bits": 16}, r"readings\[2\] is -1"),
        ([0, 65_535, 65_536], {"bits": 16}, r"readings\[2\] is 65536"),
        ([1.0, 2.0], {"bits": 16}, "whole numbers"),
        (["1"], {"bits": 16}, "whole numbers"),
        ([[1, 2]], {"bits": 16}, r"shape \(1, 2\)"),
        (5, {"bits": 16}, r"shape \(\)"),
        ([1], {"bits": 0}, "bits"),
        ([1], {"bits": 33}, "bits"),
        ([1], {"bits": 16.5}, "bits"),
        ([1], {"bits": True}, "bits"),
        ([1, True], {"bits": 16}, "truth value"),
        (np.ma.array([1, 2], mask=[0, 1]), {"bits": 16}, "masked"),
        ([1], {"bits": 16, "largest_increment": 0}, "1 to 65535"),
        ([1], {"bits": 16, "largest_increment": 65_536}, "1 to 65535"),
        ([1], {"bits": 16, "largest_increment": 1.5}, "1 to 65535"),
        ([9, 5_000], {"bits": 16, "largest_increment": 100}, r"readings\[1\] is 5000 after 9: an advance of 4991"),
        (
            [0, 100, 300, 310, 100],  # an advance of the largest increment is none too many
            {"bits": 16, "largest_increment": 100},
            r"readings\[2\] is 300 after 100: an advance of 200, or of at least 300 ",
        ),
        ([50_000, 40_000], {"bits": 16}, r"readings\[1\] is 40000 after 50000: an advance of 55536"),
    ],
)
def test_refusals(readings, options, message):
    with pytest.raises(QuantityError, match=message):
        unwrap_counter(readings, **options)


def test_the_first_misfit_is_named_across_blocks(monkeypatch):
    monkeypatch.setattr(counting, "_BLOCK", 4)
    with pytest.raises(QuantityError, match=r"readings\[9\] is 900 after 9"):
        unwrap_counter([*range(1, 10), 900, 5, 800], bits=16, largest_increment=100)
    with pytest.raises(QuantityError, match=r"readings\[6\] is 70000"):
        unwrap_counter([*range(6), 70_000, 80_000], bits=16)


@pytest.mark.parametrize(
    ("record", "name"), [(counting.PulseCounts, "counts"), (counting.FrequencyRecord, "frequency_hz")]
)
def test_a_record_keeps_its_values_when_the_arrays_are_filled_anew(record, name):
    edges, values = np.arange(4.0) * 60.0, np.array([10, 20, 30], dtype=float if name != "counts" else np.int64)
    made = record(edges, values)
    edges += 5.0
    values[:] = -5
    assert getattr(made, name).tolist() == [10, 20, 30]
    assert made.edges_s.tolist() == [0.0, 60.0, 120.0, 180.0]
