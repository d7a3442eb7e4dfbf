"""The places that entries name: lines and names of sources; comments never count."""

import os
from fractions import Fraction
from functools import partial

import pytest
from test_check_command import FACTOR

from fuelunits.checks import places
from fuelunits.checks.file import check_files, check_text, problem_at
from fuelunits.checks.kinds import FactorEntry
from fuelunits.checks.places import Place, Source, numbers_in, read_file, without_comments
from fuelunits.errors import FileError


@pytest.fixture
def shop(tmp_path, monkeypatch):
    """Return an empty folder, which is the current one."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


def lines(path, *texts):
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("\n".join(texts) + "\n", encoding="utf-8")


def outcome(shop, where, value=3.785, root=None):
    (shop / "shop.toml").write_text(FACTOR.format(where=where, value=value), encoding="utf-8")
    (report,) = check_files([str(shop / "shop.toml")], root=root)
    return report.outcomes[0]


def test_a_place_is_looked_up_beside_the_file_or_below_the_root(shop):
    lines(shop / "src" / "sheet.py", "# litres", "L_PER_GAL = 3.785  # US", "N = 16.3785")
    assert outcome(shop, "src/sheet.py:2").as_expected
    assert outcome(shop, "sheet.py:2", root=shop / "src").as_expected
    moved = outcome(shop, "src/sheet.py:1")
    assert (moved.holds, moved.as_expected, moved.verdict) == (True, False, "MISPLACED")
    assert moved.misplaced == "line 1 of src/sheet.py does not contain 3.785, which is on line 2"
    assert "on none of its lines" in outcome(shop, "src/sheet.py:3", value=3.7854).misplaced
    assert "on none" not in outcome(shop, "src/sheet.py:99").misplaced
    assert outcome(shop, "src/gone.py:2").misplaced == "src/gone.py cannot be read: No such file or directory"
    assert outcome(shop, "src:2").misplaced == "src cannot be read: it is not a file"
    wrong_and_moved = outcome(shop, "src/sheet.py:1", value=4.546)
    assert (wrong_and_moved.verdict, bool(wrong_and_moved.misplaced)) == ("FAILS", True)


def test_the_number_that_replaced_another_is_named_with_its_mistake(shop):
    lines(shop / "sheet.py", "def litres(gallons): return gallons * 3.758", "def lb(kg): return 2 * kg * 0.4536, 3.785")
    changed = outcome(shop, "sheet.py:1").misplaced
    assert changed.startswith("line 1 of sheet.py contains 3.758 and not 3.785, which is on line 2")
    assert "two digits swapped" in changed
    for where in ("sheet.py:2:31", "sheet.py:2", "sheet.py:7:1"):  # another, several numbers, none
        assert "it may be" not in outcome(shop, where, value=4.546).misplaced
    assert "beside other numbers" in outcome(shop, "sheet.py:2").misplaced
    assert "other numbers" not in outcome(shop, "sheet.py:2:21").misplaced
    by_column = outcome(shop, "sheet.py:1:39", value="1").misplaced
    assert "contains 3.758 and not 1," in by_column
    density = FACTOR.replace("factor", "density").replace('from = "gal"', 'fuel = "Jet A"')
    density = density.replace('to = "L"', 'between = ["0 degC", "30 degC"]').format(
        where="jet.py:1", value='"6.7 lb/gal"'
    )
    density = density.replace("0.02 %", "4 %")
    lines(shop / "jet.py", "return usg * 8.05")
    (found,) = check_text(density, root=shop).outcomes
    assert "contains 8.05 and not 6.7," in found.misplaced
    assert "imperial gallon" in found.misplaced
    assert "a batch" not in str(found)


def test_no_file_outside_the_root_is_opened(shop, tmp_path_factory):
    elsewhere = tmp_path_factory.mktemp("elsewhere")
    lines(elsewhere / "secret.py", "L_PER_GAL = 3.785")
    lines(shop / "inside" / "sheet.py", "L_PER_GAL = 3.785")
    (shop / "inside" / "link.py").symlink_to(elsewhere / "secret.py")
    assert outcome(shop, "inside/../inside/sheet.py:1").as_expected
    for where in (f"{elsewhere}/secret.py:1", f"../{elsewhere.name}/secret.py:1", "inside/link.py:1"):
        assert "is not opened" in outcome(shop, where).misplaced


@pytest.mark.skipif(os.name != "posix", reason="links in a circle and pipes are made by POSIX calls")
def test_what_is_no_file_is_neither_waited_for_nor_followed(shop):
    (shop / "circle").symlink_to(shop / "circle")
    os.mkfifo(shop / "pipe")
    assert outcome(shop, "circle:1").misplaced.startswith("circle cannot be read: ")
    assert "None" not in outcome(shop, "circle:1").misplaced
    assert outcome(shop, "pipe:1").misplaced == "pipe cannot be read: it is not a file"


def test_a_line_of_thousands_of_digits_holds_no_number(shop):
    lines(shop / "long.txt", "1" * 5000, "3.785")
    assert outcome(shop, "long.txt:2").as_expected
    assert "is on line 2" in outcome(shop, "long.txt:1").misplaced


@pytest.mark.parametrize(
    "text",
    [
        "L_PER_GAL = 4.546 if imperial else 3.785",
        "L = 4.546; OLD = 3.785",
        "TABLE = [4.546, 3.785]",
        "x(4.546, y=3.785)",
    ],
)
def test_the_right_number_elsewhere_on_the_line_holds_nothing(text, shop):
    lines(shop / "sheet.py", text)
    found = outcome(shop, "sheet.py:1")
    column = text.index("3.785") + 1
    assert (found.verdict, found.as_expected) == ("MISPLACED", False)
    assert f"sheet.py:1:{column}" in found.misplaced
    assert outcome(shop, f"sheet.py:1:{column}").as_expected
    wrong = outcome(shop, f"sheet.py:1:{text.index('4.546') + 1}")
    assert (wrong.verdict, f"at column {column}" in wrong.misplaced) == ("MISPLACED", True)


def test_the_same_number_twice_on_a_line_and_a_comment_before_it(shop):
    lines(shop / "a.c", "f(3.785, 3.785); /* 4.546 */", "/* 4.546 */ double l = 3.785;")
    for where in ("a.c:1", "a.c:1:10", "a.c:2", "a.c:2:24"):
        assert outcome(shop, where).as_expected
    lines(shop / "b.c", "f(3.785, 4.546, 3.785)")
    assert outcome(shop, "b.c:1").misplaced.endswith("b.c:1:3")
    assert "at column 3 " in outcome(shop, "b.c:1").misplaced


def test_a_misplaced_entry_that_fails_as_expected_is_not_as_stated(shop):
    lines(shop / "sheet.py", "L_PER_GAL = 3.785")
    text = FACTOR.format(where="sheet.py:1", value=4.546) + 'expected_to_fail = "kept"\n'
    assert not check_text(text, root=shop).passed
    assert check_text(text).passed


@pytest.mark.parametrize(
    "where",
    [
        "job card 2031",
        "job card: 17",
        "sheet.py, line 12",
        "sheet.py",
        "https://example.org:8080",
        "sheet.py:0",
        "a b.py:3",
        *("sheet.py:1-3", "sheet.py: GAL_TO_L", "sheet.py:GAL_TO_L[0]", "sheet.py:1:", "src/sheet: 3", "Makefile:3-5"),
    ],
)
def test_other_text_is_no_place_and_says_so_where_it_is_like_one(shop, where):
    lines(shop / "sheet.py", "GAL_TO_L = 4.546")
    assert Place.read(where) is None
    found = outcome(shop, where)
    assert found.as_expected
    assert (f"{where} is not looked up" in str(found)) == (where != "job card 2031")
    assert (f"{where} is not looked up" in "".join(found.as_row()["caveats"])) == (where != "job card 2031")


def test_a_place_that_has_no_root_says_that_it_is_not_looked_up():
    text = FACTOR.format(where="sheet.py:GAL_TO_L", value=3.785)
    both = str(check_text(text + text.replace('"litres"', '"other litres"')))
    assert " ".join(both.split()).count("sheet.py:GAL_TO_L is not looked up") == 2


@pytest.mark.parametrize(
    ("line", "found"),
    [
        ("K = 43_186", ["43186"]),
        ("K = 43186.0; J = 4.3186e4 / 1E-3", ["43186", "0.001"]),
        ('"6.70 lb/gal", 6.7lb, 6.7f', ["6.7"]),
        ("x6.7 v1.2.3 16.7", ["16.7"]),
        ("f(3.785,.5)", ["3.785", "0.5"]),
        ("is 6.7.", ["6.7"]),
        ("k43186 = 0x1F", ["0"]),
        ("K = 43'186", ["43186"]),
        ("", []),
    ],
)
def test_numbers_on_a_line(line, found):
    assert {number for _, number in numbers_in(line)} == {Fraction(number) for number in found}


def test_a_comment_with_the_right_number_holds_nothing(shop):
    lines(shop / "sheet.py", "L_PER_GAL = 4.546  # was 3.785", '"""3.785"""', "N = 1")
    for line in (1, 2):
        assert outcome(shop, f"sheet.py:{line}").verdict == "MISPLACED"
    wrong = outcome(shop, "sheet.py:L_PER_GAL")
    assert (wrong.as_expected, "4.546" in wrong.misplaced) == (False, True)


@pytest.mark.parametrize(
    ("suffix", "text", "kept"),
    [
        ("py", 'A = "#6.7"  # 5\nB = r"""6.7"""', 'A = "#6.7"  \nB = '),
        ("c", 'a = 1; /* 2\n3 */ b = "// 4"; // 5', 'a = 1; \n     b = "// 4"; '),
        ("yaml", "it's: 6.7  # isn't 6.5", "it's: 6.7  "),
        ("lua", "a = 1 -- 2", "a = 1 "),
        ("", "a = 1 # 2", "a = 1 "),
        ("json", '{"a": "b//c"} // 2', '{"a": "b//c"} '),
        ("xml", "<a>1</a><!-- 2 -->", "<a>1</a>"),
        ("unheard", "a = 1 # 2\nb = 3 // 4", "a = 1 \nb = 3 "),
        ("txt", "# 6.7 lb/gal", "# 6.7 lb/gal"),
        ("cfg", "; a = 1\nb = 2; c", "\nb = 2; c"),
        ("bat", "rem a=1\n:: b=2\nset c=3 & REM 4", "\n\nset c=3 "),
        ("vb", "REM a = 1\nb = 2 ' 3", "\nb = 2 "),
        ("pas", "{ a = 1; }\n(* 2\n*) b = '{3}'; // 4", "\n\n   b = '{3}'; "),
        ("st", "(* a := 1; *) b := 2; // 3", "              b := 2; "),
        ("fs", "(* let a = 1 *)\nlet b = [ 2 ] // 3", "\nlet b = [ 2 ] "),
        ("ps1", "<#\n$a = 1\n#> $b = 2 # 3", "\n\n   $b = 2 "),
        ("rb", "=begin\na = 1\n=end\nb = 2", "\n\n\nb = 2"),
        ("pl", "=pod\n\n$a = 1;\n\n=cut\n$b = 2;", "\n\n\n\n\n$b = 2;"),
        ("f", "C     a = 1\n      b = 2", "\n      b = 2"),
        ("m", "%{\na = 1\n%}\nb = 2 % 3", "\n\n\nb = 2 "),
        ("jl", "#=\na = 1\n=# b = 2", "\n\n   b = 2"),
        ("lua", "--[==[\na = 1\n]==] b = 2", "\n\n     b = 2"),
        ("cmake", "#[[ set(A 1) ]] set(B 2) # 3", "                set(B 2) "),
        ("clj", "; (def a 1)\n(def b 2)", "\n(def b 2)"),
        ("properties", "! a = 1\nb = 2!", "\nb = 2!"),
        ("md", "[//]: # (1)\n* 2\n[^1]: 3", "\n* 2\n[^1]: 3"),
        ("rst", ".. a = 1\n   2\n\n.. note:: 3\n.. _4:\n5 ...", "\n\n\n.. note:: 3\n.. _4:\n5 ..."),
        ("unheard", "; 1\nREM 2\n! 3\n% 4\n' 5\n(* 6 *)\n<# 7 #>\n.. 8\n* 9", "\n" * 8),
        ("unheard", "'a': 1, 'b' = 2\n{ a: 3 }\n*p = 4\n...x, 5", "'a': 1, 'b' = 2\n{ a: 3 }\n*p = 4\n...x, 5"),
        ("unheard", "a = 1; b = 2 % 3 ! 4 * 5 (* 6", "a = 1; b = 2 % 3 ! 4 * 5 (* 6"),
        ("svg", "<a>1</a><!-- 2 -->", "<a>1</a>"),
    ],
)
def test_comments_of_languages(suffix, text, kept):
    bare = without_comments(text, suffix)
    assert [line.rstrip() for line in bare.split("\n")] == [line.rstrip() for line in kept.split("\n")]
    assert len(bare) == len(text)  # columns stay


@pytest.mark.parametrize(
    ("file", "text", "number"),
    [
        ("a.py", "NAME = 11_412.0", 11412),
        ("a.py", "NAME: float = 3.785", 3.785),
        ("a.py", "dict(NAME=3.785)", 3.785),
        ("a.py", 'NAME = "6.7 lb/gal"', 6.7),
        ("a.h", "#define NAME 3.785f /* 4.546 */", 3.785),
        ("a.h", "# define NAME (3.785)", 3.785),
        ("a.cpp", "constexpr double NAME{11'412.5};", 11412.5),
        ("a.rs", "const NAME: f64 = 3.785_f64;", 3.785),
        ("a.go", "NAME := 3.785", 3.785),
        ("a.c", "const int NAME = 43186;", 43186),
        ("a.js", "const fuel = {NAME: 3.785, b: 2}", 3.785),
        ("a.yaml", "fuel:\n  NAME: 3.785  # L", 3.785),
        ("a.toml", "NAME = 3.785", 3.785),
        ("a.json", '{"NAME": 3.785, "k": 1}', 3.785),
        ("a.ini", "NAME=3.785", 3.785),
        ("a.c", "double NAME = 3.785, b = 2 * c;", 3.785),
        ("a.py", "TABLE = {'NAME': ('3.785')}", 3.785),
        ("a.py", "for x in NAME, y: pass\nNAME = 3.785\nf(NAME, x=4)", 3.785),
        ("a.py", "dict(\n    NAME=3.785,\n)", 3.785),
        ("a.h", "NAME = 3.785,", 3.785),  # of an enumeration
        ("a.R", "NAME <- 3.785", 3.785),
        ("a.R", "NAME <<- 3.785", 3.785),
        ("a.py", "X_NAME = 1\nNAME_X = 2\nNAME = 3.785\nif NAME == 4: pass", 3.785),
    ],
)
def test_the_number_of_a_name(file, text, number, shop):
    lines(shop / file, text)
    line, found, _ = Source(shop, file).named("NAME")
    assert found == Fraction(str(number))
    assert "NAME" in text.split("\n")[line - 1]


@pytest.mark.parametrize(
    "text",
    [
        "OTHER = 3.785",
        "NAME = 2 * 3.785",
        "NAME = 3.785 * 2",
        "NAME = -3.785",
        "NAME = 3\nNAME = 4",
        "NAME = 0x1F",
        "NAME = 1.2.3",
        "NAME = (3.785) * 1.2",
        "NAME = 3.785, 4.546",
        "NAME = 3.785 if us else 4.546",
        "NAME = 3.785\nNAME *= 1.2",
        "NAME *= 3.785",
        "NAME = 3.785\nNAME = OTHER",
        "NAME = 3.785\nNAME, OTHER = 4.546, 1",
        "NAME = 3.785\nOTHER, NAME = 1, 4.546",
        "NAME = 3.785\nfor NAME in (4.546,): pass",
        "NAME = 3.785\nfor OTHER, NAME, x.y in others: pass",
        "NAME = 3.785,",
        "NAME = 3.785; NAME = 4.546",
        "NAME = [3.785, 4.546]",
        "NAME = (3.785\n    * 1.2)",
        "NAME = (3.785  # the first\n\n    - 1.2)",
        "double NAME = 3.785\n    * 1.2;",
        "static const int NAME = 3.785;",
        "int NAME = 3.5;",
        "uint32_t NAME{3.785};",
        "NAME = 0.0",
        "NAME = 1e999",
        "NAME = 1e-999",
    ],
)
def test_what_is_no_single_number_is_refused(text, shop):
    lines(shop / "a.py", text)
    with pytest.raises(FileError, match="NAME"):
        Source(shop, "a.py").named("NAME")


def test_what_a_name_is_given_is_quoted_with_the_line_where_it_goes_on(shop):
    lines(shop / "a.py", "NAME = (3.785", "    * 1.2)")
    with pytest.raises(FileError, match=r"line 1: 'NAME = \(3\.785 \* 1\.2\)'"):
        Source(shop, "a.py").named("NAME")


@pytest.mark.parametrize("file", ["a.md", "a.yaml"])
def test_a_list_below_a_number_is_no_part_of_it(file, shop):
    lines(shop / file, "NAME: 3.785\n* second\n- third")
    assert Source(shop, file).named("NAME")[1] == Fraction("3.785")


def test_a_value_that_stands_in_the_source_only(shop):
    lines(shop / "fuel.h", "#define JET 6.7", "#define K 11410.0", "#define GAL_TO_L 3.785412")
    text = """
