"""What is tested elsewhere, or needs CoolProp or matplotlib where it is not installed, is left out of the doctests."""

from importlib.util import find_spec

collect_ignore = [
    "docs/conf.py",
    "docs/_generate.py",
    "docs/_pages.py",
    "docs/examples",
    "docs/generated",
    "docs/_build",
]
if not find_spec("CoolProp"):
    collect_ignore += ["fuelunits/fuels/pure.py"]
if not find_spec("matplotlib"):
    tasks = ("check_a_density", "calibrate_by_weighing", "read_a_pulse_record")
    collect_ignore += ["fuelunits/plots.py", "docs/density.rst", *(f"docs/tasks/{task}.rst" for task in tasks)]
