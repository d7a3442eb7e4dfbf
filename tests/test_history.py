"""Histories of transducers against the documents' own examples and against simulation; the shop is invented."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from scipy import optimize, stats

import fuelunits as fu
from fuelunits.errors import FuelUnitsError
from fuelunits.records.encoding import from_dict, to_dict
from fuelunits.records.history import _has_two_halves, _outlier_limit
from fuelunits.uncertainty.budget import nominal


def calibration(k, scatter=1e-4, seed=1, balance=None, seconds=600.0):
    """Three weighings about a K in pulse/L, with everything stated."""
    random = np.random.default_rng(seed)
    shared = {"balance_factor": balance} if balance is not None else {}
    shared["liquid_density"] = fu.measured("0.8 kg/L", uncertainty="0.1 kg/m^3", name="density")
    return fu.calibrate(
        fu.GravimetricRun.read(
            pulses=100_000,
            mass_reading=fu.measured(
                f"{100_000 / (k * (1.0 + random.normal(0.0, scatter))) * 0.8:.6f} kg", uncertainty="2 g", name="reading"
            ),
            duration=f"{seconds} s",
            liquid_temperature="20 degC",
            air_density="1.2 kg/m^3",
            **shared,
        )
        for _ in range(3)
    )


def history(ks, step_days=365, repaired=(), **others):
    first = date(2031, 1, 15)
    return fu.TransducerHistory(
        "A-0117",
        [
            fu.CalibrationEvent(
                (first + timedelta(days=step_days * i)).isoformat(),
                calibration(k, seed=i, **others),
                repaired=i in repaired,
            )
            for i, k in enumerate(ks)
        ],
    )


# NCSLI RP-1 method A3, numbers of a tutorial of the 2019 NCSL International symposium; the last is an open library's.
@pytest.mark.parametrize(
    ("x", "n", "interval", "target", "printed"),
    [(15, 20, 365, 0.95, 231), (14, 20, 365, 0.95, 205), (42, 50, 365, 0.9, 329)],
)
def test_intervals_by_reliability(x, n, interval, target, printed):
    assert round(fu.interval_by_reliability(x, n, interval, target=target)) == printed


def test_an_interval_is_at_most_doubled_and_stays_where_nothing_is_shown():
    assert fu.interval_by_reliability(0, 20, 365.0) == 182.5
    assert fu.interval_by_reliability(19, 20, 365.0) == 365.0
    assert fu.interval_by_reliability(100, 100, 365.0) > 365.0
    assert [fu.interval_by_reliability(n, n, 365.0) for n in (1, 2, 5, 20)] == [365.0] * 4  # 0.95^20 is 36 %


@pytest.mark.parametrize("n", [1, 3, 20, 60, 200])
def test_an_interval_is_changed_by_chance_as_seldom_as_its_confidence_says(n):
    # the reliability truly is the target; Q of one half or more is a tail of a quarter or less, on either side
    counts = np.arange(n + 1)
    chance = stats.binom.pmf(counts, n, 0.95)
    found = np.array([fu.interval_by_reliability(int(x), n, 365.0) for x in counts])
    assert chance[found > 365.0].sum() <= 0.25
    assert chance[found < 365.0].sum() <= 0.25


def test_a_change_is_judged_by_its_own_uncertainty():
    small, large = history([11412.0, 11412.5]), history([11412.0, 11440.0])
    assert abs(small.rows()[1]["e_n"]) < 1.0
    assert large.rows()[1]["e_n"] > 1.0
    assert "no significant change" in repr(small)
    assert "significant change at 2032" in repr(large)


def test_what_two_calibrations_share_is_taken_out():
    balance = fu.uncertain(1.0, 0.0005, name="balance")
    apart = [fu.uncertain(1.0, 0.0005, name="balance") for _ in range(2)]
    one, other = (calibration(11412.0, seed=i, balance=balance) for i in range(2))
    shared = fu.TransducerHistory(
        "A", [fu.CalibrationEvent("2031-01-01", one), fu.CalibrationEvent("2032-01-01", other)]
    )
    one, other = (calibration(11412.0, seed=i, balance=each) for i, each in enumerate(apart))
    separate = fu.TransducerHistory(
        "A", [fu.CalibrationEvent("2031-01-01", one), fu.CalibrationEvent("2032-01-01", other)]
    )
    assert shared.rows()[1]["expanded_uncertainty"] < 0.7 * separate.rows()[1]["expanded_uncertainty"]
    loaded = from_dict(to_dict(shared))
    assert loaded.rows()[1]["expanded_uncertainty"] == pytest.approx(
        shared.rows()[1]["expanded_uncertainty"], rel=1e-12
    )


def test_a_transducer_calibrated_at_other_flows_is_not_said_to_drift_or_to_have_changed():
    # what truly happens: K rises by 0.5 % for ten times the flow, as that of a sound turbine, and nothing else changes
    def sound(seconds, seed):
        return calibration(11_412 * (1.0 + 0.005 * np.log10(600.0 / seconds)), seed=seed, seconds=seconds)

    dates = ["2031-01-15", "2032-01-15", "2033-01-15"]
    for spans, compared in (
        ((600.0, 120.0, 60.0), False),
        ((600.0, 60.0, 600.0), False),
        ((600.0, 590.0, 610.0), True),
    ):
        made = {day: sound(span, seed) for seed, (day, span) in enumerate(zip(dates, spans, strict=True))}
        found = fu.TransducerHistory("A", [fu.CalibrationEvent(day, each) for day, each in made.items()])
        assert [row["e_n"] is not None for row in found.rows()[1:]] == [compared, compared]
        assert (found.drift() is not None) == compared
        assert ("undecided" in str(found)) == ("undecided" in str(fu.compare_transducers(made))) == (not compared)
        assert "significant change at" not in str(found)


@pytest.mark.parametrize(("seconds", "decided"), [([600.0] * 6, True), ([625.0, *[600.0] * 4, 560.0], False)])
def test_a_drift_that_is_not_judged_is_undecided(seconds, decided):
    """A worn bearing: K rises by 0.05 % each year; two calibrations in succession are alike, the first and last not."""
    ks = [11_412.0 * (1.0 + 5e-4 * year) for year in range(6)]
    made = [calibration(k, seed=i, seconds=each) for i, (k, each) in enumerate(zip(ks, seconds, strict=True))]
    for repaired in (False, True):
        old = fu.CalibrationEvent("2030-01-15", calibration(11_300.0, seed=9))
        events = [fu.CalibrationEvent(f"{2031 + i}-01-15", each, repaired and not i) for i, each in enumerate(made)]
        title = fu.TransducerHistory("A", [old, *events] if repaired else events).report().title
        assert ("significant drift" in title) is decided
        assert ("undecided" in title) is not decided
        assert "undecided" not in fu.TransducerHistory("A", events[:2]).report().title


@pytest.mark.parametrize(("seconds", "said"), [(600.0, False), (601.0, False), (582.0, True)])
def test_a_change_at_another_flow_says_that_k_may_have_changed_with_it(seconds, said):
    """With a droop of 3 % about 80 Hz, a sound transducer whose flow was set within 3 % changed in half of cases."""
    made = {"2031-05-17": calibration(11_412.0), "2032-05-17": calibration(11_480.0, seed=2, seconds=seconds)}
    found = str(fu.TransducerHistory("A", [fu.CalibrationEvent(day, each) for day, each in made.items()]))
    assert "significant change at" in found
    assert ("K may have changed" in found) == said


def test_wear_that_comes_back_is_not_called_stable():
    """Each step within its limit, and 0.27 % between the first and the fourth, of U 0.05 %: no drift is left to see."""
    title = history([11_412.0 * (1.0 + 9e-4 * n) for n in (0, 1, 2, 3, 2, 1, 0)]).report().title
    assert "no significant change" not in title or "from one to the next" in title


def test_drift_is_found_and_not_invented():
    """A true drift of 0.1 % a year lies within U, and zero does not."""
    drift = history([11412.0 * (1.0 + 0.001 * i) for i in range(5)]).drift()
    assert drift.calibrations == 5
    assert abs(drift.per_year - 0.001) < drift.expanded_uncertainty < drift.per_year


def test_a_slow_drift_is_no_stable_transducer_though_no_calibration_differs_from_the_one_before():
    creeping = history([11_412.0 * (1.0 + 1e-4 * year) for year in range(11)])
    assert max(abs(row["e_n"]) for row in creeping.rows()[1:]) < 1.0
    assert abs(creeping.drift().per_year) > creeping.drift().expanded_uncertainty
    assert "significant drift" in creeping.report().title
    assert "significant drift" not in history([11_412.0] * 4).report().title
    assert "no significant" not in history([11_412.0]).report().title


def test_repaired_is_a_truth_value():
    with pytest.raises(FuelUnitsError, match="repaired"):
        fu.CalibrationEvent("2031-05-17", calibration(11_412.0), repaired="no")


def test_a_drift_is_the_weighted_line_of_a_library():
    """The last is known ten times worse; scipy fits the same weights, which hold the scatter about the line as well."""
    ks, spreads = [11412.0, 11420.0, 11440.0, 11430.0], [1e-4, 1e-4, 1e-4, 1e-3]
    made = [calibration(k, scatter=spread, seed=i) for i, (k, spread) in enumerate(zip(ks, spreads, strict=True))]
    found = fu.TransducerHistory("A", [fu.CalibrationEvent(f"203{i}-01-15", each) for i, each in enumerate(made)])
    days = np.array([0.0, 365.0, 730.0, 1096.0])
    years, k = days / 365.25, np.array([each.k_factor.per("L") for each in made])
    relative, u = k / k[0] - 1.0, np.array([each.expanded_uncertainty() / 2.0 for each in made])
    about = stats.linregress(years, relative)
    scatter = ((relative - about.intercept - about.slope * years) ** 2).sum() / 2.0
    (slope, _), _ = optimize.curve_fit(lambda t, b, a: a + b * t, years, relative, sigma=np.sqrt(u**2 + scatter))
    assert found.drift().per_year == pytest.approx(slope, rel=1e-6)
    assert abs(slope / about.slope - 1.0) > 0.02
    assert f"{100.0 * slope:+.3g} %" in str(found)


def test_the_uncertainty_of_a_drift_without_scatter_is_that_of_its_calibrations():
    # by hand: the slope of a line through three points, each known to u, has u over the root of the sum of squares
    u, years = calibration(11412.0, scatter=5e-7).expanded_uncertainty() / 2.0, 365.0 / 365.25
    drift = history([11412.0] * 3, scatter=5e-7).drift()
    assert drift.expanded_uncertainty == pytest.approx(2.0 * u / (2.0 * years**2) ** 0.5, rel=1e-4)


def test_drift_begins_anew_after_a_repair():
    ks = [11412.0, 11430.0, 11448.0, 11300.0, 11300.2, 11299.9]
    assert abs(history(ks, repaired={3}).drift().per_year) < 1e-4
    assert history(ks, repaired={3}).drift().calibrations == 3
    assert history(ks[:4], repaired={3}).drift() is None
    assert "2034-01-14 (repaired)" in history(ks, repaired={3}).report().title


def test_nothing_is_said_where_an_uncertainty_is_missing():
    bare = fu.calibrate(
        [
            fu.GravimetricRun.read(
                pulses=100_000,
                mass_reading="7 kg",
                duration="600 s",
                liquid_temperature="20 degC",
                liquid_density="0.8 kg/L",
                air_density="1.2 kg/m^3",
            )
        ]
    )
    events = [fu.CalibrationEvent("2031-01-01", bare), fu.CalibrationEvent("2032-01-01", calibration(11412.0))]
    found = fu.TransducerHistory("A", events)
    assert found.rows()[1]["e_n"] is None
    assert "undecided" in repr(found)


def few_runs(random, count, k=11412.0, reproducibility=0.0, measure=None):
    """A calibration of a transducer whose runs scatter by 0.02 %, into a measure known to 10 parts per million."""
    common = {
        "measure_volume_l": measure or fu.uncertain(20.0, 0.0002, name="measure"),
        **dict.fromkeys(("liquid_temperature_c", "measure_temperature_c"), fu.uncertain(20.0, 0.1, name="thermometer")),
        "measure_expansion_per_k": 50e-6,
        "liquid_expansion_per_k": 9e-4,
        "duration_s": 60.0,
    }
    k *= 1.0 + random.normal(0.0, reproducibility)
    pulses = 20.0 * k * (1.0 + random.normal(0.0, 2e-4, count))
    return fu.calibrate(fu.VolumetricRun(pulses=float(each), **common) for each in pulses)


@pytest.mark.parametrize("runs", [2, 3])
def test_an_unchanged_transducer_is_rarely_said_to_have_changed(runs):
    """Two or three runs know their own scatter badly: with k = 2 a fifth or a tenth were changes."""
    random, false = np.random.default_rng(runs), 0
    for _ in range(120):
        events = [fu.CalibrationEvent(day, few_runs(random, runs)) for day in ("2031-05-17", "2032-05-17")]
        false += abs(fu.TransducerHistory("A", events).rows()[1]["e_n"]) > 1.0
    assert false <= 120 * 0.0455 + 3.0 * (120 * 0.0455 * 0.9545) ** 0.5
    large = [
        fu.CalibrationEvent("2031-05-17", few_runs(random, 3)),
        fu.CalibrationEvent("2032-05-17", few_runs(random, 3, 11600.0)),
    ]
    assert fu.TransducerHistory("A", large).rows()[1]["e_n"] > 1.0


@pytest.mark.simulation
def test_the_uncertainty_of_a_drift_covers_what_three_calibrations_can_tell():
    """Without a true drift, zero lies within U of 95.45 % of the slopes; twice the standard uncertainty held 71 %."""
    random, covered = np.random.default_rng(7), 0
    for _ in range(150):
        found = [few_runs(random, 3, reproducibility=1e-3) for _ in range(3)]
        events = [fu.CalibrationEvent(f"203{i}-05-17", each) for i, each in enumerate(found)]
        drift = fu.TransducerHistory("A", events).drift()
        covered += abs(drift.per_year) <= drift.expanded_uncertainty
    assert covered >= 150 * 0.9545 - 3.0 * (150 * 0.9545 * 0.0455) ** 0.5


def ten_years(random, measures, errors=(0.0, 0.0), reproducibility=0.0):
    """A history of a constant K, in which the second measure, of its own error, takes over after five years."""
    ks = [11_412.0 * (1.0 + errors[year // 5]) for year in range(10)]
    made = [few_runs(random, 3, k, reproducibility, measures[year // 5]) for year, k in enumerate(ks)]
    return fu.TransducerHistory("A", [fu.CalibrationEvent(f"{2030 + i}-05-17", each) for i, each in enumerate(made)])


def two_measures():
    return [fu.uncertain(20.0, 0.006, name=f"measure {i}") for i in range(2)]


@pytest.mark.simulation
def test_a_measure_that_takes_over_halfway_is_seldom_a_drift():
    """Known to 0.03 %, each acts in five of ten calibrations; taken as independent in each, a quarter were drifts."""
    random, covered = np.random.default_rng(3), 0
    for _ in range(60):
        drift = ten_years(random, two_measures(), random.normal(0.0, 3e-4, 2)).drift()
        covered += abs(drift.per_year) <= drift.expanded_uncertainty
    assert covered >= 60 * 0.9545 - 3.0 * (60 * 0.9545 * 0.0455) ** 0.5


@pytest.mark.parametrize("reproducibility", [0.0, 4e-4])
def test_a_cause_that_calibrations_share_counts_by_how_it_turns_the_line(reproducibility):
    """By hand: one measure in all years turns it not, two with half of them each do, beside the scatter."""
    one = two_measures()[:1] * 2
    alone, both = (
        ten_years(np.random.default_rng(5), each, reproducibility=reproducibility) for each in (one, two_measures())
    )
    without = ten_years(np.random.default_rng(5), [None] * 2, reproducibility=reproducibility)
    found = [each.drift().expanded_uncertainty for each in (without, alone, both)]
    assert found[1] == pytest.approx(found[0], rel=0.2)
    years = np.arange(10) - 4.5
    assert found[2] ** 2 - found[1] ** 2 == pytest.approx(
        2.0 * (2.0 * 3e-4 * years[5:].sum() / (years @ years)) ** 2, rel=0.1
    )


def test_a_drift_of_incomplete_calibrations_has_no_uncertainty():
    bare = {"measure_volume_l": 20.0, "measure_expansion_per_k": 50e-6, "liquid_expansion_per_k": 9e-4}
    run = dict.fromkeys(("liquid_temperature_c", "measure_temperature_c"), 20.0) | bare | {"duration_s": 60.0}
    events = [
        fu.CalibrationEvent(f"203{i}-05-17", fu.calibrate([fu.VolumetricRun(pulses=228_240 + 10 * i, **run)]))
        for i in range(3)
    ]
    found = fu.TransducerHistory("A", events)
    assert np.isnan(found.drift().expanded_uncertainty)
    assert "not known" in str(found)
    assert "not known" in str(fu.compare_transducers({str(i): each.calibration for i, each in enumerate(events)}))
    far = fu.calibrate([fu.VolumetricRun(pulses=230_000, **run)])
    table = fu.compare_transducers({**{str(i): e.calibration for i, e in enumerate(events)}, "far": far}).tables[0]
    assert [row[0] for row in table.rows if row[-1] == "stands out"] == ["far"]
    alike = fu.compare_transducers({str(i): e.calibration for i, e in enumerate(events)}, tolerance="9 %").tables[0]
    assert {row[-1] for row in alike.rows} == {"undecided"}


def test_what_lies_within_its_own_uncertainty_does_not_stand_out():
    batch = {f"A-{i}": calibration(k, scatter=1e-6, seed=i) for i, k in enumerate([11410.0, 11410.5, 11410.2, 11409.9])}
    known, not_well = (calibration(11450.0, scatter=spread, seed=9) for spread in (1e-6, 3e-3))
    assert "A-9 stands out" in fu.compare_transducers({**batch, "A-9": known}).to_text()
    low = calibration(11370.0, scatter=1e-6, seed=9)
    assert "A-9 stands out" in fu.compare_transducers({**batch, "A-9": low}).to_text()
    assert "none stands out" in fu.compare_transducers({**batch, "A-9": not_well}).to_text()


def with_plain_density(made):
    return fu.calibrate(replace(run, liquid_density_kg_m3=nominal(run.liquid_density_kg_m3)) for run in made.runs)


def test_one_of_unknown_uncertainty_is_undecided_among_others_that_are_known():
    """A sound transducer, of whose density no uncertainty was stated: its K is off by what that adds."""
    batch = {f"A-{i}": calibration(k, scatter=1e-6, seed=i) for i, k in enumerate([11410.0, 11410.5, 11410.2, 11409.9])}
    plain = with_plain_density(calibration(11_416.0, scatter=1e-6, seed=9))
    for tolerance in (None, "0.2 %"):
        found = fu.compare_transducers({**batch, "odd": plain}, tolerance=tolerance)
        assert "stands out" not in found.title.replace("none stands out", "")
        assert "undecided" in found.title
        assert "odd" in found.title
        assert found.tables[0].rows[-1][-1] == "undecided"
        # nor does one that is known well stand out of others of which nothing is known: they may be off together
        others = {serial: with_plain_density(each) for serial, each in batch.items()}
        known = fu.compare_transducers(
            {**others, "new": calibration(11_416.0, scatter=1e-6, seed=9)}, tolerance=tolerance
        )
        assert "stands out" not in known.title.replace("none stands out", "")
        assert known.tables[0].rows[-1][-1] == "undecided"


def test_an_impossible_target_is_refused():
    for wrong in (0.0, 1.0, -0.5, float("nan"), "0.9", True):
        with pytest.raises(FuelUnitsError, match="target"):
            fu.interval_by_reliability(15, 20, 365.0, target=wrong)


def test_a_batch_names_what_stands_out():
    batch = {f"A-{i}": calibration(k, seed=i) for i, k in enumerate([11410.0, 11412.0, 11415.0, 11409.0, 11800.0])}
    text = fu.compare_transducers(batch).to_text()
    assert "A-4 stands out" in text
    assert "none stands out" in fu.compare_transducers({k: v for k, v in batch.items() if k != "A-4"}).to_text()
    text = str(fu.compare_transducers(batch))
    assert text == fu.compare_transducers(batch).to_text()
    with pytest.raises(FuelUnitsError, match="three or more"):
        fu.compare_transducers({"A": batch["A-0"]})


def test_three_of_which_one_is_off_are_not_said_to_be_alike():
    """Simulated: two K within 0.3 % and one 2 % off, which Grubbs' test seldom names."""
    random = np.random.default_rng(6)
    for _ in range(10):
        off = random.permutation([*random.normal(0.0, 3e-3, 2), 0.02])
        made = {str(i): calibration(11_400.0 * (1.0 + each), scatter=1e-6, seed=i) for i, each in enumerate(off)}
        assert "none stands out" not in fu.compare_transducers(made).title
        assert "stands out" in fu.compare_transducers(made, tolerance="1 %").title
    near = {str(i): calibration(11_400.0 + i, scatter=1e-3, seed=i) for i in range(3)}
    assert "none stands out" in fu.compare_transducers(near).title


