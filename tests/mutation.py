"""Mutation testing: alter the code in one place at a time, and print the alterations that no test notices.

``python tests/mutation.py bench --sample 200 --seed 2`` draws 200 alterations (mutants) of that subject at random, runs
its tests on each, and prints the part that they notice with its 95 % interval; without ``--sample`` all of them are
tried. ``tests/equivalent_mutants.toml`` names the subjects, their modules and tests, and the equivalent mutants:
alterations that no test can notice, each with its reason. Other mutants that survive are printed, and make the command
fail.

Comparisons, arithmetic, ``and`` and ``or``, conditions, signs, truth values and numbers are altered, min and max, any
and all, floor and ceil; calls, ``raise`` and values returned are left out. Text, annotations, decorators and what a
``raise`` says stay as they are. Each mutant is tried in a forked process by the tests that run its line, the shortest
first, until one fails; by all tests where none runs it. Functions get the altered code in place; where it stands
outside of them, or nothing fails, all is imported anew. A mutant that takes too long counts as noticed. Python that a
test starts is not altered.
"""

import argparse
import ast
import functools
import gc
import json
import os
import random
import re
import signal
import sys
import tempfile
import time
import tomllib
from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass
from fnmatch import fnmatch
from importlib.machinery import SourceFileLoader
from itertools import count
from math import sqrt
from pathlib import Path
from types import CodeType, FunctionType

import pytest
from _pytest.runner import runtestprotocol
from _pytest.warnings import catch_warnings_for_item

ROOT = Path(__file__).parents[1]
RECORD = tomllib.loads((ROOT / "tests" / "equivalent_mutants.toml").read_text(encoding="utf-8"))
OPTIONS = ["-q", "--assert=plain", "-p", "no:cacheprovider"]
SWAPPED = {
    "Lt": "LtE", "LtE": "Lt", "Gt": "GtE", "GtE": "Gt", "Eq": "NotEq", "NotEq": "Eq", "Is": "IsNot", "IsNot": "Is",
    "In": "NotIn", "NotIn": "In", "And": "Or", "Or": "And", "Add": "Sub", "Sub": "Add", "Mult": "Div", "Div": "Mult",
    "Pow": "Mult", "FloorDiv": "Div", "Mod": "Mult", "min": "max", "max": "min", "any": "all", "all": "any",
    "floor": "ceil", "ceil": "floor", "minimum": "maximum", "maximum": "minimum",
}  # fmt: skip
UNALTERED = {"annotation", "returns", "decorator_list", "bases", "ctx", "ops", "op"}  # ops change with their expression
LEFT_OUT = {"strict", "copy", "example"}  # keywords that show only in a fault of our own, in speed, or in a message


@dataclass(frozen=True)
class Mutant:
    """One alteration: where it is, the statement before and after, and its number in the module."""

    path: str
    function: str
    in_a_function: bool
    lines: range
    was: str
    becomes: str
    number: int
    source: str = ""

    def equivalent(self, reason: dict[str, str]) -> bool:
        """Whether a reason on record is about this alteration."""
        pairs = (reason.get("was", ""), self.was), (reason.get("becomes", ""), self.becomes)
        plain = [[re.sub(r"\s+", "", code).replace('"', "'") for code in pair] for pair in pairs]
        return fnmatch(self.function, reason["in"]) and all(part in whole for part, whole in plain)

    def __str__(self) -> str:
        """Return it as a difference."""
        return f"{self.path}:{self.lines.start} {self.function}\n-    {self.was}\n+    {self.becomes}"


