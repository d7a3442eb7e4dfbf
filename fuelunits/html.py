"""Results as a notebook shows them: a heading, facts, one plain table, and the caution.

Plain tables only. Colours are the notebook's own, light or dark; units stand in the headings, so that a
table copied into a worksheet arrives as numbers. All text is escaped.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

from fuelunits.reports import CAUTION

__all__ = ["report"]

_NUMBER = re.compile(r"[-+±]?\d[\d.,eE+-]*|-|")
"""What stands on the right of its column: a number, or the mark of a missing one."""


def report(
    title: str,
    facts: Mapping[str, Any] | None = None,
    rows: Sequence[Mapping[str, Any]] = (),
    *,
    note: str = CAUTION,
) -> str:
    """Write a result as HTML.

    Parameters
    ----------
    title : str
        The heading: what it is, or the verdict.
    facts : mapping of str to any, optional
        Name and value; one that is None or empty is left out.
    rows : sequence of mapping, optional
        The table, one mapping from column heading to cell for each row, all with the same columns.
        A cell that is None or empty is displayed as ``-``.
    note : str
        What stands below, the caution unless told otherwise; empty for nothing.

    Returns
    -------
    str
        HTML without colours, scripts or addresses.

    Examples
    --------
    >>> print(report("error < 3 %", note=""))
    <div><p><strong>error &lt; 3 %</strong></p>
    </div>
    """
    told = {name: value for name, value in (facts or {}).items() if value not in (None, "")}
    parts = [f"<div><p><strong>{escape(title)}</strong></p>"]
    if told:
        parts.append(_table("", [(name, str(value)) for name, value in told.items()], ["left", "left"]))
    if rows:
        columns = list(rows[0])
        cells = [tuple("-" if row[column] in (None, "") else str(row[column]) for column in columns) for row in rows]
        sides = ["right" if all(map(_NUMBER.fullmatch, column)) else "left" for column in zip(*cells, strict=True)]
        heads = [_cell("th", head, side) for head, side in zip(columns, sides, strict=True)]
        parts.append(_table(f"<thead><tr>{''.join(heads)}</tr></thead>", cells, sides))
    if note:
        parts.append(f"<p><small>{escape(note)}</small></p>")
    return "\n".join([*parts, "</div>"])


def _table(head: str, rows: Sequence[Sequence[str]], sides: Sequence[str]) -> str:
    """Write the rows, the first cell of each as its heading."""
    tags = ["th", *["td"] * len(sides)]
    lines = ("".join(map(_cell, tags, row, sides)) for row in rows)
    return f"<table>{head}<tbody>{''.join(f'<tr>{line}</tr>' for line in lines)}</tbody></table>"


def _cell(tag: str, text: str, side: str) -> str:
    return f'<{tag} style="text-align:{side}">{escape(text)}</{tag}>'