@pytest.mark.simulation
@pytest.mark.parametrize("count", [3, *(pytest.param(count, marks=pytest.mark.long) for count in (4, 5, 10, 30))])
def test_one_of_a_sound_batch_is_seldom_said_to_stand_out(count):
    # the K of sound transducers of one kind differ by 0.3 %, normally; each is known well
    random, false, trials = np.random.default_rng(count), 0, 100
    base = calibration(11_412.0)
    for _ in range(trials):
        made = {}
        for i, off in enumerate(random.normal(0.0, 3e-3, count)):
            pulses = round(100_000 * (1.0 + off))
            made[str(i)] = fu.calibrate(replace(run, pulses=fu.counted(pulses)) for run in base.runs)
        false += "stands out" in fu.compare_transducers(made).title.replace("none stands out", "")
    assert false / trials <= 0.05 + 3.0 * (0.05 * 0.95 / trials) ** 0.5


@pytest.mark.long
@pytest.mark.parametrize("count", [5, 8])
def test_a_transducer_of_another_day_seldom_stands_out(count):
    """Sound transducers, the density determined once for all but the last and anew for that: each is off by its own."""
    random, false, trials = np.random.default_rng(count), 0, 200
    base = calibration(11_412.0, scatter=0.0)
    for _ in range(trials):
        errors = random.normal(0.0, 8e-4, 2)
        days = [fu.uncertain(800.0 * (1.0 + error), 0.64, name=f"density {error}", unit="kg/m^3") for error in errors]
        made = {}
        for i in range(count):
            change = {"liquid_density_kg_m3": days[int(i == count - 1)]}
            pulses = [100_000 * (1.0 + random.normal(0.0, 5e-5)) for _ in base.runs]
            pairs = zip(base.runs, pulses, strict=True)
            made[str(i)] = fu.calibrate(replace(run, pulses=fu.counted(round(each)), **change) for run, each in pairs)
        false += "stands out" in fu.compare_transducers(made).title.replace("none stands out", "")
    assert false / trials <= 0.05 + 2.0 * (0.05 * 0.95 / trials) ** 0.5


