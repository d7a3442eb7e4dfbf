"""Reports on paper: one self-contained HTML file, black on white in print, a page for each part."""

from __future__ import annotations

from dataclasses import replace
from html import escape

from fuelunits.reports import CAUTION, Reporting, printable
from fuelunits.validation import check_type

_STYLE = """
:root { color-scheme: light dark; }
body { font: 11pt/1.45 sans-serif; max-width: 46rem; margin: 2rem auto; padding: 0 1rem; }
table { border-collapse: collapse; margin: 0.6rem 0; max-width: 100%; }
th, td { border: 1px solid #888; padding: 0.15rem 0.5rem; vertical-align: top; }
thead { display: table-header-group; }
tr { break-inside: avoid; }
@media screen { table { display: block; overflow-x: auto; width: fit-content; } }
@media print {
  :root { color-scheme: light; }
  body { margin: 0; max-width: none; font-size: 10pt; color: #000; background: #fff; }
  div > div { break-before: page; }
}
@page { margin: 18mm 15mm; }
"""


def page(thing: Reporting) -> str:
    """Return an answer or a record as a page of HTML, to be kept on file and printed on A4 or Letter.

    Parameters
    ----------
    thing : Reporting
        Any answer that has a report: a bench sheet, a calibration, a job record.

    Returns
    -------
    str
        A complete HTML file without scripts or external parts; write it with ``encoding="utf-8"``.

    Examples
    --------
    >>> from fuelunits.meters.k_factor import KFactor
    >>> page(KFactor.read("11412 pulse/L")).startswith("<!doctype html>")
    True
    """
    report = check_type(thing, Reporting, "thing", "an answer that has a report").report()
    if report.sections:  # each is a printed page, which names the record and has the caution, should it be torn off
        parts = [replace(part, title=f"{report.title}: {part.title}") for part in report.sections]
        parts[:-1] = [replace(part, closing=(*part.closing, f"Caution: {CAUTION}")) for part in parts[:-1]]
        report = replace(report, sections=parts, remarks=(*report.remarks, CAUTION))
    return (
        f'<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        f'<meta name="viewport" content="width=device-width"><title>{escape(printable(report.title))}</title>'
        f"<style>{_STYLE}</style></head>\n<body>\n{report.to_html()}\n</body></html>\n"
    )
