"""The published schema of an assumptions file: a corpus of samples, and that it says what the reader does.

The samples are judged by jsonschema, a general validator; the schema itself by the meta-schema of its draft.
"""

import json
import tomllib
from pathlib import Path

import pytest
import spelled
from hypothesis import given, settings
from hypothesis import strategies as st

from fuelunits.__main__ import main
from fuelunits.checks.file import check_file, check_text, schema
from fuelunits.checks.kinds import KINDS
from fuelunits.errors import FileError

jsonschema = pytest.importorskip("jsonschema")

SAMPLES = Path(__file__).parent / "assumption_files"
PUBLISHED = Path(__file__).parents[1] / "docs" / "assumptions.schema.json"
VALIDATOR = jsonschema.Draft202012Validator(schema())


def samples(folder):
    paths = sorted((SAMPLES / folder).glob("*.toml"))
    return pytest.mark.parametrize("path", paths, ids=[path.stem for path in paths])


def accepts(path):
    return VALIDATOR.is_valid(tomllib.loads(path.read_text(encoding="utf-8")))


def test_the_schema_is_one():
    jsonschema.Draft202012Validator.check_schema(schema())


def test_the_published_copy_is_the_schema(capsys):
    """Write it anew with: python -m fuelunits schema > docs/assumptions.schema.json."""
    assert json.loads(PUBLISHED.read_text(encoding="utf-8")) == schema()
    assert main(["schema"]) == 0
    assert capsys.readouterr().out == PUBLISHED.read_text(encoding="utf-8")


def test_the_corpus_is_large_enough():
    assert len(list((SAMPLES / "good").glob("*.toml"))) >= 20
    assert len(list((SAMPLES / "bad").glob("*.toml"))) >= 40


@samples("good")
def test_a_good_file_is_accepted_and_read(path):
    assert accepts(path)
    assert check_file(path, root=path.parent / "nowhere").outcomes


@samples("bad")
def test_a_bad_file_is_refused_by_both(path):
    assert not accepts(path)
    with pytest.raises(FileError):
        check_file(path)


@samples("wrong_in_meaning")
def test_what_only_the_check_can_know(path):
    assert accepts(path)
    with pytest.raises(FileError):
        check_file(path)


OWN_CASES = ("expected_to_fail", "unit", "reference")  # keys that go with another value


@pytest.mark.parametrize("kind", KINDS)
def test_the_examples_of_the_schema_are_an_entry_that_is_read(kind):
    keys = schema()["$defs"][KINDS[kind].__name__]["properties"]
    examples = {
        name: next(each for each in (key, *key.get("anyOf", ())) if "examples" in each) for name, key in keys.items()
    }
    entry = {name: key["examples"][0] for name, key in examples.items() if name not in OWN_CASES}
    lines = [f"{name} = {json.dumps(value)}" for name, value in entry.items()]
    assert check_text("\n".join([f"[[{kind}]]", *lines])).passed
    assert VALIDATOR.is_valid({kind: [entry]})


NUMBERS = st.floats(0.001, 1e6)


@settings(max_examples=50)
@given(
    density=spelled.texts("lb/gal", 6.0, 7.0),
    low=spelled.texts("degC", -40.0, 15.0),
    high=spelled.texts("degC", 15.0, 50.0),
    pulses=spelled.texts("pulse/gal", 1.0, 1e5),
    unit=spelled.unit_texts("lb/h"),
    value=NUMBERS,
)
def test_whatever_the_reader_takes_the_schema_takes(density, low, high, pulses, unit, value):
    head = {"name": "x", "tolerance": "3 %"}
    table = {
        "density": [{**head, "value": density, "fuel": "Jet A", "between": [low, high]}],
        "k_factor": [{**head, "calibrated": pulses, "entered": pulses}],
        "factor": [{**head, "value": value, "from": unit, "to": "kg/h"}],
    }
    text = "".join(
        f"[[{kind}]]\n"
        + "".join(f"{key} = {json.dumps(given, ensure_ascii=False)}\n" for key, given in entries[0].items())
        for kind, entries in table.items()
    )
    assert check_text(text).outcomes
    assert VALIDATOR.is_valid(table)
