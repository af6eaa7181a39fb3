"""How Sphinx builds the documents; `make docs` runs it through scripts/site."""  # noqa: INP001

project = "collop"
author = "The collop authors"
language = "en"
extensions = ["myst_parser"]
source_suffix = {".md": "markdown"}
root_doc = "index"

# headings can be linked to as on other readers of Markdown
myst_heading_anchors = 3
myst_enable_extensions = ["colon_fence"]

# what is quoted keeps its quotation marks as typed
smartquotes = False
highlight_language = "none"

# no missing target, image or page passes: scripts/site turns warnings into errors
nitpicky = True

html_theme = "furo"
html_title = "collop"
html_show_copyright = False
html_show_sphinx = False
# the same documents give the same bytes: no dates
html_last_updated_fmt = None
html_copy_source = False
html_theme_options = {"top_of_page_buttons": []}
