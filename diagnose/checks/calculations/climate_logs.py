"""Climate logs made ready for the checks: put in order once, asked many times."""

from __future__ import annotations

from datetime import date

from diagnose.physics.climate import Sample, Series, largest_step_per_day, series
from diagnose.record.model import ClimateLog


class _Ready:
    """Logs made ready for many questions: the last few, each quantity once.

    A log is known by identity, which is safe as long as it is kept here too.
    """

    MOST = 128

    def __init__(self) -> None:
        self._kept: dict[tuple[int, str], tuple[ClimateLog, Series, tuple[date, float] | None]] = {}

    def of(self, log: ClimateLog, quantity: str) -> Series:
        """Return the samples of a quantity in order."""
        return self._found(log, quantity)[1]

    def largest_step(self, log: ClimateLog, quantity: str) -> tuple[date, float] | None:
        """Return the day whose mean differs most from the day before, and by how much."""
        return self._found(log, quantity)[2]

    def _found(
        self, log: ClimateLog, quantity: str
    ) -> tuple[ClimateLog, Series, tuple[date, float] | None]:
        key = (id(log), quantity)
        found = self._kept.get(key)
        if found is None or found[0] is not log:
            samples = samples_of(log, quantity)
            found = (log, series(samples), largest_step_per_day(samples))
            self._kept[key] = found
            while len(self._kept) > self.MOST:
                del self._kept[next(iter(self._kept))]
        return found


READY = _Ready()


def samples_of(log: ClimateLog, quantity: str) -> list[Sample]:
    """Return the samples of one quantity that have a value and an offset."""
    found = []
    for point in log.points:
        value = getattr(point, quantity)
        if value is not None and value == value and point.at.tzinfo is not None:
            found.append(Sample(point.at, value))
    return found
