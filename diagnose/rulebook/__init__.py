"""The rules as typed values: loading, linting, explaining and exporting them."""
