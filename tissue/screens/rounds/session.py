"""The rounds of a session: the question that is asked, the answers, and what the fellow has learnt."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import streamlit as st

from tissue.rounds.learning import Record
from tissue.rounds.question import Question
from tissue.screens.desk.plan import Desk
from tissue.screens.desk.state import day
from tissue.screens.rounds.record import today
from tissue.screens.rounds.setup import INVENTED, next_seed, of_desk

if TYPE_CHECKING:
    from tissue.rounds.judge import Judged


@dataclass(eq=False)
class Session:
    """The rounds of a session; they are kept when the screen is left.

    chosen: eyes and kinds. file: name and Cases of the plan file taken last. questions: of the round that runs; empty
    where none does. at: number of the one on the screen, from 0. number, seed: of the round. results: (number of the
    round, seed, number of the question, Judged). draft: an answer that could not be read, as it was written; fault:
    why. again: whether the round asks once more what was not right. record: Record as it was opened or saved last;
    news: (kind, whether it was right, day) of every answer since. record_file: the file that was taken last;
    record_fault: why one was not, a line each. plans: by number of a round, the plan of the desk that it asks about.
    """

    chosen: dict[str, list[Any]] = field(default_factory=lambda: {"eyes": [INVENTED], "kinds": []})
    file: tuple[Any, ...] = ("", ())
    questions: tuple[Any, ...] = ()
    at: int = 0
    number: int = 0
    seed: int = 0
    results: list[Any] = field(default_factory=list)
    draft: str = ""
    fault: str = ""
    again: bool = False
    record: Record = field(default_factory=Record)
    news: list[Any] = field(default_factory=list)
    record_file: str = ""
    record_fault: tuple[str, ...] = ()
    plans: dict[int, str] = field(default_factory=dict)

    def begin(self, questions: tuple[Question, ...], seed: int, again: bool = False, plan: str = "") -> None:
        """Begin a round of these questions; plan: id of the plan on the desk where the round is about it."""
        self.again = again
        self.questions, self.seed, self.at = questions, seed, 0
        self.number += 1
        self.plans |= {self.number: plan} if plan else {}
        self.draft = self.fault = ""

    def forget_all_but(self, plans: dict[str, Desk]) -> None:
        """Forget the rounds about plans that are no longer on the desk or its list; what was learnt of each kind stays.

        Args:
            plans: ids of the plans that are still there.
        """
        gone = {number for number, plan in self.plans.items() if plan not in plans}
        if not gone:
            return
        if self.questions and self.number in gone:
            self.leave()
        self.results = [one for one in self.results if one[0] not in gone or not of_desk(one[3].question)]
        self.plans = {number: plan for number, plan in self.plans.items() if number not in gone}

    @property
    def question(self) -> Question | None:
        """The question on the screen; None where no round runs or it is at its end."""
        return self.questions[self.at] if self.at < len(self.questions) else None

    @property
    def turn(self) -> str:
        """A word for the state of the page; it changes when a question is asked or answered and when the round ends."""
        if not self.questions:
            return ""
        return f"{self.number}-{self.at}-{'asked' if self.judged is None else 'answered'}"

    @property
    def judged(self) -> Judged | None:
        """The answer to the question on the screen once it is committed, else None."""
        place = (self.number, self.at + 1)
        return next((one for number, _, at, one in reversed(self.results) if (number, at) == place), None)

    def commit(self, judged: Judged) -> None:
        """Commit an answer that could be read, or the lack of one; a committed answer is never changed."""
        if self.question is not judged.question or self.judged is not None:
            return
        if judged.fault:
            self.draft, self.fault = judged.text, judged.words
            return
        self.results.append((self.number, self.seed, self.at + 1, judged))
        self.draft = self.fault = ""
        self.news.append((judged.question.kind.id, judged.within is True, today()))

    @property
    def mine(self) -> list[tuple[int, int, int, Judged]]:
        """The results of this round."""
        return [one for one in self.results if one[0] == self.number]

    def retry(self) -> None:
        """Ask again the questions that were not answered right in this round; nothing happens where there are none."""
        wrong = tuple(judged.question for *_, judged in self.mine if not judged.within)
        if wrong:
            self.begin(wrong, self.seed, again=True, plan=self.plans.get(self.number, ""))

    @property
    def learnt(self) -> Record:
        """The Record with what was answered since it was opened or saved."""
        return self.record.after(self.news)

    def opened(self, record: Record) -> None:
        """Continue with the Record of a file."""
        self.record, self.record_fault = record, ()

    def saved(self) -> None:
        """Note that all answers are saved in a file now."""
        self.record, self.news = self.learnt, []

    def go_on(self, question: Question) -> None:
        """Go on to the question after this one; nothing happens where it is no longer on the screen."""
        self.at += self.question is question

    def leave(self) -> None:
        """End the round; what was answered stays."""
        next_seed(self.seed)
        self.questions, self.at = (), 0
        self.draft = self.fault = ""


def session() -> Session:
    """The Session of this browser session; rounds about a plan are forgotten with the plan."""
    own = st.session_state.setdefault("rounds", Session())
    own.forget_all_but(day().plans)
    return own
