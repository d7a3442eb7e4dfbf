"""Formulas as MathML, which browsers draw by themselves: no script from elsewhere, on paper as on the screen."""

from __future__ import annotations

from typing import Any

from docutils import nodes
from latex2mathml.converter import convert


def inline(self: Any, node: Any) -> None:
    self.body.append(convert(node.astext()))
    raise nodes.SkipNode


def block(self: Any, node: Any) -> None:
    self.body.append(f'<div class="formula">{convert(node.astext(), display="block")}</div>')
    raise nodes.SkipNode


def setup(app: Any) -> dict[str, Any]:
    app.add_html_math_renderer("mathml", (inline, None), (block, None))
    return {"parallel_read_safe": True, "parallel_write_safe": True}