@pytest.mark.parametrize(("count", "printed"), [(3, 1.155), (5, 1.715), (10, 2.290), (20, 2.709), (30, 2.908)])
def test_the_limit_of_an_outlier_is_that_of_tables(count, printed):
    # two-sided critical values of Grubbs' test at 5 %, as usually tabulated, from memory
    assert round(_outlier_limit(count), 3) == pytest.approx(printed, abs=0.0011)


def test_k_and_flow_are_printed_in_the_unit_of_the_calibrations():
    # with the litres in a US gallon of NIST SP 811, App. B.8
    per_l = calibration(11412.0, scatter=0.0)
    k, flow = f"{per_l.k_factor.per('L') * 3.785411784:.6g}", f"{per_l.flow_l_per_h / 3.785411784:.4g}"
    in_gallons = [fu.calibrate(calibration(11412.0, scatter=0.0, seed=i).runs, unit="gal") for i in range(3)]
    events = [fu.CalibrationEvent(f"203{i}-05-17", each) for i, each in enumerate(in_gallons)]
    compared = fu.compare_transducers({str(i): each for i, each in enumerate(in_gallons)}).to_text()
    for text in (str(fu.TransducerHistory("A", events)), compared):
        assert "pulse/gal" in text
        assert k in text
        assert "pulse/L" not in text
    assert flow in str(fu.TransducerHistory("A", events))
    mixed = fu.TransducerHistory("A", [*events, fu.CalibrationEvent("2034-05-17", per_l)])
    assert "pulse/L" in str(mixed)


