"""The bounds that docs/security.rst promises, held by every module and seen from outside while the command runs."""

import ast
import json
import os
import subprocess
import sys
import unicodedata
from pathlib import Path

import pytest

import fuelunits
import fuelunits as fu

PACKAGE = Path(fuelunits.__file__).parent
MODULES = sorted(PACKAGE.rglob("*.py"))
NEVER_CALLED = {"eval", "exec", "compile", "__import__", "breakpoint", "input"}
NEVER_IMPORTED = {
    *("socket", "ssl", "http", "urllib", "ftplib", "smtplib", "asyncio", "subprocess", "multiprocessing"),
    *("pickle", "marshal", "shelve", "code", "codeop", "runpy", "ctypes", "tempfile", "shutil"),
}
WRITING = {"write_text", "write_bytes", "mkdir", "unlink", "rename", "touch", "chmod", "symlink_to"}


def nodes(module, kind):
    return [node for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))) if isinstance(node, kind)]


@pytest.mark.parametrize("module", MODULES, ids=lambda module: str(module.relative_to(PACKAGE)))
def test_no_module_runs_what_it_reads_nor_reaches_out(module):
    called = {node.func.id for node in nodes(module, ast.Call) if isinstance(node.func, ast.Name)}
    assert not called & NEVER_CALLED
    imported = {name.name.partition(".")[0] for node in nodes(module, ast.Import) for name in node.names}
    sources = {node.module or "" for node in nodes(module, ast.ImportFrom)} - {"urllib.parse"}  # which quotes a text
    imported |= {each.partition(".")[0] for each in sources}
    assert not imported & NEVER_IMPORTED
    written = {node.attr for node in nodes(module, ast.Attribute)} & WRITING
    allowed = {"__main__.py": {"write_text"}, "files.py": {"unlink"}}
    assert written <= allowed.get(module.name, set())


WATCHED = """
import contextlib, io, json, sys

sys.modules["CoolProp"] = None
from fuelunits.__main__ import main

def run():
    with contextlib.redirect_stdout(io.StringIO()):
        main(["verify"])
        return main(["check", "assumptions.toml"])

run()
seen = []
reaching = ("socket", "subprocess", "ctypes", "urllib", "http", "shutil", "tempfile", "ftplib", "smtplib")
sys.addaudithook(
    lambda event, given: seen.append([event, str(given[0]), str(given[1])])
    if event == "open" or event in ("os.system", "exec", "os.rename", "os.remove", "os.mkdir")
    or event.partition(".")[0] in reaching else None
)
code = run()
print(json.dumps([code, seen]))
"""
ENTRY = """
[[factor]]
name = "litres"
where = "{where}"
value = 3.785
from = "gal"
to = "L"
tolerance = "0.02 %"
"""


def test_the_command_opens_the_files_it_is_given_and_nothing_else(tmp_path):
    (tmp_path / "sheet.py").write_text("L_PER_GAL = 3.785\n", encoding="utf-8")
    text = ENTRY.format(where="sheet.py:1") + ENTRY.format(where="../sheet.py:1")
    (tmp_path / "assumptions.toml").write_text(text, encoding="utf-8")
    here = {"cwd": tmp_path, "env": os.environ | {"PYTHONPATH": str(PACKAGE.parent)}}
    done = subprocess.run([sys.executable, "-c", WATCHED], **here, capture_output=True, text=True, check=True)
    code, seen = json.loads(done.stdout)
    assert code == 1
    opened = [("open", "assumptions.toml", "r"), ("open", "sheet.py", "r")]
    assert [(event, Path(name).name, mode) for event, name, mode in seen] == opened


def test_no_text_of_a_record_hides_its_verdict():
    # every character of Unicode that clears a terminal, goes back, ends a line or turns the direction of writing
    hidden = "".join(c for c in map(chr, range(0x30000)) if unicodedata.category(c) in ("Cc", "Cf", "Zl", "Zp"))
    assert {"\x1b", "\x08", "\u202e", "\u2028", "\x85"} < set(hidden)
    for text in (hidden, "a\x1b[2J", "\u2028Verdict: accept", "\x1b[8m"):
        sheet = fu.Indicator("11412 pulse/L", reads="L/h").bench_points(["60 L/h"], "1 %").filled(as_left=["70 L/h"])
        job = fu.JobRecord(
            number=f"J{text}", date="2031-05-17", technician=f"R{text}", aircraft=text, remarks=text, sheets=[sheet],
            transducers=[fu.Part(f"t{text}", f"A{text}", note=text)], equipment=[fu.Equipment(f"g{text}")],
        )  # fmt: skip
        tank = fu.TankTable(f"left{text}", [("0 mm", "0 L"), ("10 mm", "9 L")])
        for thing in (job, tank, tank.volume("5 mm")):
            for seen in (str(thing), repr(thing), fu.page(thing), thing._repr_html_()):
                assert not set(seen) & set(hidden) - {"\n"}
        verdicts = [line for line in str(job).splitlines() if line.startswith("Verdict")]
        assert len(verdicts) == 2
        assert not any("accept" in line for line in verdicts)