def altered(node: ast.AST) -> Iterator[ast.AST]:
    """Yield what stands in place of a node, one alteration after the other."""
    match node:
        case ast.Raise(exc=raised) if not (raised and "NotImplementedError" in ast.unparse(raised)):
            yield ast.Pass()
        case ast.Expr(value=ast.Call()):
            yield ast.Pass()
        case ast.Return(value=value) if value and not (isinstance(value, ast.Constant) and not value.value):
            yield ast.Return(ast.Constant(None))
        case ast.Compare(ops=ops):
            for i, op in enumerate(ops):
                yield ast.Compare(node.left, [*ops[:i], swapped(op), *ops[i + 1 :]], node.comparators)
        case ast.BoolOp() | ast.BinOp() | ast.AugAssign() if type(node.op).__name__ in SWAPPED:
            yield type(node)(**dict(ast.iter_fields(node)) | {"op": swapped(node.op)})
        case ast.UnaryOp(op=ast.USub() | ast.Not()):
            yield node.operand
        case ast.Constant(value=bool()):
            yield ast.Constant(not node.value)
        case ast.Constant(value=int() | float() as value):
            step = 1 if isinstance(value, int) else max(1.0, value / 10.0)
            yield from (ast.Constant(value + step), ast.Constant(value - step))
        case ast.Name(id=name) if name in SWAPPED:
            yield ast.Name(SWAPPED[name])
        case ast.Attribute(attr=name) if name in SWAPPED:
            yield ast.Attribute(node.value, SWAPPED[name])
        case ast.Call(func=ast.Name(id="abs")):
            yield node.args[0]


def swapped(op: ast.AST) -> ast.AST:
    """Return the operator that stands in place of another."""
    return getattr(ast, SWAPPED[type(op).__name__])()


def head(statement: ast.AST) -> str:
    """Return a statement without what is indented below it, and without decorators."""
    inner = {"body": [ast.Pass()], "orelse": [], "decorator_list": [], "cases": []}
    known = dict(ast.iter_fields(statement))
    alone = isinstance(known.get("body", known.get("cases")), list)
    bare = type(statement)(**known | {field: inner[field] for field in inner if field in known}) if alone else statement
    return ast.unparse(ast.fix_missing_locations(bare)).strip().partition("\n")[0]


def mutants(path: str, wanted: Collection[int] = ()) -> Iterator[Mutant]:
    """Yield the mutants of a module in the order of its text; those whose number is wanted with the whole source."""
    tree = ast.parse((ROOT / path).read_text(encoding="utf-8"))
    numbers = count()

    def below(node: ast.AST, within: ast.AST, name: str, in_a_function: bool) -> Iterator[Mutant]:
        for field, value in ast.iter_fields(node):
            if field in UNALTERED:
                continue
            inside = in_a_function or (isinstance(node, ast.FunctionDef) and field == "body")
            for i, child in enumerate(value if isinstance(value, list) else [value]):
                if not isinstance(child, ast.AST) or (isinstance(child, ast.keyword) and child.arg in LEFT_OUT):
                    continue
                statement = child if isinstance(child, ast.stmt | ast.match_case) else within
                was, first = head(statement), getattr(statement, "pattern", statement)
                if isinstance(child, ast.If) and "TYPE_CHECKING" in was:
                    continue
                body = getattr(statement, "body", None)
                last = body[0].lineno - 1 if isinstance(body, list) else statement.end_lineno
                condition = field in ("test", "guard", "ifs") and not isinstance(child, ast.Compare | ast.UnaryOp)
                for other in [*altered(child), *([ast.UnaryOp(ast.Not(), child)] if condition else [])]:
                    setattr(node, field, [*value[:i], other, *value[i + 1 :]] if isinstance(value, list) else other)
                    becomes, number = head(other if isinstance(other, ast.stmt) else statement), next(numbers)
                    source = ast.unparse(ast.fix_missing_locations(tree)) if number in wanted else ""
                    setattr(node, field, value)
                    lines = range(first.lineno, max(first.lineno, last) + 1)
                    yield Mutant(path, name, inside, lines, was, becomes, number, source)
                if not isinstance(child, ast.Raise):
                    named = isinstance(child, ast.FunctionDef | ast.ClassDef)
                    yield from below(child, statement, f"{name}.{child.name}" if named else name, inside)

    yield from below(tree, tree, path.removesuffix(".py").replace("/", "."), False)


