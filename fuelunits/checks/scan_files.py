"""The files that a scan reads: those of a project, without what ``.gitignore`` names, packages, data and minified code.

Links are not followed within a folder, so none leads in a circle; pipes, devices and other files that are no text of
moderate size are named among what was skipped.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Iterator
from contextlib import suppress
from pathlib import Path

from fuelunits.checks.entries import KINDS
from fuelunits.checks.file import EXCLUDED
from fuelunits.checks.places import read_file
from fuelunits.errors import FileError

_NO_SOURCE = (
    "png jpg jpeg gif bmp ico webp svg pdf ps eps zip gz bz2 xz zst tar tgz 7z rar jar war whl egg exe dll so dylib a o"
    " obj lib pyc pyo class wasm woff woff2 ttf otf eot mp3 mp4 wav ogg avi mov npy npz mat h5 hdf5 parquet feather pkl"
    " sqlite sqlite3 db bin elf hex s19 csv tsv psv jsonl ndjson geojson map lock sum po pot mo diff patch log arrow"
)
_LEFT_ALONE = re.compile(
    rf".*\.(?:{'|'.join(_NO_SOURCE.split())}|min\.\w+)|package-lock\.json|npm-shrinkwrap\.json|pnpm-lock\.yaml|\.DS_Store",
    re.IGNORECASE | re.DOTALL,
)
_DATA, _LARGEST_DATA = (".json", ".xml", ".yaml", ".yml", ".html", ".ipynb", ".txt", ".dat", ".sql"), 200_000
_ASSUMPTIONS = re.compile(rf"^\s*\[\[(?:{'|'.join(KINDS)})\]\]", re.MULTILINE)


def texts(paths: Iterable[str], exclude: Iterable[str] = ()) -> Iterator[tuple[str, str, str]]:
    """Return the path and the text of each file, or the path, nothing, and why the file was skipped."""
    seen: set[str] = set()
    for start in paths:
        if not os.path.lexists(start):
            raise FileError(f"{start}: there is no such file or folder")
        is_folder = os.path.isdir(start)
        for path in _walk(start, EXCLUDED | set(exclude)) if is_folder else [start]:
            real = os.path.realpath(path)
            if real not in seen:
                seen.add(real)
                yield from _text(os.path.normpath(path), is_folder)


def _text(path: str, is_found: bool) -> Iterator[tuple[str, str, str]]:
    """Read a file; one that was found in a folder is left alone where it holds data or minified code."""
    try:
        if is_found and path.lower().endswith(_DATA) and os.path.getsize(path) > _LARGEST_DATA:
            return
        text = read_file(Path(path), path).removeprefix("\ufeff")
    except (FileError, OSError) as wrong:
        yield path, "", str(wrong)
        return
    if "\0" in text[:8192]:
        yield path, "", f"{path} is binary"
        return
    is_minified = len(text) > 5_000 and len(text) > 400 * text.count("\n")  # letters of a line, on average
    if not (is_found and (is_minified or (path.endswith(".toml") and _ASSUMPTIONS.search(text)))):
        yield path, text, ""


def _walk(start: str, excluded: set[str]) -> Iterator[str]:
    """Return the files below a folder, in the order of their names."""
    stack = [(start, _rules_above(start))]
    while stack:
        folder, rules = stack.pop()
        rules = rules + _rules(folder)
        try:
            entries = sorted(os.scandir(folder), key=lambda entry: entry.name)
        except OSError:
            yield folder
            continue
        folders = []
        for entry in entries:
            is_folder = entry.is_dir(follow_symlinks=False)
            if entry.is_symlink() or entry.name in excluded or _LEFT_ALONE.fullmatch(entry.name):
                continue
            if _is_ignored(os.path.abspath(entry.path), is_folder, rules):
                continue
            if is_folder:
                if not os.path.exists(os.path.join(entry.path, "pyvenv.cfg")):
                    folders.append((entry.path, rules))
            else:
                yield entry.path
        stack += reversed(folders)


Rule = tuple[str, re.Pattern[str], bool, bool]
"""The folder of a .gitignore, a pattern of paths below it, whether it is for folders only, whether it takes back."""


def _rules_above(start: str) -> list[Rule]:
    """Return the rules of the folders above, up to that of the repository."""
    here = Path(os.path.abspath(start))
    folders = [here, *here.parents]
    top = next((n for n, folder in enumerate(folders) if (folder / ".git").exists()), 0)
    return [rule for folder in reversed(folders[1 : top + 1]) for rule in _rules(str(folder))]


def _rules(folder: str) -> list[Rule]:
    file = Path(folder, ".gitignore")
    try:
        lines = file.read_text(encoding="utf-8", errors="replace").splitlines() if file.is_file() else []
    except OSError:
        return []
    rules = []
    for line in lines:
        line = re.sub(r"(?<!\\)\s+$", "", line)
        if not line or line.startswith("#"):
            continue
        takes_back, pattern = line.startswith("!"), line.removeprefix("!")
        only_folders, pattern = pattern.endswith("/"), pattern.rstrip("/")
        regex = ("" if "/" in pattern else "(?:.*/)?") + _regex(pattern.lstrip("/"))
        with suppress(re.error):  # a set such as [z-a], which fits nothing
            rules.append((os.path.abspath(folder), re.compile(regex, re.DOTALL), only_folders, takes_back))
    return rules


_GLOB = re.compile(
    r"(?P<deep>\*\*/)|(?P<rest>/\*\*$)|(?P<any>\*+)|(?P<one>\?)|\[(?P<set>[!^]?[^\]]+)\]|\\?(?P<plain>.)"
)


def _regex(pattern: str) -> str:
    """Return a pattern of .gitignore as a regular expression."""
    fixed = {"deep": "(?:.*/)?", "rest": "/.*", "any": "[^/]*", "one": "[^/]"}

    def part(match: re.Match[str]) -> str:
        kind = match.lastgroup or "plain"
        if kind == "set":
            letters = match["set"].replace("\\", r"\\")
            return f"[{re.sub('^[!^]', '^', letters)}]"
        return fixed.get(kind) or re.escape(match["plain"])

    return _GLOB.sub(part, pattern)


def _is_ignored(path: str, is_folder: bool, rules: list[Rule]) -> bool:
    """Return whether the last rule that fits a path excludes it."""
    for folder, regex, only_folders, takes_back in reversed(rules):
        if only_folders and not is_folder:
            continue
        if regex.fullmatch(os.path.relpath(path, folder).replace(os.sep, "/")):
            return not takes_back
    return False
