"""The check before leaving site in words: dangers first, then what to do."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

from diagnose.checks.words import listed
from diagnose.engine.words import odds_words
from diagnose.forecast.leave_site import stands_out
from diagnose.forecast.values import (
    Callback,
    Deviation,
    Hazard,
    LeaveSite,
    PlaceForecast,
    PutRight,
    RecordNow,
)
from diagnose.record.contradictions import Contradiction
from diagnose.reports.amiss_words import cannot_be_blocks
from diagnose.reports.blocks import Block, CautionBlock, Heading, Item, Paragraph, Steps
from diagnose.rulebook.model import Rules

MOST_ACTS, MOST_GAPS, MOST_CALLBACKS, MOST_REASONS = 8, 6, 4, 4
LEAST_REMOVED, LEAST_HURT = 0.01, 0.05
"""An act or a gap that tells less is left to the whole list."""

BAR = 20
MOST_TIMES = 50
MANY_TIMES = f"over {MOST_TIMES} times"
"""The figures are judgements; a greater ratio would sound surer than they are."""
_SET_BY = {
    "data-sheet": "set by the maker's sheet",
    "contract-code": "set by the code in the contract",
    "code": "set by a code",
    "common-practice": "set by common practice",
}
_SURE = {
    "second-hand": "read second-hand",
    "memory": "from memory, to be verified",
    "computed": "worked out",
}


def check_blocks(
    found: LeaveSite, rules: Rules, *, whole: bool = False, amiss: Sequence[Contradiction] = ()
) -> tuple[Block, ...]:
    """Return the check as blocks; with `whole` also what hardly matters, `amiss` as in the record."""
    return tuple(_blocks(found, rules, whole, amiss))


def bar(chance: float, width: int = BAR) -> str:
    """Return a chance as a bar of plain characters.

    Examples
    --------
    >>> bar(0.26, 10)
    '[###.......]'
    """
    full = min(width, max(int(chance > 0.005), round(chance * width)))
    return f"[{'#' * full}{'.' * (width - full)}]"


def _blocks(
    found: LeaveSite, rules: Rules, whole: bool, amiss: Sequence[Contradiction]
) -> Iterator[Block]:
    title = f": {found.title}" if found.title else ""
    yield Heading(f"Before leaving site, {found.job}{title}", level=1)
    if found.invented:
        yield Paragraph(
            "Invented example: this job, its people and its products do not exist.", faint=True
        )
    if found.at != "job":
        yield Paragraph(f"Only {_words(found.at)} was looked at.")
    yield Paragraph(_summary(found, len(amiss)), strong=True)
    yield from _hazards(found)
    yield from cannot_be_blocks(amiss)
    yield from _deviations(found, rules, whole)
    yield from _put_right(found, whole)
    yield from _callbacks(found, whole)
    yield from _record_now(found, whole)
    yield Heading("What this rests on")
    yield Paragraph(
        "The chances are worked out from the record and the rules. The figures behind them are "
        "judgements of the trade, not counted cases. They say what may show, not who is to blame."
    )
    yield Paragraph(
        f"{_count(found.in_order, 'check')} of single parts in order, "
        f"{found.not_recorded} not recorded; rules {found.edition[:12]}.",
        faint=True,
    )


def _summary(found: LeaveSite, amiss: int) -> str:
    said = [f"{_count(amiss, 'recorded time')} cannot be so."] if amiss else []
    if not found.clean:
        said.append(f"{_count(len(found.deviations), 'thing')} {_verb(found.deviations)}.")
    first = " ".join(said) or "Nothing that is recorded deviates."
    top = [(c, p.place) for p in found.places for c in p.callbacks if stands_out(c)]
    if not top:
        return f"{first} No callback stands out."
    callback, place = max(top, key=lambda pair: pair[0].chance)
    return (
        f"{first} Most to be expected: {_low(callback.name)} at {_words(place)}, "
        f"{odds_words(callback.chance)}."
    )


def _verb(things: Sequence[object]) -> str:
    return "deviates" if len(things) == 1 else "deviate"


def _hazards(found: LeaveSite) -> Iterator[Block]:
    yield Heading("First, what can hurt someone")
    if not found.hazards:
        yield Paragraph("Nothing that is recorded points to a danger. Look all the same.")
        return
    for caution in found.cautions:
        yield CautionBlock(caution.name, caution.text, caution.defer_to)
    by_place: dict[str, list[Callback]] = {}
    for hazard in found.hazards:
        by_place.setdefault(hazard.place, []).append(hazard.callback)
    for place, callbacks in by_place.items():
        names = ", ".join(_low(callback.name) for callback in callbacks[:MOST_CALLBACKS])
        yield Item(f"Look at {_words(place)} before you go: {names}.", "!")
    remedies = {r.id: r for hazard in _first_of_each(found) for r in hazard.make_safe}
    if remedies:
        yield Paragraph("If something is there already, make it safe:")
    for remedy in remedies.values():
        yield Steps(remedy.name, remedy.steps)


def _first_of_each(found: LeaveSite) -> list[Hazard]:
    return list({hazard.place: hazard for hazard in reversed(found.hazards)}.values())[::-1]


def _deviations(found: LeaveSite, rules: Rules, whole: bool) -> Iterator[Block]:
    yield Heading("What deviates")
    if not found.deviations:
        yield Paragraph("Nothing that is recorded.")
    titles = {source.id: source.title for source in rules.sources.values()}
    for deviation in found.deviations:
        yield Item(
            f"{_words(deviation.part)}: {deviation.result.summary} [{_low(deviation.name)}]",
            below=tuple(_below(deviation, titles, whole)),
        )


def _below(deviation: Deviation, titles: Mapping[str, str], whole: bool) -> Iterator[str]:
    yield from deviation.result.working
    limit = deviation.result.limit
    if limit is not None:
        source, sure = _titled(limit.source, titles), _SURE.get(limit.sure, "")
        how = [_SET_BY.get(limit.set_by, ""), "" if sure in source.lower() else sure]
        yield f"Limit: {limit.text}, {source} ({'; '.join(filter(None, how))})."
        for other in limit.others:
            yield f"Others say: {_titled(other, titles)}."
    for used in deviation.result.inputs if whole else ():
        if used.entry is not None:
            entered = f"{used.entry.entered_at:%Y-%m-%d %H:%M}"
            yield f"{used.label}: {used.text} (entered {entered}, entry {used.entry.seq})"


def _titled(text: str, titles: Mapping[str, str]) -> str:
    return re.sub(r"[a-z0-9]+(?:-[a-z0-9]+)+", lambda word: titles.get(word[0], word[0]), text)


def _put_right(found: LeaveSite, whole: bool) -> Iterator[Block]:
    acts = [act for act in found.put_right if whole or act.removed >= LEAST_REMOVED]
    if not found.put_right:
        return
    yield Heading("Put right now")
    if found.finished_at:
        yield Paragraph(
            f"Recorded as finished on {found.finished_at[:10]}; some of this may come too late.",
            faint=True,
        )
    if not acts:
        yield Paragraph("Nothing that can still be done would change what to expect by much.")
    else:
        yield Paragraph("What takes away most trouble a minute comes first:")
    for caution in {c.id: c for act in acts[:MOST_ACTS] for c in act.cautions}.values():
        yield CautionBlock(caution.name, caution.text, caution.defer_to)
    for number, act in enumerate(acts if whole else acts[:MOST_ACTS], start=1):
        yield Item(_act(act), f"{number}.", (_eased(act),))


def _act(act: PutRight) -> str:
    where = listed([_words(part) for part in act.parts])
    return f"{act.act} ({where + ', ' if where else ''}{act.minutes:g} min)"


def _eased(act: PutRight) -> str:
    most = act.most
    return (
        f"{most.name} at {_words(most.place)}: {_percent(most.before)} now, "
        f"{_percent(most.after)} afterwards. Over the whole job about {act.removed:.2g} "
        f"fewer symptoms are to be expected, {act.per_minute * 60:.2g} for each hour of work."
    )


def _callbacks(found: LeaveSite, whole: bool) -> Iterator[Block]:
    yield Heading("Callbacks to expect")
    yield Paragraph(
        "Chance that it shows, in 100 such places, and that of the same place where every check is "
        "in order.",
        faint=True,
    )
    quiet = []
    for place in found.places:
        shown = _shown(place, whole)
        if not shown:
            quiet.append(_words(place.place))
            continue
        yield Paragraph(_first_up(_words(place.place)), strong=True)
        for callback in shown:
            yield Item(_callback(callback), bar(callback.chance), tuple(_because(callback)))
    if quiet:
        yield Paragraph(f"Nothing stands out at {listed(quiet)}.")


def _shown(place: PlaceForecast, whole: bool) -> Sequence[Callback]:
    if whole:
        return place.callbacks
    return [callback for callback in place.callbacks if stands_out(callback)][:MOST_CALLBACKS]


def _callback(callback: Callback) -> str:
    times = f"{callback.times:.0f} times" if callback.times <= MOST_TIMES else MANY_TIMES
    times = times if callback.times >= 1.5 else "no more"
    sound = f"sound job {_number(callback.sound)}; {times}"
    return f"{callback.name}: {_number(callback.chance)} ({sound})"


def _because(callback: Callback) -> Iterator[str]:
    for reason in callback.because[:MOST_REASONS]:
        yield f"{reason.summary} (without it {_number(reason.without)})"
    more = len(callback.because) - MOST_REASONS
    if more > 0:
        yield f"and {more} more"


def _record_now(found: LeaveSite, whole: bool) -> Iterator[Block]:
    gaps = [gap for gap in found.record_now if whole or gap.hurts >= LEAST_HURT]
    if not gaps:
        return
    yield Heading("Worth recording now")
    yield Paragraph("What would be missed most if a complaint came stands first:")
    shown = gaps if whole else gaps[:MOST_GAPS]
    for gap in shown:
        where = listed([_words(part) for part in gap.parts])
        yield Item(f"{gap.what} ({where})" if where else gap.what, below=tuple(_hurt(gap)))
    more = len(found.record_now) - len(shown)
    if more:
        yield Paragraph(
            f"{_count(more, 'further gap')} would tell less; --all lists them.", faint=True
        )


def _hurt(gap: RecordNow) -> Iterator[str]:
    most = gap.most
    yield (
        f"If {_low(most.name)} were complained of at {_words(most.place)}, what this entry speaks "
        f"of would be suspected with {_percent(most.before)}; with the entry in order, {_percent(most.after)}."
    )
    if gap.if_not_done:
        yield f"If it was not done: {gap.if_not_done}"


def _percent(chance: float) -> str:
    return f"{_number(chance)} in 100"


def _number(chance: float) -> str:
    return "under 1" if chance < 0.01 else f"{chance * 100:.0f}"


def _words(name: str) -> str:
    """Return `seam:S2` as "seam S2"."""
    kind, _, what = name.partition(":")
    return f"{kind} {what}" if what else f"the {kind}"


def _low(text: str) -> str:
    """Lower a first capital unless more capitals follow, as in an abbreviation."""
    return text if text[1:2].isupper() else text[:1].lower() + text[1:]


def _first_up(text: str) -> str:
    return text[:1].upper() + text[1:]


def _count(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"
