"""The pages that follow from the library: sources, grades, published values, and the API reference."""

from __future__ import annotations

import ast
import re
from collections import defaultdict
from functools import cache
from importlib import import_module
from inspect import get_annotations
from pathlib import Path
from pkgutil import walk_packages
from typing import Any

import matplotlib.pyplot as plt
from _pages import bullets, cite, heading, label, page, table, text

import fuelunits
from fuelunits import plots
from fuelunits.conversion import convert
from fuelunits.fuels.grades import Figure, Fuel, all_fuels
from fuelunits.reference.verification import TOPICS, PublishedValue, Verification, verify
from fuelunits.sources import Source, all_sources
from fuelunits.units import factor

OBTAINED = {
    "seen": "read in a public document",
    "secondary": "read in a transcription or summary by others",
    "dataset": "taken from an open data file",
    "common practice": "a fact of the trade, without a citable source",
    "memory": "recalled, not read; every result that rests on it says so",
    "derived": "follows by arithmetic from figures whose sources are named",
}
"""The ways in which a figure can have been obtained, and what each means."""

ROOT = Path(fuelunits.__file__).parent
DOCS = Path(__file__).parent
SUBJECTS = {
    "units": "Units, quantities, sources, errors",
    "fuels": "Fuels: volume correction, grades, batches, blends, viscosity",
    "uncertainty": "Uncertainty and decisions",
    "meters": "Meters: K-factor, pulses, curves",
    "bench": "Calibration on the bench",
    "indicators": "Indicators, fill-ups, endurance",
    "records": "Records of jobs, histories of transducers",
    "checks": "Checks of assumptions",
    "reference": "Published values",
    "tools": "For test suites and pictures",
}
WHOLE_MODULES = {"errors": "units", "testing": "tools", "strategies": "tools", "plots": "tools"}
"""Modules that are public as a whole, each with its subject."""


def _homes() -> dict[str, str]:
    """Return the module of each public name, as the stub lists them."""
    tree = ast.parse((ROOT / "__init__.pyi").read_text(encoding="utf-8"))
    imports = [node for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)]
    return {alias.name: node.module or "" for node in imports for alias in node.names}


def write(folder: Path) -> None:
    """Write every generated page below a folder."""
    report = verify()
    _sources(folder, report)
    _grades(folder / "grades")
    _published(folder / "published", report)
    _api(folder / "api")
    _gallery(folder / "gallery")


# ------------------------------------------------------------------ sources


def _sources(folder: Path, report: Verification) -> None:
    used: dict[str, list[str]] = defaultdict(list)
    for grade in all_fuels():
        for key in _sources_of(grade):
            used[key].append(f":ref:`{text(grade.name)} <{label('grade', grade.name)}>`")
    for each in report.rows():
        words, key = _words(each["topic"]), label("topic", each["topic"])
        used[each["source"]].append(f":ref:`published values on {words} <{key}>`")
    for module in modules():
        for key in sources_in(module):
            used[key].append(f"``{module}``")
    ways = bullets(f"**{way}**: {meaning}" for way, meaning in OBTAINED.items())
    entries = [_source(entry, used[key]) for key, entry in sorted(all_sources().items())]
    intro = "Every number of the library names one of these. Each entry says how its figures were obtained:\n"
    page(folder / "sources.rst", heading("Sources"), intro, ways, *entries)


def _source(entry: Source, used: list[str]) -> str:
    lines = [f".. _{label('source', entry.key)}:\n", f"**{text(entry.title)}**, {text(entry.edition)}"]
    lines += [f"   :Key: ``{entry.key}``", f"   :Where in it: {text(entry.locator)}", f"   :Obtained: {entry.obtained}"]
    lines += [f"   :Read at: {_linked(entry.address)}"] if entry.address else []
    lines += [f"   :Note: {text(entry.note)}"] if entry.note else []
    lines += [f"   :Terms: {text(entry.terms)}"] if entry.terms else []
    lines += [f"   :Attribution: {text(entry.attribution)}"] if entry.attribution else []
    lines += [f"   :Used by: {', '.join(dict.fromkeys(used))}"] if used else []
    return "\n".join(lines) + "\n"


def _linked(address: str) -> str:
    """Write addresses as links: a DOI, a repository, a page; words remain words."""
    parts = []
    for part in address.split("; "):
        doi, repository = re.match(r"doi (10\.\S+)", part), re.match(r"github: ([\w.-]+/[\w.-]+)(.*)", part)
        if doi:
            parts.append(f"`doi {doi[1]} <https://doi.org/{doi[1]}>`__")
        elif repository:
            parts.append(f"`{repository[1]} <https://github.com/{repository[1]}>`__{text(repository[2])}")
        elif re.fullmatch(r"[\w-]+(\.[\w-]+)+(/\S*)?", part):
            parts.append(f"`{part} <https://{part}>`__")
        else:
            parts.append(text(part))
    return "; ".join(parts)


