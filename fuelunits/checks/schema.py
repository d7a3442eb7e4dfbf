"""The JSON Schema of an assumptions file, written from the definition that reads it.

It knows the forms of the values and not their meaning: whether a fuel exists, or a unit is one of
density, only the check can tell.
"""

from __future__ import annotations

from typing import Any

from fuelunits.checks.entries import KINDS, Key, Kind

__all__ = ["schema"]


def schema() -> dict[str, Any]:
    """Give the schema as plain JSON types.

    Examples
    --------
    >>> schema()["properties"]["k_factor"]["items"]["required"]
    ['name', 'tolerance', 'calibrated', 'entered']
    """
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Assumptions of a project about fuel",
        "description": "Fixed densities, factors and K-factors that are written down somewhere, "
        "to be checked by: python -m fuelunits check FILE",
        "type": "object",
        "properties": {
            "about": {"description": "Whatever the file says of itself."},
            **{kind.name: _kind(kind) for kind in KINDS.values()},
        },
        "additionalProperties": False,
        "anyOf": [{"required": [name], "properties": {name: {"minItems": 1}}} for name in KINDS],
    }


def _kind(kind: Kind) -> dict[str, Any]:
    return {
        "description": kind.meaning,
        "type": "array",
        "items": {
            "type": "object",
            "properties": {key.name: _key(key) for key in kind.keys},
            "required": [key.name for key in kind.keys if key.needed],
            "additionalProperties": False,
        },
    }


def _key(key: Key) -> dict[str, Any]:
    return {"description": key.meaning, **key.form.schema, "examples": [key.example]}
