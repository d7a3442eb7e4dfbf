"""What a release may not do silently: change a number, or keep what it said it would remove."""

import ast
import inspect
import re
import tomllib
from collections import Counter
from pathlib import Path

import pytest
from checksums import FIGURE, FILE, PACKAGE, checksum, constants, data, formulas, numbers_in, tables, written

import fuelunits
from fuelunits.validation import warn_deprecated

RECORDED = tomllib.loads(FILE.read_text(encoding="utf-8"))
CHANGED = (
    'a number has changed, or one was added: if that is meant, write it into CHANGELOG.md under "Numerical changes" '
    "(an addition needs no entry) and run: python tests/checksums.py"
)


@pytest.mark.parametrize("title", ["published_values", "unit_sizes", "constants", "figures"])
def test_no_number_has_changed(title):
    assert tables()[title] == RECORDED[title], CHANGED


def test_no_density_of_a_grade_has_changed():
    found, recorded = tables()["grade_densities_kg_m3"], RECORDED["grade_densities_kg_m3"]
    assert found.keys() == recorded.keys(), CHANGED
    for name, densities in found.items():
        assert densities == pytest.approx(recorded[name], rel=1e-8), f"{name}: {CHANGED}"


def with_another_digit(number):
    """Return a number whose last significant digit is another."""
    last = re.search(r"[1-9](?=[0._]*(e|$))|0(?=[0.]*$)", number).start()
    return number[:last] + str(int(number[last]) % 9 + 1) + number[last + 1 :]


@pytest.mark.parametrize("path", data(), ids=lambda path: path.name)
def test_a_changed_digit_of_any_figure_is_noticed(path):
    text = path.read_text(encoding="utf-8")
    recorded = checksum(text)
    for number in FIGURE.finditer(text):
        changed = text[: number.start()] + with_another_digit(number[0]) + text[number.end() :]
        assert checksum(changed) != recorded, f"{number[0]} in line {text.count(chr(10), 0, number.start()) + 1}"


@pytest.mark.parametrize("path", formulas(), ids=lambda path: str(path.relative_to(PACKAGE)))
def test_a_changed_digit_of_any_constant_is_noticed(path):
    code = path.read_text(encoding="utf-8")
    found = constants(code)
    for index, number in enumerate(numbers_in(ast.parse(code))):
        changed = [*found[:index], with_another_digit(found[index]), *found[index + 1 :]]
        assert sorted(changed) != sorted(found), f"{number.value} on line {number.lineno}"
    assert not Counter(found) - Counter(RECORDED["constants"]), CHANGED


def test_the_record_reads_as_it_was_written():
    assert tomllib.loads(written(tables())) == tables()


def test_the_changelog_says_what_a_changed_number_is():
    assert 'listed under "Numerical changes"' in (FILE.parents[1] / "CHANGELOG.md").read_text(encoding="utf-8")


def version(text):
    return tuple(int(part) for part in text.split("."))


def overdue(source, now):
    """Return the deprecations of some code whose removal has come or is not stated, and warnings by other means."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Name) and node.id == "DeprecationWarning":
            found.append("a DeprecationWarning that is not warn_deprecated")
        if isinstance(node, ast.Call) and ast.unparse(node.func).endswith("warn_deprecated"):
            given = {each.arg: getattr(each.value, "value", None) for each in node.keywords}
            stated = all(re.fullmatch(r"\d+\.\d+", str(given.get(key))) for key in ("since", "removed"))
            if not stated or not given.get("use") or version(given["removed"]) <= version(now)[:2]:
                found.append(ast.unparse(node))
    return found


CALL = 'warn_deprecated("ctl_old", since="0.2", removed="{}", use="ctl")'


@pytest.mark.parametrize(
    ("code", "now", "late"),
    [
        (CALL.format("0.4"), "0.3.1", False),
        (CALL.format("0.4"), "0.4.0", True),
        (CALL.format("0.10"), "0.9.0", False),
        ('validation.warn_deprecated("ctl_old")', "0.3.0", True),
        ('warnings.warn("ctl_old is deprecated", DeprecationWarning)', "0.3.0", True),
    ],
)
def test_an_overdue_deprecation_is_seen(code, now, late):
    assert bool(overdue(code, now)) is late


def test_a_deprecation_warns_where_the_name_is_used():
    def ctl_old():
        warn_deprecated("ctl_old", since="0.2", removed="0.4", use="ctl")

    with pytest.warns(DeprecationWarning, match="ctl_old .* since 0.2, removed in 0.4: use ctl") as caught:
        ctl_old()
    assert caught[0].filename == __file__
    assert caught[0].lineno == inspect.getsourcelines(test_a_deprecation_warns_where_the_name_is_used)[1] + 5


def test_no_deprecation_is_overdue():
    for path in Path(fuelunits.__file__).parent.rglob("*.py"):
        if path.name != "validation.py":
            assert not overdue(path.read_text(encoding="utf-8"), fuelunits.__version__), path
