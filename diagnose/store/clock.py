"""The hybrid logical clock that orders entries of several devices.

Method: Kulkarni, Demirbas, Madappa, Avva and Leone, "Logical Physical Clocks"
(2014).  A stamp is the wall clock in milliseconds and a counter; it never runs
backwards, and an entry that was made after another had been seen always sorts
after it, whatever the two wall clocks said.
"""

from __future__ import annotations

from datetime import datetime

from diagnose.store.entry import LARGEST_COUNTER, LATEST_WALL, EntryError

Stamp = tuple[int, int]
"""Wall milliseconds since 1970 UTC, and counter."""
LAST: Stamp = (LATEST_WALL, LARGEST_COUNTER)
"""No stamp is later; who has seen it goes on with it, as the numbers of a chain still count."""


def wall_ms(at: datetime) -> int:
    """Return an aware time as whole milliseconds since 1970 UTC."""
    return int(at.timestamp() * 1000)


def tick(last: Stamp | None, wall: int) -> Stamp:
    """Return the stamp of a new entry, given the latest stamp known and the wall clock.

    Examples
    --------
    >>> tick(None, 50)
    (50, 0)
    >>> tick((50, 0), 49)
    (50, 1)
    >>> tick((50, 7), 51)
    (51, 0)
    """
    if not 0 <= wall <= LATEST_WALL:
        raise EntryError("the clock of this device is far off: no year from 1970 to 2200")
    if last is None or wall > last[0]:
        return (wall, 0)
    if last >= LAST:
        return LAST
    if last[1] >= LARGEST_COUNTER:
        return (last[0] + 1, 0)
    return (last[0], last[1] + 1)
