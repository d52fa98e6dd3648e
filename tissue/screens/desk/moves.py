"""Drags: the entries of one drag are noted together and taken back together."""

from dataclasses import dataclass, field
from typing import Any

from tissue.routes.cutting import clock_of

MOST_KEPT = 100


@dataclass(eq=False)
class Move:
    """One drag.

    id: its name in the messages of the page. side: the eye. shown: the Shown at its beginning. code, invented: name
    of the plan then, and whether it was invented. before: by field, its text before; empty where it was not given.
    """

    id: str
    side: str
    shown: Any
    code: str
    invented: bool
    before: dict[str, str] = field(default_factory=dict)


@dataclass(eq=False)
class Moves:
    """The drags of one plan that can be taken back, the last one at the end; now: the one that the page shows."""

    done: list[Move] = field(default_factory=list)
    now: Move | None = None

    def note(self, plan: Any, side: str, name: str, drag: str) -> None:
        """Keep the old text of a field before an entry of a drag is taken over.

        Args:
            plan: Desk. side: OD or OS. name: the field. drag: name of the drag; empty where it belongs to none.
        """
        if not drag:  # an entry typed after a drag is not taken back with it
            self.forget(side, {name})
            return
        if self.now is None or self.now.id != drag:
            self.now = Move(drag, side, plan.figures(side)[0], plan.code, plan.invented)
            self.done = [*self.done[1 - MOST_KEPT :], self.now]
        self.now.before.setdefault(name, plan.texts.get(side, {}).get(name, ""))

    def forget(self, side: str, names: set[str]) -> None:
        """These fields of an eye were changed otherwise since: no drag puts its old text over it."""
        self.now = None
        for move in self.done:
            if move.side == side:
                move.before = {name: text for name, text in move.before.items() if name not in names}
        self.done = [move for move in self.done if move.before]

    def take_back(self, plan: Any, drag: str = "") -> None:
        """Put back the texts before the last drag; where a drag is named, only if it was the last."""
        if not self.done or (drag and self.done[-1].id != drag):
            return
        last, self.now = self.done.pop(), None
        for name, text in last.before.items():
            plan.edit(last.side, name, text)
        if last.invented and plan.code == f"{last.code}-copy" and plan.as_opened:
            plan.code, plan.invented = last.code, last.invented

    def keep_start(self, plan: Any, drag: str = "") -> None:
        """Keep the plan as it was when the drag began, for comparison; where a drag is named, only if it is shown."""
        if self.now is not None and self.now.shown is not None and drag in ("", self.now.id):
            plan.kept[self.now.side] = self.now.shown


def put_moment(plan: Any, side: str, seconds: float) -> None:
    """Put the moment of lost suction into the plan, as a stage and the share of it that is done.

    Args:
        plan: Desk. side: OD or OS. seconds: on the clock of the cuts [s]; past its end it is the end.
    """
    shown, _ = plan.figures(side)
    if shown is None or not shown.comparison.under_cap.available:
        return
    clock = clock_of(shown.comparison)
    at, done = clock.moment(min(max(seconds, 0.0), float(clock.total_s)))
    plan.edit(side, "suction_stage", clock.order[int(at)])
    plan.edit(side, "suction_done", f"{float(done):.4g}")
