"""What a notebook shows: plain tables, escaped, without colours, with the caution where somebody could act on it."""

import json
import sys
from dataclasses import replace
from html.parser import HTMLParser

import numpy as np
import pytest

import fuelunits as fu
from fuelunits.errors import MissingExtra
from fuelunits.reports import Report, Table, format_percent, plain, printable
from fuelunits.uncertainty.budget import uncertain


class Reader(HTMLParser):
    """Reads HTML back: that tags are closed, and what stands in the cells."""

    def __init__(self, text):
        super().__init__()
        self.open, self.rows, self.text = [], [], ""
        self.feed(text)
        assert not self.open

    def handle_starttag(self, tag, attrs):
        self.open.append(tag)
        for name, value in attrs:
            assert (name, value.partition(":")[0]) == ("style", "text-align")
        if tag == "tr":
            self.rows.append([])
        if tag in ("td", "th"):
            self.rows[-1].append("")

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.text += data
        if self.open and self.open[-1] in ("td", "th"):
            self.rows[-1][-1] += data


def calibration(*counts):
    density = uncertain(802.1, 0.1, name="density", degrees_of_freedom=9)
    return fu.calibrate(
        fu.GravimetricRun(
            pulses=pulses,
            mass_reading_kg=uncertain(28.7021, 0.001, name="reading"),
            duration_s=120.0,
            liquid_temperature_c=20.0,
            liquid_density_kg_m3=density,
            air_density_kg_m3=1.19,
        )
        for pulses in counts
    )


def exact_calibration():
    return fu.calibrate(
        [
            fu.GravimetricRun(
                pulses=272_040,
                mass_reading_kg=28.7021,
                duration_s=60.0,
                liquid_temperature_c=20.0,
                liquid_density_kg_m3=802.1,
                air_density_kg_m3=1.19,
            )
        ]
    )


INDICATOR = fu.Indicator("43186 pulse/gal", reads="lb/h", fixed_density="6.7 lb/gal", resolution="1 lb/h", channels=2)
CURVE = fu.MeterCurve(
    [fu.CalibrationPoint(30.0, 7300.0, 0.0005, 1.2), fu.CalibrationPoint(300.0, 7600.0, 0.0, 1.2, 20.0)]
)
ANSWERS = {
    "check": fu.check_density("6.7 lb/gal", "Jet A", between=("-20 degC", "40 degC"), tolerance="3 %"),
    "check without limits": fu.check_density("6 lb/gal", "100LL", between=("0 degC", "30 degC"), tolerance="3 %"),
    "explanation": fu.explain_density("6.7 lb/gal"),
    "fuel": fu.fuel("Jet A"),
    "batch": fu.fuel("Jet A").measured("0.812 kg/L", at="22 degC", by="hydrometer"),
    "K-factor": fu.KFactor(43_186, per="gal"),
    "curve": CURVE,
    "calibration": calibration(272_040, 272_055),
    "one run": calibration(272_040),
    "exact": exact_calibration(),
    "bench result": fu.BenchResult([calibration(272_040, 272_055), exact_calibration()]),
    "sheet": INDICATOR.bench_points(["10 gal/h"], "2 %"),
    "errors": INDICATOR.error_budget(fu.fuel("Jet A"), flow="84 lb/h", between=("-20 degC", "40 degC")),
}


@pytest.mark.parametrize("name", ANSWERS)
def test_what_is_shown_is_well_formed_and_carries_the_caution(name):
    read = Reader(ANSWERS[name]._repr_html_())
    assert fu.CAUTION in read.text
    assert all(cell for row in read.rows for cell in row if row)
    assert "color" not in ANSWERS[name]._repr_html_()


@pytest.mark.parametrize("name", [name for name in ANSWERS if hasattr(ANSWERS[name], "as_dict")])
def test_what_is_shown_is_also_plain_json(name):
    plain = ANSWERS[name].as_dict()
    assert json.loads(json.dumps(plain)) == plain


