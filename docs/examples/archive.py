"""An archive of invented flights: the fuel mass of each, on every core of this machine, in bounded memory.

    python docs/examples/archive.py [--flights 500] [--seconds 20000] [--workers 2] [--folder FOLDER]

Each flight is a Parquet file of volume flow and fuel temperature, second by second. Dask's workers read it in batches,
once without the density, to see what that costs. Needs dask, distributed and pyarrow: ``pip install ".[bench]"``.
"""

import argparse
import resource
import timeit
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
from dask import bag
from dask.distributed import Client, LocalCluster

import fuelunits as fu

BATCH, FILES_A_TASK = 262_144, 16


def write_flight(folder, number, seconds):
    """Write an invented flight: the flow of an invented twin turboprop, its fuel cooling as it climbs."""
    random = np.random.default_rng(number)
    along = np.linspace(0.0, 1.0, seconds)
    celsius = 15.0 + 10.0 * random.normal() - 45.0 * np.sin(np.pi * along) ** 2 + random.normal(0.0, 0.2, seconds)
    litres_h = 400.0 + 250.0 * np.exp(-8.0 * along) + random.normal(0.0, 5.0, seconds)
    table = pa.table({"flow_l_h": litres_h, "fuel_c": np.clip(celsius, -39.0, 60.0)})
    path = Path(folder, f"flight_{number:05}.parquet")
    pq.write_table(table, path, compression="none", row_group_size=BATCH)
    return str(path)


def columns(path):
    """Yield the columns of a flight as arrays, batch by batch."""
    for batch in pq.ParquetFile(path).iter_batches(BATCH):
        yield tuple(column.to_numpy() for column in batch.columns)


def fuel_mass_kg(path):
    """Return the mass of fuel that a flight used: a sample a second, held until the next."""
    jet = fu.fuel("Jet A")
    # numpy.dot might start threads of its own, which wait for the cores that the workers have
    mass = sum(float((litres_h * jet.density_kg_m3(celsius)).sum()) for litres_h, celsius in columns(path))
    return mass * fu.factor("L/h", "m3/s")


def products(path):
    """Read a flight and do without the density, to see what it costs."""
    return sum(float((litres_h * celsius).sum()) for litres_h, celsius in columns(path))


def peak_memory_mb():
    """Return the most memory that this process has used, MB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


def on_workers(paths, workers):
    """Return the mass of each flight, worked out by processes of their own; the seconds, those bare, and the memory."""
    cluster = LocalCluster(n_workers=workers, threads_per_worker=1, dashboard_address=None)
    with cluster, Client(cluster) as client:
        client.run(fu.fuel, "Jet A")  # what is imported once is not counted
        files = bag.from_sequence(paths, partition_size=FILES_A_TASK)
        bare = timed(files.map(products).compute)[1]
        masses, seconds = timed(files.map(fuel_mass_kg).compute)
        return masses, seconds, bare, max(client.run(peak_memory_mb).values())


def timed(work):
    """Return what work gives, and then the seconds that it takes, of two turns the quicker."""
    return work(), min(timeit.repeat(work, number=1, repeat=2))


def main():
    """Make the archive, work it out on one process and on several, and compare."""
    parser = argparse.ArgumentParser()
    for name, default in (("flights", 500), ("seconds", 20_000), ("workers", 2)):
        parser.add_argument(f"--{name}", type=int, default=default)
    parser.add_argument("--folder", help="where to keep the archive; by default it is removed")
    chosen = parser.parse_args()
    with TemporaryDirectory() as scratch:
        folder = chosen.folder or scratch
        paths = [write_flight(folder, number, chosen.seconds) for number in range(chosen.flights)]
        bare_alone = timed(lambda: [products(path) for path in paths])[1]
        alone, seconds_alone = timed(lambda: [fuel_mass_kg(path) for path in paths])
        together, seconds, bare, memory = on_workers(paths, chosen.workers)
    rows, several = chosen.flights * chosen.seconds, f"{chosen.workers} workers"
    print(f"{chosen.flights} invented flights, {rows:.3g} rows, {sum(together):.0f} kg in all")
    for who, taken, reading in (("one process", seconds_alone, bare_alone), (several, seconds, bare)):
        print(f"{who}: {rows / taken / 1e6:.1f} million rows a second, {reading / taken:.0%} of those of reading alone")
    print(f"most memory of a worker: {memory:.0f} MB")
    print(f"largest difference: {max(abs(a / b - 1.0) for a, b in zip(together, alone, strict=True)):.1e}")


if __name__ == "__main__":
    main()
