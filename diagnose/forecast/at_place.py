"""The network of one place, run forwards with what its record says as evidence."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from diagnose.checks.run import run_checks
from diagnose.engine.evidence import CheckSaid, Evidence, NotMentioned, SymptomSeen
from diagnose.engine.network import Network, build
from diagnose.forecast.suppose import Supposed, chances
from diagnose.forecast.values import Because, Callback, PlaceForecast
from diagnose.model import CheckResult, Outcome, Place
from diagnose.record.model import Job
from diagnose.record.place import floor_of, words_at
from diagnose.rulebook.applies import applies_to
from diagnose.rulebook.model import Check, Rules
from diagnose.walk.inspection import Inspection, Intake

KINDS: Mapping[str, frozenset[str]] = {
    "doorway": frozenset({"doorway", "edge"}),
    "drop": frozenset({"drop", "area"}),
    "job": frozenset(),
}
"""Kinds of place whose rules hold at a place, as in a walk; any other kind is its own."""

LEAST_RAISED = 0.01
"""A check that raises a chance by less is no reason worth a line."""


@dataclass(frozen=True)
class AtPlace:
    """One place of a job: its network, its evidence, and what follows."""

    rules: Rules
    place: Place
    network: Network
    checks: tuple[CheckResult, ...]
    evidence: tuple[Evidence, ...]
    symptoms: tuple[str, ...]
    """Symptoms forecast here; each has a cause in the network."""

    def with_in_order(self, checks: Collection[str]) -> tuple[Evidence, ...]:
        """Return the evidence as if these checks had been in order on the day."""
        kept = tuple(item for item in self.evidence if not _says_of(item, checks))
        here = {item.check for item in self.evidence if isinstance(item, CheckSaid)}
        put = (CheckSaid(check, Outcome.IN_ORDER) for check in checks if check in here)
        return (*kept, *put)

    def silent_on(self, checks: Collection[str]) -> tuple[Evidence, ...]:
        """Return the evidence without a word on these checks."""
        return tuple(item for item in self.evidence if not _says_of(item, checks))

    def forecast_given(self, evidence: Iterable[Evidence]) -> dict[str, float]:
        """Return the chance that each symptom shows, given this evidence."""
        _, absent = chances(self.network, evidence, [Supposed((s,)) for s in self.symptoms])
        return {s: float(1.0 - p) for s, p in zip(self.symptoms, absent, strict=True)}

    def suspected_given(
        self, evidence: Iterable[Evidence], checks: Collection[str]
    ) -> dict[str, tuple[float, float]]:
        """Return what is suspected once a symptom shows: its chance, and the causes' chance then.

        Only symptoms that one of the causes these checks speak for can give;
        the second chance is that at least one of those causes is there.
        """
        backed = self.backed(checks)
        suspects = {s: backed & self._causes_of(s) for s in self.symptoms}
        suspects = {symptom: causes for symptom, causes in suspects.items() if causes}
        rows = [
            row
            for symptom, causes in suspects.items()
            for row in (Supposed((symptom,)), Supposed((), causes), Supposed((symptom,), causes))
        ]
        _, found = chances(self.network, evidence, rows)
        suspected = {}
        for symptom, (absent, none, neither) in zip(suspects, found.reshape(-1, 3), strict=True):
            shows = float(1.0 - absent)
            suspected[symptom] = (shows, 1.0 - float(none - neither) / shows)
        return suspected

    def backed(self, checks: Collection[str]) -> frozenset[str]:
        """Return the causes of this network that a deviation of these checks speaks for."""
        index = self.network.index
        return frozenset(c for k in checks for c in self.rules.checks[k].backs if c in index)

    def _causes_of(self, symptom: str) -> frozenset[str]:
        parents = self.network.symptoms[symptom].parents
        return frozenset(self.network.causes[parent] for parent in parents)

    @cached_property
    def now(self) -> Mapping[str, float]:
        """Chance that each symptom shows, given the record."""
        return self.forecast_given(self.evidence)

    @cached_property
    def sound(self) -> Mapping[str, float]:
        """The same where every check that applies here is in order."""
        applying = [item.check for item in self.evidence if isinstance(item, CheckSaid)]
        return self.forecast_given(self.with_in_order(applying))

    def checks_that(self, outcome: Outcome) -> tuple[Check, ...]:
        """Return the checks with this outcome here, in rule order."""
        return tuple(
            self.rules.checks[item.check]
            for item in self.evidence
            if isinstance(item, CheckSaid) and item.outcome is outcome
        )

    @cached_property
    def forecast(self) -> PlaceForecast:
        """The callbacks to expect here, each with what raises it."""
        summaries = {result.check: result for result in self.checks}
        without = {
            check.id: self.forecast_given(self.silent_on((check.id,)))
            for check in self.checks_that(Outcome.DEVIATES)
        }
        callbacks = []
        for symptom in self.symptoms:
            because = [
                Because(
                    check,
                    self.rules.checks[check].name,
                    summaries[check].outcome,
                    summaries[check].summary,
                    rest[symptom],
                )
                for check, rest in without.items()
                if self.now[symptom] - rest[symptom] >= LEAST_RAISED
            ]
            callbacks.append(
                Callback(
                    symptom,
                    self.rules.symptoms[symptom].name,
                    self.now[symptom],
                    self.sound[symptom],
                    tuple(sorted(because, key=lambda each: each.without)),
                    _dangers(self.rules, symptom),
                )
            )
        callbacks.sort(key=lambda each: (-each.chance, each.symptom))
        return PlaceForecast(str(self.place), tuple(callbacks))


def _dangers(rules: Rules, symptom: str) -> tuple[str, ...]:
    """Return the cautions of a symptom that making the place safe is there for.

    The other cautions of a symptom belong to looking into it and mending it.
    """
    rule = rules.symptoms[symptom]
    met = {caution for remedy in rule.make_safe for caution in rules.remedies[remedy].cautions}
    return tuple(caution for caution in rule.cautions if caution in met)


def _says_of(item: Evidence, checks: Collection[str]) -> bool:
    return isinstance(item, CheckSaid) and item.check in checks


def at_place(
    rules: Rules, job: Job, place: Place, symptoms: Iterable[str] | None = None
) -> AtPlace:
    """Return a place of a job, ready to forecast.

    `symptoms` are those to forecast; None takes all that show at such a place.

    Raises
    ------
    NotFoundError
        The job has no such place.
    """
    floor = floor_of(job, place, None)
    if symptoms is None:
        symptoms = symptoms_at(rules, place.kind)
    wanted = [s for s in symptoms if applies_to(rules.symptoms[s].applies, floor)]
    kinds = KINDS.get(place.kind, frozenset({place.kind}))
    network = build(rules, floor, symptoms=wanted, place_kind=kinds or None)
    checks = run_checks(rules, job, place)
    known = tuple(s for s in wanted if len(network.symptoms[s].parents))
    intake = Intake(known, place, floor, checks, job.id, words_at(job, place))
    evidence = tuple(
        item
        for item in Inspection(rules, intake, network).known
        if not isinstance(item, SymptomSeen | NotMentioned)
    )
    return AtPlace(rules, place, network, checks, evidence, known)


def symptoms_at(rules: Rules, kind: str) -> tuple[str, ...]:
    """Return the symptoms that show at a kind of place; at the whole job all of them."""
    return tuple(s.id for s in rules.symptoms.values() if kind in s.shows_at or kind == "job")


def with_few_questions(rules: Rules) -> Rules:
    """Return the rules without the questions that no record can answer.

    An unanswered question changes no chance; leaving it out only saves the
    time of compiling it.
    """
    answered = {
        question.id: question
        for question in rules.questions.values()
        if any(answer.recorded for answer in question.answers)
    }
    return replace(rules, questions=answered)


def likeliest(places: Sequence[PlaceForecast]) -> tuple[tuple[str, Callback], ...]:
    """Return every callback with its place, the likeliest first."""
    pairs = [(each.place, callback) for each in places for callback in each.callbacks]
    return tuple(sorted(pairs, key=lambda pair: (-pair[1].chance, pair[0], pair[1].symptom)))
