"""Fuel volume, mass, density and transducer pulses for aircraft fuel indication.

Every public name is here and is loaded on first use: ``import fuelunits as fu`` costs next to nothing and loads neither
pint nor CoolProp. Figures are engineering aids, not approved data: the aircraft's maintenance and flight manuals, the
fuel supplier's certificate, the local authority's rules and a licensed technician's sign-off come first.
"""

from __future__ import annotations

# Python 3.13 replaces this module while it is first imported, so that threads that load our modules at once would fail.
import collections.abc  # noqa: F401

import lazy_loader

__version__ = "0.1.0"

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
__all__ = sorted([*__all__, "__version__"])
