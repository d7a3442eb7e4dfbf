"""Mutation testing of a wing: what no test notices, and the reason where there is nothing to notice.

``python tests/mutation.py petroleum`` copies the tree, lets mutmut alter one thing at a time, and runs the wing's
tests on each alteration. ``tests/mutants/petroleum.toml`` names the wing's rooms, the topics whose tests must notice
(the rooms' doctests run with them), and the survivors that no test can notice, each with its reason. What survives
without one is printed, and makes the command fail. Several wings may be named; without a name all of them run. A
pattern after the wings, such as ``fuelunits.fuels.solving*``, runs only the mutants it fits.

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
RECORDS = ROOT / "tests" / "mutants"
WINGS = sorted(record.stem for record in RECORDS.glob("*.toml"))
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
    """Run the wings' mutants one wing after the other; how many are left unexplained."""
    wings = [one for one in arguments if one in WINGS] or WINGS
    return sum(run(wing, [one for one in arguments if one not in WINGS]) for wing in wings)


def run(wing: str, patterns: list[str]) -> int:
    """Run the mutants of one wing, and print what survives."""
    record = tomllib.loads((RECORDS / f"{wing}.toml").read_text(encoding="utf-8"))
    copy = Path(tempfile.mkdtemp(prefix=f"mutation-{wing}-"))
    copy_of_the_tree(copy)
    sources = [f"fuelunits/{room}" for room in record["rooms"]]
    with (copy / "pyproject.toml").open("a", encoding="utf-8") as file:
        tests = [f"tests/test_{topic}.py" for topic in record["tests"]] + sources
        file.write(CONFIGURATION.format(sources=sources, tests=tests))
    with (copy / "conftest.py").open("a", encoding="utf-8") as file:
        file.write(CLEARED)
    with (copy / "mutmut.log").open("w") as log:
        quiet = {"cwd": copy, "env": os.environ | {"CI": "1"}, "stdout": log, "stderr": log}
        subprocess.run([*MUTMUT, "run", *patterns], **quiet, check=False)
    ends = results(copy, patterns)
    survivors = [altered(copy, name) for name, end in ends.items() if end not in ("killed", "timeout")]
    unexplained = [one for one in survivors if not any(explains(reason, one) for reason in record["survivor"])]
    print(*("\n".join(one) for one in unexplained), sep="\n\n")
    told = ", ".join(f"{count} {end}" for end, count in Counter(ends.values()).items())
    print(f"\n{wing}: {told}; {len(unexplained)} of {len(survivors)} left are unexplained; the copy is {copy}")
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
    """How each mutant ended."""
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
    """The lines of each function of a file."""
    source = path.read_text(encoding="utf-8")
    nodes = [node for node in ast.walk(ast.parse(source)) if isinstance(node, ast.FunctionDef)]
    return {node.name: source.splitlines()[node.lineno - 1 : node.end_lineno] for node in nodes}


def explains(reason: dict[str, str], one: tuple[str, str, str]) -> bool:
    """Whether a reason on record is about this alteration."""
    function, before, after = one
    return fnmatch(function, reason["in"]) and reason.get("was", "") in before and reason.get("becomes", "") in after


if __name__ == "__main__":
    sys.exit(bool(main(sys.argv[1:])))
