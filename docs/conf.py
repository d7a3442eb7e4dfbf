"""Settings of the documentation. What is generated is written anew at each build, by ``_generate``."""

import os
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

import _generate

import fuelunits

project = "fuelunits"
author = "the fuelunits authors"
copyright = "2026, the fuelunits authors"
release = version = fuelunits.__version__

extensions = [
    "sphinx.ext.autodoc",
    "numpydoc",
    "matplotlib.sphinxext.plot_directive",
    "myst_nb",
    "sphinx_copybutton",
    "_mathml",
]
html_math_renderer = "mathml"
copybutton_prompt_text = r">>> |\.\.\. "
copybutton_prompt_is_regexp = True
exclude_patterns = ["_build", "examples/*.toml", "examples/*.y*ml", "examples/*.py", "gallery/*", "generated/*.ipynb"]
suppress_warnings = ["mystnb.unknown_mime_type"]
nitpicky = True
html_theme = "furo"
html_title = "fuelunits"
html_static_path = ["_static"]
html_css_files = ["pages.css"]
html_copy_source = False
html_show_sourcelink = False

autodoc_member_order = "bysource"
autodoc_typehints = "none"
numpydoc_show_class_members = False
numpydoc_xref_param_type = False

plot_formats = ["svg"]
plot_html_show_formats = False
plot_html_show_source_link = False
plot_rcparams = {"figure.figsize": (6.4, 4.4), "savefig.bbox": "tight"}
plot_apply_rcparams = True

nb_execution_mode = "force"
nb_execution_raise_on_error = True
nb_execution_timeout = 120


os.environ.pop("MPLBACKEND", None)  # so that the notebook shows its pictures
os.environ["PYTHONPATH"] = str(Path(__file__).parents[1])  # so that the notebook runs what is documented here


def setup(app):
    """Write the generated pages first, and lead each name and each source in a docstring to its place."""
    app.connect("builder-inited", lambda app: _generate.write(Path(app.srcdir) / "generated"))
    app.connect("builder-inited", lambda app: _generate.write_tour(Path(app.srcdir) / "generated" / "tour.ipynb"))
    app.connect("autodoc-process-docstring", _generate.link_sources)
    app.connect("doctree-read", _generate.list_sources)
    app.connect("missing-reference", _generate.find_by_last_name)