def _sources_of(grade: Fuel) -> list[str]:
    keys = [each.source for each in grade.figures] + [grade.valid_temperatures_c.source, grade.liquid.source]
    return list(dict.fromkeys(key for key in keys if key in all_sources()))


# ------------------------------------------------------------------- grades


def _grades(folder: Path) -> None:
    rows = []
    for grade in all_fuels():
        _grade(folder, grade)
        rows.append(
            [
                f":ref:`{text(grade.name)} <{label('grade', grade.name)}>`",
                grade.kind,
                f"{grade.typical.density_kg_m3:.1f} at {grade.typical.at_c:.4g}",
                *("-" if limit is None else f"{limit.density_kg_m3:.1f}" for limit in (grade.low, grade.high)),
            ]
        )
    heads = ["Grade", "Kind", "Typical, kg/m³ at °C", "At least, kg/m³", "At most, kg/m³"]
    intro = (
        "No grade has one density. The typical figure is the mean of a survey where one could be read, and otherwise "
        "that of one fuel; a batch may differ from it by "
        "as much as the specification allows, or more where it sets no limits. Where weight matters, measure.\n"
    )
    names = "\n".join(f"   {_file(grade.name)}" for grade in all_fuels())
    toctree = f".. toctree::\n   :hidden:\n\n{names}\n"
    page(folder / "index.rst", heading("Grades"), intro, table(heads, rows), toctree)


def _grade(folder: Path, grade: Fuel) -> None:
    kind = f"{grade.kind}{f', NATO {grade.nato}' if grade.nato else ''}"
    facts = [f"Kind: {kind}."]
    facts += [f"Also found as: {', '.join(map(text, grade.aliases))}."] if grade.aliases else []
    limits = grade.valid_temperatures_c
    facts.append(f"Valid from {limits.low:g} to {limits.high:g} °C ({_cited(limits.source)}).")
    facts.append(f"Expansion with temperature: {_cited(grade.liquid.source)}.")
    notes = [f".. note::\n\n   {text(note)}\n" for note in (grade.note, *grade.remarks()) if note]
    density = f".. warning::\n\n   Its density is refused: {text(grade.refused)}\n"
    if not grade.refused:
        _picture(folder / f"{_file(grade.name)}.svg", grade)
        density = f".. figure:: {_file(grade.name)}.svg\n   :alt: density of {grade.name} over temperature\n\n"
        density += _densities(grade)
    page(
        folder / f"{_file(grade.name)}.rst",
        f".. _{label('grade', grade.name)}:\n",
        heading(grade.name),
        bullets(facts),
        *notes,
        heading("Density over temperature", "-"),
        density,
        heading("Where the figures come from", "-"),
        table(
            ["Figure", "kg/m³", "lb/US gal", "At °C", "Source", "Obtained"],
            [_figure(row["figure"], each) for row, each in zip(grade.rows(), grade.figures, strict=True)],
        ),
    )


def _figure(name: str, each: Figure) -> list[str]:
    cells = each.cells()
    where = f", {text(each.locator)}" if each.locator else ""
    return [name, cells["kg/m³"], cells["lb/gal"], cells["at °C"], _cited(each.source) + where, cells["obtained"]]


def _densities(grade: Fuel) -> str:
    """Return the typical density and the limits over temperature, in the units of both worlds."""
    low, high = grade.valid_temperatures_c.low, grade.valid_temperatures_c.high
    inner = [t for t in range(-60, 161, 20) if low < t < high]
    to_lb_gal = factor("kg/m^3", "lb/gal")
    rows = []
    for t in sorted({low, 15.0, *map(float, inner), high}):
        found = (grade.density_kg_m3(t), *grade.density_limits_kg_m3(t))
        metric = ["-" if each is None else f"{each:.1f}" for each in found]
        customary = ["-" if each is None else f"{each * to_lb_gal:.3f}" for each in found]
        rows.append([f"{t:g}", f"{convert(t, 'degC', 'degF'):.4g}", *metric, *customary])
    names = ("Typical", "Lightest allowed", "Densest allowed")
    heads = ["°C", "°F", *(f"{name}, kg/m³" for name in names), *(f"{name}, lb/US gal" for name in names)]
    return table(heads, rows, numbers=True)


