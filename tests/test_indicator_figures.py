"""Each figure that a report on an indicator prints is one of the answer, to its digits. Demo data are invented."""

import re
from dataclasses import replace

import numpy as np
import pytest

import fuelunits as fu
from fuelunits.indicators.indications import BestSetting
from fuelunits.indicators.written import decimals_of
from fuelunits.reports import Report, plain

NUMBER = re.compile(r"(?<![\w.^])[-+]?\d+(?:\.\d+)?(?:e[-+]?\d+)?(?![\w.]*[a-z]\d)")
SIGNED = re.compile(r"error|differs|difference|compensator|lowest, %|highest, %")

ASKED = ["3 L/h", "25.3 L/h", "203 Hz", "10.1 L"]
KG_H = fu.Indicator(
    "11412 pulse/L",
    reads="kg/h",
    fixed_density="0.80 kg/L",
    resolution="0.5 kg/h",
    low_flow_cutoff="4 kg/h",
    total_resolution="0.1 kg",
)
L_H = fu.Indicator("11412 pulse/L", reads="L/h")
LINE = fu.Indicator(["11412 pulse/L", "11286 pulse/L"], reads="L/h", channels=2, feed_less_return=True)
CURVE = fu.MeterCurve(
    [fu.CalibrationPoint(hz, k, 0.0007) for hz, k in ((40.0, 11_190.0), (90.0, 11_330.0), (600.0, 11_431.0))]
)
TANK = fu.TankTable("box", [("0 in", "0 gal"), ("4 in", "9 gal"), ("10 in", "20 gal")])
GAUGE = fu.CapacitanceGauge(TANK, [fu.Probe("42.3 pF", "0 in", "10 in")], "Jet A", "15 degC", stray="5.1 pF")
LOW = fu.LowFuelPoint(fu.LowFuelByTime("25 min"), "61 L/h", "90.5 L")
SHEETS = [
    KG_H.bench_points([*ASKED, LOW], "2 %", generator=fu.Generator("0.1 Hz", "0.02 %")),
    L_H.bench_points(["61.7 L/h", "203 Hz"], "0.37 L/h"),
    fu.CapacitanceSheet(
        GAUGE,
        ["0 gal", "7 gal", "17 gal"],
        "2 kg",
        reads="kg",
        resolution="0.5 kg",
        box=fu.CapacitanceBox("0.1 pF", "0.05 %"),
    ),
]
FILLED = [
    SHEETS[0].filled(as_found=["0 kg/h", "20 kg/h", "52.5 kg/h", "8.0 kg", "20.4 kg"]),
    SHEETS[1].filled(as_found=["61.2 L/h", "64 L/h"], as_left=["61.81 L/h", "64.04 L/h"]),
    SHEETS[2].filled(as_left=["0 kg", "21 kg", None]),
]
HOUR = {"update": "1 s", "kept_step": "0.001 kg", "truncates": True, "rolls_over_at": "20 kg"}
ANSWERS = [
    *SHEETS,
    *FILLED,
    KG_H.error_budget(
        "Jet A", flow="41 kg/h", between=("-20 degC", "41 degC"), true_k="11480 pulse/L", gate_time="1 s"
    ),
    LINE.error_budget(flow=["240 L/h", "193 L/h"], k_at_flow="-0.3 %", smoothing="7 s", change_per_minute="3 %"),
    fu.best_setting(L_H, CURVE, ["15 L/h", "40 L/h"], weights=[1, 3], k_step="10 pulse/L"),
    fu.best_setting(
        KG_H,
        CURVE,
        ["15 L/h", "40 L/h"],
        k_step="1 pulse/L",
        fuel="Jet A",
        at="7 degC",
        densities=["0.72 kg/L", "6.7 lb/gal"],
    ),
    fu.best_setting(
        replace(L_H, resolution="0.3 L/h", truncates=True), CURVE, ["15 L/h", "41 L/h"], k_step="1 pulse/L"
    ),
    fu.displayed_total(KG_H, [("3.9 kg/h", "10 min"), ("40.3 kg/h", "57 min")], **HOUR),
    fu.displayed_total(KG_H, [("41.9 kg/h", "57 min")], update="1 s", kept_step="0.001 kg"),
    fu.check_stored("11412.4 pulse/L", step="10 pulse/L", displayed="11421 pulse/L"),
    fu.check_stored("0.8034 kg/L", step="0.05 kg/L", displayed="0.80 kg/L"),
]


