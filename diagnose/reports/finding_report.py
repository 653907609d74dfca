"""The report of a finding: its words, with the place of the complaint drawn."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.model import Place
from diagnose.record.model import Job
from diagnose.reports.blocks import Block, Heading
from diagnose.reports.finding_json import finding_to_dict
from diagnose.reports.finding_words import finding_blocks
from diagnose.reports.plan import PlanDrawing, draw_area, plan_block
from diagnose.reports.reasoning import reasoning_picture
from diagnose.reports.report import Report
from diagnose.walk.finding import Finding


def finding_report(finding: Finding, job: Job | None = None) -> Report:
    """Return the report of a finding; with its `job`, the complaint on the plan as well."""
    blocks = finding_blocks(finding)
    title = next(block.text for block in blocks if isinstance(block, Heading))
    drawn = tuple(_pictures(finding, job))
    return Report("finding", title, _before_reasons(blocks, drawn), finding_to_dict(finding))


def _pictures(finding: Finding, job: Job | None) -> Iterator[Block]:
    yield reasoning_picture(finding)
    if job is not None:
        plan = _plan(finding, job)
        if plan is not None:
            yield plan_block(plan)


def _plan(finding: Finding, job: Job) -> PlanDrawing | None:
    """Return the plan of the area that holds the place complained of."""
    kind, _, name = finding.place.partition(":")
    pin = ("complaint", Place(kind, name))
    for area in job.areas.values():
        plan = draw_area(job, area.id, [pin])
        if plan is not None and plan.pinned:
            return plan
    return None


def _before_reasons(blocks: tuple[Block, ...], drawn: tuple[Block, ...]) -> tuple[Block, ...]:
    """Put the pictures below the heading of the reasons."""
    for index, block in enumerate(blocks):
        if isinstance(block, Heading) and block.text == "Why":
            return blocks[: index + 1] + drawn + blocks[index + 1 :]
    return blocks + drawn
