"""What is plain: a proposal that may be accepted along with others, unseen; and for all others, why not.

Plain is what touches no pain, no absence and no doubtful log, stays inside every cap, pushes no muscle group out of
its weekly range, leaves alone how many sets a coach has pinned, and rests on a sheet that had not been replaced. It
is never said of minors, of people of 65 and more, of whoever is pregnant or cleared within limits, or in a client's
first four weeks.

A reason against is a code with parameters, kept with the proposal as ``new["not_plain"]``; none means plain. Health
answers are not told there: the code says only that they bound what is done.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from clients.cycles import WEEK_DAYS
from clients.models import Client, LoggedSet, PainReport, Prescription, Proposal, SheetVersion, TrainingSession
from clients.reads.block_work import NOT_WORK
from clients.reads.health import Standing
from clients.reads.history import History, slot_of
from clients.reads.planned_dose import PlannedWeeks, planned_weeks
from clients.reads.reckoning import NEWCOMER
from programs.engine import dose
from programs.engine.cautions.groups import ADULT_FROM, OLDER_FROM
from programs.engine.progress import NextStep
from programs.engine.terms import Because, Params

# What health answers may bound, by the reason that the floor of effort gives.
BOUND: Final = frozenset({"pregnancy", "after_birth", "moderate_only", "gentle_start"})
# What a change, or one of its reasons, says of pain, illness, absence and caps.
PAIN_CHANGES: Final = frozenset({"stop", "freeze"})
PAIN_REASONS: Final = frozenset(
    {"pain_stop", "pain_freeze", "pain_lighter", "pain_return", "pain_return_load", "stopped_for_pain"}
)
ILL_REASONS: Final = frozenset({"ill_rest", "ill_professional", "ill_easy", "after_illness"})
ABSENCE_REASONS: Final = frozenset({"absence", "absence_find_load", "returning", "pause_longer_than_usual"})
CAP_REASONS: Final = frozenset({"over_usual_cap", "step_too_big", "no_step_down_fits", "wave_beyond_shown"})
BOUNDED_REASONS: Final = frozenset({"rir_floor", "rest_floor"})
# What is never decided along with others, even once it was looked at.
TOUCHES_PAIN: Final = "plain.touches_pain"

Key = tuple[int, str]


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a session that comes, and what is proposed for it. The session comes with its block."""

    session: TrainingSession
    line: Prescription
    step: NextStep

    @property
    def key(self) -> Key:
        return self.session.pk, self.line.slot_key

    @property
    def sets(self) -> int:
        """Working sets as proposed."""
        return sum(one.kind not in NOT_WORK for one in self.step.sets)

    @property
    def changes_sets(self) -> bool:
        standing = sum(one.kind not in NOT_WORK for one in self.line.target_sets.all())
        return self.sets != standing


def against(
    client: Client, standing: Standing, history: History, on: date, lines: Sequence[Line]
) -> dict[Key, tuple[Because, ...]]:
    """Why each line's proposal is not plain, by session and slot; nothing for those that are.

    Numbers of sets are weighed together: two lines may keep a group in its range alone and leave it together.
    """
    always = of_client(client, standing, on, history.first_day)
    replaced = _from_replaced_sheets(client)
    found: dict[Key, list[Because]] = {line.key: [*always, *_of_step(line.step)] for line in lines}
    for line in lines:
        if "sets" in line.line.pinned and line.changes_sets:
            found[line.key].append(Because("plain.pinned_sets"))
        if _rests_on(line, history, replaced):
            found[line.key].append(Because("plain.sheet_replaced"))
    for key, reason in _out_of_range(client, on, lines):
        found[key].append(reason)
    return {key: tuple(reasons) for key, reasons in found.items()}


def keep(proposal: Proposal, not_plain: list[dict[str, Any]]) -> None:
    """Writes what stands against a proposal whose numbers are as they were, if that has changed."""
    if proposal.plain == (not not_plain) and proposal.new.get("not_plain", []) == not_plain:
        return
    proposal.plain = not not_plain
    proposal.new = {**proposal.new, "not_plain": not_plain}
    Proposal.objects.filter(pk=proposal.pk).waiting().update(plain=proposal.plain, new=proposal.new)


def touches_pain(proposal: Proposal) -> bool:
    """Whether it answers pain itself; another lift of somebody who hurts elsewhere does not."""
    return any(reason["code"] == TOUCHES_PAIN for reason in proposal.new.get("not_plain", []))


