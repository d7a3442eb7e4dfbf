"""The place that an entry names: whether the number still stands on that line."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

__all__ = ["Place", "numbers_in"]

_PLACE = re.compile(r"(?P<path>(?!\w+://)\S+):(?P<line>[1-9][0-9]{0,8})")
_NUMBER = re.compile(
    r"(?<![\w.])"
    r"(?>(?P<number>(?:[0-9][0-9_]{0,999}+(?:\.[0-9_]{0,999}+)?|\.[0-9][0-9_]{0,999}+)(?:[eE][+-]?[0-9]{1,3})?))"
    r"(?!\.?[0-9])"
)


@dataclass(frozen=True)
class Place:
    """A line of a file.

    Attributes
    ----------
    path : str
        The file, relative to the root.
    line : int
        Its line, counted from 1.
    """

    path: str
    line: int

    @classmethod
    def read(cls, text: str) -> Place | None:
        """Read a place of the form ``path:line``, without spaces; None for free text.

        Examples
        --------
        >>> Place.read("sheets/uplift.py:12")
        Place(path='sheets/uplift.py', line=12)
        >>> Place.read("job card 2031") is None
        True
        """
        match = _PLACE.fullmatch(text.strip())
        return None if match is None else cls(match["path"], int(match["line"]))

    def trouble(self, number: Fraction, root: Path) -> str:
        """Say what is wrong if the line does not contain the number; nothing where it does."""
        try:
            file = (root / self.path).resolve()
            if not file.is_relative_to(root.resolve()):
                return f"{self.path} lies outside {root}, and is not opened"
            if not file.is_file() and file.exists():
                return f"{self.path} cannot be read: it is no file"
            lines = file.read_text(encoding="utf-8", errors="replace").splitlines()
        except (OSError, ValueError, RuntimeError) as missing:  # a RuntimeError for links in a circle
            return f"{self.path} cannot be read: {getattr(missing, 'strerror', None) or missing}"
        having = [line for line, text in enumerate(lines, start=1) if number in numbers_in(text)]
        if self.line in having:
            return ""
        if having:
            others = ", ".join(map(str, having[:5])) + ", …" * (len(having) > 5)
            found = f"it stands on line {others}"
        else:
            found = "nor does any other of its lines"
        return f"line {self.line} of {self.path} does not contain {float(number):.10g}; {found}"


def numbers_in(text: str) -> set[Fraction]:
    """Give the numbers that are written in a line of code or of data, exactly.

    Examples
    --------
    >>> sorted(map(float, numbers_in("K_FACTOR = 43_186  # pulse/gal, 43.186e3, not x1 nor 1.2.3")))
    [43186.0]
    """
    return {Fraction(match["number"].replace("_", "")) for match in _NUMBER.finditer(text)}
