"""Find the rules and the invented casebook that ship with the program."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from diagnose.errors import StoreError


def data_folder(name: str) -> Path:
    """Return the folder `rules` or `casebook`, installed or beside the package.

    Raises
    ------
    StoreError
        When neither place holds it, naming both.
    """
    package = Path(str(files("diagnose")))
    places = (package / "_data" / name, package.parent / name)
    for place in places:
        if place.is_dir():
            return place
    looked = " nor ".join(str(place) for place in places)
    raise StoreError(f"the folder {name} is missing: neither {looked} is there")