@pytest.mark.parametrize(
    ("wrong", "count"), [((43054.5, 43054.6), 5), ((11903.6, 11906.1), 6), ((11776.9, 11782.0, 11017.2), 9)]
)
def test_several_that_are_wrong_do_not_hide_each_other(wrong, count):
    ks = [*(11_405.0 + 0.5 * i for i in range(count - len(wrong))), *wrong]
    batch = {str(i): calibration(k, scatter=1e-5, seed=i, seconds=600 * 11_405 / k) for i, k in enumerate(ks)}
    named = [row[0] for row in fu.compare_transducers(batch).tables[0].rows if row[-1] != "-"]
    assert named == [str(i) for i in range(count - len(wrong), count)]


@pytest.mark.parametrize(("slower", "noted"), [(1.08, True), (1.02, True), (1.005, False)])
def test_one_that_stands_out_at_another_flow_is_noted(slower, noted):
    """K of a sound transducer may differ at 8 % more flow: of 200 simulated batches, 199 named it."""
    ks = [*(11_405.0 + 0.5 * i for i in range(5)), 11_420.0]
    batch = {str(k): calibration(k, scatter=1e-5, seed=int(k), seconds=600 * 11_405 / k) for k in ks[:5]}
    batch["far"] = calibration(ks[5], scatter=1e-5, seed=9, seconds=600 * 11_405 / ks[5] * slower)
    text = " ".join(fu.compare_transducers(batch, tolerance="0.01 %").to_text().split())
    assert "far stands out" in text
    assert ("K may have changed" in text) == noted