class Trial:
    """A plugin of pytest that runs the tests on one mutant after the other, in place of running them once."""

    def __init__(self, mutants: list[Mutant]):
        self.mutants, self.alive = mutants, 0
        self.chosen: set[str] = set()  # the tests of the one mutant of this process, where everything is imported anew

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        """Keep the chosen tests alone, the shortest first."""
        if self.chosen:
            kept = [one for one in items if one.nodeid in self.chosen]
            items[:] = sorted(kept, key=lambda one: self.seconds[one.nodeid])

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session: pytest.Session) -> bool | None:
        """Run the unaltered code, then the mutants."""
        if self.chosen:
            return None
        ours = [one for one in gc.get_objects() if str(getattr(one, "__module__", "")).startswith("fuelunits")]
        self.functions = [one for one in ours if isinstance(one, FunctionType)]
        self.caches = [one for one in ours if isinstance(one, functools._lru_cache_wrapper)]
        with tempfile.NamedTemporaryFile("r") as record:
            if forked(lambda: self.write_record(session.items, Path(record.name)), 3600):
                pytest.exit("a test fails without an alteration", 1)
            self.seconds, self.lines = json.load(record)
        gc.freeze()
        limit = 30 + 5 * round(sum(self.seconds.values()))
        for i, mutant in enumerate(self.mutants):
            if not forked(lambda one=mutant: self.notices(one, session.items), limit):
                self.alive += 1
                print(f"{i + 1} of {len(self.mutants)}: {mutant}", file=sys.__stderr__, flush=True)
            if (i + 1) % 10 == 0:
                print(f"{i + 1 - self.alive} of {i + 1} noticed", file=sys.__stderr__, flush=True)
        return True

    def notices(self, mutant: Mutant, items: list[pytest.Item]) -> bool:
        """Whether a test fails with the alteration."""
        lines = self.lines.get(mutant.path, {})
        self.chosen = {test for line in mutant.lines for test in lines.get(str(line), ()) if test}
        if not (mutant.in_a_function and self.chosen):  # a test may use a figure, and run no line of its module
            self.chosen = set(self.seconds)
        if mutant.in_a_function and self.put_in_place(mutant):
            self.pytest_collection_modifyitems(items)
            if any(fails(item, following) for item, following in zip(items, [*items[1:], None], strict=True)):
                return True  # otherwise what was computed when the tests were collected may hide the alteration
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        for name, module in list(sys.modules.items()):
            if str(getattr(module, "__file__", "")).startswith(str(ROOT)) and name != "__main__":
                del sys.modules[name]
        path, compiled = str(ROOT / mutant.path), SourceFileLoader.get_code
        SourceFileLoader.get_code = lambda loader, name: (
            compile(mutant.source, path, "exec") if loader.path == path else compiled(loader, name)
        )
        files = sorted({test.partition("::")[0] for test in self.chosen})
        return bool(files) and pytest.main(["-x", *OPTIONS, *files], plugins=[self]) != 0

    def put_in_place(self, mutant: Mutant) -> bool:
        """Give the functions of the module the altered code, and empty what is cached; False where it does not fit."""
        path = str(ROOT / mutant.path)
        old, new = (codes(compile(text, path, "exec")) for text in (Path(path).read_text(), mutant.source))
        if [one.co_qualname for one in old] != [one.co_qualname for one in new]:
            return False
        pairs = {(code.co_qualname, code.co_firstlineno): other for code, other in zip(old, new, strict=True)}
        try:
            for function in self.functions:
                code = function.__code__
                if code.co_filename == path:
                    function.__code__ = pairs[code.co_qualname, code.co_firstlineno]
        except (KeyError, ValueError):
            return False
        for cached in self.caches:
            cached.cache_clear()
        return True

    def write_record(self, items: list[pytest.Item], record: Path) -> bool:
        """Write the seconds of each test and the tests of each line; return whether one fails."""
        from coverage import Coverage

        coverage, seconds = Coverage(data_file=None, config_file=False, include=[f"{ROOT}/fuelunits/*"]), {}
        altered = {one.path.removesuffix(".py").replace("/", ".") for one in self.mutants}
        caches = [one for one in self.caches if one.__module__ in altered]
        coverage.start()
        for item, following in zip(items, [*items[1:], None], strict=True):
            coverage.switch_context(item.nodeid)
            for cached in caches:  # otherwise the first test alone would run its lines
                cached.cache_clear()
            started = time.perf_counter()
            if fails(item, following):
                print(item.nodeid, file=sys.__stderr__, flush=True)
                return True
            seconds[item.nodeid] = time.perf_counter() - started
        coverage.stop()
        data = coverage.get_data()
        lines = {os.path.relpath(path, ROOT): data.contexts_by_lineno(path) for path in data.measured_files()}
        record.write_text(json.dumps([seconds, lines]))
        return False


