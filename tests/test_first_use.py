"""The first use in a fresh interpreter: from several threads at once, and in programs that configure logging."""

import os
import subprocess
import sys
import threading
from pathlib import Path

import pytest

import fuelunits as fu

FIRST_CALLS = """
import fuelunits as fu
CALLS = [
    lambda: fu.convert(50.0, "gal", "L"),
    lambda: fu.convert(50.0, "gal", "lb", density="6.7 lb/gal"),
    lambda: fu.KFactor(11_412, per="L").flow("100 Hz").m_as("liter/hour"),
    lambda: fu.fuel("Jet A").density("15 degC").m_as("kg/m**3"),
    lambda: fu.fuel("Jet A").mass("200 gal", at="30 degC").m_as("kg"),
    lambda: fu.check_density("6.7 lb/gal", "Jet A", between=("0 degC", "30 degC"), tolerance="3 %").passed,
    lambda: fu.endurance("50 gal", "10 gal/h").m_as("hour"),
    lambda: fu.ctl(800.0, 30.0),
]
"""
IN_THREADS = f"""
import threading
{FIRST_CALLS}
start, answers = threading.Barrier(8), {{}}

def first(number):
    start.wait()
    answers[number] = CALLS[(number + OFFSET) % 8 if EACH else OFFSET]()

threads = [threading.Thread(target=first, args=(number,)) for number in range(8)]
for thread in threads:
    thread.start()
for thread in threads:
    thread.join()
assert len(answers) == 8, answers
expected = {{number: CALLS[(number + OFFSET) % 8 if EACH else OFFSET]() for number in range(8)}}
assert answers == expected
"""


