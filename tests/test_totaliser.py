"""Totals: against a simulation that takes one pulse after another. Totalisers and flows are invented."""

from decimal import ROUND_DOWN, ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from registries import ONE_REGISTRY

import fuelunits as fu
from fuelunits.errors import FuelUnitsError

L_H = fu.Indicator("11412 pulse/L", reads="L/h", total_resolution="0.1 L")
K = Fraction(11412)


def pulse_times(segments):
    """Return the time of each pulse in seconds: one each time that the flow has turned the rotor by one pulse more."""
    now, fraction_of_pulse, times = Fraction(0), Fraction(0), []
    for hz, seconds in segments:
        left, at = Fraction(seconds), now
        while hz and left * hz >= 1 - fraction_of_pulse:
            wait = (1 - fraction_of_pulse) / hz
            at, left, fraction_of_pulse = at + wait, left - wait, Fraction(0)
            times.append(at)
        fraction_of_pulse += left * hz
        now += seconds
    return times, now


def simulated(
    segments,
    update,
    per_pulse,
    kept=None,
    truncates=False,
    least=0,
    step=None,
    rolls_over_at=None,
    to_step=ROUND_HALF_UP,
):
    """Return the counter of a totaliser that adds at each update what has come since, one pulse at a time."""
    times, end = pulse_times(segments)
    counter, waiting, tick = Fraction(0), 0, update
    times = [*times, None]
    while tick <= end:
        while times[0] is not None and times[0] <= tick:
            waiting += 1
            times.pop(0)
        if waiting >= least:
            amount = waiting * per_pulse
            whole, rest = divmod(amount, kept) if kept else (amount, 0)
            if kept:
                whole = (whole + (0 if truncates or 2 * rest < kept else 1)) * kept
            counter += whole
        waiting, tick = 0, tick + update
    if step:
        exact = Decimal(counter.numerator) / Decimal(counter.denominator) / Decimal(str(float(step)))
        counter = Fraction(exact.quantize(Decimal(1), to_step)) * step
    while rolls_over_at and counter >= rolls_over_at:
        counter -= rolls_over_at
    return counter


SEGMENTS = st.lists(
    st.tuples(
        st.fractions(0, 40, max_denominator=60).filter(lambda hz: hz == 0 or hz > Fraction(1, 60)),
        st.fractions(Fraction(1, 4), 12, max_denominator=8),
    ),
    min_size=1,
    max_size=4,
).filter(lambda segments: any(hz for hz, _ in segments))


@settings(max_examples=80, deadline=None)
@given(
    SEGMENTS,
    st.sampled_from(["1 s", "0.5 s", "0.7 s", "3 s"]),
    st.sampled_from([None, "0.001 L", "0.0002 L", "0.003 L"]),
    st.booleans(),
    st.sampled_from([None, "1 L/h", "2.5 L/h"]),
    st.sampled_from([None, "0.002 L"]),
    st.booleans(),
)
def test_total_of_a_simulation_pulse_by_pulse(segments, update, kept, truncates, cutoff, rolls, cuts_off):
    step = "0.001 L" if rolls else "0.01 L"
    indicator = fu.Indicator(
        "11412 pulse/L", reads="L/h", total_resolution=step, low_flow_cutoff=cutoff, truncates=cuts_off
    )
    flows = [(f"{float(hz)!r} Hz", f"{float(seconds)!r} s") for hz, seconds in segments]
    segments = [tuple(Fraction(text.split()[0]) for text in pair) for pair in flows]
    total = fu.displayed_total(
        indicator, flows, update=update, kept_step=kept, truncates=truncates and kept is not None, rolls_over_at=rolls
    )
    every = Fraction(update.split()[0])
    least = Fraction(cutoff.split()[0]) / 3600 * K * every if cutoff else 0
    expected = simulated(
        segments,
        every,
        1 / K,
        Fraction(kept.split()[0]) if kept else None,
        truncates and kept is not None,
        least,
        indicator.total_display.step,
        Fraction("0.002") if rolls else None,
        ROUND_DOWN if cuts_off else ROUND_HALF_UP,
    )
    assert total.displayed == expected
    assert total.exact == sum(hz * seconds for hz, seconds in segments) / K
    assert sum(total.causes.values()) == total.displayed - total.exact


def test_carried_truncated_and_rounded_for_an_hour():
    """40 L/h is 126.8 pulses a second, 11.1111 mL: truncated to 1 mL at each second, 11 mL, and 1 % is lost."""
    totals = {
        "carried": fu.displayed_total(L_H, [("40 L/h", "1 h")], update="1 s"),
        "rounded": fu.displayed_total(L_H, [("40 L/h", "1 h")], update="1 s", kept_step="0.001 L"),
        "truncated": fu.displayed_total(L_H, [("40 L/h", "1 h")], update="1 s", kept_step="0.001 L", truncates=True),
        "up": fu.displayed_total(L_H, [("41.9 L/h", "1 h")], update="1 s", kept_step="0.001 L"),
    }
    assert [float(total.displayed) for total in totals.values()] == [40.0, 39.6, 39.6, 43.2]
    assert totals["truncated"].relative_error == pytest.approx(-0.01)
    assert totals["up"].relative_error == pytest.approx(43.2 / 41.9 - 1.0)
    assert totals["carried"].causes["rounding at each update"] == 0


