"""Draws of the GUM's and its Supplements' own examples, beside what their documents print (monte_carlo.csv).

jcgm_102_2011 is JCGM 102:2011, Supplement 2 to the GUM, its 9.3; the other sources are those of the library.
"""

import csv
from functools import cache
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from monte_carlo import monte_carlo

from fuelunits.reference.recipes import _LAWS, _NUMBER, _inputs
from fuelunits.reference.verification import PublishedValue

LAWS = _LAWS | {
    "radius": np.hypot,
    "angle": lambda x1, x2: np.arctan2(x2, x1),
    "two unlike isotopes": lambda x: 2.0 * x * (1.0 - x),
}
with (Path(__file__).parent / "monte_carlo.csv").open(encoding="utf-8", newline="") as lines:
    ROWS = list(csv.DictReader(lines))


@cache
def draws(law, given):
    inputs = _inputs(**{name: float(text) if _NUMBER.fullmatch(text) else text for name, text in given})
    return monte_carlo(LAWS[law], [float(each) if isinstance(each, str) else each for each in inputs], seed=1,
                       draws=50_000)  # fmt: skip


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['what']}, {row['given'].partition(';')[0]}")
def test_the_draws_of_a_published_example_have_its_figures(row):
    given = dict(part.split("=", 1) for part in row["given"].split(";"))
    allowed = PublishedValue.allowed.fget(SimpleNamespace(**row))
    law, other, inputs = given.pop("law"), given.pop("other", ""), tuple(given.items())
    drawn = draws(law, inputs)
    found = {
        "mean of draws": drawn.mean,
        "standard deviation of draws": lambda: drawn.std(ddof=1),
        "correlation of draws": lambda: np.corrcoef(drawn, draws(other, inputs))[0, 1],
    }[row["what"]]()
    assert row["role"] == "check"
    assert abs(found - float(row["printed"])) <= allowed
