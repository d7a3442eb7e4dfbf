"""The places that entries name: lines and names of sources; comments never count."""

import json
import os
from fractions import Fraction
from functools import partial

import msgspec
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


def outcome(shop, where, value=3.785, root=None, text=""):
    text = f"text = {json.dumps(text)}\n" if text else ""
    (shop / "shop.toml").write_text(FACTOR.format(where=where, value=value) + text, encoding="utf-8")
    (report,) = check_files([str(shop / "shop.toml")], root=root)
    return report.outcomes[0]


LINE = "L_PER_GAL = 3.785  # US"


def test_a_place_is_looked_up_beside_the_file_or_below_the_root(shop):
    lines(shop / "src" / "sheet.py", "# litres", f"    {LINE}\t", "N = 16.3785")
    assert outcome(shop, "src/sheet.py:2", text=LINE).as_expected
    assert outcome(shop, "sheet.py:2", root=shop / "src", text=f"{LINE} ").as_expected
    moved = outcome(shop, "src/sheet.py:1", text=LINE)
    assert (moved.holds, moved.as_expected, moved.verdict) == (True, False, "MISPLACED")
    assert moved.misplaced == "line 1 of src/sheet.py does not contain 3.785, which is on line 2"
    assert "on none of its lines" in outcome(shop, "src/sheet.py:3", value=3.7854, text="N").misplaced
    assert "on none" not in outcome(shop, "src/sheet.py:99", text=LINE).misplaced
    assert outcome(shop, "src/gone.py:2").misplaced == "src/gone.py cannot be read: No such file or directory"
    assert outcome(shop, "src:2").misplaced == "src cannot be read: it is not a file"
    wrong_and_moved = outcome(shop, "src/sheet.py:1", value=4.546, text=LINE)
    assert (wrong_and_moved.verdict, bool(wrong_and_moved.misplaced)) == ("FAILS", True)


@pytest.mark.parametrize(
    "changed",
    [
        *("L_PER_GAL = 3.785 * 1.2  # US", "L_PER_GAL = 3.785  # imperial", "L_PER_GAL = 3.785L  # US"),
        *(
            "L_PER_GAL = 3.785e1  # US",
            "L_PER_GAL = -3.785  # US",
            "l_per_gal = 3.785  # US",
            "G_PER_GAL = 3.785  # US",
        ),
        *("L_PER_GAL  = 3.785  # US", "L_PER_GAL = 3.7850  # US", f"{LINE} gallons", f"x; {LINE}", f"# {LINE}"),
        *("L_PER_GAL = 4.546  # 3.785", "L_PER_GAL /= 3.785  # US", "L_PER_GAL = 3.785 or 4  # US"),
    ],
)
def test_any_change_of_a_line_is_found(changed, shop):
    lines(shop / "a.py", LINE)
    assert outcome(shop, "a.py:1", text=LINE).as_expected
    lines(shop / "a.py", changed)
    assert outcome(shop, "a.py:1", text=LINE).verdict == "MISPLACED"


@pytest.mark.parametrize("line", ["return 'a \"3.785\" \\\\ é' + x", "L\t=  3.785", "3.785"])
def test_a_line_without_its_text_says_what_to_write(line, shop):
    lines(shop / "a.py", f"  {line}")
    found = outcome(shop, "a.py:1")
    assert (found.verdict, "write that as text" in found.misplaced) == ("MISPLACED", True)
    assert f"reads {json.dumps(line, ensure_ascii=False)}; " in found.misplaced
    assert outcome(shop, "a.py:1", text=line).as_expected
    changed = outcome(shop, "a.py:1", text="L_PER_GAL = 3.785").misplaced
    assert ("write that" in changed, "not the text of the entry" in changed) == (False, True)


@pytest.mark.parametrize("where", ["a.py:L_PER_GAL", "a sheet", ""])
def test_a_text_is_that_of_a_line(where, shop):
    lines(shop / "a.py", LINE)
    entry = FACTOR.format(where=where or "x", value=3.785) + f"text = {json.dumps(LINE)}\n"
    with pytest.raises(FileError, match="'text' is that of a line"):
        check_text(entry.replace('where = "x"\n', ""), root=shop)


def test_the_number_that_replaced_another_is_named_with_its_mistake(shop):
    lines(shop / "sheet.py", "def litres(gallons): return gallons * 3.758", "def lb(kg): return 2 * kg * 0.4536, 3.785")
    changed = outcome(shop, "sheet.py:1", text="def litres(gallons): return gallons * 3.785").misplaced
    assert changed.startswith("line 1 of sheet.py contains 3.758 and not 3.785, which is on line 2")
    assert "two digits swapped" in changed
    for where in ("sheet.py:2", "sheet.py:7"):  # several numbers, none
        assert "it may be" not in outcome(shop, where, value=4.546).misplaced
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
    assert outcome(shop, "inside/../inside/sheet.py:1", text="L_PER_GAL = 3.785").as_expected
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
    assert outcome(shop, "long.txt:2", text="3.785").as_expected
    assert "is on line 2" in outcome(shop, "long.txt:1").misplaced