def run(code):
    done = subprocess.run([sys.executable, "-W", "error", "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout + done.stderr


@pytest.mark.parametrize(
    ("each", "offset"), [(True, 0), (True, 3), (False, 2), (False, 3)], ids=["all", "turned", "K", "density"]
)
def test_eight_threads_ask_first(each, offset):
    assert run(f"EACH, OFFSET = {each}, {offset}\n{IN_THREADS}") == ""


GRADES = """
import sys, threading
import fuelunits as fu
from fuelunits.fuels import grades
sys.setswitchinterval(1e-6)
fu.explain_density("6.7 lb/gal")

def first(number):
    start.wait()
    fu.all_fuels() if number % 2 else [fu.fuel(name) for name in ("Jet A", "Jet A-1", "TS-1", "JP-8")]

for _ in range(20):
    start = threading.Barrier(4)
    for function in (grades._grade, grades.all_fuels):
        function.cache_clear()  # each time as if nobody had asked
    threads = [threading.Thread(target=first, args=(number,)) for number in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    found = fu.explain_density("6.7 lb/gal")
    assert [found[each.fuel_name] for each in found.matches] == list(found.matches)
"""


def test_a_grade_that_several_threads_make_at_once_is_found_afterwards():
    assert run(GRADES) == ""


def test_the_module_that_python_3_13_replaces_is_imported_before_any_thread_needs_it():
    """``collections.abc`` of 3.13 puts another module in its place: a thread that waits for it gets the empty one."""
    assert run("import sys, fuelunits\nprint('collections.abc' in sys.modules)").strip() == "True"


def test_the_threads_of_dask_ask_first():
    pytest.importorskip("dask")
    code = FIRST_CALLS + "import dask\nprint(len(dask.compute(*[dask.delayed(c)() for c in CALLS * 2], num_workers=8)))"
    assert run(code).strip() == "16"


def test_nothing_is_logged():
    code = "import logging; logging.basicConfig(level=logging.DEBUG)\n" + FIRST_CALLS
    code += "for call in CALLS: call()\nimport pint; fu.register_units(pint.UnitRegistry())"
    assert run(code) == ""


def test_text_and_floats_need_neither_pint_nor_numpy():
    code = """
import sys, fuelunits as fu
import fuelunits.__main__ as command
assert fu.convert(50.0, "gal", "L") == 189.2705892
assert fu.convert(50.0, "gal", "lb", density="6.7 lb/gal") == 335.0
assert fu.KFactor.read("11412 pulse/L").per("L") == 11412.0
assert fu.fuel("Jet A").density_kg_m3(15.0) > 0.0
assert fu.base_density(790.0, 30.0) > 800.0
str(fu.check_density("6.7 lb/gal", "Jet A", between=("0 degC", "30 degC"), tolerance="3 %"))
assert command.main(["check", FILE]) == 0
print({"pint", "numpy"} & set(sys.modules))
"""
    example = Path(__file__).parents[1] / "docs" / "examples" / "shop_assumptions.toml"
    assert run(f"FILE = {str(example)!r}\n{code}").strip().endswith("set()")


FORKED = """
import os, threading, time
import fuelunits as fu
from fuelunits.units import LOCK

taken = threading.Event()

def busy():
    with LOCK:
        taken.set()
        time.sleep(0.2)

threading.Thread(target=busy).start()
taken.wait()
if not (child := os.fork()):
    fu.measured("1 kg", "1 g", name="balance")
    os._exit(0)
for _ in range(500):
    if os.waitpid(child, os.WNOHANG) == (child, 0):
        break
    time.sleep(0.01)
else:
    os.kill(child, 9)
    raise SystemExit("the child waits for ever")
fu.measured("1 kg", "1 g", name="balance")
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="there are no forks here")
def test_a_fork_beside_a_busy_thread_is_answered():
    """A child has the locks of its parent, and not the thread that would release them."""
    done = subprocess.run([sys.executable, "-c", FORKED], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout) == (0, ""), done.stderr


def answers_in_threads(ask, count=4):
    """Ask from several threads at once, and return what they were told."""
    start, answers = threading.Barrier(count), [""] * count

    def first(number):
        start.wait()
        answers[number] = str(ask())

    threads = [threading.Thread(target=first, args=(number,)) for number in range(count)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return answers


def calibration_of_five():
    balance, density = (
        fu.measured(f"0 {unit}", f"{u} {unit}", name=name)
        for name, unit, u in (("balance", "kg", 0.0005), ("density", "kg/m^3", 0.1))
    )
    runs = [
        fu.GravimetricRun.read(
            pulses=fu.counted(45_031 + 3 * (-1) ** i * i),
            mass_reading=fu.measured(f"{3.0369 + i * 1e-4:.4f} kg", "0.3 g", name=f"weighing {i}") + balance,
            duration="5 min",
            liquid_temperature="21.2 degC",
            liquid_density=fu.measured(f"{770.2 + 0.01 * i} kg/m^3", "0.1 kg/m^3", name=f"density {i}") + density,
            air_density="1.19 kg/m^3",
        )
        for i in range(5)
    ]
    return fu.calibrate(runs)


def sum_of_masses():
    batch = fu.fuel("Jet A-1").measured("0.804 kg/L", at="22 degC", by="hydrometer", uncertainty="0.8 kg/m^3")
    parts = (batch.uncertain_mass(fu.measured("1200 L", "5 L", name=f"tank {i}"), at="22 degC") for i in range(4))
    return sum(parts, fu.measured("100 kg", "1 kg", name="rest"))


@pytest.mark.parametrize(
    ("make", "ask"),
    [
        (calibration_of_five, lambda made: (made.expanded_uncertainty(), made.missing)),
        (sum_of_masses, lambda made: fu.endurance(made, "400 kg/h").m_as("hour").std_dev),
        (sum_of_masses, lambda made: fu.convert(made.m_as("kg"), "kg", "lb").std_dev),
    ],
    ids=["calibration", "endurance", "convert"],
)
def test_what_several_threads_share_has_one_uncertainty(make, ask):
    """A sum works out its derivatives when it is first asked: of two threads that do so at once, each got a part."""
    expected, interval = str(ask(make())), sys.getswitchinterval()
    sys.setswitchinterval(1e-6)
    try:
        for _ in range(25):
            shared = make()
            assert {*answers_in_threads(lambda: ask(shared))} == {expected}  # noqa: B023
    finally:
        sys.setswitchinterval(interval)


def test_the_sum_of_a_caller_is_left_as_it_is(monkeypatch):
    """A sum works itself out in place: whoever is interrupted then, as a cell of a notebook is, keeps a part of it."""
    from uncertainties.core import LinearCombination

    worked_out, expand = [], LinearCombination.expand
    parts = [fu.measured("1200 L", "5 L", name=f"tank {i}").m_as("L") for i in range(3)]
    total = sum(parts)
    litres = fu.measured("1 L", "0 L", name="exact").units * total
    monkeypatch.setattr(LinearCombination, "expand", lambda self: worked_out.append(self) or expand(self))
    fu.endurance(litres, "400 L/h")
    fu.fuel_on_board({"tanks": litres, "totaliser": fu.measured("3602 L", "9 L", name="totaliser")}, "L")
    fu.convert(total, "L", "gal")
    asked = len(worked_out)
    assert asked
    assert f"{total.std_dev:.6f}" == f"{3**0.5 * 5.0:.6f}"
    assert len(worked_out) == asked + 1  # only now
