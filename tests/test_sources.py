"""Sources: complete, one of something, and no number without one."""

import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

import fuelunits
from fuelunits.errors import SourceError
from fuelunits.fuels.grades import all_fuels
from fuelunits.reference.verification import published
from fuelunits.sources import Source, Sourced, all_sources, source
from fuelunits.units import all_spellings


@pytest.fixture
def read_anew():
    """Read the files again, whatever was read before."""
    all_sources.cache_clear()
    all_spellings.cache_clear()


@pytest.mark.usefixtures("read_anew")
def test_sources_are_complete():
    for key, entry in all_sources().items():
        assert entry.key == key
        assert entry.obtained in {"seen", "secondary", "dataset", "common practice", "memory", "derived"}
        assert entry.title
        assert entry.edition
        assert entry.locator


def test_a_source_says_what_it_is():
    entry = Source("x", "Densities", "2nd edition", "table 3", "secondary")
    assert str(entry) == "Densities, 2nd edition, table 3 (secondary)"
    assert (entry.address, entry.note) == ("", "")
    assert source("ucum") is all_sources()["ucum"]


@dataclass(frozen=True)
class Figure(Sourced):
    value: float


REFUSALS = [
    (lambda: source("hearsay"), "there is no source 'hearsay' in sources.toml"),
    (lambda: Figure(1.0, source="hearsay"), "there is no source 'hearsay' in sources.toml"),
    (lambda: Figure(1.0, source=""), "Figure has no source; give the key of an entry of sources.toml"),
]


@pytest.mark.parametrize(("call", "message"), REFUSALS, ids=[message for _, message in REFUSALS])
def test_no_number_without_a_source(call, message):
    with pytest.raises(SourceError) as refusal:
        call()
    assert str(refusal.value) == message


def test_every_source_is_one_of_something():
    kinds = (".py", ".csv", ".toml", ".txt")
    package = Path(fuelunits.__file__).parent
    texts = [path.read_text(encoding="utf-8") for path in package.rglob("*") if path.suffix in kinds]
    elsewhere = "\n".join(text for text in texts if "[nist_sp811_b8]\ntitle" not in text)
    for key in all_sources():
        assert key in elsewhere, f"nothing names {key}"


@pytest.mark.usefixtures("read_anew")
def test_sources_and_units_are_read_alike_where_the_locale_knows_only_ascii():
    code = "from fuelunits import all_sources, units as s; print(ascii([all_sources(), s.all_spellings()]))"
    ascii_only = {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}
    told = subprocess.run([sys.executable, "-c", code], env=os.environ | ascii_only, capture_output=True, check=True)
    assert told.stdout.decode().strip() == ascii([all_sources(), all_spellings()])


def test_the_notice_repeats_every_attribution():
    notice = (Path(__file__).parents[1] / "NOTICE").read_text(encoding="utf-8")
    for entry in all_sources().values():
        assert entry.attribution in notice
        assert bool(entry.terms) >= bool(entry.attribution), f"{entry.key}: an attribution without terms"


def test_the_source_of_every_figure_states_its_terms():
    """Every published value and every density of a grade, unless recalled, derived or common practice."""
    densities = [figure for grade in all_fuels() for figure in (*grade.figures, grade.spread) if figure]
    keys = {each.source for each in (*published(), *densities)}
    read = [source(key) for key in sorted(keys) if source(key).obtained in ("seen", "secondary", "dataset")]
    assert len(read) > 60
    assert [entry.key for entry in read if not entry.terms] == []
    assert all(entry.attribution for entry in all_sources().values() if entry.obtained == "dataset")


def test_an_address_leads_to_a_page():
    """No site merely named: a DOI, a repository, or an address with a path."""
    for entry in all_sources().values():
        for address in filter(None, entry.address.split("; ")):
            assert address.startswith(("doi ", "github: ")) or "/" in address.strip("/"), entry.key


def test_at_most_fifteen_in_a_hundred_sources_are_recalled():
    obtained = [entry.obtained for entry in all_sources().values()]
    assert obtained.count("memory") <= 0.15 * len(obtained)


def test_one_document_stands_under_one_key():
    documents = [(entry.title, entry.edition) for entry in all_sources().values()]
    assert len(documents) == len(set(documents))
