"""Commands: read, call, show.  Nothing here decides anything."""
