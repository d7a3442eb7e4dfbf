"""Reports of answers: text, HTML, plain JSON types or a data frame.

An answer derives from :class:`Reporting` and defines the content of its report; this module does the rest.
Units stand in the heads of a table, so that a table copied into a worksheet arrives as numbers.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, fields, is_dataclass
from enum import Enum
from fractions import Fraction
from itertools import zip_longest
from typing import Any, ClassVar

from fuelunits.errors import MissingExtra
from fuelunits.sources import all_sources

CAUTION = (
    "Engineering aid, not approved data: the aircraft's maintenance and flight manuals, the fuel supplier's "
    "certificate, the local authority's rules and a licensed technician's sign-off come first."
)
"""The caution that stands under every result that somebody could act on."""

WIDTH = 80
_NUMBER = re.compile(r"[-+±]?\d[\d.,eE+-]*( %)?|-|")  # on the right of its column: a number, or the mark of none


def printable(text: str) -> str:
    """Return a text without line ends, control characters and changes of text direction."""
    return text if text.isprintable() else "".join(each if each.isprintable() else " " for each in text)


def format_percent(fraction: float, *, digits: int = 3, signed: bool = False) -> str:
    """Return a fraction as a percentage, with a space before the sign: ``"0.046 %"``."""
    return f"{0.0 if abs(fraction) <= 1e-12 else 100.0 * fraction:{'+' * signed}.{digits}g} %"  # less is rounding


@dataclass(frozen=True)
class Table:
    """A table of a report: heads with their units, and cells as text."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    title: str = ""

    @classmethod
    def of(cls, rows: Iterable[Mapping[str, Any]], title: str = "") -> Table:
        """Return a table of mappings from head to cell; a missing key, None or empty text is printed as ``-``."""
        rows = list(rows)
        heads = tuple(dict.fromkeys(head for row in rows for head in row))
        cells = tuple(tuple("-" if row.get(head) in (None, "") else str(row[head]) for head in heads) for row in rows)
        return cls(heads, cells, title)

    @property
    def _is_number(self) -> list[bool]:
        return [all(_NUMBER.fullmatch(row[i]) for row in self.rows) for i in range(len(self.heads))]

    def to_text(self) -> str:
        """Return the table as text: long heads and long cells of words are folded to stay within the width."""
        from textwrap import wrap

        widths, aligns = self._widths(), [str.rjust if is_number else str.ljust for is_number in self._is_number]
        lines = [printable(self.title)] if self.title else []
        for row in (self.heads, *self.rows):
            folded = [wrap(printable(cell), size) for cell, size in zip(row, widths, strict=True)]
            for parts in zip_longest(*folded, fillvalue=""):
                aligned = [align(part, size) for align, part, size in zip(aligns, parts, widths, strict=True)]
                lines.append("  ".join(aligned).rstrip())
        return "\n".join(lines)

    def _widths(self) -> list[int]:
        """Return a width for each column; columns of words give way where the table is too wide."""
        words_of = [("", *head.split(), *(row[i] for row in self.rows)) for i, head in enumerate(self.heads)]
        least = [max(map(len, words)) for words in words_of]
        whole = [max(size, len(head)) for size, head in zip(least, self.heads, strict=True)]
        space = WIDTH - 2 * (len(self.heads) - 1)
        if sum(whole) <= space:
            return whole
        flexible = [i for i, is_number in enumerate(self._is_number) if not is_number]
        while sum(least) > space and flexible and max(least[i] for i in flexible) > 8:
            least[max(flexible, key=lambda i: least[i])] -= 1
        return least

    def to_html(self) -> str:
        """Return the table as HTML without colours, so that it reads on light and on dark pages."""
        sides = ["right" if is_number else "left" for is_number in self._is_number]
        caption = f"<caption>{_escape(self.title)}</caption>" if self.title else ""
        heads = "".join(map(_cell, ["th"] * len(sides), self.heads, sides))
        body = "".join(f"<tr>{''.join(map(_cell, ['th', *['td'] * len(sides)], row, sides))}</tr>" for row in self.rows)
        return f"<table>{caption}<thead><tr>{heads}</tr></thead><tbody>{body}</tbody></table>"


def _escape(text: str) -> str:
    from html import escape  # its table of entities takes a while to load

    return escape(printable(text))


def _cell(tag: str, text: str, side: str = "left") -> str:
    return f'<{tag} style="text-align:{side}">{_escape(text)}</{tag}>'


