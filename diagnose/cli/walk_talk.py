"""The talk of a walk: one question at a time, every step kept as it is given."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from diagnose.cli.screen import Screen
from diagnose.cli.walk_show import show_act, show_help, show_list, show_question, show_why
from diagnose.engine.policy import Candidate
from diagnose.engine.words import odds_words
from diagnose.errors import NotFoundError
from diagnose.rulebook.model import Act, AnswerRule, Damage, Question
from diagnose.walk.inspection import Inspection
from diagnose.walk.reason_to_ask import named
from diagnose.walk.steps import Step, StepKind


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
    told: set[str] = field(default_factory=set)
    """Cautions that were shown in full already."""
    note: str = ""

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
        there, absent = StepKind.CONFIRMED, StepKind.LOOKED
        kinds = {"1": there, "yes": there, "y": there, "2": absent, "no": absent, "n": absent}
        while True:
            typed = self.read("> ").strip()
            word, _, rest = typed.partition(" ")
            match word.lower():
                case _ if typed.lower() in kinds:
                    self._step(Step(kinds[typed.lower()], name, note=self.note))
                    return True
                case "c" | "cannot":
                    return True
                case "note":
                    self._take_note(rest)
                case "pause":
                    self._keep_note()
                    raise Paused
                case "stop" | "finding":
                    return False
                case _:
                    self.screen.text(
                        "1, 2 or c; note ... keeps your own words; pause goes on another day, "
                        "stop ends here. The questions come after this."
                    )

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
        done = self._open(question)
        if done is not None:
            return done
        self._show(question)
        while True:
            done = self._take(question, self.read("> ").strip())
            if done is not None:
                return done

    def _open(self, question: Question) -> bool | None:
        """Show the act with its cautions and ask for consent.

        None where the question can be put; else True goes on without it, False
        ends the walk.
        """
        act = self._act(question.id)
        if act.id == "ask" or act.id in self.inspection.acts_done:
            return None
        show_act(self.screen, self.inspection, act, question, self.told)
        while act.consent:
            typed = self.read("Has the owner agreed to this? yes or no > ").strip()
            word, _, rest = typed.partition(" ")
            match word.lower():
                case "y" | "yes":
                    self.refused.discard(act.id)
                    return None
                case "n" | "no":
                    self.refused.add(act.id)
                    self.screen.text(
                        "Then it is left alone, and so is every question that needs it."
                    )
                    return True
                case _:
                    understood, done = self._command(question, word.lower(), rest.strip())
                    if done is not None:
                        return done
                    if not understood:
                        self.screen.text(
                            "yes or no; no leaves the floor as it is. why, list, ask ID, back, "
                            "note ..., pause and stop go here too."
                        )
        return None

    def _show(self, question: Question) -> None:
        kinds = (StepKind.ANSWERED, StepKind.CANNOT_TELL)
        number = 1 + sum(step.kind in kinds for step in self.inspection.held)
        show_question(self.screen, self.inspection, number, question)

    def _take(self, question: Question, typed: str) -> bool | None:
        """Act on what was typed: True goes on, False ends, None asks again."""
        word, _, rest = typed.partition(" ")
        if word.lower() in ("", "help", "?"):
            if word:
                show_help(self.screen)
            self._show(question)
            return None
        if word.lower() in ("c", "cannot"):
            return self._step(Step(StepKind.CANNOT_TELL, question.id, note=self.note))
        understood, done = self._command(question, word.lower(), rest.strip())
        return done if understood else self._answer(question, typed)

    def _command(self, question: Question, word: str, rest: str) -> tuple[bool, bool | None]:
        """Do what a word asks for, if it is one; beside it what `_take` returns."""
        done: bool | None = None
        match word:
            case "why":
                show_why(self.screen, self.inspection, question)
            case "back" | "b":
                done = self._back(rest)
            case "pause":
                self._keep_note()
                raise Paused
            case "stop" | "finding":
                done = False
            case "note":
                self._take_note(rest)
            case "list":
                show_list(self.screen, self.inspection)
            case "ask":
                done = self._ask_another(rest)
            case "seen" | "absent":
                kind = StepKind.NOTICED if word == "seen" else StepKind.LOOKED
                done = self._step(Step(kind, rest, note=self.note))
            case _:
                return False, None
        return True, done

    def _take_note(self, text: str) -> None:
        if not text.strip():
            self.screen.text("Write the words after it, on the same line: note ...")
            return
        self.note = "; ".join(filter(None, (self.note, text.strip())))
        self.screen.text("Kept with the next answer.")

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
            unknown = step.subject not in self.inspection.rules.symptoms
            self._refuse(error, "diagnose explain symptoms lists them." if unknown else "")
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
        self.screen.text(f"Taken back: {taken}.")
        return True

    def _ask_another(self, name: str) -> bool | None:
        try:
            self.inspection.question(name)
        except NotFoundError as error:
            self._refuse(error, "list shows the best ones.")
            return None
        return self._ask(name)

    def _refuse(self, error: NotFoundError, otherwise: str) -> None:
        near = f"Did you mean {' or '.join(error.near)}?" if error.near else otherwise
        self.screen.text(f"{str(error).rstrip('.')}. {near}".rstrip())
