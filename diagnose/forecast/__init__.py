"""The rules run forwards: what to expect of a record, what to put right now."""