class Reporting:
    """Base of every answer that a person reads; a class defines :meth:`report`, or keeps it as `details`.

    ``_plain`` names the properties, and methods without arguments, in :meth:`as_dict` beside the fields of the class.
    """

    _plain: ClassVar[tuple[str, ...]] = ()
    details: Report

    def report(self) -> Report:
        """Return the report of this answer."""
        return self.details

    def rows(self) -> Sequence[Any]:
        """Return the rows of the data frame: dataclasses or mappings, whose names carry the units; one by default."""
        return ({name: each for name, each in self.as_dict().items() if name != "caution"},)

    def as_dict(self) -> dict[str, Any]:
        """Return everything as plain JSON types; None where there is no number."""
        names: list[str] = [each.name for each in fields(self) if each.repr] if is_dataclass(self) else []
        found = {name: getattr(self, name) for name in (*names, *self._plain)}
        values = {name: value() if callable(value) and name in self._plain else value for name, value in found.items()}
        return {**{name: plain(value) for name, value in values.items()}, "caution": CAUTION}

    def to_frame(self) -> Any:
        """Return the rows as a pandas data frame; MissingExtra if pandas is not installed."""
        try:
            import pandas as pd
        except ImportError as missing:
            raise MissingExtra("a data frame needs pandas: pip install pandas; as_dict() does without") from missing
        return pd.DataFrame([row if isinstance(row, Mapping) else vars(row) for row in self.rows()])

    def __str__(self) -> str:
        return self.report().to_text()

    def __repr__(self) -> str:
        report = self.report()
        return f"<{type(self).__name__}: {printable(': '.join(filter(None, (report.title, report.verdict))))}>"

    def _repr_html_(self) -> str:
        return self.report().to_html()


@dataclass(frozen=True, repr=False)
class Report(Reporting):
    """The report of an answer: the verdict in one line, empty where nothing is decided; empty facts are left out.

    Sources are keys of ``sources.toml``, or plain statements. Sections are parts of a composite document, with the
    caution once at its end; a closing line is, for example, that for a signature.
    """

    title: str
    verdict: str = ""
    facts: Mapping[str, Any] = field(default_factory=dict)
    tables: Sequence[Table] = ()
    remarks: Sequence[str] = ()
    sources: Sequence[str] = ()
    sections: Sequence[Report] = ()
    closing: Sequence[str] = ()

    def report(self) -> Report:
        return self

    @property
    def _facts(self) -> dict[str, str]:
        return {name: str(value) for name, value in self.facts.items() if value not in (None, "")}

    @property
    def _notes(self) -> list[str]:
        sources = "; ".join(map(source_title, self.sources))
        return [*(f"Note: {remark}" for remark in self.remarks), *[f"Sources: {sources}"] * bool(sources)]

    def to_text(self, *, caution: bool = True) -> str:
        """Return the report as text, folded at words."""
        lines = [*_wrap(self.title), *_wrap(self.verdict and f"Verdict: {self.verdict}")]
        lines += [line for name, value in self._facts.items() for line in _wrap(f"{name}: {value}", "  ")]
        lines += [line for table in self.tables for line in table.to_text().splitlines()]
        lines += [line for note in self._notes for line in _wrap(note)]
        lines += [line for each in self.sections for line in ("", *each.to_text(caution=False).splitlines())]
        lines += [line for each in self.closing for line in ("", *_wrap(each))]
        return "\n".join([*lines, *_wrap(f"Caution: {CAUTION}")] if caution else lines)

    def to_html(self, *, caution: bool = True) -> str:
        """Return the report as escaped HTML without colours or scripts; the verdict, for notebooks, comes last."""
        verdict = f"<p><strong>Verdict: {_escape(self.verdict)}</strong></p>" if self.verdict else ""
        facts = "".join(f"<tr>{_cell('th', name)}{_cell('td', value)}</tr>" for name, value in self._facts.items())
        parts = [
            f"<div><p><strong>{_escape(self.title)}</strong></p>",
            verdict if self.sections else "",
            f"<table><tbody>{facts}</tbody></table>" if facts else "",
            *(table.to_html() for table in self.tables),
            *(f"<p>{_escape(note)}</p>" for note in self._notes),
            *(section.to_html(caution=False) for section in self.sections),
            *(f"<p>{_escape(line)}</p>" for line in self.closing),
            f"<p><small>Caution: {_escape(CAUTION)}</small></p>" if caution else "",
            verdict,
            "</div>",
        ]
        return "\n".join(filter(None, parts))


def _wrap(text: str, indent: str = "") -> list[str]:
    from textwrap import TextWrapper

    whole = TextWrapper(WIDTH, indent, f"{indent}  ", break_long_words=False, break_on_hyphens=False)
    return whole.wrap(printable(text))


def source_title(key: str) -> str:
    """Return the title of a source with how its figures were obtained, or the plain statement as it is."""
    entry = all_sources().get(key)
    return f"{entry.title} ({entry.obtained})" if entry else key


def plain(value: Any) -> Any:
    """Return a value as plain JSON types; NaN and infinity are None, an uncertain number is two numbers."""
    if value is None or isinstance(value, (str, bool, int)):
        return value
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, (float, Fraction)):
        return float(value) if math.isfinite(value) else None
    if hasattr(value, "nominal_value"):
        return {"value": plain(value.nominal_value), "uncertainty": plain(value.std_dev)}
    if isinstance(value, Mapping):
        return {str(key): plain(each) for key, each in value.items()}
    if isinstance(value, Reporting):
        return {name: each for name, each in value.as_dict().items() if name != "caution"}
    if is_dataclass(value) and not isinstance(value, type):
        return {each.name: plain(getattr(value, each.name)) for each in fields(value) if each.repr}
    if hasattr(value, "tolist"):
        return plain(value.tolist())
    return list(map(plain, value)) if isinstance(value, (list, tuple, set, frozenset)) else str(value)
