"""Check built pages: words, pictures, links, and whether each page that has numbers leads to their sources.

Use it as ``python docs/check_pages.py FOLDER``, where Sphinx has built; with playwright and Chromium, ``--browser``
also looks for lines that overflow at 1280 and at 390 pixels.
"""

from __future__ import annotations

import argparse
import re
import shutil
import sys
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urlsplit

WORDS = re.compile(r"\b(wings|ground floors?|doors?|of_kind|nonsense|survivors?|taught)\b", re.IGNORECASE)
"""Metaphors, and words that the glossary replaces."""
NO_SOURCE = {
    *("genindex", "py-modindex", "search", "changelog", "contributing", "security", "stability", "install", "index"),
    *(
        "cheat_sheet",
        "engines",
        "checks",
        "reference",
        "flow_of_a_flight",
        "compare_fuel_on_board",
        "depend_on_it",
        "readings_of_a_bench_sheet",
    ),
}
"""Pages without figures, or with invented ones alone."""


class Page(HTMLParser):
    """What a page has: pictures without words, links, anchors, and its text."""

    def __init__(self, path: Path) -> None:
        super().__init__()
        self.path = path
        self.mute, self.links, self.anchors, self.words = [], [], set(), []
        self.feed(path.read_text(encoding="utf-8"))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        have = dict(attrs)
        if tag == "img" and not (have.get("alt") or "").strip():
            self.mute.append(have.get("src"))
        if tag == "a" and have.get("href"):
            self.links.append(have["href"])
        self.anchors |= {have[key] for key in ("id", "name") if have.get(key)}

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def problems(folder: Path) -> Iterator[str]:
    """Find what is wrong on the pages of a folder."""
    pages = {path.resolve(): Page(path) for path in sorted(folder.rglob("*.html")) if "_static" not in path.parts}
    sources = (folder / "generated" / "sources.html").resolve()
    for path, page in pages.items():
        name = path.relative_to(folder.resolve())
        yield from (f"{name}: a picture without words: {src}" for src in page.mute)
        yield from (f"{name}: the word {found[0]!r}" for found in WORDS.finditer(" ".join(page.words)))
        near = {path} if path == sources else set()
        for link in page.links:
            parts = urlsplit(link)
            if parts.scheme or parts.netloc:
                continue
            to = (path.parent / unquote(parts.path)).resolve() if parts.path else path
            near |= {to} if parts.fragment.startswith(("source-", "topic-", "grade-")) else set()
            if to in pages and parts.fragment and unquote(parts.fragment) not in pages[to].anchors:
                yield f"{name}: no such anchor: {link}"
            elif not to.exists():
                yield f"{name}: no such page: {link}"
        if not near and name.stem not in NO_SOURCE and "decisions" not in name.parts:
            yield f"{name}: nothing on it leads to a source"


def overflows(folder: Path) -> Iterator[str]:
    """Find pages that are wider than the window, and at 1280 pixels the blocks that scroll sideways."""
    from playwright.sync_api import sync_playwright

    blocks = "[...document.querySelectorAll('pre')].filter(e => e.scrollWidth > e.clientWidth + 1).length"
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        for width in (1280, 390):
            tab = browser.new_page(viewport={"width": width, "height": 900})
            for path in sorted(folder.rglob("*.html")):
                tab.goto(path.resolve().as_uri())
                if tab.evaluate("document.documentElement.scrollWidth") > width:
                    yield f"{path.relative_to(folder)}: wider than {width} pixels"
                if width == 1280 and (found := tab.evaluate(blocks)):
                    yield f"{path.relative_to(folder)}: {found} blocks scroll sideways"
        browser.close()


def main() -> int:
    parser = argparse.ArgumentParser(description="Check the pages that Sphinx has built.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--browser", action="store_true", help="also look for overflow, with playwright and Chromium")
    options = parser.parse_args()
    found = [*problems(options.folder), *(overflows(options.folder) if options.browser else ())]
    print("\n".join(found) or "pages: nothing found")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