def test_pulses_below_the_cutoff_are_lost():
    """20 min of 3 L/h are 1 L, which an indicator that shows nothing below 4 L/h loses; without a cutoff they count."""
    flows = [("40 L/h", "30 min"), ("3 L/h", "20 min"), ("0 L/h", "5 min")]
    cut = fu.Indicator("11412 pulse/L", reads="L/h", total_resolution="0.1 L", low_flow_cutoff="4 L/h")
    total = fu.displayed_total(cut, flows, update="1 s")
    assert (total.exact, total.displayed) == (21, 20)
    assert total.causes["pulses lost below the cutoff"] == -1
    assert total.relative_error == pytest.approx(-1.0 / 21.0)
    assert fu.displayed_total(L_H, flows, update="1 s").displayed == 21
    at_it = fu.Indicator("3600 pulse/L", reads="L/h", low_flow_cutoff="4 L/h")  # 4 pulses a second, kept
    assert fu.displayed_total(at_it, [("4 L/h", "1 h")], update="1 s").displayed == 4


def test_the_counter_rolls_over():
    year = [("60 L/h", "1000 h"), ("30 L/h", "1.7 h")]
    total = fu.displayed_total(L_H, year, update="1 s", rolls_over_at="1000 L")
    assert (total.exact, total.displayed, total.causes["roll-over"]) == (60051, 51, -60000)
    assert total.relative_error == 0.0
    just = fu.displayed_total(L_H, [("999.96 L/h", "1 h")], update="1 s", rolls_over_at="1000 L")
    assert just.displayed == 0  # rounds to 1000.0, which the counter displays as 0


def test_a_mass_total_by_the_fixed_density():
    lb = fu.Indicator("43186 pulse/gal", reads="pph", fixed_density="6.7 lb/gal", total_resolution="1 lb")
    total = fu.displayed_total(lb, [("100 lb/h", "2 h"), ("10 gal/h", "1 h")], update="0.5 s")
    assert (total.exact, total.displayed) == (267, 267)
    assert total.rows()[0].keys() == {"cause", "lb"}


def test_what_a_person_reads():
    total = fu.displayed_total(L_H, [("40 L/h", "1 h")], update="1 s", kept_step="0.001 L", truncates=True)
    assert "39.6 of 40.000 L" in repr(total)
    for part in ("Caution", "-1 %", *total.causes):
        assert part in str(total)
    assert [row[1] for row in total.report().tables[0].rows if row[1] != "+0.0000"] == ["-0.4000"]
    high = fu.displayed_total(L_H, [("40 L/h", "1.5 min")], update="90 s", kept_step="0.6 L")
    assert "+20 %" in str(high)  # 1 L as two steps of 0.6 L
    assert total.as_dict()["displayed"] == 39.6
    assert len(total.to_frame()) == len(total.causes)


def test_quantities_count_as_the_decimals_that_they_print():
    """Of an update of 0.1 s, as a float a little more than a tenth, an hour has 36,000 all the same."""
    q = ONE_REGISTRY.Quantity
    cut = fu.Indicator("11412 pulse/L", reads="L/h", total_resolution="0.1 L", low_flow_cutoff="2.1 L/h")
    text = {"flows": [("2.1 L/h", "360.1 s"), ("40.1 L/h", "0.3 h")], "update": "0.1 s", "kept_step": "0.0001 L"}
    given = {"flows": [(q(2.1, "L/h"), q(360.1, "s")), (q(40.1, "L/h"), q(0.3, "h"))]}
    given |= {"update": q(0.1, "s"), "kept_step": q(0.0001, "L")}
    for truncates in (False, True):
        for below in (cut, L_H):
            totals = [fu.displayed_total(below, **each, truncates=truncates) for each in (given, text)]
            assert totals[0].displayed == totals[1].displayed
            assert totals[0].causes == pytest.approx(totals[1].causes, abs=1e-14)
    thousandths = fu.Indicator("1000 pulse/L", reads="L/h", total_resolution="0.1 L")
    flows = [("3600 L/h", "1 h")]
    total = fu.displayed_total(thousandths, flows, update=q(0.1, "s"), kept_step=q(0.1, "L"), truncates=True)
    assert (total.displayed, total.exact) == (3600, 3600)
    assert fu.displayed_total(thousandths, [("3600 L/h", q(0.7, "s"))], update="0.1 s").displayed == Fraction("0.7")


@pytest.mark.parametrize(
    ("change", "match"),
    [
        ({"flows": []}, "pairs"),
        ({"flows": [("40 L/h",)]}, "pairs"),
        ({"flows": [("40 L/h", "1 h"), ("40 L/h",)]}, "pairs"),
        ({"flows": ["40 L/h"]}, "pairs"),
        ({"flows": [("0 L/h", "1 h")]}, "nothing flows"),
        ({"flows": [("40 L/h", "-1 h")]}, "positive"),
        ({"update": "0 s"}, "positive"),
        ({"truncates": True}, "kept_step"),
        ({"rolls_over_at": "99.95 L"}, "whole steps"),
        ({"indicator": fu.Indicator("11412 pulse/L", reads="L/h"), "rolls_over_at": "100 L"}, "whole steps"),
        ({"indicator": fu.Indicator("11412 pulse/L", reads="L/h", channels=2)}, "one channel"),
        ({"kept_step": "0.001 kg"}, "mass"),
    ],
)
def test_refusals(change, match):
    with pytest.raises(FuelUnitsError, match=match):
        fu.displayed_total(**{"indicator": L_H, "flows": [("40 L/h", "1 h")], "update": "1 s"} | change)