@pytest.mark.parametrize(
    "text",
    ["L_PER_GAL = 4.546 if imperial else 3.785", "L = 4.546; OLD = 3.785", "f(3.785, 3.785)", "/* 4.546 */ x = 3.785;"],
)
def test_a_line_may_hold_other_numbers(text, shop):
    lines(shop / "a.c", text)
    assert outcome(shop, "a.c:1", text=text).as_expected
    assert not outcome(shop, "a.c:1", text=text.replace("4.546", "4.54").replace("3.785)", "3.78)")).as_expected


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
        *(
            "sheet.py:1:7",
            "sheet.py:1-3",
            "sheet.py: GAL_TO_L",
            "sheet.py:GAL_TO_L[0]",
            "sheet.py:1:",
            "src/sheet: 3",
            "Makefile:3-5",
        ),
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
    assert set(numbers_in(line)) == {Fraction(number) for number in found}


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
        ("a.yaml", "fuel:\n  NAME: 3.785  # L", 3.785),
        ("a.toml", "NAME = 3.785", 3.785),
        ("a.ini", "NAME=3.785", 3.785),
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
        "NAME = 011412",  # octal in C, 4874
        "C = dict(\n    NAME=3.785\n    if US\n    else 4.546,\n)",
        "C = {\n    'NAME': 3.785\n    if US\n    else 4.546\n}",
        "C = dict(\n    NAME=3.785\n    + 0.761,\n)",
        "C = (f(NAME=3.785)\n    .scaled)",
        "NAME = 3.785\n    .toFixed(0)",
        "NAME = 3.785\n  ? 1 : 2;",
        "NAME = 3.785D1",  # of Fortran
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


@pytest.mark.parametrize(
    ("file", "text"),
    [
        ("a.f", "      NAME = 3.785\n     1       * 1.2"),  # a mark in column 6 goes on with the line
        ("a.for", "      NAME = 3.785\n     &* 1.2"),
        ("a.js", "const c = {\n  NAME: 3.785\n    + 0.761,\n};"),
        ("a.rs", "let NAME = 3.785_f64\n    .round();"),
        ("a.yaml", "us:\n  NAME: 3.785\nimp:\n  NAME: &a 4.546"),
        ("a.yaml", "us:\n  NAME: 3.785\nimp:\n  NAME: >-\n    4.546"),
        ("a.yaml", "NAME: 3.785\n  litres"),
        ("a.yaml", "NAME: 3.785\nb:\n  NAME:\n    4.546"),
        ("a.yaml", "NAME: 3.785\nb:\n  NAME: [4.546]"),
        ("a.yaml", 'NAME: 3.785\nb:\n  NAME: "{{ imp }}"'),
        ("a.json", '{\n"NAME": 3.785,\n"NAME" :\n 4.546}'),
        ("a.json", '{\n"NAME": 3.785,\n"b": {"NAME": {"v": 4.546}}}'),
        ("a.ipynb", '"NAME = (3.785\\n",\n"  * 1.2)\\n"'),
        ("a.cpp", "const auto NAME = 190_L;"),  # a literal of the program, as litres
        ("a.cpp", "const auto NAME = 190_l;"),
    ],
)
def test_what_goes_on_or_is_given_again_is_refused(file, text, shop):
    lines(shop / file, text)
    with pytest.raises(FileError, match="NAME"):
        Source(shop, file).named("NAME")


@pytest.mark.parametrize(
    ("file", "text"),
    [
        ("a.js", "let NAME = 3.785\nif (us) {\n  f()\n}"),
        ("a.sh", "NAME=3.785\n. ./other.sh"),
        ("a.sh", "NAME=3.785\nif [ -f x ]; then\n  y=1\nfi"),
        ("a.yaml", "- NAME: 3.785\n  other: 4\n- NAME: 3.785"),
        ("a.go", "const (\n\tNAME = 3.785\n)"),
        ("a.json", '{\n  "NAME": 3.785\n}'),
        ("a.c", "double NAME = 3.785;\n  *x = 4;"),
        ("Makefile", "NAME = 3.785\n\nall:\n\ttrue"),
        ("a.rs", "let NAME = 3.785_f64;"),
        ("a.py", "class A:\n    NAME = 3.785\n\n    def f(self): pass"),
    ],
)
def test_what_follows_on_lines_of_its_own_is_no_part(file, text, shop):
    lines(shop / file, text)
    assert Source(shop, file).named("NAME")[1] == Fraction("3.785")


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
    entries = (FACTOR.format(where=f"a.py:{n + 1}", value=n + 0.5) + f"text = 'N_{n} = {n}.5'\n" for n in range(1, 50))
    text = "".join(entries)
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
    entry = msgspec.structs.replace(_ENTRY, text=line)
    for given in ("3.785412", "-3.785412"):
        wrong = problem_at(Place("a.txt", 1), Fraction(given), partial(Source, shop), entry)
        assert (wrong == "") is (given == number)


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
    assert source_of("d.py").named("NAME") == (1, number, "")