def test_the_check_shows_what_it_says():
    check = ANSWERS["check"]
    read = Reader(check._repr_html_())
    assert f"{check.verdict.value}: {check.reason}" in read.text
    assert ["°C", "lb/gal", "typical, %", "lightest, %", "densest, %"] in read.rows
    assert ["-20", "6.956", "-3.68", "-0.22", "-7.14"] in read.rows
    assert "PQIS" in read.text  # the source of the typical density
    assert ["°C", "lb/gal", "typical, %"] in Reader(ANSWERS["check without limits"]._repr_html_()).rows


def test_a_check_of_a_measured_batch_does_not_speak_of_a_typical_fuel():
    check = fu.check_density("6.7 lb/gal", ANSWERS["batch"], between=("-20 degC", "40 degC"), tolerance="3 %")
    assert "typical fuel" not in str(check)
    assert "specification" not in str(check)
    assert "worst for this fuel: -4.67 % at -20 °C" in str(check)


def test_numbers_are_rounded_after_their_uncertainty():
    assert ["30", "14.795", "7300.0", "3.7", "1.2", "-"] in Reader(CURVE._repr_html_()).rows
    assert ["300", "142.11", "7600", "0", "1.2", "20"] in Reader(CURVE._repr_html_()).rows
    found = ANSWERS["calibration"]
    rows = Reader(found._repr_html_()).rows
    assert ["density", "802.10", "0.10", "kg/m³", "0.0125", "98.4", "9"] not in rows  # the unit was not given
    assert [row[1:3] for row in rows if row[0] == "density"] == [["802.10", "0.10"]]


def test_a_refused_fuel_and_one_from_memory_say_so():
    for grade in fu.all_fuels():
        text = Reader(grade._repr_html_()).text
        assert all(doubt in text for doubt in grade.doubts.values())
        assert grade.refused in text


def test_the_report_of_published_values_closes_with_its_verdict():
    found = fu.verify(fu.published("units"))
    read = Reader(found._repr_html_())
    assert found.verdict in read.text
    assert len(read.rows) == 1 + len(found.rows())


def test_text_is_escaped():
    tables = [Table.of([{"x < y": '"1"', "z": None}], title="t > u")]
    text = Report("<b>", "a > b", {"a & b": "<script>", "nothing": None, "empty": ""}, tables, ["<i>"]).to_html()
    assert all(mark not in text for mark in ("<b>", "<script>", "<i>", "<thead><tr>x <"))
    read = Reader(text)
    assert read.rows == [["a & b", "<script>"], ["x < y", "z"], ['"1"', "-"]]
    assert all(words in read.text for words in ("t > u", "Note: <i>", "Verdict: a > b", fu.CAUTION))
    named = replace(fu.fuel("Jet A"), name="<Jet & Co>")
    assert "<Jet" not in named._repr_html_()


def test_numbers_stand_on_the_right():
    table = Table.of([{"n": "-1.2", "w": "a 1"}, {"n": None, "w": "2"}])
    assert table.to_html().count('"text-align:right"') == 3
    assert table.to_html().count('"text-align:left"') == 3
    assert table.to_text().splitlines() == ["   n  w", "-1.2  a 1", "   -  2"]


FRAMES = ["check", "fuel", "curve", "calibration", "bench result", "sheet", "errors"]


@pytest.mark.parametrize("name", FRAMES)
def test_rows_become_a_data_frame(name):
    pd = pytest.importorskip("pandas")
    frame = ANSWERS[name].to_frame()
    assert isinstance(frame, pd.DataFrame)
    assert len(frame)


def test_frames_hold_numbers():
    pytest.importorskip("pandas")
    frame = ANSWERS["check"].to_frame()
    assert frame["error"].iloc[0] == ANSWERS["check"].rows()[0]["error"]
    assert ANSWERS["bench result"].to_frame()["k_pulses_per_l"].is_monotonic_increasing in (True, False)
    assert len(fu.verify(fu.published("units")).to_frame()) == len(fu.verify(fu.published("units")).rows())