@pytest.mark.parametrize("bench", ["one", "each its own"])
def test_within_a_tolerance_by_u_none_stands_out(bench):
    """Five transducers, of which one is truly off: by 0.2 and 0.4 % it is within 0.5 %, by 0.6 % it is not."""
    generator = np.random.default_rng(18)
    for off, expected in ((0.002, "-"), (0.004, "-"), (0.006, "stands out")):
        errors = generator.normal(0.0, 1e-4, 1 if bench == "one" else 5) * np.ones(5)  # of the density
        found = 11_412.0 * (1.0 + errors + (0.0, 2e-5, -2e-5, 1e-5, off))
        batch = {f"S{i}": calibration(k, scatter=1e-5, seed=i) for i, k in enumerate(found)}
        found = fu.compare_transducers(batch, tolerance="0.5 %")
        assert [row[-1] for row in found.tables[0].rows] == ["-"] * 4 + [expected]
        assert ("none stands out" in found.title) is (expected == "-")
        assert ("S4" in str(found.remarks)) is (expected == "-")
        assert fu.compare_transducers(batch).tables[0].rows[-1][-1] == "stands out"  # by Grubbs' test


def test_which_half_of_a_batch_is_wrong_is_undecided():
    batch = {str(k): calibration(k, scatter=1e-5, seed=int(k)) for k in (11405.0, 11405.5, 11903.6, 11906.1)}
    assert "undecided" in fu.compare_transducers(batch).title


