"""A finding in words: the same blocks for the screen, Markdown and pages."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.engine.words import in_hundred
from diagnose.model import InputUsed
from diagnose.reports.blocks import (
    Block,
    CautionBlock,
    Heading,
    Item,
    Paragraph,
    Steps,
    TableBlock,
)
from diagnose.walk.finding import CautionLine, Finding, Gap, Reason

INVENTED = "Invented example: this job, its people and its products do not exist."
MOST_REASONS = 12
MOST_GAPS = 6
LEAST_HOPE = 0.03
"""A question that lifts the likeliest explanation by less does not make it much surer."""

_STOPS = {
    "settled": "The likeliest explanation is sure enough to act on.",
    "not-worth-it": "No question that is left is worth its time and the harm to the floor.",
    "nothing-left": "No question that is left would tell more.",
    "contradicted": "Something seen speaks clearly against the likeliest explanation.",
    "stopped": "The inspection was ended before the question was settled.",
}
_ENTERED = {
    "on-the-day": "on the day",
    "late": "late",
    "after-the-complaint": "after the complaint",
    "statement": "a statement",
}


def finding_blocks(finding: Finding) -> tuple[Block, ...]:
    """Return the whole finding as blocks: make safe, the answer, cautions, reasons, remedies."""
    return tuple(_blocks(finding))


def place_words(place: str) -> str:
    """Return such as "seam S2" for `seam:S2`, "the whole job" for `job`."""
    if "," in place:
        *first, last = place.split(",")
        return f"{', '.join(map(place_words, first))} and {place_words(last)}"
    kind, _, name = place.partition(":")
    if kind == "job":
        return "the whole job"
    return f"{kind} {name}" if name else f"one {kind}"


def _blocks(finding: Finding) -> Iterator[Block]:
    names = " and ".join(name.lower() for _, name in finding.symptoms)
    where = place_words(finding.place)
    yield Heading(f"Finding: {names} at {where}", level=1)
    if finding.invented:
        yield Paragraph(INVENTED, strong=True)
    yield Paragraph(_floor_words(finding))
    yield from _safe(finding)
    yield from _answer(finding)
    yield from _cautions(finding)
    yield from _reasons(finding)
    yield from _others(finding)
    yield from _gaps(finding)
    yield from _work(finding)
    yield from _settle(finding)
    yield from _walked(finding)
    yield from _basis(finding)


def _floor_words(finding: Finding) -> str:
    job = f"Job {finding.job}" + (f" ({finding.title})" if finding.title else "")
    parts = [job] if finding.job else ["Floor without a stored record"]
    facets = ", ".join(f"{name} {value}" for name, value in finding.floor)
    if facets:
        parts.append(facets)
    if finding.age_days is not None:
        parts.append(f"{finding.age_days} days after completion")
    return "; ".join(parts) + "."


def _answer(finding: Finding) -> Iterator[Block]:
    first = finding.likeliest
    yield Heading("What it most likely is")
    for name in finding.not_there:
        yield Paragraph(f"{name} was complained of, but not there when looked for.", strong=True)
    for name in finding.also_seen:
        yield Paragraph(f"Also seen, though not complained of: {name.lower()}.")
    if not first.causes:
        yield Paragraph(
            f"No cause in the rules, or one that they do not know: {first.odds} ({first.word}).",
            strong=True,
        )
    else:
        lead = "" if finding.settled else "Not settled. Likeliest so far: "
        yield Paragraph(f"{lead}{together(first.names)}: {first.odds} ({first.word}).", strong=True)
    for cause in finding.causes:
        yield Item(
            f"{cause.name} (stage: {cause.stage}). {cause.happened}",
            below=(
                f"Asked to explain it: {cause.answers_for.rstrip('.')}. Guidance, not a verdict.",
            ),
        )
    if finding.named_sure:
        one = "This cause is" if len(finding.causes) == 1 else "Each of these causes is"
        yield Paragraph(
            f"{one} sure enough by itself. What is not settled is whether another acted besides."
        )
    yield from _misfits(finding)
    rest = finding.explanations[1:]
    if rest:
        rows = [(together(line.names), line.odds, line.word) for line in rest]
        yield Paragraph("Other explanations, less likely:")
        yield TableBlock(("explanation", "how likely", "in a word"), tuple(rows))
    if finding.left_out >= 0.005:
        percent = max(1, round(finding.left_out * 100))
        yield Paragraph(
            f"About {percent} in a hundred is left for everything not listed.", faint=True
        )
    if len(finding.singly) > 1:
        rows = [(line.name, line.stage, in_hundred(line.probability)) for line in finding.singly]
        yield Paragraph("Each cause by itself, whatever else acted:")
        yield TableBlock(("cause", "stage", "how likely"), tuple(rows))
    for text in finding.normal:
        yield Paragraph(f"What is normal: {text}")


def _misfits(finding: Finding) -> Iterator[Block]:
    """Say first what speaks clearly against the answer just given."""
    if not finding.misfits:
        return
    yield Paragraph(
        "What was seen does not fit. Look again, at the floor and at the record, before acting:",
        strong=True,
    )
    for line in finding.misfits:
        yield Item(
            f"{line.ask} {line.answer}. Of 100 floors with this cause about "
            f"{round(line.with_causes * 100)} would show that, without it about "
            f"{round(line.without * 100)}."
        )


def together(names: tuple[str, ...]) -> str:
    """Return the names of causes that act together, in running text."""
    if not names:
        return "A cause the rules do not know"
    lower = [names[0], *(name[:1].lower() + name[1:] for name in names[1:])]
    return " together with ".join(lower)


def _safe(finding: Finding) -> Iterator[Block]:
    """What cannot wait, with the hazards that its own steps meet."""
    if finding.make_safe:
        yield Heading("Make it safe now")
        first = _at_once(finding)
        yield from (_caution(each) for each in finding.cautions if each.id in first)
        for remedy in finding.make_safe:
            yield Steps(remedy.name, remedy.steps)


def _cautions(finding: Finding) -> Iterator[Block]:
    first = _at_once(finding)
    later = [each for each in finding.cautions if each.id not in first]
    if later:
        yield Heading("Read before touching the floor")
        yield from (_caution(each) for each in later)


def _at_once(finding: Finding) -> set[str]:
    return {caution for remedy in finding.make_safe for caution in remedy.cautions}


def _caution(line: CautionLine) -> CautionBlock:
    return CautionBlock(line.name, line.text, line.defer_to)


def _reasons(finding: Finding) -> Iterator[Block]:
    yield Heading("Why")
    several = len(finding.causes) > 1
    for cause in finding.causes:
        about = [reason for reason in finding.reasons if reason.about == cause.id]
        if several:
            yield Heading(cause.name, level=3)
        for sign, word in ((1, "Speaks for it"), (-1, "Speaks against it")):
            rows = [reason for reason in about if reason.log10 * sign > 0][:MOST_REASONS]
            if rows:
                yield Paragraph(f"{word}, the weightiest first:")
                for reason in rows:
                    yield _reason(reason, "+" if sign > 0 else "-")
    if not finding.causes:
        yield Paragraph("Nothing that was seen or recorded points to a cause in the rules.")


def _reason(reason: Reason, mark: str) -> Item:
    below = list(reason.working)
    if reason.limit:
        below.append(f"Limit: {reason.limit.text}, {reason.limit.source}.")
        below += [f"Others say: {other}." for other in reason.limit.others]
    below += [_input(each) for each in reason.inputs]
    how = {"record": "from the record", "answer": "seen or told", "gap": "not in the record"}
    where = f", {how[reason.kind]}" if reason.kind in how else ""
    return Item(f"{reason.text} [{reason.words}{where}]", mark, tuple(below))


def _input(used: InputUsed) -> str:
    text = f"{used.label}: {used.text}"
    if used.entry is None:
        return text
    entered = used.entry.entered_at.strftime("%Y-%m-%d %H:%M")
    said = f" by {used.entry.said_by}" if used.entry.said_by else ""
    how = _ENTERED[str(used.entry.provenance)]
    return f"{text} (entered {entered}{said}, {how}; entry {used.entry.seq})"


def _others(finding: Finding) -> Iterator[Block]:
    if finding.ruled_out:
        yield Heading("Thought of and not likely any more")
        for line in finding.ruled_out:
            by = f" Most against it: {line.by}" if line.by else ""
            yield Item(f"{line.name}.{by}")
    if finding.also_found:
        yield Heading("Also found, though it does not give this complaint")
        for cause in finding.also_found:
            yield Item(f"{cause.name}. {cause.happened}")
    if finding.look_alikes:
        yield Heading("Easily taken for it")
        for pair in finding.look_alikes:
            asked = "" if pair.asked else " (not looked at yet)"
            yield Item(f"{pair.other_name}: {pair.separates}{asked}")


def _gaps(finding: Finding) -> Iterator[Block]:
    if not finding.gaps:
        return
    yield Heading("Gaps in the record")
    yield Paragraph("Silence proves nothing by itself. These entries would have told most:")
    for gap in finding.gaps[:MOST_GAPS]:
        yield Item(_gap_words(gap))
    more = len(finding.gaps) - MOST_GAPS
    if more > 0:
        yield Paragraph(f"{more} further checks had nothing to go by.", faint=True)


def _gap_words(gap: Gap) -> str:
    missing = ", ".join(gap.missing)
    return f"{gap.name}" + (f": {missing}" if missing else "")


def _work(finding: Finding) -> Iterator[Block]:
    if not finding.work:
        return
    yield Heading("What to do")
    if not finding.settled:
        yield Paragraph(
            "Not settled: this holds only if the likeliest explanation is right. Settle it first "
            "where the work would mark the floor."
        )
    for work in finding.work:
        for remedy in work.remedies:
            yield Steps(remedy.name, remedy.steps)
        if work.prevention:
            yield Paragraph(f"Next time: {work.prevention}")


def _settle(finding: Finding) -> Iterator[Block]:
    if not finding.would_settle:
        return
    now = finding.likeliest.probability
    helps = max(line.hope for line in finding.would_settle) - now >= LEAST_HOPE
    yield Heading("What would tell more")
    yield Paragraph(
        f"The likeliest explanation stands at {round(now * 100)} in a hundred now. "
        + (
            "These questions would tell most about it:"
            if helps
            else "No single question is likely to make it much surer; these would tell most:"
        )
    )
    for line in finding.would_settle:
        harm = "" if line.damage == "none" else f", {line.damage.replace('-', ' ')}"
        yield Item(
            f"{line.ask} ({line.act}, {line.minutes:g} min{harm}); after it, on average, "
            f"{round(line.hope * 100)} in a hundred."
        )


def _walked(finding: Finding) -> Iterator[Block]:
    yield Heading("What was asked")
    if not finding.answers:
        known = "complaint and record" if finding.job else "the complaint"
        yield Paragraph(f"Nothing was asked; {known} alone led here.")
    for given in finding.answers:
        texts = "cannot tell" if given.cannot_tell else "; ".join(given.texts) or "none of these"
        texts = texts.rstrip(".")
        note = (f"Note: {given.note}",) if given.note else ()
        yield Item(f"{given.ask} {texts}.", below=note)


def _basis(finding: Finding) -> Iterator[Block]:
    yield Heading("What this rests on")
    yield Paragraph(" ".join(filter(None, (_STOPS.get(finding.stop, ""), finding.firmness))))
    yield Paragraph(
        "The figures behind the words are judgements of the trade, not counted cases; they are "
        "listed in the rules. The finding says how likely a cause is, not who is to blame."
    )
    parts = [f"Made {finding.made_at} by {finding.made_by}", f"rules {finding.edition[:12]}"]
    if finding.casebook_head:
        parts.append(f"casebook at {finding.casebook_head}")
    if finding.case:
        parts.append(f"case {finding.case}")
    yield Paragraph("; ".join(parts) + ".", faint=True)
