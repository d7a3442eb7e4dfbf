"""Registries of pint that the tests share: each takes a fifth of a second to make."""

import pint

ONE_REGISTRY, OTHER_REGISTRY = pint.UnitRegistry(), pint.UnitRegistry()
OF_OFFSETS = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
