"""The talk of a practice round: ask the floor, read the caution, state the cause."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from diagnose.cli.practice_prompt import (
    CAUTION,
    HARM_HELP,
    HELP,
    OUT,
    Back,
    detail,
    line,
    named_causes,
    show_help,
)
from diagnose.cli.practice_record import RECORD_HELP, show_checks, shown
from diagnose.cli.screen import Screen
from diagnose.engine.network import Network
from diagnose.errors import NotFoundError
from diagnose.practice.menu import (
    group_words,
    possible_causes,
    possible_remedies,
    question_of,
    questions_by_group,
)
from diagnose.practice.play import MoveError, Price, Round, Stated, ask, given, price, spent, stop
from diagnose.practice.site import plan_lines
from diagnose.practice.wording import (
    INVENTED,
    answer_words,
    causes_words,
    complaint_words,
    facts_words,
    record_in_short,
    sentence,
)
from diagnose.rulebook.model import Rules


@dataclass(slots=True)
class PlayTalk:
    """A conversation about one round."""

    rules: Rules
    network: Network
    round: Round
    screen: Screen
    keep: Callable[[Round], None]
    """Stores the round after each move."""
    groups: tuple[str, ...] = ()
    """Groups whose list was shown last, so that a number means one of them."""
    shown: set[str] = field(default_factory=set)
    """Questions that were shown with their numbers."""
    read: Callable[[str], str] = input

    def run(self) -> Round:
        """Talk until the round is over.

        Raises
        ------
        Broken
            The learner pauses, or closes the input.
        """
        self.show_case()
        if self.round.moves:
            self._said()
        self.screen.air()
        self.screen.faint("Type list for the questions, stop to name the cause, help for more.")
        while self.round.stated is None:
            self._left()
            self._take(self._line("> "))
        return self.round

    def show_round(self) -> None:
        """Show the case and what was said so far, and ask nothing."""
        self.show_case()
        self._said()
        self._left()

    def show_case(self) -> None:
        """Show the call, the floor and the record."""
        case = self.round.case
        self.screen.faint(INVENTED)
        self.screen.heading(f"Case {case.name}")
        self.screen.text(complaint_words(self.rules, case))
        self.screen.text(facts_words(case))
        for row in plan_lines(case.floor, case.site):
            self.screen.text(row)
        self.screen.heading("What the record says")
        if not case.record:
            self.screen.text("Nobody kept one that bears on this.")
        for text in record_in_short(self.rules, case):
            self.screen.text(text, mark="-")
        self.screen.faint(
            "Type checks to see what was checked; record, plan or climate for the record itself."
        )

    def _left(self) -> None:
        minutes, harm = spent(self.rules, self.round)
        allowed = self.round.allowed
        self.screen.faint(
            f"{allowed.minutes - minutes:g} min left; harm done {harm:g} of {allowed.harm} allowed"
        )

    def _line(self, prompt: str) -> str:
        return line(self.read, prompt)

    def _detail(self, prompt: str, allowed: str) -> str:
        return detail(self.read, prompt, self.screen, allowed)

    def _take(self, typed: str) -> None:
        word, _, rest = typed.partition(" ")
        rest = rest.strip()
        match word.lower():
            case "":
                return
            case "help" | "?":
                show_help(self.screen, f"{HELP}\n{RECORD_HELP}")
                self.screen.text(HARM_HELP)
            case "list":
                self._list(rest)
            case "find":
                self._find(rest)
            case "said":
                self._said()
            case "case":
                self.show_case()
            case "causes":
                self._causes()
            case "checks":
                show_checks(self.screen, self.rules, self.round.case, rest)
            case "stop":
                self._stop()
            case "record" | "plan" | "climate" as page:
                shown(self.screen, self.round.case.sampled, page, rest)
            case "ask":
                self._ask(question_of(self.network, rest))
            case _ if typed.isascii() and typed.isdigit():
                self._number(int(typed))
            case _:
                self._ask(typed)

    def _number(self, number: int) -> None:
        """Take a number for what it stands beside on the screen."""
        name = question_of(self.network, str(number))
        if 1 <= number <= len(self.groups):
            self._list(str(number))
        elif name in self.shown:
            self._ask(name)
        else:
            text = f"No group or question numbered {number} has been shown."
            self.screen.text(f"{text} Type list or help.")

    def _list(self, group: str) -> None:
        groups = questions_by_group(self.rules, self.network, self.round)
        names = list(groups)
        listed = self.groups or tuple(names)
        if group.isascii() and group.isdigit() and 1 <= int(group) <= len(listed):
            group = listed[int(group) - 1]
        if group in groups:
            self.groups = ()
            for number, name, cost in groups[group]:
                self._offer(number, name, cost)
            return
        if group:
            self.screen.text(f"There is no group {group}.")
        self.groups = tuple(names)
        for number, (name, rows) in enumerate(groups.items(), start=1):
            words = group_words(name)
            count = f"{len(rows)} question" + ("s" if len(rows) != 1 else "")
            self.screen.text(f"{words} ({count})", mark=f"{number:>2}")
        self.screen.faint("Type the number of a group to see its questions.")

    def _find(self, word: str) -> None:
        found = False
        groups = questions_by_group(self.rules, self.network, self.round)
        for rows in groups.values():
            for number, name, cost in rows:
                if word and word.lower() in self.rules.questions[name].ask.lower():
                    self.groups = ()
                    self._offer(number, name, cost)
                    found = True
        if not found:
            self.screen.text(f"No open question holds {word or 'that'}.")

    def _offer(self, number: int, name: str, cost: Price) -> None:
        self.shown.add(name)
        harm = f", harm {cost.harm:g}" if cost.harm else ""
        ask_words = self.rules.questions[name].ask
        self.screen.text(f"{ask_words} ({cost.minutes:g} min{harm})", mark=f"{number:>3}")

    def _said(self) -> None:
        self.screen.heading("What you have been told")
        if not self.round.moves:
            self.screen.text("Nothing yet: no question has been asked.")
        for name in self.round.asked:
            said = sentence(answer_words(self.rules, name, given(self.round, name)))
            self.screen.text(f"{self.rules.questions[name].ask} {said}", mark="-")

    def _causes(self) -> None:
        for number, cause in enumerate(possible_causes(self.rules, self.network), start=1):
            self.screen.text(self.rules.causes[cause].name, mark=f"{number:>3}")

    def _ask(self, name: str) -> None:
        try:
            cost = price(self.rules, self.round, name)
            after = ask(self.rules, self.network, self.round, name)
        except (MoveError, NotFoundError) as error:
            near = getattr(error, "near", ())
            more = f" Did you mean {' or '.join(near)}?" if near else " Type list or help."
            self.screen.text(f"{sentence(str(error))}.{more}")
            return
        if cost.cautions:
            read = self._caution(cost)
            if read is None:
                self.screen.text("Left alone.")
                return
            after = ask(self.rules, self.network, self.round, name, caution_read=read)
        self.round = after
        self.keep(after)
        if cost.act and cost.put_back and cost.harm:
            self.screen.faint(f"To put back afterwards: {cost.put_back}")
        self.screen.text(self.rules.questions[name].ask)
        for text in answer_words(self.rules, name, given(after, name)).split("; "):
            self.screen.strong(sentence(text), indent=2)

    def _caution(self, cost: Price) -> bool | None:
        """Show the caution before an act; True if read, False if skipped, None if left alone."""
        act = self.rules.acts[cost.act]
        names = "; ".join(self.rules.cautions[each].name.lower() for each in cost.cautions)
        harm = f", harm {cost.harm:g}" if cost.harm else ""
        many = "cautions" if len(cost.cautions) > 1 else "a caution"
        self.screen.text(
            f"To do first: {act.name} ({cost.minutes:g} min with the question{harm}). "
            f"It comes with {many}: {names}."
        )
        while True:
            typed = self._line("read it (r), skip it (s), leave the floor alone (n) > ").lower()
            if typed in ("r", "read"):
                for each in cost.cautions:
                    caution = self.rules.cautions[each]
                    self.screen.caution(caution.name, caution.text, caution.defer_to)
                return True
            if typed in ("s", "skip"):
                return False
            if typed in ("n", "no", "stop", "back"):
                return None
            self.screen.text(f"{CAUTION}; {OUT}.")

    def _stop(self) -> None:
        try:
            self._state()
        except Back:
            self.screen.text("Nothing was stated; ask on.")

    def _state(self) -> None:
        causes = self._which_causes()
        if not causes:
            raise Back
        percent = self._percent()
        remedies = possible_remedies(self.rules, self.network, self.round)
        self.screen.text("What do you do about it?")
        for number, remedy in enumerate(remedies, start=1):
            self.screen.text(self.rules.remedies[remedy].name, mark=f"{number:>3}")
        remedy = ""
        while not remedy:
            allowed = f"Type one number from 1 to {len(remedies)}"
            typed = self._detail("number > ", allowed)
            if typed.isascii() and typed.isdigit() and 1 <= int(typed) <= len(remedies):
                remedy = remedies[int(typed) - 1]
            else:
                self.screen.text(f"{allowed}; {OUT}.")
        self.round = stop(self.rules, self.round, Stated(causes, percent, remedy))
        self.keep(self.round)

    def _which_causes(self) -> tuple[str, ...]:
        """Return the causes named; empty goes back to asking."""
        possible = possible_causes(self.rules, self.network)
        self._causes()
        self.screen.faint("Numbers with blanks between, or a part of a name; empty goes back.")
        while True:
            typed = self._detail("which > ", "Type numbers of the list, or a part of a name")
            if not typed:
                return ()
            found, unclear = named_causes(self.rules, possible, typed)
            if found:
                self.screen.text(f"You name: {causes_words(self.rules, found)}.")
                return found
            self.screen.text(f"{unclear}; {OUT}.")

    def _percent(self) -> int:
        while True:
            allowed = "Type a whole number from 0 to 100"
            typed = self._detail("how sure are you, in a hundred > ", allowed).rstrip("% ")
            if typed.isascii() and typed.isdigit() and int(typed) <= 100:
                return int(typed)
            self.screen.text(f"{allowed}; {OUT}.")