def numbers(value):
    """Yield every number of plain JSON types, also those within text."""
    if isinstance(value, str):
        yield from map(float, NUMBER.findall(value))
    elif isinstance(value, dict):
        for key, each in value.items():
            yield from numbers([key, each])
    elif isinstance(value, list):
        for each in value:
            yield from numbers(each)
    elif isinstance(value, (int, float)) and not isinstance(value, bool):
        yield float(value)


def texts(report: Report):
    """Yield the head and the text of whatever the report prints of figures."""
    yield "", report.title
    yield "", report.verdict
    yield from report.facts.items()
    for table in report.tables:
        for row in table.rows:
            yield from zip(table.heads, row, strict=True)


def dicts(table):
    """Return the rows of a table as mappings."""
    return [dict(zip(table.heads, row, strict=True)) for row in table.rows]


@pytest.mark.parametrize("answer", ANSWERS, ids=lambda answer: type(answer).__name__)
def test_each_printed_figure_is_one_of_the_answer(answer):
    """Limits of a display without steps are rounded inwards; errors have their sign."""
    rows = answer.as_dict().get("rows", [])
    given = [answer.as_dict(), vars(getattr(answer, "gauge", answer)), len(rows), sum(not r["undecided"] for r in rows)]
    known = np.array(list(numbers(plain(given))))
    truncates = getattr(getattr(answer, "indicator", None), "truncates", False)  # up to two half steps
    percent = np.concatenate([100.0 * known, 200.0 * known if truncates else []])
    known = np.concatenate([known, percent, 60.0 * known])  # and pulses per minute
    for head, text in texts(answer.report()):
        for each in NUMBER.findall(str(text)):
            ulp = 10.0 ** -len(each.partition(".")[2])
            within = 1.0 if head in ("lowest", "highest") else 0.5
            assert np.abs(known - float(each)).min() <= (within + 1e-6) * ulp, (head, text, each)
            assert each[0] in "+-" or not SIGNED.search(head) or float(each) == 0.0, (head, text)


@pytest.mark.parametrize("best", [each for each in ANSWERS if isinstance(each, BestSetting)], ids=repr)
def test_a_best_setting_prints_every_figure_that_it_has(best):
    missing = {head for head, text in texts(best.report()) if text == "-"}
    assert missing == (set() if best.as_dict()["points"][0]["at_c"] is not None else {"°C"})


def test_each_point_of_a_sheet_is_printed_as_it_was_asked():
    pairs = [("120 L/h", "90 L/h"), ["382 Hz", "1 Hz"]]
    sheets = {SHEETS[0]: [*ASKED, str(LOW)], LINE.bench_points(pairs, "2 %"): [" / ".join(each) for each in pairs]}
    for sheet, asked in sheets.items():
        assert [row["point"] for row in sheet.rows()] == asked
        assert [row[0] for table in sheet.report().tables for row in table.rows] == asked
    flows = SHEETS[0].report().tables[0]
    assert [row[flows.heads.index("expected, kg/h")] for row in flows.rows] == ["0.0", "20.0", "51.0"]  # steps of 0.5


def test_a_display_without_steps_may_rise_by_less_than_a_unit():
    sheet = L_H.bench_points(["60 L/h", "60.6 L/h"], "0.9 L/h")
    for last, verdict in (("60.6 L/h", "accept"), ("60 L/h", "undecided"), ("59.8 L/h", "undecided")):
        assert sheet.filled(as_left=["60 L/h", last]).verdict_as_left.value == verdict


def test_a_reading_beyond_a_limit_is_printed_beyond_it():
    sheet = L_H.bench_points(["60 L/h"], "0.3 L/h").filled(as_found=["60.3004 L/h"], as_left=["60.3 L/h"])
    (cells,) = [dict(zip(table.heads, table.rows[0], strict=True)) for table in sheet.report().tables]
    assert [cells[head] for head in ("highest", "as found", "as found:", "as left", "as left:")] == (
        ["60.300", "60.3004", "reject", "60.300", "accept"]
    )


def test_settings_that_read_otherwise_are_printed_otherwise():
    changes = [{"low_flow_cutoff": "1 L/h"}, {"resolution": "1 L/h"}, {"resolution": "1 L/h", "truncates": True}]
    changes += [
        {"channels": 2},
        {"channels": 3},
        {"channels": 2, "feed_less_return": True},
        {"k_factor": "11413 pulse/L"},
    ]
    assert len({str(replace(L_H, **change)) for change in [{}, *changes]}) == 1 + len(changes)


