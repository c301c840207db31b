"""The week beside the client's last block: what is kept, what is new, what stood there, and what the dose gains."""

from collections.abc import Mapping
from dataclasses import dataclass

from django.utils.translation import gettext as _

from clients.board.state import Place, State
from clients.board.words import signed
from clients.models import Block
from clients.reads.composing import picks_of
from clients.reads.library import exercise_term
from programs.engine.calendar import WEEK_DAYS
from programs.engine.dose import Dose, Work, weekly
from programs.models import Exercise


@dataclass(frozen=True, slots=True)
class Compared:
    """``picks`` are exercise keys by place, ``names`` their names, ``dose`` sets by group for seven days."""

    number: int
    picks: Mapping[Place, str]
    names: Mapping[str, str]
    dose: Mapping[str, Dose]
    gone: list[str]  # names of exercises that the week has no more

    def kept(self, state: State, place: Place) -> bool:
        now = state.picks.get(place)
        return now is not None and self.picks.get(place) == now.exercise

    def words(self, state: State, place: Place) -> str:
        """ "kept", "new", "was Chin-up"; "" where neither week has anything."""
        now, before = state.picks.get(place), self.picks.get(place)
        if now is None:
            return self._was(before) if before else ""
        if before == now.exercise:
            return _("kept")
        if before:
            return self._was(before)
        return _("kept, from another slot") if now.exercise in self.picks.values() else _("new")

    def dose_change(self, state: State, group: str) -> str:
        """ "+2", "−1.5", "same"."""
        before = self.dose[group].counted if group in self.dose else 0.0
        change = round(state.audit.dose[group].dose.counted - before, 2)
        return signed(change) if change else _("same")

    def _was(self, exercise: str) -> str:
        return _("was %(exercise)s") % {"exercise": self.names.get(exercise, "?")}


def compared_with_last(state: State, block: Block) -> Compared:
    """The block as it was assigned, at one query: of the exercises that the library shows no more."""
    picks = picks_of(block.document, state.inputs.merged)
    known = dict(state.inputs.library)
    hidden = {pick.exercise for pick in picks} - set(known)
    rows = Exercise.objects.for_practice(state.draft.client.practice).filter(public_id__in=hidden).with_facts()
    known |= {row.key: exercise_term(row) for row in rows}
    a_week = WEEK_DAYS / block.cycle_days
    now = {pick.exercise for pick in state.picks.values()}
    gone = dict.fromkeys(pick.exercise for pick in picks if pick.exercise not in now and pick.exercise in known)
    return Compared(
        number=block.number,
        picks={(pick.slot, pick.occurrence): pick.exercise for pick in picks},
        names={key: exercise.name for key, exercise in known.items()},
        dose=weekly(
            Work(known[pick.exercise].regions, pick.sets * a_week, (pick.slot, pick.occurrence))
            for pick in picks
            if pick.exercise in known
        ),
        gone=[known[key].name for key in gone],
    )