def test_two_calibrations_of_one_date_are_refused():
    event = fu.CalibrationEvent("2031-01-01", calibration(11412.0))
    with pytest.raises(FuelUnitsError, match="2031-01-01"):
        fu.TransducerHistory("A", [event, event])


def test_a_history_is_drawn_with_its_drift_and_repairs():
    pytest.importorskip("matplotlib")
    from fuelunits import plots

    ax = plots.history(history([11412.0, 11430.0, 11300.0, 11301.0, 11302.0], repaired={2}))
    labels = [each.get_text() for each in ax.get_legend().get_texts()]
    assert any("drift" in each for each in labels)
    assert any("repaired before 2033" in each for each in labels)


def test_a_repair_is_a_truth_value_and_a_tolerance_below_100_percent():
    one = history([11412.0]).events[0]
    with pytest.raises(FuelUnitsError, match="repaired"):
        fu.CalibrationEvent(one.date, one.calibration, repaired="no")
    assert "nothing to compare" in str(fu.TransducerHistory("A", [one]))
    batch = {str(i): each.calibration for i, each in enumerate(history([11412.0, 11413.0, 11411.0]).events)}
    with pytest.raises(FuelUnitsError, match="tolerance"):
        fu.compare_transducers(batch, tolerance="1e300 %")