[[density]]
name = "jet"
where = "fuel.h:JET"
unit = "lb/gal"
fuel = "Jet A"
between = ["0 degC", "30 degC"]
tolerance = "2 %"
[[k_factor]]
name = "left"
where = "fuel.h:K"
unit = "pulse/L"
calibrated = "11412 pulse/L"
tolerance = "0.1 %"
""" + FACTOR.format(where="fuel.h:GAL_TO_L", value=0).replace("value = 0\n", "")
    report = check_text(text, root=shop)
    assert report.passed
    assert sorted(each.place.line for each in report.outcomes) == [1, 2, 3]
    with pytest.raises(FileError, match="root"):
        check_text(text)
    with pytest.raises(FileError, match="'unit' is missing"):
        check_text(text.replace('unit = "lb/gal"', ""), root=shop)
    lines(shop / "fuel.h", "#define K 11410.0", "#define GAL_TO_L 4.546")
    changed = check_text(text, root=shop)
    assert [each.verdict for each in changed.outcomes] == ["MISPLACED", "holds", "FAILS"]


def test_each_file_is_read_once(shop, monkeypatch):
    lines(shop / "a.py", *(f"N_{n} = {n}.5" for n in range(50)))
    text = "".join(FACTOR.format(where=f"a.py:{n + 1}", value=n + 0.5) for n in range(1, 50))
    reads = []
    monkeypatch.setattr(places, "read_file", lambda *given, **how: reads.append(given[1]) or read_file(*given, **how))
    assert not any(each.misplaced for each in check_text(text, root=shop).outcomes)
    assert reads == ["a.py"]


_ENTRY = FactorEntry(name="x", tolerance="1 %", start="gal", goal="L")


@pytest.mark.parametrize(
    ("line", "number"),
    [
        ("GAL_TO_L = -3.785412", "-3.785412"),
        ("f(-3.785412)", "-3.785412"),
        ("x: -3.785412", "-3.785412"),
        ("return -3.785412", "-3.785412"),
        ("-3.785412", "-3.785412"),
        ("y = x - 3.785412", "3.785412"),  # subtracted
        ("y = x -3.785412", "3.785412"),
        ("GAL_TO_L <- 3.785412", "3.785412"),
        ("GAL_TO_L<-3.785412", "3.785412"),
        ("GAL_TO_L <- -3.785412", "-3.785412"),
        ("x < -3.785412", "-3.785412"),
        ("GAL_TO_L=${GAL_TO_L:-3.785412}", "3.785412"),
        ("- 3.785412", "3.785412"),  # an item of a list
    ],
)
def test_a_minus_before_a_number_is_its_sign_unless_it_subtracts(line, number, shop):
    """As Python reads them: a constant that turned negative is no longer in its place."""
    lines(shop / "a.txt", line)
    for given in ("3.785412", "-3.785412"):
        for place in (Place("a.txt", 1, column=line.index("3.785412") + 1), Place("a.txt", 1)):
            assert (problem_at(place, Fraction(given), partial(Source, shop), _ENTRY) == "") is (given == number)


def test_five_lines_that_hold_the_number_are_named(shop):
    lines(shop / "a.py", "x = 1", *["y = 3.785"] * 6)
    source_of, number = partial(Source, shop), Fraction("3.785")
    assert "is on line 2, 3, 4, 5, 6, …" in problem_at(Place("a.py", 1), number, source_of, _ENTRY)
    lines(shop / "b.py", "x = 1", *["y = 3.785"] * 5)
    assert "is on line 2, 3, 4, 5, 6" in (wrong := problem_at(Place("b.py", 1), number, source_of, _ENTRY))
    assert "…" not in wrong
    lines(shop / "c.py", *(f"NAME = {n}" for n in range(1, 7)))
    with pytest.raises(FileError, match="on lines 1, 2, 3, 4, 5;"):
        source_of("c.py").named("NAME")
    lines(shop / "d.py", "NAME = 3.785", "X = 1", "NAME = 3.785")
    assert source_of("d.py").named("NAME") == (1, number, ("", ""))


def test_a_place_is_a_line_with_or_without_a_column_or_a_name():
    read = [Place.read(f"src/a.h:{each}") for each in ("7", "7:3", "NAME")]
    assert read == [Place("src/a.h", 7), Place("src/a.h", 7, column=3), Place("src/a.h", 0, "NAME")]


@pytest.mark.parametrize(
    ("number", "is_read"), [("9.5e99", True), ("1.05e100", False), ("1.05e-100", True), ("9.5e-101", False)]
)
def test_a_named_number_is_moderate(shop, number, is_read):
    lines(shop / "a.py", f"NAME = {number}")
    if is_read:
        assert Source(shop, "a.py").named("NAME")[:2] == (1, Fraction(number))
    else:
        with pytest.raises(FileError, match="one positive number"):
            Source(shop, "a.py").named("NAME")


def test_a_place_without_a_number_does_not_hold(shop):
    lines(shop / "sheet.py", "L_PER_GAL = None")
    entry = '[[factor]]\nname = "litres"\nwhere = "sheet.py:L_PER_GAL"\nfrom = "gal"\nto = "L"\ntolerance = "1 %"\n'
    (shop / "shop.toml").write_text(entry, encoding="utf-8")
    (report,) = check_files([str(shop / "shop.toml")])
    assert (report.entries()[0]["holds"], report.entries()[0]["verdict"]) == (False, "MISPLACED")
    assert "no number to judge" in str(report.outcomes[0])


_REST = {
    "density": 'fuel = "Jet A"\nbetween = ["0 degC", "30 degC"]\ntolerance = "3 %"\n',
    "k_factor": 'calibrated = "11412 pulse/L"\ntolerance = "0.1 %"\n',
    "usable_fuel": 'total = "196 L"\nunusable = "6 L"\ntolerance = "0.5 %"\n',
    "factor": 'from = "gal"\nto = "L"\ntolerance = "0.1 %"\n',
    "expansion": 'per = "degF"\nfuel = "Jet A"\ntolerance = "2 %"\n',
    "volume_correction": 'at = "30 degC"\nfuel = "Jet A"\ntolerance = "1 %"\n',
}


def entry_of(kind, where, keys=""):
    """Return an entry that names a place, with some keys of its own and the rest of what its kind needs."""
    return f'[[{kind}]]\nname = "x"\nwhere = "{where}"\n{keys}\n{_REST[kind]}'


@pytest.mark.parametrize(
    ("kind", "text", "keys", "verdict", "off"),
    [  # 1 gal = 3.785411784 L exactly: 11 412 pulse/gal is 3015 pulse/L, 190 gal 719 L, and 190 L 50.193 gal
        ("k_factor", "11412 pulse/gal", 'unit = "pulse/L"', "FAILS", 1 / 3.785411784 - 1),
        ("k_factor", "11412 pulse/gal", 'entered = "11412 pulse/L"', "MISPLACED", 0.0),
        ("k_factor", "43199.119 pulse/gal", 'unit = "pulse/L"', "holds", 0.0),
        ("k_factor", "11412 pulses per litre", 'unit = "pulse/L"', "holds", 0.0),
        ("k_factor", "11412 pulses per litre", 'entered = "11412 pulse/L"', "holds", 0.0),
        ("k_factor", "11412", 'unit = "pulse/L"', "holds", 0.0),
        ("usable_fuel", "190 gal", 'unit = "L"', "FAILS", 2.785411784),
        ("usable_fuel", "190gal", 'unit = "L"', "FAILS", 2.785411784),
        ("usable_fuel", "190L", 'unit = "gal"', "holds", 0.0),
        ("usable_fuel", "50.193 gal", 'unit = "L"', "holds", 0.0),
        ("density", "44 degAPI", 'value = "44 degAPI"', "holds for the typical fuel", None),
        ("density", "6.7 kg/L", 'unit = "lb/gal"', "FAILS", None),
    ],
)
def test_the_unit_in_the_text_of_a_constant_counts(kind, text, keys, verdict, off, shop):
    lines(shop / "a.py", f'NAME = "{text}"')
    entry = entry_of(kind, "a.py:NAME", keys)
    (found,) = check_text(entry, root=shop).outcomes
    assert found.verdict == verdict
    assert off is None or found.deviation == pytest.approx(off, abs=1e-5)


@pytest.mark.parametrize(
    ("file", "line", "kind", "number", "unit", "other"),
    [
        ("a.json", '{"NAME": 6.7, "unit": "UNIT"}', "density", "6.7", "lb/gal", "kg/L"),
        ("a.json", '{"NAME": "11412", "unit": "UNIT"}', "k_factor", "11412", "pulse/L", "pulse/gal"),
        ("a.py", 'LEFT = {"NAME": 11412, "unit": "UNIT"}', "k_factor", "11412", "pulse/L", "pulse/gal"),
        ("a.py", 'K(NAME=11412, unit="UNIT")', "k_factor", "11412", "pulse/L", "pulse/gal"),
        ("a.toml", 'k = { NAME = 11412, unit = "UNIT" }', "k_factor", "11412", "pulse/L", "pulse/gal"),
        ("a.yaml", "left: {NAME: 11412, unit: UNIT}", "k_factor", "11412", "pulse/L", "pulse/gal"),
        ("a.yaml", "{NAME: 11412, per: UNIT}", "k_factor", "11412", "L", "gal"),
        ("a.py", 'NAME = (6.7, "UNIT")', "density", "6.7", "lb/gal", "lb/imp_gal"),
        ("a.py", 'NAME = ("6.7", "UNIT")', "density", "6.7", "lb/gal", "kg/L"),
        ("a.py", 'NAME = "190 UNIT"', "usable_fuel", "190", "L", "US gallons"),
        ("a.py", 'NAME = "190 UNIT"', "usable_fuel", "190", "gal", "gallons imperial"),
        ("a.ts", 'const a = { NAME: 190, unit: "UNIT" };', "usable_fuel", "190", "L", "imperial gallons"),
    ],
)
def test_the_unit_beside_the_number_of_a_name_counts(file, line, kind, number, unit, other, shop):
    """A name whose number has a unit beside it is judged in that unit, whichever the entry names."""
    read = {"L": "pulse/L"}.get(unit, unit) if kind == "k_factor" else unit
    entry = entry_of(kind, f"{file}:NAME", f'unit = "{read}"')
    if unit == "gal":
        entry = entry.replace("196 L", "196 gal").replace("6 L", "6 gal")
    lines(shop / file, line.replace("UNIT", unit))
    assert check_text(entry, root=shop).passed
    lines(shop / file, line.replace("UNIT", other))
    assert not check_text(entry, root=shop).passed
    key = "entered" if kind == "k_factor" else "value"
    written = entry.replace(f'unit = "{read}"', f'{key} = "{number} {read}"')
    (found,) = check_text(written, root=shop).outcomes
    assert (found.verdict, "states the unit" in found.misplaced) == ("MISPLACED", True)


def test_the_unit_at_a_column_is_that_of_its_number(shop):
    lines(shop / "a.py", 'PAIR = ["190 L", "190 gal"]')
    for column, is_right in ((10, True), (19, False)):
        entry = entry_of("usable_fuel", f"a.py:1:{column}", 'value = "190 L"')
        assert check_text(entry, root=shop).passed is is_right


def test_a_name_with_two_units_and_an_unknown_unit_are_refused(shop):
    lines(shop / "a.py", 'NAME = "190 L"', 'NAME = "190 gal"')
    with pytest.raises(FileError, match="units"):
        Source(shop, "a.py").named("NAME")
    lines(shop / "a.py", 'NAME = "190 glugs"')
    entry = entry_of("usable_fuel", "a.py:NAME", 'unit = "L"')
    with pytest.raises(FileError, match="glugs"):
        check_text(entry, root=shop)
    lines(shop / "a.json", '{"NAME": 190, "unit": "hl"}')
    beside = entry.replace("a.py", "a.json")
    with pytest.raises(FileError, match="hl"):
        check_text(beside, root=shop)
    (found,) = check_text(beside.replace('unit = "L"', 'value = "190 L"'), root=shop).outcomes
    assert "states the unit 'hl'" in found.misplaced


@pytest.mark.parametrize("where", ["a.py:NAME", "a.py:1"])
@pytest.mark.parametrize("is_given", [True, False])
@pytest.mark.parametrize(
    ("kind", "text", "is_right"),
    [  # an imperial gallon is 1.200950 US gallons (4.54609 L, exactly), and a degree Fahrenheit 5/9 of a kelvin
        ("factor", "3.785412", True),
        ("factor", "3.785412 L/gal", True),
        ("factor", "3.785412 litres per gallon", True),
        ("factor", "3.785412 L", True),
        ("factor", "3.785412 L/imp_gal", False),
        ("factor", "3.785412 gal/L", False),
        ("factor", "3.785412 gal", False),
        ("factor", "3.785412 kg/lb", False),
        ("expansion", "0.000506 per °F", True),
        ("expansion", "0.000506 per degree Fahrenheit", True),
        ("expansion", "0.000506 per degC", False),
        ("expansion", "0.000506 per K", False),
        ("volume_correction", "0.9863", True),
        ("volume_correction", "0.9863 kg/L", False),
    ],
)
def test_the_unit_of_a_plain_number_counts(where, is_given, kind, text, is_right, shop):
    lines(shop / "a.py", f'NAME = "{text}"')
    value = f"value = {text.split()[0]}\n" if is_given or where == "a.py:1" else ""
    entry = entry_of(kind, where, value)
    (found,) = check_text(entry, root=shop).outcomes
    assert (found.as_expected, bool(found.misplaced), found.holds) == (is_right, not is_right, True)


@pytest.mark.parametrize(
    ("file", "line", "kind", "number", "right", "other"),
    [
        ("a.py", 'NAME = "11412 UNIT"', "k_factor", "11412 pulse/L", "pulse/L", "pulse/gal"),
        ("a.py", "NAME = ureg('11412 UNIT')", "k_factor", "11412 pulse/L", "pulses per litre", "per gal"),
        ("a.py", 'NAME = "11412 UNIT", x', "k_factor", "11412 pulse/L", "/L", "l/pulse"),
        ("a.py", 'NAME = "11412 UNIT"', "k_factor", "11412 /L", "per L", "pulse/imp_gal"),
        ("a.py", 'NAME = Quantity(6.7, "UNIT")', "density", "6.7 lb/gal", "lb/gal", "kg/L"),
        ("a.py", 'NAME = Q_(Decimal("6.7"), "UNIT")', "density", "6.7 lb/gal", "lb/gal", "lb/imp_gal"),
        ("a.py", 'NAME = 6.7 * ureg("UNIT")', "density", "6.7 lb/gal", "lb/gal", "kg/L"),
        ("a.py", "NAME = 6.7 * UNIT", "density", "6.7 lb/gal", "ureg.lb / ureg.gal", "ureg.kg / ureg.L"),
        ("a.json", '{"density": 6.7, "unit": "UNIT"}', "density", "6.7 lb/gal", "lb/gal", "kg/L"),
        ("a.json", '{"density": "6.7 UNIT"}', "density", "6.7 lb/gal", "lb per US gal", "lbs/l"),
        ("a.ini", "density = 6.7 UNIT", "density", "6.7 lb/gal", "lb/gal", "kg/m3"),
        ("a.yaml", "density: 6.7 UNIT", "density", "6.7 lb/gal", "lb/gal", "lb"),
        ("a.md", "Jet A weighs 6.7 UNIT.", "density", "6.7 lb/gal", "pounds per gallon", "pounds per imperial gallon"),
        ("a.py", 'NAME = "44 UNIT"', "density", "44 degAPI", "°API", "kg/m3"),
        ("a.xml", "<usable>190 UNIT</usable>", "usable_fuel", "190 L", "L", "lb"),
        ("a.py", 'NAME = "190UNIT"', "usable_fuel", "190 L", "L", "gal"),
        ("a.py", 'NAME = "190 UNIT usable"', "usable_fuel", "190 L", "litres", "gal"),
        ("a.py", 'NAME = "190 UNIT"', "usable_fuel", "190 L", "l", "glugs"),
        ("a.yaml", "left: 190 UNIT", "usable_fuel", "190 L", "L", "US gallons"),
        ("a.yaml", "left: 190 UNIT", "usable_fuel", "190 L", "L usable", "lbs usable"),
        ("a.md", "It holds 190 UNIT.", "usable_fuel", "190 L", "litres in all", "pounds"),
        ("a.md", "The tank holds 190 UNIT.", "usable_fuel", "190 L", "litres", "U.S. gal"),
        ("a.py", 'NAME = "190 UNIT"', "usable_fuel", "190 L", "L (usable)", "liquid gallons"),
        ("a.py", 'NAME = "190 UNIT"', "usable_fuel", "190 L", "L per side", "UK gallons"),
        ("a.py", 'NAME = "190 UNIT"', "usable_fuel", "190 L", "L, both", "cubic feet"),
        ("a.py", 'NAME = "6.7 UNIT"', "density", "6.7 lb/gal", "lb per U.S. gallon", "lb per Imp gallon"),
        ("a.py", 'NAME = "6.7 UNIT"', "density", "6.7 lb/gal", "lb/gal (US)", "lb/gal (imp.)"),
        ("a.py", 'NAME = "6.7 UNIT"', "density", "6.7 lb/gal", "lbs/US liquid gallon", "lb/imp. gal"),
        ("a.py", 'NAME = "6.7 UNIT"', "density", "6.7 lb/gal", "lb per US gallon", "lb per wine gallon"),
        ("a.py", 'NAME = "11412 UNIT"', "k_factor", "11412 pulse/L", "counts per litre", "impulses per gallon"),
        ("a.py", 'NAME = fu.KFactor(11412, per="UNIT")', "k_factor", "11412 pulse/L", "litre", "gal"),
        ("a.py", 'NAME = fu.convert(6.7, "UNIT", "kg/L")', "density", "6.7 lb/gal", "lb/gal", "lb/imp_gal"),
        ("a.py", 'NAME = Quantity(190, "UNIT")', "usable_fuel", "190 L", "L", "lb"),
        ("a.py", "NAME = 190 * ureg.UNIT", "usable_fuel", "190 L", "L", "lb"),
        ("a.yaml", "{density: 6.7, unit: UNIT}", "density", "6.7 lb/gal", "lb/gal", "kg/L"),
        ("a.yaml", "density: {value: 6.7, unit: UNIT}", "density", "6.7 lb/gal", "pounds per gallon", "kg/L"),
        ("a.yaml", "{value: 6.7, unit: UNIT, per: gal}", "density", "6.7 lb/gal", "lb", "kg"),
        ("a.xml", '<density value="6.7" unit="UNIT"/>', "density", "6.7 lb/gal", "lb/gal", "kg/L"),
        ("a.json", '{"density": 6.7, "density_unit": "UNIT"}', "density", "6.7 lb/gal", "lb/gal", "kg/L"),
        ("a.json", '{"density": 6.7, "source": "job card", "unit": "UNIT"}', "density", "6.7 lb/gal", "lb/gal", "kg/L"),
        ("a.json", '{"usable": 190, "unit": "UNIT"}', "usable_fuel", "190 L", "metric", "wine gallons"),
        ("a.json", '{"usable": 190, "unit": "UNIT"}', "usable_fuel", "190 L", "Litres", "dL"),
        ("a.json", '{"k_factor": 11412, "unit": "UNIT"}', "k_factor", "11412 pulse/L", "p/L", "pulses/imp"),
        ("a.py", 'NAME = Quantity(11412, "UNIT")', "k_factor", "11412 pulse/L", "pulse/L", "PPG"),
        ("a.py", 'NAME = 6.7 * ureg.Quantity("UNIT")', "density", "6.7 lb/gal", "lb/gal", "kg/L"),
        ("a.py", "NAME = 11412 / ureg.UNIT", "k_factor", "11412 pulse/L", "L", "gal"),
        ("a.py", "NAME = Q_(190, ureg.UNIT)", "usable_fuel", "190 L", "L", "gal"),
        ("a.py", "NAME = ureg.Quantity(6.7, UNIT)", "density", "6.7 lb/gal", "ureg.lb / ureg.gal", "ureg.kg / ureg.L"),
        ("a.py", "NAME = 6.7 * (UNIT)", "density", "6.7 lb/gal", "ureg.lb / ureg.gal", "ureg.kg / ureg.L"),
        ("a.ini", "density = 6.7 UNIT", "density", "6.7 lb/gal", "Lb per Gal", "kilograms per litre"),
        ("a.ini", "[x] usable : 190 UNIT", "usable_fuel", "190 L", "LITRES", "kilos"),
        ("a.env", "USABLE=190 UNIT", "usable_fuel", "190 L", "L", "hl"),
        ("a.properties", "k = 11412 UNIT", "k_factor", "11412 pulse/L", "impulses/L", "PULSES PER GALLON"),
        ("a.md", "| Jet A | 6.7 UNIT |", "density", "6.7 lb/gal", "Pounds per U.S. gal", "kg/cubic metre"),
        ("a.md", "Jet A has 6.7 UNIT in all.", "density", "6.7 lb/gal", "lb/gal", "LB PER IMPERIAL GALLON"),
        ("a.md", "Jet A has 6.7 UNIT in all.", "density", "6.7 lb/gal", "lb/gal", "lb per wine gallon"),
        ("a.md", "It counts 11412 UNIT here.", "k_factor", "11412 pulse/L", "cycles per litre", "cycles per gallon"),
        ("a.md", "A 190-UNIT tank", "usable_fuel", "190 L", "litre", "gallon"),
        ("a.yaml", "- 190 UNIT", "usable_fuel", "190 L", "L", "Gals"),
        ("a.csv", "left,190 UNIT,usable", "usable_fuel", "190 L", "L/side", "Gall"),
        ("a.html", "<p>190&nbsp;UNIT</p>", "usable_fuel", "190 L", "L", "gal"),
        ("a.py", 'NAME = "6.7\N{NO-BREAK SPACE}UNIT"', "density", "6.7 lb/gal", "lb/gal", "kg/L"),
        ("a.md", "It is 6.7\N{NARROW NO-BREAK SPACE}UNIT.", "density", "6.7 lb/gal", "lb/gal", "kg/L"),
        ("a.ipynb", r"""    "NAME = \"11412 UNIT\"\n",""", "k_factor", "11412 pulse/L", "pulse/L", "pulse/gal"),
        ("a.ipynb", r""""NAME = Q(6.7, \"UNIT\")\n",""", "density", "6.7 lb/gal", "lb/gal", "kg/L"),
        ("a.ipynb", r'''"x = {\"k\": 11412, \"unit\": \"UNIT\"}"''', "k_factor", "11412 pulse/L", "pulse/L", "PPG"),
        ("a.ipynb", r'''"NAME = fu.KFactor(11412, per=\"UNIT\")"''', "k_factor", "11412 pulse/L", "L", "gal"),
    ],
)
def test_the_unit_that_a_line_states_counts(file, line, kind, number, right, other, shop):
    """A line holds the number of an entry in the unit of the entry; its number in another unit is misplaced."""
    key, column = "entered" if kind == "k_factor" else "value", line.index(number.split()[0]) + 1
    for where in (f"{file}:1", f"{file}:1:{column}"):
        entry = entry_of(kind, where, f'{key} = "{number}"')
        lines(shop / file, line.replace("UNIT", right))
        assert check_text(entry, root=shop).passed
        lines(shop / file, line.replace("UNIT", other))
        (found,) = check_text(entry, root=shop).outcomes
        assert (found.verdict, "states the unit" in found.misplaced) == ("MISPLACED", True)


@pytest.mark.parametrize(
    "line",
    [
        'CASE = ("190", "usable")',
        'CASE = ("190", "196 gal")',
        'CASE = {"usable": 190, "unit": "metric"}',
        'CASE = {"usable": 190, "display_unit": "gal"}',
        'CASE = {"usable": 190, "of": ["gal"], "unit": "lb"}',
        'CASE = Quantity(kg / 190, "lb")',
        "CASE = 190 * ureg.L * 2",
        "CASE = 190 * ureg.lb / density",
        'CASE = "190 L per side"',
        'CASE = "190 litres (50.2 US gal)"',
        'CASE = "190 L or so, in gallons less"',
    ],
)
def test_words_beside_a_tank_size_that_are_no_unit_of_it_do_not_count(line, shop):
    for file in ("a.py", "a.md", "a.ipynb"):
        lines(shop / file, line)
        where = f"{file}:1:{line.index('190') + 1}"
        entry = entry_of("usable_fuel", where, 'value = "190 L"')
        assert check_text(entry, root=shop).passed


@pytest.mark.parametrize(
    "words",
    [
        "L—of which 6 L not",
        "L of kerosene, 50 US gallons",
        "litres / 50 US gal",
        "L--usable",
        "legal litres",
        "galley seats",
        "pulsed lights",
        "lines of code per litre",
        "L/tank",
        "L & more",
        "L\\\\",
        "usable litres",
        "kilometres",
        "is the usable number in gallons",
    ],
)
@pytest.mark.parametrize("line", ["It has 190 {} in all.", "| 190 {} |", "- 190 {}", 'print("It has 190 {}")'])
def test_words_behind_a_tank_size_that_are_no_unit_do_not_count(line, words, shop):
    for file in ("a.md", "a.yaml", "a.ipynb"):
        lines(shop / file, line.format(words))
        where = f"{file}:1:{line.index('190') + 1}"
        entry = entry_of("usable_fuel", where, 'value = "190 L"')
        assert check_text(entry, root=shop).passed


@pytest.mark.parametrize(
    ("kind", "number", "right", "others"),
    [
        ("factor", "3.785412", ["L/gal", "L", "gal", "ratio"], ["qt", "kg", "mL", "%", "L/imp_gal"]),
        ("expansion", "0.000506", ["per degF", "per °F"], ["%/degF", "1/K", "ppm"]),
        ("volume_correction", "0.9863", ["L/L", "dimensionless"], ["kg/L", "L", "%"]),
    ],
)
def test_a_key_unit_of_a_plain_number_counts(kind, number, right, others, shop):
    """A percentage is 0.01, and a quart 1/4 of a gallon; an amount may be in the unit that a factor begins with."""
    for unit in (*right, *others):
        lines(shop / "a.json", f'{{"NAME": {number}, "unit": "{unit}"}}')
        for where in ("a.json:1", "a.json:NAME"):
            entry = entry_of(kind, where, f"value = {number}")
            (found,) = check_text(entry, root=shop).outcomes
            assert (found.verdict == "MISPLACED") is (unit in others), (unit, where)


@pytest.mark.parametrize(
    ("file", "definition", "line"),
    [
        ("a.py", "GAL_TO_L = 3.785", 'print(f"GAL_TO_L = {GAL_TO_L} L")'),
        ("a.py", "GAL_TO_L = 3.785", 'print(f"{GAL_TO_L=}")'),
        ("a.py", "GAL_TO_L = 3.785", 'print(f"{GAL_TO_L:.4f} and {GAL_TO_L:8.3f} L/gal")'),
        ("a.py", "GAL_TO_L = 3.785", 'print("GAL_TO_L =", GAL_TO_L)'),
        ("a.py", "GAL_TO_L = 3.785", "print('GAL_TO_L = %g' % GAL_TO_L)"),
        ("a.py", "GAL_TO_L = 3.785", 'logging.debug("it\'s GAL_TO_L=%s", GAL_TO_L)'),
        ("a.py", "GAL_TO_L = 3.785", "convert(5, GAL_TO_L=GAL_TO_L)"),
        ("a.py", "GAL_TO_L = 3.785", "x = dict(GAL_TO_L=GAL_TO_L, y=1)"),
        ("a.c", "#define GAL_TO_L 3.785", 'printf("GAL_TO_L = %f\\n", GAL_TO_L);'),
        ("a.cpp", "const double GAL_TO_L = 3.785;", 'std::cout << "GAL_TO_L = " << GAL_TO_L;'),
        ("a.js", "const GAL_TO_L = 3.785;", "console.log(`GAL_TO_L = ${GAL_TO_L}`);"),
        ("a.js", "const c = {GAL_TO_L:3.785}", "console.log(`set GAL_TO_L = ${GAL_TO_L}`);"),
        ("a.rs", "const GAL_TO_L: f64 = 3.785;", 'println!("{GAL_TO_L:.4}");'),
        ("a.sh", "GAL_TO_L=3.785", 'echo "GAL_TO_L=$GAL_TO_L"'),
        ("a.ipynb", '"GAL_TO_L = 3.785\\n",', '"print(f\\"GAL_TO_L = {GAL_TO_L}\\")"'),
    ],
)
def test_a_message_with_a_name_is_no_definition(file, definition, line, shop):
    """It holds nothing where it stands alone, and hides no other number of the name."""
    entry = entry_of("factor", f"{file}:GAL_TO_L")
    for text, is_held in (([definition, line], True), ([line], False), ([definition.replace("3", "4"), line], False)):
        lines(shop / file, *text)
        assert check_text(entry, root=shop).passed is is_held, text


@pytest.mark.parametrize(
    ("file", "line"),
    [
        ("a.py", "GAL_TO_L = other()"),
        ("a.py", "GAL_TO_L = (GAL_TO_L) * 1.2"),
        ("a.py", "GAL_TO_L = GAL_TO_L * 1.2"),
        ("a.py", "GAL_TO_L *= GAL_TO_L"),
        ("a.py", "f(GAL_TO_L=other)"),
        ("a.py", 'GAL_TO_L = "4,6"'),
        ("a.js", "const c = {GAL_TO_L: 4.546}"),
        ("a.json", '{"GAL_TO_L":4.546}'),
        ("a.py", 'print("GAL_TO_L = 4.546")'),
        ("a.py", 'exec("GAL_TO_L = other")'),
        ("a.sh", 'export "GAL_TO_L=$OTHER"'),
        ("a.yml", '- "GAL_TO_L=${OTHER}"'),
    ],
)
def test_a_second_definition_without_a_number_is_refused(file, line, shop):
    lines(shop / file, "GAL_TO_L = 3.785", line)
    entry = entry_of("factor", f"{file}:GAL_TO_L")
    assert not check_text(entry, root=shop).passed


def test_an_old_line_that_is_commented_out_holds_nothing(shop):
    """In a notebook, and where the marks of the language are not known."""
    lines(shop / "b.ipynb", "", "", '    "K = 11412\\n",')
    assert Source(shop, "b.ipynb").numbers == {Fraction(11412): [3]}
    for file, old in (("a.ipynb", '    "# K = 11412\\n",'), ("a.cfg", "; K = 11412"), ("a.unheard", "REM K = 11412")):
        lines(shop / file, old, old.replace("# ", "").replace("; ", "").replace("REM ", ""))
        entry = entry_of("k_factor", f"{file}:LINE", 'entered = "11412 pulse/L"')
        assert not check_text(entry.replace("LINE", "1"), root=shop).passed
        assert check_text(entry.replace("LINE", "2"), root=shop).passed


@pytest.mark.parametrize(
    ("file", "line"),
    [
        ("a.c", "double litres_per_gal = 3.785L;"),  # a suffix of its type
        ("a.py", "x = 3.785 if usg else y"),
        ("a.py", "ok = 3.785 in factors"),
        ("a.py", 'TABLE = ["gal", 3.785, "lb"]'),
        ("a.js", 'const t = {"gal": 3.785, "kg": x}'),
        ("a.md", "Use 3.785 in all sheets."),
        ("a.md", "| gal | 3.785 | L |"),
        ("a.py", 'print("3.785 is the factor")'),
        ("a.py", 'print("the factor 3.785 (l/gal)")'),
        ("a.csv", "gal,3.785,L"),
        ("a.py", 'x = Quantity(litres / 3.785, "gallon")'),
        ("a.py", 'TABLE = ("GAL_TO_L = 3.785", "right")'),
        ("a.py", 'TEXT = "3.785 to the gallon"'),
        ("a.md", "One gallon: 3.785 L in all."),
        ("a.md", "`GAL_TO_L = 3.785f;`"),
        ("a.md", "litres = 3.785 / gallons"),
        ("a.py", "NAME = 3.785  # kg/lb"),
        ("a.json", '{"litres": 3.785, "unit": "gal"}'),
        ("a.py", 'x = f("3.785", "right"), y'),
        ("a.json", '{"gal_to_l": 3.785, "from_unit": "gal", "to_unit": "L"}'),
        ("a.json", '{"f": 3.785, "display_unit": "US gal"}'),
        ("a.py", "x = f(3.785, unit=gal)"),
        ("a.py", 'x = f(3.785) if unit == "gal" else y'),
        ("a.md", "Use 3.785 for US gallons, not for imperial ones."),
        ("a.py", 'print("3.785 in the US and its gallon")'),
    ],
)
def test_words_that_are_no_unit_of_the_number_do_not_count(file, line, shop):
    lines(shop / file, line)
    entry = entry_of("factor", f"{file}:1", "value = 3.785")
    assert check_text(entry, root=shop).passed
