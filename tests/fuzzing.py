"""Fuzzing, guided by coverage: any text, any assumptions file, gives an answer or one of our errors.

``python tests/fuzzing.py text -runs=1000000`` and ``python tests/fuzzing.py file -runs=1000000``; it needs atheris, and
passes libFuzzer's options on. Inputs are mutated bytes, read by the first of them as text, as pieces of the
grammar in a row, or as a number and a unit that must be read right; files begin with the corpus of assumption files.
A text that takes longer than five seconds ends the run, as does any other exception.
"""

import json
import sys
import tempfile
from contextlib import suppress
from fractions import Fraction
from pathlib import Path
from xml.etree import ElementTree

TESTS = Path(__file__).parent


def main(arguments: list[str]) -> None:
    """Fuzz one of the two until the runs are over."""
    import atheris

    with atheris.instrument_imports(include=["fuelunits"]):
        import fuelunits.checks.file
        import fuelunits.checks.output  # noqa: F401
    sys.path.insert(0, str(TESTS))
    target, *options = arguments
    with tempfile.TemporaryDirectory() as folder:
        words = Path(folder, "words")
        words.write_text("".join(f'"{_escaped(piece)}"\n' for piece in pieces()), encoding="ascii")
        corpus = Path(folder, "corpus")
        corpus.mkdir()
        for seed in (TESTS / "assumption_files").rglob("*.toml"):
            (corpus / seed.name).write_bytes(b"\x00" + seed.read_bytes())
        atheris.Setup(
            [
                sys.argv[0],
                str(corpus),
                f"-dict={words}",
                "-timeout=5",
                "-max_len=3000",
                "-len_control=0",
                "-rss_limit_mb=0",
                *options,
            ],
            {"text": as_text, "file": as_a_file}[target],
        )
        atheris.Fuzz()


def pieces() -> list[str]:
    """Return what texts of the trade, valid and invalid, are made of."""
    import msgspec
    from test_refusals import PIECES

    from fuelunits.checks.kinds import KINDS

    keys = [key.encode_name for kind in KINDS.values() for key in msgspec.structs.fields(kind)]
    return [*PIECES, *keys, *(f"[[{kind}]]" for kind in KINDS), " = ", '"', "'''", "#", "0x", "1_0", "{", "}"]


def as_text(data: bytes) -> None:
    """Read bytes as text, as pieces or as a number and a unit, and give them to every reader."""
    from test_refusals import READERS

    from fuelunits.errors import FuelUnitsError

    if data[:1] > b"\xaa":
        return _right(data[1:])
    known = pieces()
    text = "".join(known[byte % len(known)] for byte in data[1:]) if data[:1] > b"\x55" else _text(data[1:])
    for read in READERS:
        with suppress(FuelUnitsError):
            read(text)
    return None


def _right(data: bytes) -> None:
    """Write a number and a unit as bytes choose, and see that they are read as what they are."""
    from fuelunits.quantities import exact
    from fuelunits.units import all_spellings, read_unit

    units = sorted(all_spellings())
    unit = units[int.from_bytes(data[:2], "big") % len(units)]
    digits = str(int.from_bytes(data[2:12], "big"))
    point, power = len(digits) // 2, len(data) % 40 - 20
    if read_unit(unit).zero is None:
        number = Fraction(int(digits), 10 ** (len(digits) - point)) * Fraction(10) ** power
        written = f"{digits[:point]}.{digits[point:]}e{power} {unit}"
        assert exact(written, unit, name="it") == number, written


def as_a_file(data: bytes) -> None:
    """Check bytes as an assumptions file, and print the report in every form."""
    from fuelunits.checks.file import check_text
    from fuelunits.checks.output import junit
    from fuelunits.errors import FileError

    with suppress(FileError):
        report = check_text(_text(data[1:]), root=TESTS / "assumption_files")
        assert str(report)
        json.dumps(report.as_dict(), allow_nan=False)
        ElementTree.fromstring(junit([report]))


def _text(data: bytes) -> str:
    return data.decode("utf-8", errors="surrogateescape")


def _escaped(piece: str) -> str:
    """Write a piece as libFuzzer's dictionary takes it."""
    return "".join(f"\\x{byte:02x}" for byte in piece.encode("utf-8", errors="surrogatepass"))


if __name__ == "__main__":
    main(sys.argv[1:])
