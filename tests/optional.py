"""Libraries of arrays that may not be installed: what depends on a missing one is skipped, and the rest is run."""

import os
from importlib import import_module
from typing import Any

import pytest


class Missing:
    """Stands for a library that is not installed, and for all that is made with it."""

    def __init__(self, name: str) -> None:
        self.name = name

    def __repr__(self) -> str:
        return f"<no {self.name}>"  # without an address: test ids must be the same in every xdist worker

    def __getattr__(self, name: str) -> "Missing":
        if name.startswith("__"):
            raise AttributeError(name)
        return self

    def __getitem__(self, _: object) -> "Missing":
        return self

    def __call__(self, *_: object, **__: object) -> "Missing":
        if "PYTEST_CURRENT_TEST" in os.environ:
            pytest.skip(f"{self.name} is not installed")
        return self


def optional(name: str) -> Any:
    """Return a library, or what stands for it where it is missing; see ``conftest.py`` for what is skipped."""
    try:
        return import_module(name)
    except ImportError:
        return Missing(name)
