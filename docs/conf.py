"""How the site is built from the pages: `sphinx-build -W -c docs . build/site`."""

from squeeze import __version__

project = "squeeze"
author = "squeeze contributors"
copyright = author
version = release = __version__

extensions = ["myst_parser"]
root_doc = "docs/index"
include_patterns = ["docs/**", "studies/**"]
exclude_patterns = ["docs/pictures/**", "**/*.py"]
nitpicky = True

myst_heading_anchors = 3
myst_enable_extensions = ["colon_fence"]
suppress_warnings: list[str] = []

html_theme = "furo"
html_title = f"squeeze {version}"
html_additional_pages = {"index": "to-the-index.html"}
html_copy_source = False
html_show_copyright = False
html_permalinks_icon = "#"
templates_path = ["templates"]
html_theme_options = {"top_of_page_buttons": []}
