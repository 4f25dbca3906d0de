"""Pictures as inline SVG, one pure function each; they follow the page's theme through its style classes."""
