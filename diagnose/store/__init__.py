"""The casebook: an append-only journal of entries and what is derived from it."""