def _picture(path: Path, grade: Fuel) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    figure, ax = plt.subplots(figsize=(6.4, 4.4))
    plots.density(grade, ax=ax)
    figure.savefig(path, bbox_inches="tight")
    plt.close(figure)


# --------------------------------------------------------- published values


def _published(folder: Path, report: Verification) -> None:
    by_topic: dict[str, list[dict[str, Any]]] = defaultdict(list)
    for each in report.rows():
        by_topic[each["topic"]].append(each)
    rows = [
        [
            f":ref:`{_words(each['topic'])} <{label('topic', each['topic'])}>`",
            _cited(each["source"]),
            str(each["checks"]),
            str(each["reproduced"]),
            str(each["controls"]),
            f"{100.0 * each['largest_relative_deviation']:.2g}",
            all_sources()[each["source"]].obtained,
        ]
        for topic in TOPICS
        for each in by_topic[topic]
    ]
    for topic in TOPICS:
        by_source: dict[str, list[PublishedValue]] = defaultdict(list)
        for value in report.results:
            if value.topic == topic:
                by_source[value.source].append(value)
        heads = ["Value", "Given", "Printed", "Unit", "Ours", "Ours less printed", "Allowed"]
        parts = [
            f"{heading(_title(key), '-')}\nSource: {_cited(key)}.\n\n{table(heads, map(_value, results))}"
            for key, results in by_source.items()
        ]
        page(
            folder / f"{topic}.rst",
            f".. _{label('topic', topic)}:\n",
            heading(_words(topic).capitalize()),
            "Recomputed when this page was built; ``fuelunits/reference/recipes.py`` says how.\n",
            *parts,
        )
    _deviations(folder / "deviations.svg", report)
    intro = (
        "The library contains these published values and recomputes each: ``fu.verify()``, or on the command line "
        "``python -m fuelunits verify``. A value is reproduced when ours rounds to the printed digits, or is within a "
        "tolerance whose reason is given beside it. A control is known to be wrong in print or of another edition, and "
        f"must *not* be reproduced.\n\nWhen this page was built: **{report.verdict}**.\n"
    )
    heads = ["Topic", "Source", "Values", "Agree", "Controls", "Largest deviation, %", "Obtained"]
    figure = ".. figure:: deviations.svg\n   :alt: deviations of all published values\n\n"
    figure += "   Each mark is one value: our deviation from the printed value, relative to the deviation allowed.\n"
    names = "\n".join(f"   {topic}" for topic in TOPICS)
    toctree = f".. toctree::\n   :hidden:\n\n{names}\n"
    page(folder / "index.rst", heading("Published values"), intro, figure, table(heads, rows), toctree)


def _value(value: PublishedValue) -> list[str]:
    given = ", ".join(f"{text(name)} {text(number)}" for name, number in value.given.items())
    what = text(value.what.replace("_", " ")) + (" (control: must not reproduce)" if value.control else "")
    ours = text(value.ours) if isinstance(value.ours, str) else f"{value.ours:.9g}"
    off = "-" if value.deviation is None else f"{value.deviation:+.2g}"
    allowed = f"{value.allowed:.2g}" + (f" ({text(value.note)})" if value.tolerance else "")
    return [
        what,
        given or "-",
        value.printed,
        "-" if value.unit == "1" else text(value.unit),
        ours,
        off,
        allowed,
    ]


def _deviations(path: Path, report: Verification) -> None:
    figure, ax = plt.subplots(figsize=(6.4, 5.2))
    for row, topic in enumerate(TOPICS):
        checks = [each for each in report.results if each.topic == topic and not each.control]
        parts = [each.deviation / each.allowed for each in checks if each.deviation is not None]
        ax.plot(parts, [row] * len(parts), "|", color="#0072B2", markersize=9, alpha=0.6)
    ax.axvspan(-1.0, 1.0, color="#009E73", alpha=0.15)
    ax.set_yticks(range(len(TOPICS)), [_words(topic) for topic in TOPICS])
    ax.invert_yaxis()
    ax.set_xlabel("deviation over allowed deviation, dimensionless")
    figure.savefig(path, bbox_inches="tight")
    plt.close(figure)


# ------------------------------------------------------------------ gallery


