"""Files of records: JSON, saved completely or not at all and validated on loading, and pages to be printed.

What is kept, `thing`, is any object that :func:`fuelunits.to_dict` takes; `path` is its file.
"""

from __future__ import annotations

import json
import os
import threading
from contextlib import suppress
from dataclasses import replace
from html import escape
from pathlib import Path
from typing import Any

from fuelunits.errors import FileError
from fuelunits.records.encoding import FORMAT, TYPES, from_dict, kept_fields, to_dict, unique
from fuelunits.reports import CAUTION, Reporting, printable
from fuelunits.sources import data_text
from fuelunits.validation import boolean, check_type

LARGEST = 64 * 1024 * 1024  # the largest file that is read, bytes: a pulse record of about three million pulses


def save(thing: Any, path: str | os.PathLike[str], *, overwrite: bool = False) -> None:
    """Save an object as a JSON file, completely or not at all.

    Parameters
    ----------
    overwrite : bool, whether to replace a file that is there, which may be a signed record; refused otherwise

    Examples
    --------
    >>> import tempfile
    >>> from fuelunits.meters.k_factor import KFactor
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     save(KFactor.read("11412 pulse/L"), f"{folder}/k.json")
    ...     load(f"{folder}/k.json")
    KFactor(11412, per='L')
    """
    boolean(overwrite, "overwrite")
    text, target = json.dumps(to_dict(thing), ensure_ascii=False, indent=1, allow_nan=False) + "\n", _path(path)
    part = target.with_name(f".{target.name}.{os.getpid()}-{threading.get_ident()}.part")
    try:
        with part.open("x", encoding="utf-8") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        if not overwrite:
            if os.path.lexists(target):
                raise FileExistsError("the file exists; write overwrite=True to replace it")
            target.open("x").close()  # only one of several that save at once gets past this
        os.replace(part, target)
    except (OSError, ValueError) as wrong:
        raise FileError(f"{target}: cannot be written: {wrong}") from wrong
    finally:
        with suppress(OSError, ValueError):
            part.unlink()


def _path(path: Any) -> Path:
    check_type(path, (str, os.PathLike), "path", "'job.json'")
    return Path(path)


def load(path: str | os.PathLike[str]) -> Any:
    """Return the object that :func:`save` wrote; its class constructs it again, with all its checks.

    A file that is missing, damaged, too large or of a later format is refused.

    Examples
    --------
    >>> load("missing.json")
    Traceback (most recent call last):
        ...
    fuelunits.errors.FileError: missing.json: there is no such file
    """
    target = _path(path)
    try:
        if not target.is_file():
            raise FileError("this is not a file" if target.exists() else "there is no such file")
        if target.stat().st_size > LARGEST:
            raise FileError(f"{target.stat().st_size} bytes are more than the {LARGEST} that are read")
        return loads(target.read_bytes())
    except FileError as wrong:
        raise FileError(f"{target}: {wrong}") from wrong
    except OSError as wrong:
        raise FileError(f"{target}: cannot be read: {wrong.strerror or wrong}") from wrong


def loads(data: bytes | str) -> Any:
    """Return the object in the text of a record; see :func:`load`."""
    import msgspec

    try:
        decoded = msgspec.json.decode(data)
        json.loads(data, object_pairs_hook=lambda pairs: unique(pairs)[:0])  # nothing is kept
        return from_dict(decoded)
    except (msgspec.DecodeError, UnicodeError) as wrong:
        raise FileError(f"this is not JSON: {wrong}") from wrong
    except (RecursionError, MemoryError) as wrong:
        raise FileError("the record is nested too deeply or too large") from wrong


def record_schema() -> dict[str, Any]:
    """Return the JSON Schema of a record: every type with its fields; the values of fields are checked on loading."""
    value: dict[str, Any] = {"$ref": "#/$defs/value"}
    things = {}
    for name in sorted(TYPES):
        known, needed = kept_fields(name)
        things[name] = _object({"type": {"const": name}, **dict.fromkeys(known, value)}, ["type", *needed])
    kinds = [{"$ref": f"#/$defs/{name}"} for name in things]
    other = {"type": "object", "required": ["type"], "not": {"properties": {"type": {"enum": list(things)}}}}
    plain = {"type": ["null", "boolean", "number", "string"]}
    inputs = {"type": "object", "required": ["value", "uncertainty"]}
    record = {"format": {"const": FORMAT}, "fuelunits": {"type": "string"}, "record": {"anyOf": kinds}}
    record["inputs"] = {"type": "object", "additionalProperties": inputs}
    head = {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "fuelunits record"}
    defs = {**things, "value": {"anyOf": [plain, {"type": "array", "items": value}, *kinds, other]}}
    return head | _object(record, ["format", "fuelunits", "record"]) | {"$defs": defs}


def _object(properties: dict[str, Any], required: list[str]) -> dict[str, Any]:
    return {"type": "object", "properties": properties, "required": required, "additionalProperties": False}


def page(thing: Reporting) -> str:
    """Return any answer that has a report as a page of HTML, without scripts, for the file and A4 or Letter paper.

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
        f"<style>\n{data_text('records/page.css')}</style></head>\n<body>\n{report.to_html()}\n</body></html>\n"
    )
