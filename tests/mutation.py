"""Mutation testing: alter the code one thing at a time, and print the alterations that no test notices.

``python tests/mutation.py fuels`` copies the tree, lets mutmut alter the modules of that subject, and runs its tests on
each alteration. ``tests/equivalent_mutants.toml`` names the subjects, their modules and tests, and the equivalent
mutants: alterations that no test can notice, each with its reason. Other surviving mutants are printed, with the part
that was killed, and make the command fail. Without a subject all of them run. A pattern after the subjects, such as
``fuelunits.fuels.base_density_solver*``, runs only the mutants it fits.

mutmut leaves decorated functions alone, so that properties and cached functions are written without the decorator in
the copy, and decorated on the line after. Its workers are forked from a process that has run no test, and clear every
cache that collecting the tests has filled, lest it should hide an alteration.
"""

import ast
import os
import re
import shutil
import subprocess
import sys
import tempfile
import tomllib
from collections import Counter
from difflib import unified_diff
from fnmatch import fnmatch
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parents[1]
RECORD = tomllib.loads((ROOT / "tests" / "equivalent_mutants.toml").read_text(encoding="utf-8"))
SUBJECTS = RECORD["subjects"]
CONFIGURATION = """
[tool.mutmut]
source_paths = {sources}
also_copy = ["fuelunits", "conftest.py", "docs", "README.md"]
pytest_add_cli_args_test_selection = {tests}
process_isolation = "forkserver"
"""
CLEARED = """
def pytest_collection_finish():
    import functools, gc

    for one in gc.get_objects():
        if isinstance(one, functools._lru_cache_wrapper) and one.__module__.startswith("fuelunits"):
            one.cache_clear()
"""


def main(arguments: list[str]) -> int:
    """Run the mutants of each subject in turn, and return how many survive without a reason."""
    subjects = [one for one in arguments if one in SUBJECTS] or list(SUBJECTS)
    return sum(run(subject, [one for one in arguments if one not in SUBJECTS]) for subject in subjects)


def run(subject: str, patterns: list[str]) -> int:
    """Run the mutants of one subject, and print those that survive."""
    copy = Path(tempfile.mkdtemp(prefix=f"mutation-{subject}-"))
    copy_of_the_tree(copy)
    sources = [f"fuelunits/{module}" for module in SUBJECTS[subject]["modules"]]
    with (copy / "pyproject.toml").open("a", encoding="utf-8") as file:
        found = {path for topic in SUBJECTS[subject]["tests"] for path in (copy / "tests").glob(f"test_{topic}.py")}
        tests = [path.relative_to(copy).as_posix() for path in sorted(found)] + sources
        file.write(CONFIGURATION.format(sources=sources, tests=tests))
    with (copy / "conftest.py").open("a", encoding="utf-8") as file:
        file.write(CLEARED)
    with (copy / "mutmut.log").open("w") as log:
        quiet = {"cwd": copy, "env": os.environ | {"CI": "1"}, "stdout": log, "stderr": log}
        subprocess.run([*MUTMUT, "run", *patterns], **quiet, check=False)
    ends = results(copy, patterns)
    surviving = [altered(copy, name) for name, end in ends.items() if end not in ("killed", "timeout")]
    unexplained = [one for one in surviving if not any(explains(reason, one) for reason in RECORD["equivalent"])]
    print(*("\n".join(one) for one in unexplained), sep="\n\n")
    counts = ", ".join(f"{count} {end}" for end, count in Counter(ends.values()).items())
    score = 100.0 * (1.0 - len(unexplained) / max(len(ends), 1))
    print(f"\n{subject}: {counts}; {len(unexplained)} of {len(surviving)} surviving mutants have no reason")
    print(f"score without equivalent mutants: {score:.1f} %; the copy is {copy}")
    return len(unexplained)


MUTMUT = [sys.executable, "-m", "mutmut"]


def copy_of_the_tree(copy: Path) -> None:
    """Copy what git knows of the tree, with properties and cached functions open to alteration."""
    known = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True).stdout
    for name in known.rstrip("\0").split("\0"):
        (copy / name).parent.mkdir(parents=True, exist_ok=True)
        if name.startswith("fuelunits/") and name.endswith(".py"):
            (copy / name).write_text(undecorated((ROOT / name).read_text(encoding="utf-8")), encoding="utf-8")
        else:
            shutil.copy(ROOT / name, copy / name)


def undecorated(source: str) -> str:
    """Write ``@property`` over a function as ``name = property(name)`` below it; likewise the caches."""
    lines = source.splitlines()
    functions = [node for node in ast.walk(ast.parse(source)) if isinstance(node, ast.FunctionDef)]
    for node in sorted(functions, key=lambda node: -node.lineno):
        decorators = [ast.unparse(one) for one in node.decorator_list]
        if len(decorators) == 1 and re.match(r"(property|cached_property|cache|lru_cache\(.*\))$", decorators[0]):
            lines.insert(node.end_lineno or 0, f"{' ' * node.col_offset}{node.name} = {decorators[0]}({node.name})")
            lines[node.decorator_list[0].lineno - 1] = ""
    return "\n".join(lines) + "\n"


def results(copy: Path, patterns: list[str]) -> dict[str, str]:
    """Return how each mutant ended."""
    told = subprocess.run([*MUTMUT, "results", "--all", "true"], cwd=copy, capture_output=True, text=True, check=True)
    ends = dict(line.strip().split(": ") for line in told.stdout.splitlines() if ": " in line)
    return {name: end for name, end in ends.items() if not patterns or any(fnmatch(name, one) for one in patterns)}


def altered(copy: Path, name: str) -> tuple[str, str, str]:
    """Return the function, what stood there and what stands there instead."""
    module, _, mutant = name.rpartition(".")
    source = functions(copy / "mutants" / f"{module.replace('.', '/')}.py")
    original = re.sub(r"_\d+$", "_orig", mutant)
    renamed = [line.replace(mutant, original) for line in source[mutant]]
    lines = list(unified_diff(source[original], renamed, n=0, lineterm=""))[3:]
    before, after = ("\n".join(line for line in lines if line.startswith(sign)) for sign in "-+")
    function = original.removesuffix("__mutmut_orig").removeprefix("x").removeprefix("_").replace("ǁ", ".").strip(".")
    return f"{module}.{function}", before, after


@cache
def functions(path: Path) -> dict[str, list[str]]:
    """Return the statements of each function of a file, one a line, whatever their format."""
    nodes = [
        node for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))) if isinstance(node, ast.FunctionDef)
    ]
    return {node.name: ast.unparse(node).splitlines() for node in nodes}


def explains(reason: dict[str, str], one: tuple[str, str, str]) -> bool:
    """Whether a reason on record is about this alteration."""
    function, before, after = one
    was, becomes = plain(reason.get("was", "")), plain(reason.get("becomes", ""))
    return fnmatch(function, reason["in"]) and was in plain(before) and becomes in plain(after)


def plain(code: str) -> str:
    """Return code without white space and with one kind of quotes."""
    return re.sub(r"\s+", "", code).replace('"', "'")


if __name__ == "__main__":
    sys.exit(bool(main(sys.argv[1:])))
