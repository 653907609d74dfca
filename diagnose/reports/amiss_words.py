"""Values of a record that cannot both be true, in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from diagnose.record.contradictions import Contradiction
from diagnose.reports.blocks import Block, Heading, Item, Paragraph


def cannot_be_blocks(amiss: Sequence[Contradiction]) -> Iterator[Block]:
    """Return the section on what cannot be so, nothing where all can."""
    if amiss:
        yield Heading("What cannot be so")
        yield Paragraph("Put these right first; the checks below rest on them:")
    for each in amiss:
        yield Item(each.text, "!", (paths_of(each),))


def paths_of(each: Contradiction) -> str:
    """Return the paths of a contradiction, to correct either of them."""
    return " and ".join(filter(None, (each.path_a, each.path_b)))