def _gallery(folder: Path) -> None:
    """Run each example of the gallery, and write its page and a picture that leads to it."""
    figures, names = [], []
    for script in sorted((DOCS / "gallery").glob("*.py")):
        code = script.read_text(encoding="utf-8")
        title = (ast.get_docstring(ast.parse(code)) or "").rstrip(".")
        folder.mkdir(parents=True, exist_ok=True)
        exec(compile(code, str(script), "exec"), {"__name__": "gallery"})
        plt.gcf().savefig(folder / f"{script.stem}.svg", bbox_inches="tight")
        plt.close("all")
        picture = f"figure:: {script.stem}.svg\n{{0}}   :alt: {text(title)}\n"
        target = f"      :target: {script.stem}.html\n"
        figures.append(f"   .. {picture.format('   ')}{target}\n      {text(title)}\n")
        literal = f".. literalinclude:: ../../gallery/{script.name}\n   :language: python\n"
        page(folder / f"{script.stem}.rst", heading(title), f".. {picture.format('')}", literal)
        names.append(f"   {script.stem}")
    intro = "Each picture leads to the lines that draw it. The transducers, tanks and flights are invented.\n"
    toctree = ".. toctree::\n   :hidden:\n\n" + "\n".join(names) + "\n"
    page(folder / "index.rst", heading("Gallery"), intro, ".. container:: gallery\n", *figures, toctree)


def write_tour(path: Path) -> None:
    """Write the tour as a notebook file that can be downloaded."""
    import nbformat
    from myst_nb.core.read import read_myst_markdown_notebook

    source = (DOCS / "examples" / "tour.md").read_text(encoding="utf-8")
    nbformat.write(read_myst_markdown_notebook(source), path)


# ------------------------------------------------------------ API reference


@cache
def modules() -> tuple[str, ...]:
    """Every module by its dotted name, without packages that hold nothing themselves."""
    found = walk_packages([str(ROOT)], "fuelunits.")
    return tuple(sorted(each.name for each in found if not each.ispkg and not each.name.endswith("__main__")))


def sources_in(module: str) -> list[str]:
    """Find the sources that a module, or a data file of its own, names."""
    path = Path(import_module(module).__file__ or "")
    own = {"grades": ["grades.toml"], "viscosity": ["viscosities.toml"], "units": ["units.txt"]}
    texts = [path, *(path.parent / name for name in own.get(path.stem, []) if (path.parent / name).exists())]
    named = re.findall(
        r"[\"'`\[( ]([a-z0-9_]{4,})[\"'`\]),]", " ".join(each.read_text(encoding="utf-8") for each in texts)
    )
    return sorted({name for name in named if name in all_sources()})


def _api(folder: Path) -> None:
    """Write one page a subject, with the public names as users write them, and an index with a line about each."""
    homes = _homes()
    names: dict[str, list[str]] = {subject: [] for subject in SUBJECTS}
    for name, home in sorted(homes.items(), key=lambda pair: pair[0].casefold()):
        package = home.partition(".")[0]
        names[package if package in SUBJECTS else "units"].append(name)
    parts = []
    for subject, title in SUBJECTS.items():
        rows = [[f":py:obj:`~fuelunits.{name}`", _summary_of(name, homes[name])] for name in names[subject]]
        whole = [module for module, at in WHOLE_MODULES.items() if at == subject]
        rows += [[f":py:mod:`fuelunits.{name}`", _summary(import_module(f"fuelunits.{name}"))] for name in whole]
        parts.append(heading(title, "-") + "\n" + table(["Name", "What it is"], rows))
        members = [_member(name, homes[name]) for name in names[subject]]
        modules_ = [_module(module) for module in whole]
        page(folder / f"{subject}.rst", heading(title), *members, *modules_)
    intro = (
        "Import every public name from ``fuelunits``: ``import fuelunits as fu``. Modules below it may move; "
        "these names stay (:doc:`/stability`).\n"
    )
    toctree = ".. toctree::\n   :hidden:\n\n" + "\n".join(f"   {subject}" for subject in SUBJECTS) + "\n"
    page(folder / "index.rst", heading("API reference"), intro, toctree, *parts)


def _summary(value: Any) -> str:
    """Return the first line of a docstring."""
    return (value.__doc__ or "").strip().partition("\n")[0].replace("*", r"\*")


def _summary_of(name: str, home: str) -> str:
    """Return the first line about a public name; that of a constant stands below it in its module."""
    value = getattr(fuelunits, name)
    if isinstance(value, type) or callable(value):
        return _summary(value)
    body = ast.parse((ROOT / f"{home.replace('.', '/')}.py").read_text(encoding="utf-8")).body
    at = next(i for i, node in enumerate(body) if isinstance(node, ast.Assign) and node.targets[0].id == name)
    return str(body[at + 1].value.value).partition("\n")[0]


