"""Find short forms such as RH in the texts of the rules."""

from __future__ import annotations

import re

_SHORT = re.compile(r"(?<![\w-])[A-Z]{2,}(?=\d*\b)")


def short_forms_in(text: str) -> tuple[str, ...]:
    """Return the short forms of a text once each, without the number that may follow.

    Examples
    --------
    >>> short_forms_in("75 % RH by ISO 105-A02, or an FFP3 mask")
    ('RH', 'ISO', 'FFP')
    """
    return tuple(dict.fromkeys(_SHORT.findall(text)))
