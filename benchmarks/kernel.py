"""The formulas in C (``kernel.c``), compiled for this processor where there is a compiler: what no Python can beat."""

from __future__ import annotations

import atexit
import ctypes
import shutil
import subprocess
from collections.abc import Callable
from functools import cache
from pathlib import Path
from tempfile import mkdtemp
from typing import Any

import numpy as np

_SOURCE = Path(__file__).with_name("kernel.c")
_FLAGS = ("-O3", "-march=native", "-ffast-math", "-fPIC", "-c")


@cache
def _library() -> Any:
    compiler = shutil.which("cc")
    if compiler is None:
        raise ImportError(name="a C compiler named cc")
    folder = Path(mkdtemp())
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    # linked apart: with -ffast-math the linker would let every sum of this process lose its smallest numbers
    subprocess.run([compiler, *_FLAGS, _SOURCE, "-o", folder / "kernel.o"], check=True)
    subprocess.run([compiler, "-shared", folder / "kernel.o", "-o", folder / "kernel.so", "-lm"], check=True)
    return ctypes.CDLL(str(folder / "kernel.so"))


def kernel(name: str, *given: Any) -> Callable[[], Any]:
    """Return a call of a function of the kernel, which makes a new array as NumPy's functions do."""
    function = getattr(_library(), name)
    size = max(np.size(each) for each in given)
    arguments = [ctypes.c_void_p(each.ctypes.data) if np.ndim(each) else ctypes.c_double(each) for each in given]

    def call() -> Any:
        result = np.empty(size)
        function(ctypes.c_long(size), *arguments, ctypes.c_void_p(result.ctypes.data))
        return result

    return call