def never_plain(client: Client, standing: Standing, on: date) -> tuple[Because, ...]:
    """What keeps every proposal of this client for the coach's own eye, whatever was logged."""
    found: list[Because] = []
    age = client.age_on(on)
    if age is None:
        found.append(Because("plain.age_unknown"))
    elif age < ADULT_FROM:
        found.append(Because("plain.minor"))
    elif age >= OLDER_FROM:
        found.append(Because("plain.older", {"years": OLDER_FROM}))
    if not standing.cleared:
        found.append(Because("plain.not_cleared"))
    elif not standing.effort.progression or any(reason.code in BOUND for reason in standing.effort.reasons):
        found.append(Because("plain.health"))
    return tuple(found)


def of_client(client: Client, standing: Standing, on: date, first: date | None) -> tuple[Because, ...]:
    """The same, and what keeps them there for now: open pain, doubtful logs, the first four weeks. Two queries."""
    found: list[Because] = []
    if client.pain_reports.filter(state=PainReport.State.OPEN).exists():
        found.append(Because("plain.pain"))
    doubtful = LoggedSet.objects.for_client(client).filter(state=LoggedSet.State.ASKED).count()
    if doubtful:
        found.append(Because("plain.doubtful", {"sets": doubtful}))
    found += never_plain(client, standing, on)
    if first is None or on - first < NEWCOMER:
        found.append(Because("plain.newcomer", {"weeks": NEWCOMER.days // WEEK_DAYS}))
    return tuple(found)


def _of_step(step: NextStep) -> list[Because]:
    """What the step itself says. One that asks for a choice without any of these is not plain either."""
    said = {reason.code for reason in step.reasons}
    found: list[Because] = []
    if step.change in PAIN_CHANGES or said & PAIN_REASONS:
        found.append(Because(TOUCHES_PAIN))
    if step.change == "ill" or said & ILL_REASONS:
        found.append(Because("plain.ill"))
    elif said & ABSENCE_REASONS:
        found.append(Because("plain.absence"))
    if said & CAP_REASONS:
        found.append(Because("plain.cap"))
    if not step.plain and said & BOUNDED_REASONS:
        found.append(Because("plain.bounded"))
    if not step.plain and not found:
        found.append(Because("plain.choice"))
    return found


def _from_replaced_sheets(client: Client) -> frozenset[tuple[int, date]]:
    """(exercise id, day) of what was logged from a sheet that another one had replaced, or that was taken back."""
    standing = SheetVersion.State.ISSUED
    rows = LoggedSet.objects.for_client(client).counting().filter(version__isnull=False)
    return frozenset(rows.exclude(version__state=standing).order_by().values_list("exercise", "performed_on"))


def _rests_on(line: Line, history: History, replaced: frozenset[tuple[int, date]]) -> bool:
    exercise = line.line.exercise
    if exercise is None or not replaced:
        return False
    slot = slot_of(line.line.slot_key, line.session.occurrence)
    exposures = [one for one in history.by_exercise.get(exercise.pk, ()) if one.slot in ("", slot)]
    return bool(exposures) and (exercise.pk, exposures[-1].day) in replaced


def _out_of_range(client: Client, on: date, lines: Sequence[Line]) -> Iterable[tuple[Key, Because]]:
    """Lines that, with the others of their week, push a group out of its weekly range, or farther out of it.

    An easier week is meant to lie below the ranges: it is left alone.
    """
    changed = [line for line in lines if line.changes_sets and not line.session.deload]
    if not changed:
        return
    weeks = planned_weeks(changed[0].session.block, {line.session.cycle for line in changed})
    priorities = {row.group: row.priority for row in client.priorities.all()}
    age = client.age_on(on)
    for cycle in sorted({line.session.cycle for line in changed}):
        mine = [line for line in changed if line.session.cycle == cycle]
        pushed = _pushed(weeks, cycle, {line.key: line.sets for line in mine}, client.experience, priorities, age)
        for line in mine:
            for group in weeks.groups_of(line.key) & pushed.keys():
                yield line.key, pushed[group]


def _pushed(
    weeks: PlannedWeeks,
    cycle: int,
    instead: Mapping[Key, int],
    experience: str,
    priorities: Mapping[str, str],
    age: int | None,
) -> dict[str, Because]:
    before, after = weeks.dose(cycle), weeks.dose(cycle, instead)
    found = {}
    for group in sorted({*before, *after}):
        priority = priorities.get(group, "usual")
        was = dose.judge(before.get(group, dose.Dose()), group, experience, priority, age)
        now = dose.judge(after.get(group, dose.Dose()), group, experience, priority, age)
        if now.range is None or now.verdict == "in_range":
            continue
        if was.verdict != now.verdict or now.by > was.by:
            counted = after[group].counted
            params: Params = {"group": group, "counted": counted, "low": now.range.low, "high": now.range.high}
            found[group] = Because("plain.out_of_range", params)
    return found
