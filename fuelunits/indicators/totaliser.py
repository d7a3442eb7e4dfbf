"""The total that a totaliser displays after flows over time, and its difference from the exact total.

At each update, whole pulses are added as an amount, in full or in steps; the display rounds to its own step, halves up.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import floor
from typing import Any

from fuelunits.errors import QuantityError
from fuelunits.indicators.indicator import Indicator
from fuelunits.indicators.written import as_written
from fuelunits.pint_units import first_quantity
from fuelunits.quantities import exact_number
from fuelunits.reports import Report, Reporting, Table, format_percent
from fuelunits.units import exact_factor
from fuelunits.validation import boolean, check_type, check_types


@dataclass(frozen=True, repr=False)
class DisplayedTotal(Reporting):
    """A total as displayed and exactly, and the causes of the difference; its relative error omits a roll-over."""

    indicator: Indicator
    exact: Fraction
    displayed: Fraction
    causes: dict[str, Fraction]
    relative_error: float

    def rows(self) -> list[dict[str, Any]]:
        """Return the causes, which add up to the difference."""
        return [{"cause": cause, self.indicator.total_unit: float(each)} for cause, each in self.causes.items()]

    def report(self) -> Report:
        """Return both totals, and the amount of each cause."""
        unit, places = self.indicator.total_unit, self.indicator.total_display.decimals
        verdict = f"displays {float(self.displayed):.{places}f} of {float(self.exact):.{places + 2}f} {unit}"
        facts = {"error, before a roll-over": format_percent(self.relative_error, signed=True)}
        rows = [{**row, unit: f"{row[unit]:+.{places + 3}f}"} for row in self.rows()]
        return Report(f"total, {self.indicator}", verdict, facts, [Table.of(rows)])


def displayed_total(
    indicator: Indicator,
    flows: Sequence[tuple[Any, Any]],
    *,
    update: Any,
    kept_step: Any = None,
    truncates: bool = False,
    rolls_over_at: Any = None,
) -> DisplayedTotal:
    """Return the total that a totaliser displays after successive flows, compared with the exact total.

    Parameters
    ----------
    indicator : Indicator
        Of one transducer, K and fixed density taken as right; `total_resolution` is the display step. An update whose
        pulses mean a flow below `low_flow_cutoff` is lost: leave that out of a totaliser that counts them.
    flows : sequence of (flow, duration), each ``("40 L/h", "30 min")``; the flow may be a frequency
    update : str or pint.Quantity, how often pulses are added to the total, ``"1 s"``
    kept_step, truncates : str or pint.Quantity, optional, and bool
        The step to which the amount of each update is rounded, halves up, or truncated. Without one, it is carried.
    rolls_over_at : str or pint.Quantity, optional
        The total at which the counter is zero again, ``"1000 L"`` where it displays up to 999.9.

    Examples
    --------
    An invented totaliser that truncates at each update:

    >>> indicator = Indicator("11412 pulse/L", reads="L/h", total_resolution="0.1 L")
    >>> total = displayed_total(indicator, [("40 L/h", "1 h")], update="1 s", kept_step="0.001 L", truncates=True)
    >>> float(total.displayed), f"{total.relative_error:.4f}"
    (39.6, '-0.0100')
    """
    if check_type(indicator, Indicator, "indicator", "Indicator('11412 pulse/L', reads='L/h')").channels != 1:
        raise QuantityError("indicator: take the total of each transducer, by an Indicator of one channel")
    pairs = check_types(flows, tuple, "flows", "pairs such as ('40 L/h', '30 min')")
    if not pairs or any(len(pair) != 2 for pair in pairs):
        raise QuantityError("flows: give pairs of a flow and its duration, such as [('40 L/h', '30 min')]")
    first_quantity(*(each for pair in pairs for each in pair), update, kept_step, rolls_over_at)
    unit, step = indicator.total_unit, indicator.total_display.step
    # as written: 0.1 s of a library is a tenth, not the float beside it
    update_s = exact_number(as_written(update, "s", "update"), "s", name="update")
    kept, full = (
        None if each is None else exact_number(as_written(each, unit, name), unit, name=name)
        for each, name in ((kept_step, "kept_step"), (rolls_over_at, "rolls_over_at"))
    )
    half = Fraction(0) if boolean(truncates, "truncates") else Fraction(1, 2)
    if kept is None and not half:
        raise QuantityError(f"truncates: to which step? give kept_step, for example '0.001 {unit}'")
    if full is not None and (step is None or full % step):
        raise QuantityError("rolls_over_at: a counter rolls over after whole steps of its display, total_resolution")
    pulses, updates = _updates(indicator, pairs, update_s)
    (per_hz,) = indicator.flows_per_hz
    per_pulse = per_hz / exact_factor(indicator.reads.rpartition("/")[2], "s")
    counted = lost = added = Fraction(0)
    for each, times in updates.items():
        amount, is_lost = each * per_pulse, each * per_hz < indicator.display.cutoff * update_s
        counted += times * amount
        lost += times * amount * is_lost
        added += times * (not is_lost) * (amount if kept is None else floor(amount / kept + half) * kept)
    exact, total = pulses * per_pulse, indicator.total_display.reading(added)
    displayed = total if full is None else total % full
    causes = {
        "pulses not complete, or after the last update": counted - exact,
        "pulses lost below the cutoff": -lost,
        "rounding at each update": added - (counted - lost),
        "display step": total - added,
        "roll-over": displayed - total,
    }
    return DisplayedTotal(indicator, exact, displayed, causes, float(total / exact - 1))


def _updates(indicator: Indicator, pairs: Any, update_s: Fraction) -> tuple[Fraction, Counter[int]]:
    """Return all pulses, exactly, and how many updates have each number of whole pulses."""
    now, pulses, last, updates = Fraction(0), Fraction(0), 0, Counter[int]()
    for flow, duration in pairs:
        (hz,) = indicator.frequencies_for(flow)
        end = now + exact_number(as_written(duration, "s", "duration"), "s", name="duration")
        first, final = floor(now / update_s) + 1, floor(end / update_s)
        if first <= final:
            at_first, at_final = (floor(pulses + (k * update_s - now) * hz) for k in (first, final))
            fewer = floor(update_s * hz)  # a steady flow has no numbers but the two beside the mean
            more = at_final - at_first - (final - first) * fewer
            for each, times in ((at_first - last, 1), (fewer, final - first - more), (fewer + 1, more)):
                updates[each] += times
            last = at_final
        now, pulses = end, pulses + (end - now) * hz
    if not pulses:
        raise QuantityError("flows: nothing flows; give flows above zero")
    return pulses, updates
