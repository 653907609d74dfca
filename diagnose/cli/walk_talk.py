"""The talk of a walk: one question at a time, every step kept as it is given."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from diagnose.cli.screen import Screen
from diagnose.engine.policy import Candidate
from diagnose.engine.words import odds_words
from diagnose.errors import NotFoundError
from diagnose.rulebook.model import Act, AnswerRule, Damage, Question
from diagnose.walk.advice_words import caution_lines
from diagnose.walk.inspection import Inspection
from diagnose.walk.reason_to_ask import effect_lines, named, why_asked
from diagnose.walk.steps import Step, StepKind

HARM = {
    "none": "no harm to the floor",
    "lifts-an-edge": "lifts an edge of the carpet",
    "cuts-or-cores": "cuts the carpet or bores into the floor",
}
HELP = """\
Type the number of the answer; for several, the numbers with blanks between.
0        none of these            c      cannot tell
why      what each answer would do
back     take the last answer back; back ID an earlier one
ask ID   another question; list shows the best ones
seen ID  a further fault that is there; absent ID looked for and not there
note ... your own words with the next answer
stop     end here with a finding   pause  go on another day"""


class Paused(Exception):
    """The inspector wants to go on another day; nothing is lost."""


@dataclass(slots=True)
class Talk:
    """A conversation about one inspection."""

    inspection: Inspection
    screen: Screen
    keep: Callable[[Step], None]
    """Stores a step before the next question is asked."""
    read: Callable[[str], str] = input
    refused: set[str] = field(default_factory=set)
    """Acts that the owner did not agree to."""
    note: str = ""
    asked: int = 0

    def run(self) -> Inspection:
        """Ask until the walk stops; return the inspection as it then stands."""
        self.screen.faint("Type help at any time. Every answer is kept at once.")
        for symptom in self.inspection.intake.symptoms:
            if not self._confirm(symptom):
                return self.inspection
        if self.inspection.advice.stop is not None:
            self._look_once()
        while self.inspection.advice.stop is None:
            candidate = self._next()
            if candidate is None or not self._ask(candidate.question):
                break
        self._keep_note()
        return self.inspection

    def _confirm(self, name: str) -> bool:
        """Have the complaint itself looked at first; False ends the walk."""
        if name in {step.subject for step in self.inspection.held}:
            return True
        symptom = self.inspection.rules.symptoms[name]
        self.screen.heading(f"First look: is it there? {symptom.name}")
        self.screen.text(symptom.looks_like)
        self.screen.faint(f"To measure: {symptom.measure}")
        choices = ("yes, as complained of", "no, it is not there")
        for number, text in enumerate(choices, start=1):
            self.screen.text(text, mark=f"{number:>2}", indent=1)
        self.screen.text("cannot tell", mark=" c", indent=1)
        kinds = {"1": StepKind.CONFIRMED, "2": StepKind.LOOKED}
        while True:
            typed = self.read("> ").strip().lower()
            if typed in kinds:
                self._step(Step(kinds[typed], name, note=self.note))
                return True
            if typed in ("c", "cannot"):
                return True
            if typed == "pause":
                raise Paused
            if typed in ("stop", "finding"):
                return False
            self.screen.text("1, 2 or c; pause goes on another day, stop ends here.")

    def _look_once(self) -> None:
        """Where the record alone would end the walk, have the floor looked at once."""
        candidates = [
            c
            for c in self.inspection.advice.candidates
            if self.inspection.is_look(c.question)
            and self._act(c.question).damage is Damage.NONE
            and c.worth.gain_bit > 0.0
        ]
        if self.inspection.asked_of_floor or not candidates:
            return
        self._stand()
        self.screen.text("The record alone says so. Look at the floor before relying on it.")
        self._ask(max(candidates, key=lambda c: c.worth.gain_bit).question)

    def _keep_note(self) -> None:
        """Keep words that no answer came after."""
        if self.note:
            number = sum(step.kind is StepKind.NOTED for step in self.inspection.steps) + 1
            step = Step(StepKind.NOTED, f"note-{number}", note=self.note)
            self.keep(step)
            self.inspection, self.note = self.inspection.after(step), ""

    def _next(self) -> Candidate | None:
        for candidate in self.inspection.advice.candidates:
            if self._act(candidate.question).id not in self.refused:
                return candidate
        return None

    def _act(self, question: str) -> Act:
        return self.inspection.rules.acts[self.inspection.rules.questions[question].act]

    def _ask(self, name: str) -> bool:
        """Put one question until a step is taken; False ends the walk."""
        question = self.inspection.rules.questions[name]
        if not self._open(question):
            return True
        self.asked += 1
        self._show(question)
        while True:
            done = self._take(question, self.read("> ").strip())
            if done is not None:
                return done

    def _open(self, question: Question) -> bool:
        """Show the act with its cautions and ask for consent; False if refused."""
        act = self._act(question.id)
        if act.id == "ask" or act.id in self.inspection.acts_done:
            return True
        self.screen.heading(f"To do first: {act.name}")
        for caution in caution_lines(
            self.inspection.rules, act.cautions, self.inspection.intake.floor
        ):
            self.screen.caution(caution.name, caution.text, caution.defer_to)
        self.screen.text(act.how)
        tools = f"; tools: {', '.join(act.tools)}" if act.tools else ""
        self.screen.faint(f"About {act.minutes:g} min; {HARM[str(act.damage)]}{tools}.")
        if act.put_back:
            self.screen.faint(f"Afterwards: {act.put_back}")
        if not act.consent:
            return True
        while True:
            answer = self.read("Has the owner agreed to this? yes or no > ").strip().lower()
            if answer in ("y", "yes"):
                return True
            if answer in ("n", "no"):
                break
            if answer == "pause":
                self._keep_note()
                raise Paused
            self.screen.text("yes or no; no leaves the floor as it is. pause goes on another day.")
        self.refused.add(act.id)
        self.screen.text("Then it is left alone, and so is every question that needs it.")
        return False

    def _show(self, question: Question) -> None:
        self.screen.heading(f"{self.asked}. {question.ask}")
        if question.help:
            self.screen.faint(question.help)
        for number, answer in enumerate(question.answers, start=1):
            self.screen.text(answer.text, mark=f"{number:>2}", indent=1)
        self.screen.text("none of these", mark=" 0", indent=1)
        self.screen.text("cannot tell", mark=" c", indent=1)
        self.screen.faint(f"Asked because: {why_asked(self.inspection, question.id)}")

    def _take(self, question: Question, typed: str) -> bool | None:
        """Act on what was typed: True goes on, False ends, None asks again."""
        word, _, rest = typed.partition(" ")
        match word.lower():
            case "":
                self._show(question)
            case "help" | "?":
                self.screen.text(HELP)
                self._show(question)
            case "why":
                for text, after in effect_lines(self.inspection, question.id):
                    self.screen.text(f"{text}: then {after}", mark="-")
            case "back" | "b":
                return self._back(rest.strip())
            case "pause":
                self._keep_note()
                raise Paused
            case "stop" | "finding":
                return False
            case "note":
                self.note = rest.strip()
                self.screen.text("Kept with the next answer.")
            case "list":
                self._list()
            case "ask":
                return self._ask_another(rest.strip())
            case "seen" | "absent":
                kind = StepKind.NOTICED if word.lower() == "seen" else StepKind.LOOKED
                return self._step(Step(kind, rest.strip(), note=self.note))
            case "c" | "cannot":
                return self._step(Step(StepKind.CANNOT_TELL, question.id, note=self.note))
            case _:
                return self._answer(question, typed)
        return None

    def _answer(self, question: Question, typed: str) -> bool | None:
        answers: list[str] = []
        ids = [answer.id for answer in question.answers]
        for part in typed.replace(",", " ").split():
            if part == "0" or part == "none-of-these":
                continue
            if part.isascii() and part.isdigit() and int(part) <= len(ids):
                answers.append(ids[int(part) - 1])
            elif part in ids:
                answers.append(part)
            else:
                self.screen.text(f"{part} is no answer here. Numbers go to {len(ids)}; help helps.")
                return None
        if question.rule is not AnswerRule.TICKS and len(answers) > 1:
            self.screen.text("This question takes one answer.")
            return None
        given = tuple(dict.fromkeys(answers)) or ("none-of-these",)
        return self._step(Step(StepKind.ANSWERED, question.id, given, self.note))

    def _step(self, step: Step) -> bool | None:
        try:
            after = self.inspection.after(step)
        except NotFoundError as error:
            near = f" Did you mean {' or '.join(error.near)}?" if error.near else ""
            self.screen.text(f"{error}.{near}")
            return None
        self.keep(step)
        self.inspection, self.note = after, ""
        self._stand()
        return True

    def _stand(self) -> None:
        first = self.inspection.posterior.explanations[0]
        text = f"So far: {named(self.inspection.rules, first.causes)}, "
        self.screen.faint(text + odds_words(first.probability) + ".")

    def _back(self, name: str) -> bool | None:
        held = [step.subject for step in self.inspection.held]
        if not held:
            self.screen.text("There is nothing to take back.")
            return None
        taken = name or held[-1]
        if taken not in held:
            self.screen.text(f"{taken} was not answered. Answered: {', '.join(held)}.")
            return None
        step = Step(StepKind.TAKEN_BACK, taken)
        self.keep(step)
        self.inspection = self.inspection.after(step)
        self.asked = max(0, self.asked - 2)
        self.screen.text(f"Taken back: {taken}.")
        return True

    def _list(self) -> None:
        rules = self.inspection.rules
        rows = [
            (
                candidate.question,
                rules.questions[candidate.question].ask,
                f"{candidate.minutes:g}",
                HARM[str(self._act(candidate.question).damage)],
            )
            for candidate in self.inspection.advice.candidates[:8]
        ]
        self.screen.table(("id", "question", "min", "harm"), rows, whole=1)

    def _ask_another(self, name: str) -> bool | None:
        try:
            self.inspection.question(name)
        except NotFoundError as error:
            near = f" Did you mean {' or '.join(error.near)}?" if error.near else ""
            self.screen.text(f"{error}.{near}")
            return None
        return self._ask(name)