def test_without_pandas_it_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "pandas", None)
    with pytest.raises(MissingExtra, match="pip install pandas"):
        ANSWERS["check"].to_frame()


def test_what_a_prompt_shows_is_one_short_line():
    jet = fu.fuel("Jet A")
    check = fu.check_density("6.7 lb/gal", jet, between=("-20 degC", "40 degC"), tolerance="3 %")
    batch = jet.measured("0.81 kg/L")
    for answer in (jet, batch, fu.all_fuels(), check):
        assert "\n" not in repr(answer)
    assert "accept" in repr(batch)
    assert "reject" in repr(check)


@pytest.mark.parametrize(
    ("fraction", "how", "printed"),
    [
        *((0.00046, {}, "0.046 %"), (-0.01234, {}, "-1.23 %"), (0.01234, {"signed": True}, "+1.23 %")),
        *((0.01234, {"digits": 2}, "1.2 %"), (1e-12, {}, "0 %"), (-1e-12, {"signed": True}, "+0 %")),
        *((2e-12, {}, "2e-10 %"), (-2e-12, {}, "-2e-10 %"), (1.0, {}, "100 %")),
    ],
)  # fmt: skip
def test_percentages_are_printed_to_their_digits(fraction, how, printed):
    assert format_percent(fraction, **how) == printed


def test_a_table_as_wide_as_the_page_is_not_folded_and_a_wider_one_is():
    for width, lines in ((38, 2), (39, 3)):
        words = "a " * (width // 2 - 1) + "b" * (1 + width % 2) + "c"
        table = Table.of([{"what it is": words, "why": "d " * 19 + "ee"}])
        assert max(map(len, table.to_text().splitlines())) <= 80
        assert len(table.to_text().splitlines()) == lines
    numbers = Table.of([{"a head of words": f"{i}.5", "b": "1"} for i in range(2)])
    assert numbers.to_text().splitlines()[1:] == ["            0.5  1", "            1.5  1"]


def test_values_of_numpy_are_plain_and_no_number_is_none():
    assert plain(np.array([[1.0, np.nan], [np.inf, 2.0]])) == [[1.0, None], [None, 2.0]]
    assert plain(fu.Verdict.CONDITIONAL_ACCEPT) == "conditional accept"
    assert plain((np.int64(3), np.float32(0.5), {4: True}, "x")) == [3, 0.5, {"4": True}, "x"]


def test_plain_types_hold_what_methods_answer_and_one_caution():
    history = fu.TransducerHistory("A-0117", [])
    assert (history.as_dict()["rows"], history.as_dict()["drift"]) == ([], None)
    inner = plain([fu.check_density("6.7 lb/gal", "Jet A", between=("0 degC", "30 degC"), tolerance="3 %")])
    assert inner[0]["tolerance"] == 0.03
    assert "caution" not in inner[0]
    assert plain(inner) == inner


def test_a_report_closes_with_its_last_lines_before_the_caution():
    found = Report("a job", facts={"none": "", "one": 1}, closing=("Signed: ____", "Checked: ____"))
    lines = found.to_text().splitlines()
    assert lines[:7] == ["a job", "  one: 1", "", "Signed: ____", "", "Checked: ____", lines[6]]
    assert lines[6].startswith("Caution: ")
    assert "<p>Signed: ____</p>\n<p>Checked: ____</p>\n<p><small>Caution" in found.to_html()


def test_sections_stand_within_the_document_with_one_caution():
    text = Report("a job", sections=[Report("a sheet", "accept"), Report("a calibration")]).to_text()
    assert text.splitlines()[:5] == ["a job", "", "a sheet", "Verdict: accept", ""]
    assert text.splitlines()[5] == "a calibration"
    assert text.count("Caution") == 1


def test_what_cannot_be_printed_is_a_space():
    assert printable("é µ³ °C") == "é µ³ °C"
    assert printable("a\x1b[2Kb\n\u202ec") == "a [2Kb  c"