def test_the_figures_printed_are_those_of_the_rows():
    found = history([11412.0, 11440.0, 11441.0, 11300.0], repaired={3})
    table, rows = found.report().tables[0], found.rows()
    assert [name.partition(",")[0] for name in table.heads] == [
        "date",
        "K",
        "flow",
        "days",
        "change",
        "E_n",
        "limit",
        "repaired",
    ]
    for cells, row in zip(table.rows, rows, strict=True):
        assert cells[0] == row["date"]
        known = row["k_pulses_per_l"], row["flow_l_per_h"]
        assert [float(each) for each in cells[1:3]] == pytest.approx(known, rel=1e-4)
        if "days" not in row:
            assert cells[3:] == ("-",) * 5
            continue
        printed = row["days"], 100.0 * row["relative_change"], row["e_n"]
        assert [float(each) for each in cells[3:6]] == pytest.approx(printed, abs=0.006)
        assert float(cells[6].removeprefix("±")) == pytest.approx(row["e_n_limit"], abs=0.006)
        assert cells[7] == ("yes" if row["repaired"] else "-")
    text, drift = str(history([11412.0, 11412.4, 11412.5])), history([11412.0, 11412.4, 11412.5]).drift()
    assert f"{100.0 * drift.per_year:+.3g} % per year" in text
    assert f"± {100.0 * drift.expanded_uncertainty:.2g} %" in text


def test_two_halves_of_a_batch_are_apart_by_more_than_they_are_wide():
    """Of 20,000 sound batches, normally distributed, one in 100 has such halves: of two by 6 widths, else by 1.5."""
    draws, found = np.random.default_rng(7), {}
    for size in (4, 6, 8):
        found[size] = np.mean([_has_two_halves(list(draws.normal(size=size))) for _ in range(20_000)])
    assert min(found[4], found[6]) > 0.005
    assert max(found.values()) < 0.02
    assert not any(_has_two_halves([0.0, 0.1, 0.1 + gap, 0.2 + gap]) for gap in (0.1, 1.19))
    assert _has_two_halves([0.0, 0.1, 1.31, 1.41])
    assert not _has_two_halves([0.0, 0.1, 0.2, 0.79, 0.89, 0.99])
    assert _has_two_halves([0.0, 0.1, 0.2, 0.81, 0.91, 1.01])
    assert not _has_two_halves([0.0, 0.1, 0.2, 5.0, 5.1])