def _module(module: str) -> str:
    """Return the section of a module that is public as a whole."""
    dotted = f"fuelunits.{module}"
    return f"{heading(module, '-')}\n.. automodule:: {dotted}\n   :members:\n{_cites(dotted)}"


def _member(name: str, home: str) -> str:
    """Return the entry of a public name, under which its module's sources are cited."""
    value = getattr(fuelunits, name)
    kind = "class" if isinstance(value, type) else "function" if callable(value) else "data"
    members = "   :members:\n" if kind == "class" else ""
    return f".. auto{kind}:: fuelunits.{name}\n{members}{_cites(f'fuelunits.{home}')}"


def _cites(module: str) -> str:
    keys = sources_in(module)
    return f"\n   Sources: {', '.join(map(cite, keys))}.\n" if keys else ""


# ---------------------------------------------------------------- shared pieces


def _cited(key: str) -> str:
    entry = all_sources().get(key)
    return cite(key, text(entry.title).replace("<", "").replace(">", "")) if entry else text(key)


def _title(key: str) -> str:
    """Return a short heading for a source: its title up to the first comma or colon."""
    entry = all_sources().get(key)
    return text(re.split(r"[,:(]", entry.title)[0].strip()) if entry else text(key)


def _words(topic: str) -> str:
    return topic.replace("_", " ")


def _file(name: str) -> str:
    return re.sub("[^a-z0-9]+", "-", name.casefold())


def link_sources(_app: Any, _what: str, _name: str, _obj: Any, _options: Any, lines: list[str]) -> None:
    """Turn the key of a source in a docstring into a link to it."""

    def linked(found: re.Match[str]) -> str:
        keys = [key.strip() for key in found[1].split(",")]
        return ", ".join(map(cite, keys)) if all(key in all_sources() for key in keys) else found[0]

    lines[:] = [re.sub(r"\[([a-z0-9_]+(?:, [a-z0-9_]+)*)\]", linked, line) for line in lines]
    lines[:] = [re.sub(r"``([a-z0-9_]+)``", linked, line) for line in lines]


def list_sources(_app: Any, doctree: Any) -> None:
    """Close a page with links to what its figures rest on: grades, and sources that its reports or functions name."""
    from docutils import nodes
    from sphinx.addnodes import pending_xref

    name = doctree.settings.env.docname
    if (name.startswith("generated/") and "gallery" not in name) or not doctree.children:
        return
    kinds = (nodes.literal_block, nodes.doctest_block, nodes.raw)
    words = " ".join(
        re.sub("<[^>]+>", "", " ".join(node.astext() for kind in kinds for node in doctree.findall(kind))).split()
    )
    to = {label("grade", each.name): each.name for each in all_fuels() if f'"{each.name}"' in words}
    homes = _homes()
    # the page of each grade names the sources of that grade
    called = {homes[each] for each in re.findall(r"\bfu\.(\w+)", words) if each in homes} - {"fuels.grades"}
    keys = {key for home in called for key in sources_in(f"fuelunits.{home}")}
    for entry in all_sources().values():
        if entry.key in keys or f"{entry.title} (" in words:
            to[label("source", entry.key)] = entry.title
    line = nodes.paragraph("", "", nodes.strong("", "What the figures rest on: "))
    for number, (target, title) in enumerate(to.items()):
        how = {"refdomain": "std", "reftype": "ref", "refexplicit": True, "refdoc": name}
        line += [nodes.Text("; " if number else ""), pending_xref("", nodes.inline("", title), reftarget=target, **how)]
    if to:
        doctree.children[-1].append(line)


def find_by_last_name(app: Any, env: Any, node: Any, contnode: Any) -> Any:
    """Find what a docstring calls by its last name; what is there and not public stays without a link."""
    if node.get("refdomain") != "py":
        return None
    target = node["reftarget"].removeprefix("fuelunits.")
    objects = env.domains.python_domain.objects
    found = [name for name in objects if name.endswith(f".{target}")]
    if len(found) != 1:
        return contnode if target.rpartition(".")[2] in _known() or f"fuelunits.{target}" in modules() else None
    from sphinx.util.nodes import make_refnode

    at = objects[found[0]]
    return make_refnode(app.builder, node["refdoc"], at.docname, at.node_id, contnode, found[0])


@cache
def _known() -> frozenset[str]:
    """Every name in the modules, and every attribute of their classes."""
    offered = [value for module in modules() for value in vars(import_module(module)).values()]
    classes = [value for value in offered if isinstance(value, type)]
    names = {name for module in modules() for name in vars(import_module(module))}
    return frozenset(names.union(*(dir(each) for each in classes), *(get_annotations(each) for each in classes)))
