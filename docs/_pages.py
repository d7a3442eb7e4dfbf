"""A few pieces of reStructuredText, for the generated pages."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from pathlib import Path

__all__ = ["bullets", "cite", "heading", "label", "page", "table", "text"]


def text(words: object) -> str:
    """Write words that hold no markup."""
    return re.sub(r"([\\*`|_])", r"\\\1", str(words))


def heading(words: str, mark: str = "=") -> str:
    return f"{words}\n{mark * (len(words) + 2)}\n"


def label(kind: str, name: str) -> str:
    """Give the anchor of a source, a grade or a topic."""
    return f"{kind}-{re.sub('[^a-z0-9]+', '-', name.casefold())}"


def cite(key: str, words: str = "") -> str:
    """Lead to a source."""
    return f":ref:`{words or key} <{label('source', key)}>`"


def bullets(items: Iterable[str]) -> str:
    return "\n".join(f"* {item}" for item in items) + "\n"


def table(heads: Sequence[str], rows: Iterable[Sequence[str]], *, numbers: bool = False) -> str:
    """Write a table; one of numbers is aligned at the right."""
    lines = [".. list-table::", "   :header-rows: 1", *(["   :class: numbers"] if numbers else []), ""]
    for row in (heads, *rows):
        lines += [f"   {'* -' if not column else '  -'} {cell}" for column, cell in enumerate(row)]
    return "\n".join(lines) + "\n"


def page(path: Path, *parts: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("\n".join(parts), encoding="utf-8")
