"""One point of a sheet: what is injected or set, which readings are acceptable, and why one cannot be judged.

The error of an indication is the reading less the true value, the rounding of the display included. With the true
value q that the injected pulses stand for, the tolerance T, the display step s and the allowance g for q (from the
generator or test box), all exact: a reading d is accepted where it is not zero and abs(d - q) <= T - g; rejected where
abs(d - q) > T + g; undecided between. A point is judged only where T - g >= s / 2, since a coarser step hides errors
larger than the tolerance. Zero is never accepted by itself: a dead display also shows it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from fuelunits.indicators.display import decimals, displayed_exact, steps_within
from fuelunits.uncertainty.decisions import Verdict


@dataclass(frozen=True)
class BenchPoint:
    """One line of a sheet.

    Into each channel goes a frequency, or for a total a number of pulses; into a gauge a capacitance. They stand for
    the value `true`, in the unit of the reading, as are the tolerance, the allowance for the generator or box
    (`doubt`), the display step and the cutoff.
    """

    given: str
    unit: str
    true: Fraction
    tolerance: Fraction
    step: Fraction | None
    cutoff: Fraction = Fraction(0)
    doubt: Fraction = Fraction(0)
    frequencies_hz: tuple[float, ...] = ()
    pulses: tuple[int, ...] = ()
    remark: str = ""
    capacitance_pf: float | None = None

    @property
    def frequency_hz(self) -> float:
        """What to inject into the first channel, Hz; NaN for a total."""
        return self.frequencies_hz[0] if self.frequencies_hz else float("nan")

    @property
    def expected(self) -> float:
        """The reading of an indicator without error."""
        return float(displayed_exact(self.true, self.step, self.cutoff))

    @property
    def _margin(self) -> Fraction:
        return self.tolerance - self.doubt

    @property
    def _first(self) -> Fraction:
        """The lowest value other than zero that the display can show."""
        return max(displayed_exact(self.cutoff, self.step, self.cutoff), self.step or Fraction(0))

    @property
    def below_cutoff(self) -> bool:
        """Whether an indicator within the tolerance shows zero here."""
        return self.true + self.tolerance + self.doubt < self.cutoff

    @property
    def near_cutoff(self) -> bool:
        """Whether an indicator within the tolerance may show zero or the flow here."""
        return not self.below_cutoff and self.true - self.tolerance - self.doubt < self.cutoff and bool(self.cutoff)

    @property
    def undecided(self) -> str:
        """Why no reading at this point can be accepted, and what to do; empty where one can."""
        if self.below_cutoff or not self.true:
            return "0 is expected, which a dead display also shows: accepted once a point above zero is"
        if self.true < self.cutoff:
            return "the cutoff lies within the tolerance: inject a flow that is further from it"
        if not self.tolerance:
            return "the tolerance is zero"
        if self._margin <= 0:
            return "the uncertainty of what is injected or set is as large as the tolerance"
        if self.step is not None and self._margin < self.step / 2:
            return (
                f"the step of {float(self.step):g} {self.unit} hides more than the tolerance of "
                f"{float(self.tolerance):.3g} {self.unit}: take a larger value, or state a wider tolerance"
            )
        if self.tolerance + self.doubt >= self.true:
            return "the tolerance is as large as the value: a dead display would pass"
        return ""

    @property
    def _accepted(self) -> tuple[Fraction, Fraction] | None:
        if self.undecided:
            return None
        return steps_within(max(self.true - self._margin, self._first), self.true + self._margin, self.step)

    @property
    def lowest(self) -> float | None:
        """The lowest reading that is accepted; None where the point cannot be judged."""
        return float(self._accepted[0]) if self._accepted else None

    @property
    def highest(self) -> float | None:
        """The highest reading that is accepted; None where the point cannot be judged."""
        return float(self._accepted[1]) if self._accepted else None

    @property
    def limits(self) -> tuple[str, str]:
        """The lowest and the highest accepted reading in words; without display steps they are rounded inwards."""
        if self._accepted is None:
            return "", ""
        grid = self.step or Fraction(1, 10**self.decimals)
        low, high = steps_within(*self._accepted, grid) or self._accepted
        return f"{float(low):.{self.decimals}f}", f"{float(high):.{self.decimals}f}"

    @property
    def decimals(self) -> int:
        """Decimals of a reading when printed."""
        places = decimals(self.step)
        while self.step is None and self._margin > 0 and self._margin * 10**places < 10 and places < 12:
            places += 1
        return places

    def is_expected_zero(self, reading: Fraction | None) -> bool:
        """Return whether zero is expected here, and the reading is zero, or near enough."""
        if reading is None or self.true:
            return reading == 0 and self.below_cutoff
        return abs(reading) <= self._margin

    def verdict(self, reading: Fraction) -> Verdict:
        """Return what a reading at this point means by itself."""
        error = abs(reading - self.true)
        if not reading and (self.below_cutoff or self.near_cutoff):
            return Verdict.UNDECIDED
        if reading and (self.below_cutoff or reading < self._first):
            return Verdict.REJECT
        if self.undecided:
            hidden = (self.step or Fraction(0)) / 2
            return Verdict.REJECT if error > self.tolerance + self.doubt + hidden else Verdict.UNDECIDED
        if reading and error <= self._margin:
            return Verdict.ACCEPT
        return Verdict.REJECT if error > self.tolerance + self.doubt or not reading else Verdict.UNDECIDED


def overall(points: Sequence[BenchPoint], readings: Sequence[Fraction | None]) -> tuple[Verdict, ...]:
    """Return the verdict of each point; a missing reading is undecided.

    Where zero is expected, zero, or a reading within the tolerance, is accepted once another point of the same unit
    is, which a dead display cannot reach.
    """
    alone = [
        Verdict.UNDECIDED if reading is None else point.verdict(reading)
        for point, reading in zip(points, readings, strict=True)
    ]
    responding = {point.unit for point, verdict in zip(points, alone, strict=True) if verdict is Verdict.ACCEPT}
    return tuple(
        Verdict.ACCEPT if point.unit in responding and point.is_expected_zero(reading) else verdict
        for point, reading, verdict in zip(points, readings, alone, strict=True)
    )