@pytest.mark.parametrize(
    ("asked", "tolerance", "reading", "named"),
    [
        (("60 L/h", "1.3 L/h"), "2 %", "61.3 L/h", []),  # 2 % of it is 1.226 L/h
        (("60 L/h", "1.2 L/h"), "2 %", "61.2 L/h", ["2"]),  # 1.224 L/h
        (("1.2 L/h", "60 L/h"), "2 %", "61.2 L/h", ["1"]),
        (("60 L/h", "1.2 L/h"), "1.2 L/h", "61.2 L/h", ["2"]),
        ("10 L", "40 %", "10 L", []),
        ("10 L", "60 %", "10 L", ["1", "2"]),  # each channel has 5 of 10 L, which is less than 6 L
        (LOW, "40 %", "25.4 L", []),
        (LOW, "60 %", "25.4 L", ["1", "2"]),
    ],
)
def test_a_channel_that_moves_no_reading_by_the_tolerance_is_named(asked, tolerance, reading, named):
    twin = fu.Indicator("11412 pulse/L", reads="L/h", resolution="0.1 L/h", total_resolution="0.1 L", channels=2)
    sheet = twin.bench_points([asked], tolerance).filled(as_left=[reading])
    assert re.findall(r"channel (\d)", " ".join(sheet.report().remarks)) == named
    assert "channel" not in str(replace(twin, channels=1).bench_points(["60 L/h"], "61 L/h"))  # there is one alone
    assert sheet.verdict_as_left.value == ("undecided" if named else "accept")


@pytest.mark.parametrize(
    ("unit", "decimals"), {"mL": 1, "qt": 1, "L": 1, "gal": 1, "imp_gal": 1, "m^3": 4, "lb": 1, "kg": 1, "t": 4}.items()
)
def test_amounts_are_printed_to_a_tenth_of_a_litre_or_a_kilogram(unit, decimals):
    assert decimals_of(unit) == decimals


@pytest.mark.parametrize("sheet", [*SHEETS, *FILLED, KG_H.bench_points(["4.05 kg/h", "25 kg/h"], "2 %")], ids=repr)
def test_a_sheet_prints_what_its_points_and_readings_are_worth(sheet):
    remarks, rows = (
        sheet.report().remarks,
        [row for table in sheet.report().tables for row in dicts(table) if "point" in row],
    )
    for point in sheet.points:
        for words, is_there in (
            (f"{point.given}: undecided: {point.undecided}", bool(point.undecided)),
            (f"{point.given}: {point.remark}", bool(point.remark)),
            (f"{point.given}: a reading of 0 is undecided, near the cutoff", point.near_cutoff),
        ):
            assert (words in remarks) is is_there
    for head, readings in (("as found", sheet.as_found), ("as left", sheet.as_left)):
        printed = [row.get(f"{head}:") for row in rows]
        assert printed == ([each.value for each in sheet.verdicts(readings)] if readings else [None] * len(rows))
        taken = [each is not None for each in readings or [None] * len(rows)]
        assert [row[head] != "[    ]" for row in rows] == taken
    facts = sheet.report().facts
    assert facts["tolerance"] == sheet.tolerance
    tool = getattr(sheet, "generator", getattr(sheet, "box", None))
    assert (facts.get("generator") or facts.get("test box")) == (str(tool) if tool else "not stated, taken as exact")
    assert "0.1 Hz, standard uncertainty not stated" in str(fu.Generator("0.1 Hz"))


def test_a_gauge_prints_its_permittivity_and_density():
    fresh, warm = (
        GAUGE.report().facts,
        GAUGE.error_with("Jet A", at="40 degC", relative_permittivity=2.05).report().facts,
    )
    assert [float(each) for each in re.findall(r"[\d.]+", fresh["relative permittivity"])] == pytest.approx(
        [GAUGE.permittivity], abs=5e-4
    )
    assert float(fresh["empty, with strays"].split()[0]) == pytest.approx(42.3 + 5.1)
    said = [
        [float(each) for each in re.findall(r"\d+\.\d+", warm[name])] for name in ("relative permittivity", "density")
    ]
    jet = fu.fuel("Jet A")
    assert said[0] == pytest.approx([2.05, GAUGE.permittivity], abs=5e-4)
    assert said[1] == pytest.approx([jet.density_kg_m3(40.0), jet.density_kg_m3(15.0)], abs=0.05)


def test_what_is_near_and_below_a_cutoff_is_said_in_any_unit():
    litres_a_second = fu.Indicator("11412 pulse/L", reads="L/s", low_flow_cutoff="0.5 L/s")
    below, near, above = litres_a_second.bench_points(["0.4 L/s", "0.505 L/s", "0.6 L/s"], "2 %").points
    assert [point.near_cutoff for point in (below, near, above)] == [False, True, False]
    assert ["0 is expected" in point.undecided for point in (below, near, above)] == [True, False, False]
