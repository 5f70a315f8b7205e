"""How the pages are built: Markdown read by myst, set by Sphinx, every warning an error."""

from __future__ import annotations

from importlib.metadata import version as version_of

project = "Patency"
author = "The Patency contributors"
project_copyright = "The Patency contributors, Apache-2.0"
release = version_of("patency")

extensions = ["myst_parser", "sphinx.ext.autodoc", "sphinx.ext.napoleon"]
source_suffix = {".md": "markdown"}
exclude_patterns = ["_build"]
nitpicky = False

myst_enable_extensions = ["deflist", "dollarmath"]
myst_heading_anchors = 3

# The rooms' doors describe themselves; types stand in the signature.
autodoc_default_options = {"members": True, "show-inheritance": True}
autodoc_typehints = "signature"
autodoc_member_order = "bysource"
napoleon_google_docstring = False
napoleon_use_rtype = False
# The words a literal allows, as "points", are looked up as names; several attributes of that name mislead nobody.
suppress_warnings = ["ref.python"]

html_theme = "furo"
html_title = "Patency"
