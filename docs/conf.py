"""Settings of the documentation."""

import fuelunits

project = "fuelunits"
author = "the fuelunits authors"
copyright = "2026, the fuelunits authors"
release = version = fuelunits.__version__

extensions = ["sphinx.ext.autodoc", "sphinx.ext.autosummary", "sphinx.ext.doctest", "numpydoc"]
exclude_patterns = ["_build", "examples"]
html_theme = "alabaster"
html_title = "fuelunits"
nitpicky = True
autodoc_member_order = "bysource"
autodoc_typehints = "none"
numpydoc_show_class_members = False
numpydoc_xref_param_type = False