@pytest.mark.parametrize(("warmer", "noted"), [(0.0, False), (1.5, False), (3.0, True), (8.0, True)])
def test_a_change_at_another_temperature_says_that_k_may_have_changed_with_it(warmer, noted):
    # jet fuel: 2.0 % of viscosity per °C about 20 °C (ASTM D341 line of CRC data), which K follows as the flow
    def at(k, celsius, seed):
        runs = calibration(k, scatter=1e-5, seed=seed).runs
        return fu.calibrate(replace(run, liquid_temperature_c=celsius) for run in runs)

    made = [at(11_412.0 + 0.5 * i, 20.0, i) for i in range(4)] + [at(11_440.0, 20.0 + warmer, 5)]
    events = [fu.CalibrationEvent(f"203{i}-05-17", each) for i, each in enumerate(made)]
    history = str(fu.TransducerHistory("A", events))
    batch = str(fu.compare_transducers({str(i): each for i, each in enumerate(made)}))
    assert "significant change" in history
    assert "4 stands out" in batch
    for text in (history, batch):
        assert ("K may have changed with the viscosity" in " ".join(text.split())) == noted
        assert (f"20 to {20 + warmer:g} °C" in " ".join(text.split())) == noted


def test_the_figures_of_a_batch_are_those_of_its_calibrations():
    batch = {f"A-{i}": calibration(k, seed=i) for i, k in enumerate([11410.0, 11413.0, 11417.0, 11406.0])}
    report = fu.compare_transducers(batch)
    k = np.array([each.k_factor.per("L") for each in batch.values()])
    for row, each, serial, value in zip(report.tables[0].rows, batch.values(), batch, k, strict=True):
        assert row[0] == serial
        printed = value, 100.0 * (value / np.median(k) - 1.0), 100.0 * each.expanded_uncertainty()
        assert [float(one) for one in row[1:4]] == pytest.approx(printed, rel=0.06, abs=6e-4)
    assert f"median {np.median(k):.6g} pulse/L" in report.title
    assert f"spread by {100.0 * (k.max() / k.min() - 1.0):.3g} %" in report.title
    batch = {f"A-{i}": calibration(k, seed=i) for i, k in enumerate([11410.0, 11413.0, 11440.0, 11404.0])}
    k = np.array([each.k_factor.per("L") for each in batch.values()])
    off, u = np.abs(k / np.median(k) - 1.0), np.array([each.expanded_uncertainty() for each in batch.values()])
    words = []
    for tolerance in (0.002, 0.0005, 0.00001):  # a guard band of U on either side, as docs/uncertainty, Decisions
        strict = fu.compare_transducers(batch, tolerance=f"{100.0 * tolerance} %")
        beyond, within = off > tolerance + u, off <= tolerance - u
        words += [row[-1] for row in strict.tables[0].rows]
        assert words[-4:] == np.select([beyond, within], ["stands out", "-"], "undecided").tolist()
        assert f"±{100.0 * tolerance:.3g} %" in str(strict)
        assert all((serial in strict.title) == (word != "-") for serial, word in zip(batch, words[-4:], strict=True))
    assert {*words} == {"stands out", "-", "undecided"}


def test_a_drift_starts_at_the_last_of_several_repairs():
    ks = [11300.0, 11500.0, 11350.0, 11412.0, 11413.0, 11414.5]
    found = history(ks, repaired={1, 3})
    after = fu.TransducerHistory("A-0117", found.events[3:]).drift()
    assert (found.drift().calibrations, found.drift().per_year) == (3, pytest.approx(after.per_year, rel=1e-9))


def test_how_many_calibrations_an_interval_rests_on():
    assert fu.interval_by_reliability(10_000, 10_000, 100.0) > 100.0
    for x, n in ((0, 0), (1, 10_001), (2, 1), (-1, 5)):
        with pytest.raises(FuelUnitsError):
            fu.interval_by_reliability(x, n, 100.0)


@pytest.mark.simulation
@pytest.mark.parametrize("count", [4, pytest.param(10, marks=pytest.mark.long)])
def test_a_sound_transducer_seldom_has_a_significant_change_in_all_its_years(count):
    """With one limit for each change, 25 % of the histories of ten calibrations had one (a constant K is simulated)."""
    random, beyond = np.random.default_rng(count), 0
    for _ in range(100):
        found = [few_runs(random, 5) for _ in range(count)]
        made = fu.TransducerHistory("A", [fu.CalibrationEvent(f"20{10 + i}-05-17", k) for i, k in enumerate(found)])
        beyond += "significant change at" in made.report().title
    assert beyond <= 100 * 0.0455 + 3.0 * (100 * 0.0455 * 0.9545) ** 0.5
    normal = stats.norm.ppf(1.0 - 0.0455 / 2.0 / (count - 1)) / 2.0  # Student's t is larger
    assert all(normal < row["e_n_limit"] < 2.0 * normal for row in made.rows()[1:])
    assert fu.TransducerHistory("A", made.events[:2]).rows()[1]["e_n_limit"] == pytest.approx(1.0)
