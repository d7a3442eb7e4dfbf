"""What is tested elsewhere, or needs CoolProp or matplotlib where it is not installed, is left out of the doctests."""

import sys
from importlib.util import find_spec
from pathlib import Path

import pytest

collect_ignore = [
    "docs/conf.py",
    "docs/_mathml.py",
    "docs/check_pages.py",
    "docs/gallery",
    "docs/_generate.py",
    "docs/_pages.py",
    "docs/examples",
    "docs/generated",
    "docs/_build",
]
if not find_spec("CoolProp"):
    collect_ignore += ["fuelunits/fuels/pure.py"]
if not find_spec("matplotlib"):
    pages = (Path(__file__).parent / "docs").rglob("*.rst")
    collect_ignore += [
        "fuelunits/plots.py",
        *(str(page) for page in pages if "plots." in page.read_text(encoding="utf-8")),
    ]


@pytest.hookimpl(wrapper=True)
def pytest_runtest_call():
    """Skip the rest of a test that needs an extra, where one of them is not installed."""
    try:
        return (yield)
    except ImportError as missing:
        if type(missing).__name__ != "MissingExtra" or all(map(find_spec, ("CoolProp", "matplotlib", "pandas"))):
            raise
        pytest.skip(str(missing))


def pytest_runtest_teardown():
    """Close the pictures of a test or a page: matplotlib warns of too many."""
    if pyplot := sys.modules.get("matplotlib.pyplot"):
        pyplot.close("all")
