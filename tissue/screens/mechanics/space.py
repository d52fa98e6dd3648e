"""The whole cornea of a plan in three dimensions, solved on request in a thread: its progress, a stop, its maps."""

from functools import partial
from threading import Thread
from typing import Any

import streamlit as st

from tissue.budget.comparison import Comparison
from tissue.drawing.base.palette import Look
from tissue.drawing.charts import space_maps, stress
from tissue.ground.vocabulary import signed
from tissue.mechanics.laws.choice import Choice
from tissue.mechanics.space.plan import SPACE_STATES, SpaceRequest, SpaceState, states_in_space, steps_in_space
from tissue.report.measures import NO_FIGURE
from tissue.screens.desk.press import press, pressed
from tissue.screens.html import notes, paragraphs, part, plain_table, prose, put, tag
from tissue.screens.mechanics.law import law_key, law_words
from tissue.screens.parts.chart.chart import Picture, chart

EVERY_S = 0.7  # how often the page looks at the progress of the work
SAID = (
    "In three dimensions, with the centre, axis, thickness map, hinge and incision of this plan. Worked out only when "
    "asked for; the page can be used and left meanwhile.",
)
UNDER = (
    "Dotted: optical zone and axis. Outside: cut edge of the flap with its hinge, or the incision. Cross: vertex.",
    "Ring: thinnest point. The number stands at the treatment centre. Thick line: as much as the intact bed carries.",
)
HEADS = ("State", "Centre, 1 mm", "Thinnest point, 0.5 mm", "Greatest in the treated disc", "At x, y mm")


class Work:
    """States of one plan while a thread works them out; the page only shows what is finished."""

    def __init__(
        self,
        comparison: Comparison,
        choice: Choice,
        key: tuple[Any, ...],
    ) -> None:
        self.comparison, self.key, self.words = comparison, key, law_words(choice)
        request = SpaceRequest(choice)
        self.total, self.done = steps_in_space(comparison, request), 0
        self.states: dict[str, SpaceState] = {}
        self.stopped, self.fault = False, ""
        self.thread = Thread(target=self._run, args=(request,), daemon=True)
        self.thread.start()

    def _run(self, request: SpaceRequest) -> None:
        """Solve one state after another until told to stop."""
        from tissue.ground.errors import EyeError

        try:
            for step in states_in_space(self.comparison, request):
                self.done += 1
                if step.state is not None:
                    self.states = self.states | {step.name: step.state}
                if self.stopped:
                    return
        except EyeError as error:
            self.fault = f"Not worked out: {error.field} is {error.value}; what can be worked out: {error.limit}."

    def stop(self) -> None:
        """End it after the state that is being solved."""
        self.stopped = True

    @property
    def running(self) -> bool:
        """Whether it is still at work."""
        return self.thread.is_alive()


def whole_cornea(comparison: Comparison, choice: Choice, eye_key: tuple[Any, ...], colours: Look) -> None:
    """Draw this part of the screen.

    Args:
        comparison: Comparison of the eye on the desk.
        choice: Choice of the law.
        eye_key: a key that tells one plan from another.
        colours: Look.
    """
    put(part("The whole cornea") + prose(*SAID))
    if choice.law == "fibre":
        put(notes("The fibre law is worked out in the section alone."))
        return
    work: Work | None = st.session_state.get("mechanics_space")
    running = work is not None and work.running and not work.stopped
    st.fragment(_shown, run_every=EVERY_S if running else None)(comparison, choice, (eye_key, law_key(choice)), colours)


def _shown(
    comparison: Comparison,
    choice: Choice,
    key: tuple[Any, ...],
    colours: Look,
) -> None:
    """Show the button, the progress or the maps; called again and again while the work goes on."""
    work: Work | None = st.session_state.get("mechanics_space")
    if work is not None and work.running and not work.stopped:
        st.progress(work.done / work.total, text=f"{work.done} of {work.total} solved")
        press("mechanics_space_cancel", "Cancel", work.stop)
        return
    if work is None or work.key != key or len(work.states) < len(SPACE_STATES):
        if pressed("mechanics_space_start", "Work out the whole cornea"):
            st.session_state["mechanics_space"] = Work(comparison, choice, key)
            st.rerun()
    if work is None:
        return
    if work is not st.session_state.get("mechanics_space_seen"):
        st.session_state["mechanics_space_seen"] = work
        st.rerun()  # this run ends the page's repeated look
    _results(work, key, colours)


def _results(
    work: Any,
    key: tuple[Any, ...],
    colours: Look,
) -> None:
    """Show maps and table of the solved states; where the plan has changed since, say which one they are for."""
    if work.fault:
        put(tag("div", paragraphs(work.fault), class_="stale"))
        return
    if work.key != key:
        put(tag("div", paragraphs(f"Shown for another plan or law: {work.words}."), class_="stale"))
    there = {name: work.states[name] for name in SPACE_STATES if name in work.states}
    if not there:
        return
    scale, names = space_maps.common_scale(there), list(there)
    for first in range(0, len(names), 2):
        for column, name in zip(st.columns(2, gap="small"), names[first : first + 2], strict=False):
            with column:
                chart(
                    f"space_{name}",
                    (work.key, len(there), colours.name, name),
                    Picture(
                        partial(space_maps.draw_space, there[name], name, work.comparison, colours, scale),
                        partial(space_maps.describe_space, there[name], name),
                        f"{stress.TITLES[name]}, from the front",
                        file=f"whole-cornea-{name}",
                    ),
                    columns=2,
                )
    put(notes(*UNDER) + plain_table(HEADS, [_line(*one) for one in there.items()], "Places", range(1, 5)))


def _line(name: str, state: SpaceState) -> tuple[Any, ...]:
    """Stress behind the cut at the places of one state."""
    if state.why_not:
        return ((stress.TITLES[name], state.why_not), *[NO_FIGURE] * 4)
    worst, centre, thinnest = state.worst, state.centre, state.thinnest
    assert worst is not None and centre is not None and thinnest is not None  # a state with figures has them
    values = [one.bed_stress_ratio for one in (centre, thinnest, worst)]
    at = f"{signed(worst.x_mm, 2)}, {signed(worst.y_mm, 2)}"
    return (stress.TITLES[name], *(f"{value:.2f}" for value in values), at)
