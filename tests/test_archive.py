"""The worked example of an archive, in small: two workers, one process and the formula find the same fuel."""

import os
import re
import runpy
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

import fuelunits
from fuelunits.fuels.grades import fuel

SCRIPT = Path(__file__).parents[1] / "docs" / "examples" / "archive.py"

for module in ("dask.distributed", "pyarrow.parquet"):
    pytest.importorskip(module)


def test_two_workers_and_one_process_agree():
    done = subprocess.run(
        [sys.executable, str(SCRIPT), "--flights", "4", "--seconds", "5000", "--workers", "2"],
        check=True,
        capture_output=True,
        text=True,
        timeout=300,
        env=os.environ | {"PYTHONPATH": str(Path(fuelunits.__file__).parents[1])},
    )
    assert "4 invented flights, 2e+04 rows" in done.stdout
    assert float(re.search(r"largest difference: (\S+)", done.stdout)[1]) < 1e-12


@pytest.mark.filterwarnings("default")
def test_a_flight_is_its_flow_times_the_density_of_each_second(tmp_path):
    parquet = pytest.importorskip("pyarrow.parquet")
    archive = runpy.run_path(str(SCRIPT))
    path = archive["write_flight"](tmp_path, 7, 300_000)
    rows = parquet.read_table(path)
    litres_h, celsius = (rows[name].to_numpy() for name in ("flow_l_h", "fuel_c"))
    jet = fuel("Jet A")
    density = np.concatenate([jet.density_kg_m3(part) for part in np.array_split(celsius, 10)])
    assert archive["fuel_mass_kg"](path) == pytest.approx((litres_h / 3.6e6 * density).sum(), rel=1e-12)