def test_a_place_is_a_line_or_a_name():
    read = [Place.read(each) for each in ("src/a.h:7", "src/a.h:NAME", r"C:\a.h:7")]
    assert read == [Place("src/a.h", 7), Place("src/a.h", 0, "NAME"), Place(r"C:\a.h", 7)]


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
    ("file", "line"),
    [
        ("a.json", '{"NAME": 11412, "unit": "pulse/L"}'),
        ("a.json", '{"NAME": "11412", "unit": "pulse/L"}'),
        ("a.py", 'K(NAME=11412, unit="pulse/L")'),
        ("a.yaml", "{NAME: 11412, per: L}"),
        ("a.py", 'NAME = (11412, "pulse/L")'),
        ("a.py", "NAME = 11412 / ureg.L"),
        ("a.py", 'NAME = fu.KFactor(11412, per="L")'),
        ("a.py", 'NAME = Quantity(11412, "pulse/L")'),
        ("a.xml", '<k NAME="11412" unit="pulse/L"/>'),
        ("a.yaml", "NAME: 11412 pulse/L"),
        ("a.ini", "NAME = 11412 pulse/L"),
        ("a.ini", "NAME = 11412L"),
        ("a.env", "NAME=11412L"),
        ("a.yaml", "NAME: 11412L"),
        ("Makefile", "NAME = 11412L"),
        ("a.md", "NAME = 11412 usable"),
        ("a.js", "const a = {NAME: 11412, b: 2}"),
        ("a.c", "double NAME = 11412, b = 2;"),
        ("a.js", "NAME = 11412; UNIT = 'L'"),
    ],
)
def test_a_name_whose_line_goes_on_behind_its_number_is_refused(file, line, shop):
    """What stands there may be its unit; the message names the line, which can be guarded as it reads."""
    lines(shop / file, line)
    (found,) = check_text(entry_of("k_factor", f"./{file}:NAME", 'unit = "pulse/L"'), root=shop).outcomes
    assert (found.verdict, f"name ./{file}:1, and write" in found.misplaced) == ("MISPLACED", True)
    by_line = entry_of("k_factor", f"./{file}:1", f'entered = "11412 pulse/L"\ntext = {json.dumps(line)}')
    assert check_text(by_line, root=shop).passed


@pytest.mark.parametrize(
    ("suffix", "is_read"), [("c", True), ("java", True), ("rs", True), ("py", False), ("md", False)]
)
@pytest.mark.parametrize("letters", ["L", "f", "UL"])
def test_letters_of_a_type_are_those_of_typed_code(suffix, is_read, letters, shop):
    """190L is a long integer of C (ISO/IEC 9899, 6.4.4.1), and litres elsewhere."""
    lines(shop / f"a.{suffix}", f"TANK = 190{letters};")
    entry = entry_of("usable_fuel", f"a.{suffix}:TANK", 'unit = "L"')
    assert check_text(entry, root=shop).passed is is_read


def test_a_name_with_two_units_and_an_unknown_unit_are_refused(shop):
    lines(shop / "a.py", 'NAME = "190 L"', 'NAME = "190 gal"')
    with pytest.raises(FileError, match="units"):
        Source(shop, "a.py").named("NAME")
    for unit in ("glugs", "wine gallons", "L usable", "usable L"):
        lines(shop / "a.py", f'NAME = "190 {unit}"')
        entry = entry_of("usable_fuel", "a.py:NAME", 'unit = "L"')
        with pytest.raises(FileError, match=unit):
            check_text(entry, root=shop)
        (found,) = check_text(entry.replace('unit = "L"', 'value = "190 L"'), root=shop).outcomes
        assert f"states the unit '{unit}'" in found.misplaced


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
def test_the_unit_of_a_plain_number_counts(is_given, kind, text, is_right, shop):
    lines(shop / "a.py", f'NAME = "{text}"')
    entry = entry_of(kind, "a.py:NAME", f"value = {text.split()[0]}\n" if is_given else "")
    (found,) = check_text(entry, root=shop).outcomes
    assert (found.as_expected, bool(found.misplaced), found.holds) == (is_right, not is_right, True)


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
        for line, is_held in ((1, False), (2, True)):
            text = json.dumps((shop / file).read_text(encoding="utf-8").split("\n")[line - 1].strip())
            entry = entry_of("k_factor", f"{file}:{line}", f'entered = "11412 pulse/L"\ntext = {text}')
            assert check_text(entry, root=shop).passed is is_held
