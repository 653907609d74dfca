"""The Beta distribution of a frequency, as far as a proposal needs it."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Beta:
    """Belief about a frequency: as if `a` occurrences and `b` others had been seen."""

    a: float
    b: float

    @property
    def mean(self) -> float:
        """Expected frequency."""
        return self.a / (self.a + self.b)

    def after(self, seen: float, of: float) -> Beta:
        """Return the belief after `seen` occurrences among `of` trials."""
        return Beta(self.a + seen, self.b + of - seen)

    def below(self, x: float) -> float:
        """Probability that the frequency is at most `x`."""
        if x <= 0.0 or x >= 1.0:
            return float(x >= 1.0)
        log_front = (
            self.a * math.log(x)
            + self.b * math.log1p(-x)
            + math.lgamma(self.a + self.b)
            - math.lgamma(self.a)
            - math.lgamma(self.b)
        )
        if x < (self.a + 1.0) / (self.a + self.b + 2.0):
            return math.exp(log_front) * _fraction(self.a, self.b, x) / self.a
        return 1.0 - math.exp(log_front) * _fraction(self.b, self.a, 1.0 - x) / self.b

    def interval(self, mass: float = 0.95) -> tuple[float, float]:
        """Return the central interval that holds `mass`."""
        return self._quantile((1.0 - mass) / 2.0), self._quantile((1.0 + mass) / 2.0)

    def _quantile(self, mass: float) -> float:
        low, high = 0.0, 1.0
        for _ in range(60):
            middle = (low + high) / 2.0
            low, high = (middle, high) if self.below(middle) < mass else (low, middle)
        return (low + high) / 2.0


def worth_of(chance: float, occurrences: float) -> Beta:
    """Return the belief in an elicited chance worth so many seen occurrences.

    A fixed number of occurrences, not of cases: a rare cause then weighs as
    many installs more as it is rarer.
    """
    return Beta(occurrences, occurrences * (1.0 - chance) / chance)


def _fraction(a: float, b: float, x: float) -> float:
    """Continued fraction of the incomplete beta integral (Lentz's method)."""
    tiny = 1e-300
    c, d = 1.0, 1.0 - (a + b) * x / (a + 1.0)
    d = 1.0 / (d if abs(d) > tiny else tiny)
    value = d
    for m in range(1, 500):
        for numerator in (
            m * (b - m) * x / ((a + 2 * m - 1.0) * (a + 2 * m)),
            -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1.0)),
        ):
            d = 1.0 + numerator * d
            c = 1.0 + numerator / c
            d = 1.0 / (d if abs(d) > tiny else tiny)
            c = c if abs(c) > tiny else tiny
            value *= c * d
        if abs(c * d - 1.0) < 1e-15:
            break
    return value
