"""Reports: one value, written as HTML, PDF, Markdown, JSON and pictures."""
