"""What a letter leaves open, as questions with possible answers; an unanswered question changes nothing."""

from dataclasses import dataclass
from typing import Any

import streamlit as st

from tissue.ground.vocabulary import TRUE_MINUS
from tissue.report.letter_terminal import QUESTIONS, field_words
from tissue.screens.desk.state import SIDES
from tissue.screens.html import prose, put, tag

OPEN = ""


@dataclass(frozen=True, eq=False)
class Question:
    """One question: whose it is (OD, OS or None), the field, the words of the letter, why, and what may be answered."""

    eye: str | None
    field: str
    words: tuple[str, ...]
    lines: tuple[int, ...]
    why: str
    choices: tuple[str, ...]

    @property
    def by_eye(self) -> bool:
        """Whether the answer is the eye alone."""
        return self.eye is None and len(self.words) == 1 and set(self.choices) == set(SIDES)


def questions_of(letter: dict[str, Any]) -> list[Question]:
    """The Questions of a letter; several places that ask for one field of one eye make one question.

    Args:
        letter: what `read_letter` gives.
    """
    groups: dict[Any, list[dict[str, Any]]] = {}
    for number, ask in enumerate(letter["asks"]):
        own = ask["eye"] is None  # each place may belong to another eye
        groups.setdefault((ask["eye"], ask["field"], number if own else 0), []).append(ask)
    return [
        Question(
            some[0]["eye"],
            some[0]["field"],
            tuple(ask["text"] for ask in some),
            tuple(dict.fromkeys(ask["line"] for ask in some)),
            some[0]["why"],
            tuple(dict.fromkeys(choice for ask in some for choice in ask["choices"])),
        )
        for some in groups.values()
    ]


def answer_to(number: int, question: Question) -> tuple[str, str, str] | None:
    """Draw one question; returns the eye, the field and the text of its answer, None where it is open.

    Args:
        number: of the question on the screen.
        question: Question.
    """
    where = f"line {', '.join(map(str, question.lines))}"
    whose = SIDES[question.eye] if question.eye else "eye not said"
    head = tag("b", f"{whose}, {field_words(question.field)}")
    put(prose(head + f" — {where}: “{'”, “'.join(question.words)}” — {QUESTIONS[question.why]}"))
    key, words = f"letter_ask_{number}", f"Answer to question {number + 1}"
    if question.by_eye:
        eye = st.selectbox(words, (OPEN, *SIDES), format_func=_eye_words, key=key, label_visibility="collapsed")
        return (eye, question.field, question.words[0]) if eye else None
    if question.eye is None:
        put(prose("Answer it in the fields of the plan."))
        return None
    if question.choices:
        answers = (OPEN, *question.choices)
        text = st.selectbox(words, answers, format_func=_answer_words, key=key, label_visibility="collapsed")
    else:
        text = st.text_input(words, key=key, label_visibility="collapsed", placeholder="type it, or leave it open")
    return (question.eye, question.field, text) if text.strip() else None


def _eye_words(eye: str) -> str:
    return SIDES.get(eye, "left open")


def _answer_words(text: str) -> str:
    return text.translate(TRUE_MINUS) or "left open"
