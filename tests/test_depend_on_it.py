"""The page on depending on fuelunits: its workflow and its hook, read as YAML and run on a sample project."""

import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import fuelunits
from fuelunits.checks.file import check_file
from fuelunits.checks.kinds import KINDS

yaml = pytest.importorskip("yaml")
ROOT = Path(__file__).parents[1]
EXAMPLES = ROOT / "docs" / "examples"
SAMPLE = Path(__file__).parent / "downstream"
WORKFLOW = yaml.safe_load((EXAMPLES / "fuel_figures.yml").read_text(encoding="utf-8"))
STEPS = WORKFLOW["jobs"]["fuel-figures"]["steps"]
HOOK = yaml.safe_load((EXAMPLES / "pre-commit-config.yaml").read_text(encoding="utf-8"))["repos"][0]["hooks"][0]

pytestmark = pytest.mark.skipif(os.name != "posix", reason="the commands are those of a POSIX shell")


@pytest.fixture
def shell(tmp_path):
    """Return a function that runs a command in a copy of the sample project, with this Python as ``python``."""
    project = shutil.copytree(SAMPLE, tmp_path / "sample", ignore=shutil.ignore_patterns(".*", "__pycache__"))
    python = tmp_path / "bin" / "python"
    python.parent.mkdir()
    python.write_text(f'#!/bin/sh\nexec "{sys.executable}" "$@"\n', encoding="utf-8")
    python.chmod(0o755)
    path = f"{python.parent}{os.pathsep}{os.environ['PATH']}"
    environment = os.environ | {"PATH": path, "PYTHONPATH": str(ROOT), "GITHUB_ACTIONS": "true", "CI": "true"}

    def run(command):
        how = {"cwd": project, "env": environment, "capture_output": True, "encoding": "utf-8", "check": False}
        return subprocess.run(["bash", "-e", "-c", command], **how)

    run.project = project
    return run


def spoil(project):
    constants = project / "ramp_sheets" / "constants.py"
    text = constants.read_text(encoding="utf-8")
    constants.write_text(text.replace("LITRES_PER_GALLON = 3.785412", "LITRES_PER_GALLON = 4.546"), encoding="utf-8")


def commands():
    """Return the commands of the workflow that follow the installation."""
    runs = [step["run"] for step in STEPS if "run" in step]
    assert runs[0].startswith("python -m pip install ")
    return runs[1:]


@pytest.mark.parametrize("spoilt", [False, True])
def test_the_workflow_runs(spoilt, shell):
    if spoilt:
        spoil(shell.project)
    check, look, log = map(shell, commands())
    returned = check.returncode, look.returncode, log.returncode
    assert returned == (int(spoilt), int(spoilt), 0), check.stderr + look.stderr + log.stderr
    annotated = re.findall(r"(?m)^::error file=([^,]+),line=(\d+)", check.stdout)
    assert annotated == ([("fuel_assumptions.toml", "25"), ("ramp_sheets/constants.py", "3")] if spoilt else [])
    assert ('"ruleId": "factor"' in (shell.project / "fuel_figures.sarif").read_text(encoding="utf-8")) is spoilt


def test_the_workflow_is_whole():
    assert WORKFLOW.keys() >= {"name", True, "permissions", "jobs"}  # YAML 1.1 reads the key "on" as true
    assert all(("run" in step) != ("uses" in step) for step in STEPS)
    assert (ROOT / "docs/tasks/depend_on_it.rst").read_text(encoding="utf-8").count("literalinclude") == 2


@pytest.mark.parametrize("spoilt", [False, True])
def test_the_hook_runs(spoilt, shell):
    if spoilt:
        spoil(shell.project)
    assert HOOK["always_run"] is True
    assert HOOK["pass_filenames"] is False
    done = shell(f"{HOOK['entry']} {shlex.join(HOOK['args'])}")
    assert done.returncode == int(spoilt), done.stdout + done.stderr


def test_the_versions_asked_for_are_those_of_this_line():
    asked = [*re.findall(r"fuelunits(>=[\d.]+,<[\d.]+)", str((STEPS, HOOK)))]
    page = (ROOT / "docs/tasks/depend_on_it.rst").read_text(encoding="utf-8")
    assert len(asked) == 2
    major, minor = fuelunits.__version__.split(".")[:2]
    assert {*asked, *re.findall(r"fuelunits(>=[\d.]+,<[\d.]+)", page)} == {
        f">={major}.{minor},<{major}.{int(minor) + 1}"
    }


def test_the_example_has_every_kind_and_holds():
    report = check_file(EXAMPLES / "kinds_of_assumptions.toml")
    assert report.passed
    assert {outcome.entry.kind for outcome in report.outcomes} == set(KINDS)
    page = (ROOT / "docs" / "assumptions_file.rst").read_text(encoding="utf-8")
    assert all(f"``{kind}``" in page for kind in KINDS)
