"""Independent causes of uncertainty that keep their identity in copies, pickles and files."""

from __future__ import annotations

import os
from functools import cache
from threading import RLock
from typing import Any
from weakref import WeakValueDictionary

_ALIVE: WeakValueDictionary[str, Any] = WeakValueDictionary()
_LOCK = RLock()


@cache
def _type() -> Any:
    """Return the type of a cause; made here, because importing this module loads no ``uncertainties``."""
    from uncertainties.core import Variable

    class Cause(Variable):  # type: ignore[misc]
        """A variable of one physical cause: a copy is itself, and its pickle restores it."""

        __slots__ = ("__weakref__", "identity")

        def __deepcopy__(self, memo: Any = None) -> Any:
            return self

        __copy__ = __deepcopy__

        def __reduce__(self) -> Any:
            return cause, (self.nominal_value, self.std_dev, self.tag, self.identity)

    return Cause


def cause(value: float, uncertainty: float, tag: Any, identity: str = "") -> Any:
    """Return the cause of an identity: that which is alive, if its figures are these; a new one without identity."""
    with _LOCK:
        known = _ALIVE.get(identity)
        if known is not None and (known.nominal_value, known.std_dev, known.tag) == (value, uncertainty, tag):
            return known
        made = _type()(value, uncertainty, tag)
        made.identity = identity if identity and known is None else os.urandom(12).hex()  # no two alive have one
        _ALIVE[made.identity] = made
        return made


def figures_and_causes(value: Any) -> tuple[Any, frozenset[Any]]:
    """Return what a copy of an input has in common with it, and another input, of other causes, has not."""
    return getattr(value, "nominal_value", value), frozenset(getattr(value, "derivatives", {}).items())