def codes(code: CodeType) -> list[CodeType]:
    """Return the code of every function of a module, in the order of its text."""
    inner = [one for one in code.co_consts if isinstance(one, CodeType)]
    return [each for one in inner for each in (one, *codes(one))]


def forked(call: Callable[[], bool], limit: int) -> bool:
    """Return what a call returns in a process of its own; True where it fails, or when the time is over."""
    if process := os.fork():
        return os.waitpid(process, 0)[1] != 0
    end = 1
    try:
        signal.alarm(limit)
        end = int(call())
    finally:
        os._exit(end)


def fails(item: pytest.Item, following: pytest.Item | None) -> bool:
    """Run a test with its own filters of warnings, and return whether it fails."""
    with catch_warnings_for_item(config=item.config, ihook=item.ihook, when="runtest", item=item):
        return any(report.failed for report in runtestprotocol(item, nextitem=following, log=False))


def interval(count: int, total: int) -> tuple[float, float]:
    """Return the 95 % interval (Wilson's) of a proportion in percent."""
    z, p = 1.959964, count / total
    half = z * sqrt(p * (1.0 - p) / total + (z / (2.0 * total)) ** 2)
    middle = p + z * z / (2.0 * total)
    return tuple(100.0 * (middle + side) / (1.0 + z * z / total) for side in (-half, half))


def main() -> int:
    """Run the mutants of a subject, and return how many survive without a reason."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("subject", choices=RECORD["subjects"])
    parser.add_argument("--sample", type=int, default=10**6)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="*", help="a pattern of dotted functions")
    chosen = parser.parse_args()
    os.chdir(ROOT)
    sys.path[0] = str(ROOT)
    os.environ["CI"] = "1"  # hypothesis draws the same examples for every mutant
    topics, modules = (RECORD["subjects"][chosen.subject][key] for key in ("tests", "modules"))
    tests = sorted(path for topic in topics for path in Path("tests").glob(f"test_{topic}.py"))
    paths = [path for one in modules for path in sorted(Path("fuelunits").glob(one if "." in one else f"{one}/*.py"))]
    every = [one for path in paths for one in mutants(str(path)) if fnmatch(one.function, chosen.only)]
    drawn = random.Random(chosen.seed).sample(every, min(chosen.sample, len(every)))
    tried = [one for one in drawn if not any(one.equivalent(reason) for reason in RECORD["equivalent"])]
    numbers = {path: {one.number for one in tried if one.path == path} for path in {one.path for one in tried}}
    full = {(path, one.number): one for path in numbers for one in mutants(path, numbers[path])}
    trial = Trial([full[one.path, one.number] for one in tried])
    if pytest.main([*OPTIONS, *map(str, tests), *(f"fuelunits/{one}" for one in modules)], plugins=[trial]) not in (
        0,
        5,
    ):
        return 1
    noticed, total, equivalent = len(tried) - trial.alive, len(tried), len(drawn) - len(tried)
    low, high = interval(noticed, total)
    print(f"{chosen.subject}: {noticed} of {total} mutants noticed, {100.0 * noticed / total:.1f} %", end=" ")
    print(f"({low:.1f} % to {high:.1f} %); {equivalent} equivalent; {len(drawn)} drawn of {len(every)}")
    return trial.alive


if __name__ == "__main__":
    sys.exit(bool(main()))
