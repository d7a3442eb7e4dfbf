"""The documentation: its notebook runs, its commands run, and each generated page leads to the sources."""

import doctest
import re
import runpy
import sys
from pathlib import Path

import pytest

import fuelunits as fu
from fuelunits.__main__ import main
from fuelunits.sources import all_sources

ROOT = Path(__file__).parents[1]
DOCS = ROOT / "docs"
PAGES = sorted({*DOCS.glob("*.rst"), *DOCS.glob("tasks/*.rst"), *DOCS.glob("explanation/*.rst")})


@pytest.mark.parametrize("path", sorted(DOCS.glob("gallery/*.py")), ids=lambda path: path.stem)
def test_each_picture_of_the_gallery_is_drawn(path):
    pyplot = pytest.importorskip("matplotlib.pyplot")
    runpy.run_path(str(path))
    assert pyplot.gcf().axes[0].has_data()
    pyplot.close("all")


def test_each_line_of_the_cheat_sheet_runs():
    sheet = fu.Indicator("11412 pulse/L", reads="L/h", resolution="0.1 L/h").bench_points(["20 L/h"], tolerance="1 %")
    lines = re.findall(r"``((?:fu\.|sheet\.|\.)\w[^`]+)``", (DOCS / "cheat_sheet.rst").read_text(encoding="utf-8"))
    whole = ""
    for line in lines:
        whole = whole if line.startswith(".") else line
        start = re.match(r"fu\.\w+(?:\.read)?\((?:[^()]|\([^()]*\))*\)", whole)
        code = start[0] + line if line.startswith(".") else line
        assert eval(code, {"fu": fu, "sheet": sheet}) is not None, code
    assert len(lines) > 20


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_each_picture_has_words_for_those_who_do_not_see_it(page):
    for options in re.findall(
        r"(?m)^\.\. (?:plot|figure|image)::.*\n((?:   :.*\n)*)", page.read_text(encoding="utf-8")
    ):
        assert ":alt:" in options, page.name


def test_the_notebook_runs_from_start_to_finish():
    pytest.importorskip("matplotlib")
    text = (DOCS / "examples" / "check_pounds_per_gallon.md").read_text(encoding="utf-8")
    assert "invented" in text
    cells = re.findall(r"```\{code-cell\} python\n(.*?)```", text, flags=re.DOTALL)
    assert len(cells) >= 8
    names = {}
    for cell in cells:
        exec(compile(cell, "check_pounds_per_gallon.md", "exec"), names)
    assert names["check"].passed is False
    fuel, assumed = names["check"].fuel, names["check"].assumed_kg_m3  # the page says where the tolerance is met
    assert assumed / fuel.density_kg_m3(-11.0) > 0.97 > assumed / fuel.density_kg_m3(-13.0)
    assert names["batch"].verdict.value == "accept"
    assert names["true_lb_h"] > names["displayed_lb_h"]


def folder_of(text):
    """Return the folder into which the Python of a page saves, made by running it; else the root."""
    names = {"folder": ROOT}
    if re.search(r"(?m)^>>> folder = ", text):
        page = doctest.DocTestParser().get_doctest(text, names, "page", None, 0)
        doctest.DocTestRunner().run(page, out=lambda _: None, clear_globs=False)
        names = page.globs
    return names["folder"]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_what_is_no_python_on_a_page_is_a_command_that_runs(page, monkeypatch, capsys):
    monkeypatch.chdir(ROOT)
    text = page.read_text(encoding="utf-8")
    folder = folder_of(text)
    for block in re.findall(r"::\n\n((?:   .*\n)+)", re.sub(r"(?m)^\.\. .*$", "", text)):
        command = block.strip()
        if not command.startswith("python -m fuelunits "):
            assert command.startswith("python tests/"), f"{page.name}: {command}"
            assert (ROOT / command.split()[1]).exists()
            continue
        words = [str(folder / word) if (folder / word).is_file() else word for word in command.split()[3:]]
        assert main(words) == 0
        assert capsys.readouterr().out


def test_pages_name_no_address_and_store_no_output():
    for page in [*PAGES, *DOCS.glob("*.md"), *DOCS.glob("examples/*.md")]:
        assert "http" not in page.read_text(encoding="utf-8")
    stored = {path.relative_to(DOCS).parts[0] for path in DOCS.glob("**/*.ipynb")}
    assert stored <= {"generated", "_build"}


def test_every_source_has_an_anchor_and_every_reference_one_to_go_to(tmp_path, monkeypatch):
    pytest.importorskip("matplotlib")
    monkeypatch.syspath_prepend(str(DOCS))
    for name in ("_generate", "_pages"):
        monkeypatch.delitem(sys.modules, name, raising=False)
    import _generate
    from _pages import label

    monkeypatch.setattr("matplotlib.figure.Figure.savefig", lambda *_, **__: None)  # the pictures are not looked at
    _generate.write(tmp_path)
    pages = [page.read_text(encoding="utf-8") for page in tmp_path.rglob("*.rst")]
    anchors = {anchor for page in pages for anchor in re.findall(r"^\.\. _([\w-]+):$", page, flags=re.MULTILINE)}
    assert {label("source", key) for key in all_sources()} <= anchors
    referred = {to for page in pages for to in re.findall(r":ref:`[^`<]*(?:\\`[^`<]*)*<([\w-]+)>`", page)}
    assert referred <= anchors
    assert len(referred) > 100
    for grade in (tmp_path / "grades").glob("*.rst"):
        assert "<source-" in grade.read_text(encoding="utf-8") or grade.stem == "index", grade.name
    for topic in (tmp_path / "published").glob("*.rst"):
        assert "<source-" in topic.read_text(encoding="utf-8"), topic.name


def test_a_source_in_a_docstring_becomes_a_link(monkeypatch):
    pytest.importorskip("matplotlib")
    monkeypatch.syspath_prepend(str(DOCS))
    import _generate

    lines = ["Recalled [isa_rp31_1].", "Source ``ucum``.", "An index [0] and [not_a_source]."]
    _generate.link_sources(None, "", "", None, None, lines)
    assert lines[0] == "Recalled :ref:`isa_rp31_1 <source-isa-rp31-1>`."
    assert lines[1] == "Source :ref:`ucum <source-ucum>`."
    assert lines[2] == "An index [0] and [not_a_source]."
