"""Sentences for composing: picks, alternatives, empty slots, warnings of a week, its days and doses, first loads.

A warning names its session first and what would mend it last.
"""

from typing import Final

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

KEPT_OUT: dict[str, str | Promise] = {
    "exercise.excluded": _("%(exercise)s is to be left out for this client."),
    "exercise.spared_joint": _("It loads what is to be spared: %(joint)s."),
    "exercise.station_missing": _("It needs equipment that is not there: %(station)s."),
    "exercise.one_station_missing": _("It needs %(stations)s, and none of them is there."),
    "exercise.skill": _("It asks for more skill (%(skill)s) than is allowed (%(allowed)s)."),
    "exercise.other_region": _("It does not aim at this slot’s target, %(region)s."),
    "exercise.other_role": _("As a %(role)s exercise it does not suit a %(wanted)s slot."),
    "exercise.unknown": _("The exercise is not in the library any more."),
    "session.already_there": _("%(exercise)s is in this session already, under “%(slot)s”."),
    "session.no_minutes": _("With it the session would run %(over)s over its %(cap)s."),
    "session.ceiling": _("%(group)s would get %(sets)s in this session; %(n_ceiling)s is the most it should hold."),
}

# The same facts where a pick that stands there breaks them. {code: sentence} of warnings about one pick.
STANDS_AGAINST: dict[str, str | Promise] = {
    "exercise.excluded": _("%(session)s: %(exercise)s is to be left out for this client. Swap it."),
    "exercise.spared_joint": _("%(session)s: %(exercise)s loads what is to be spared (%(joint)s). Swap it."),
    "exercise.station_missing": _(
        "%(session)s: %(exercise)s needs equipment that is not there (%(station)s). Swap it."
    ),
    "exercise.one_station_missing": _("%(session)s: %(exercise)s needs %(stations)s, and none is there. Swap it."),
    "exercise.skill": _("%(session)s: %(exercise)s asks for more skill (%(skill)s) than is allowed. Swap it."),
    "exercise.other_region": _("%(session)s: %(exercise)s does not aim at its slot’s target (%(region)s). Swap it."),
}

CHOICE: dict[str, str | Promise] = {
    "choice.pinned": _("You chose it; it stays until you release it."),
    "choice.equal": _("%(other)s would do as well; the order of the library decided."),
    "choice.only_one_fits": _("Nothing else in the library fits this slot here."),
    "choice.others_do_not_fit_session": _("What else fits the slot does not fit into this session."),
    "choice.rank": _("Your ranking for this slot has %(better)s %(better_rank)s, %(worse)s %(worse_rank)s."),
    "choice.dose": _(
        "%(group)s: %(sets)s a week with %(exercise)s, %(n_other_sets)s with %(other)s; "
        "%(n_low)s to %(n_high)s are wanted."
    ),
    "choice.liking": _("%(better)s is more to the client’s liking than %(worse)s."),
    "choice.skill": _("%(worse)s asks for more skill (%(skill)s) than the client’s level."),
    "choice.joint_stress": _("%(worse)s asks more of the joints than %(better)s."),
    "choice.go_easy": _("%(worse)s asks more of what should be gone easy on (%(joint)s)."),
    "choice.stand_in": _("%(worse)s is a %(role)s exercise in a %(wanted)s slot."),
    "choice.off_pattern": _("%(worse)s is not of the pattern that the slot prefers."),
    "choice.off_reps": _("%(worse)s suits other repetitions (%(n_low)s–%(n_high)s) than the slot’s."),
    "choice.stalled": _("%(worse)s has stopped bringing progress."),
    "choice.due": _("%(worse)s has been done long enough to give way to another."),
    "choice.changed": _("%(better)s is known from the last block and still serves."),
    "choice.sets": _("%(better)s keeps closer to the slot’s usual number of sets."),
    "choice.unfilled": _("%(worse)s: a slot would stay empty."),
    "choice.repeat": _("%(worse)s would come on two days of this kind."),
    "choice.same_implement": _("%(worse)s would use the same equipment on two days (%(implement)s)."),
    "choice.same_angle": _("%(worse)s would load from the same angle on two days."),
    "choice.elsewhere": _("%(worse)s stands under another slot of this day type too."),
    "choice.pattern_again": _("%(worse)s: the session would hold one pattern twice (%(pattern)s)."),
    "choice.second_main": _("%(worse)s: the session would hold two heavy lifts of one kind (%(pattern)s)."),
    "choice.implement_change": _("%(worse)s: one more change of equipment within the session."),
    "choice.superset_at_one_station": _("%(better)s is done at the same station as its superset partner."),
    "choice.kind_missing": _("%(worse)s: the week would hold no %(kind)s."),
    "choice.never_stretched": _("%(better)s loads its target while it is long, which nothing else in the week does."),
    "choice.out_of_balance": _("%(better)s keeps the week’s pulls and pushes in balance."),
    "choice.superset_clash": _("%(worse)s tires the same part as its superset partner."),
}

PICK: dict[str, str | Promise] = {
    "pick.pinned": _("Pinned by you with %(sets)s."),
    "pick.ranked": _("%(n_rank)s of %(n_of)s in your ranking for this slot."),
    "pick.outside_ranking": _("Not in your ranking for this slot."),
    "pick.counts": _("Counts %(share_share)s for %(text_group)s."),
    "pick.repeats": _("The same exercise stands on %(letter)s, as nothing else fits both days."),
    "pick.varies": _("Other %(by)s than %(exercise)s on %(letter)s."),
    "pick.stands_in": _("A %(role)s exercise standing in where a %(wanted)s one is meant."),
    "pick.other_pattern": _("Not of the pattern that the slot prefers: %(pattern)s."),
    "pick.stretched": _("Loads this part while it is stretched: %(region)s."),
    "pick.kept": _("Known from the last block and still serves."),
    "sets.more_for_dose": _("%(sets)s where %(n_usual)s are usual: a group would stay under its range otherwise."),
    "sets.fewer_for_dose": _("%(sets)s where %(n_usual)s are usual: more would take a group over its range."),
    "sets.fewer_for_limit": _("%(sets)s where %(n_usual)s are usual: one more would pass %(limit)s."),
}

EMPTY: dict[str, str | Promise] = {
    "slot.kept_empty": _("You left it out on this day."),
    "slot.pin_not_possible": _("%(exercise)s is pinned here but can’t be used."),
    "slot.nothing_fits": _("Nothing in the library fits %(region)s; kept out: %(n_kept_out)s."),
    "slot.can_be_filled": _("%(exercise)s would fit."),
    "free.release_pin": _("put it back"),
    "free.release_exercise": _("release %(exercise)s under “%(slot)s”, %(session)s"),
    "free.leave_out": _("leave out “%(slot)s” in %(session)s"),
    "free.more_minutes": _("%(minutes)s more for the session"),
    "free.raise_ceiling": _("more sets of %(text_group)s in one session than advised"),
    "free.allow_exercise": _("allow %(exercise)s again"),
    "free.add_station": _("have this there: %(station)s"),
    "free.add_one_station": _("have one of these there: %(stations)s"),
    "free.allow_skill": _("allow %(skill)s skill"),
    "free.load_spared_joint": _("load what is to be spared (%(joint)s)"),
}

WARNINGS: dict[str, str | Promise] = {
    "pinned.exercise.skill": _("%(session)s: you pinned %(exercise)s, which asks for %(skill)s skill."),
    "pinned.exercise.other_region": _(
        "%(session)s: you pinned %(exercise)s, which does not aim at its slot’s target (%(region)s)."
    ),
    "pinned.exercise.other_role": _("%(session)s: you pinned %(exercise)s, a %(role)s exercise in a %(wanted)s slot."),
    "session.over_minutes": _(
        "%(session)s takes %(minutes)s, %(cap)s are planned. Take a set off or leave out its last slot."
    ),
    "session.many_sets": _("%(session)s holds %(sets)s, which is a lot. See whether all are needed."),
    "session.too_many_sets": _("%(session)s holds %(sets)s, too many for one session. Move some to another day."),
    "session.many_exercises": _(
        "%(session)s holds %(n_exercises)s exercises, more than %(n_most)s. Leave one out where minutes run short."
    ),
    "session.group_over": _(
        "%(session)s: %(sets)s for %(text_group)s; one session should hold %(n_ceiling)s at most. Take one off."
    ),
    "session.group_high": _(
        "%(session)s: %(sets)s for %(text_group)s; beyond %(n_warn_from)s in one session each adds little. "
        "Move one to another day."
    ),
    "session.twice": _("%(session)s: %(exercise)s stands there twice. Swap one of them."),
    "session.second_main": _("%(session)s: two heavy lifts of one kind (%(pattern)s). Swap one for a lighter one."),
    "session.pattern_again": _(
        "%(session)s: %(n_exercises)s exercises of one kind (%(pattern)s) where one would do. Swap one."
    ),
    "session.joint_often": _(
        "%(session)s: %(n_exercises)s exercises load what should be gone easy on (%(joint)s), more than %(n_most)s. "
        "Swap one."
    ),
    "session.grip_before_main": _(
        "%(session)s: %(exercise)s tires the grip that %(other)s needs after it. Move it down."
    ),
    "session.back_before_main": _(
        "%(session)s: %(exercise)s tires the low back that %(other)s needs after it. Move it down."
    ),
    "session.superset_clash": _("%(session)s: done in turns, %(exercise)s and %(other)s tire the same part. Swap one."),
    "week.repeat": _("%(exercise)s fills “%(slot)s” %(n_times)s times. Swap one if another suits."),
    "week.pattern_missing": _("Nothing of this kind in the week: %(kind)s. Swap one in where it fits."),
    "week.pull_to_push": _(
        "Pulls to presses stand at %(n_ratio)s; %(n_low)s to %(n_high)s is balanced. Move sets from one to the other."
    ),
    "week.region_thin": _(
        "The %(region)s: %(sets)s a week; %(n_wanted)s would be a fair part of the whole. Swap one in that aims there."
    ),
    "week.many_priorities": _(
        "More is wanted for %(groups)s. A block has room for %(n_most)s such groups: choose among them."
    ),
}

OUTLINE: dict[str, str | Promise] = {
    "outline.candidates_hidden": _(
        "“%(slot)s”: all its candidates are hidden, so it counts nothing here. Show one again or add another."
    ),
    "outline.no_candidates": _(
        "“%(slot)s” names no candidates, so it counts nothing here; composing takes what fits. Add the ones you want."
    ),
    "outline.not_filled": _("%(session)s: nothing fits “%(slot)s”, not even in a gym that has everything."),
    "outline.dose_short": _(
        "%(group)s: %(sets)s a week; the range for %(experience)s is %(n_low)s–%(n_high)s. "
        "With the most sets its slots allow it is %(n_most)s."
    ),
    "outline.dose_under": _(
        "%(group)s: %(sets)s a week; the range for %(experience)s is %(n_low)s–%(n_high)s. "
        "Its slots have room up to %(n_most)s."
    ),
    "outline.dose_long": _(
        "%(group)s: %(sets)s a week; the range for %(experience)s is %(n_low)s–%(n_high)s. "
        "With the fewest sets its slots allow it is %(n_least)s."
    ),
    "outline.dose_over": _(
        "%(group)s: %(sets)s a week; the range for %(experience)s is %(n_low)s–%(n_high)s. "
        "Its slots have room down to %(n_least)s."
    ),
    "outline.near": _(
        "%(earlier)s to %(later)s: %(n_hours)s h for %(text_group)s; %(n_needed)s are wanted for %(experience)s. "
        "Part them by another day or give one less of it."
    ),
    "outline.long_session": _(
        "%(session)s takes %(minutes)s at the sets of %(experience)s; few clients have more than %(n_most)s. "
        "Sessions that run so long: %(n_long)s of %(n_sessions)s."
    ),
}

CALENDAR: dict[str, str | Promise] = {
    "calendar.too_few_days": _("%(n_sessions)s sessions do not fit on %(days_days)s."),
    "calendar.fixed_days_clash": _("Two sessions are held to the same day."),
    "calendar.least_gap": _("At least %(n_least_h)s h lie between sessions that load the same groups."),
    "calendar.nothing_shared": _("No two sessions load the same groups."),
    "calendar.skipped": _("What was missed is left out: %(n_sessions)s. The block still ends on %(end)s."),
    "calendar.next_in_line": _(
        "What was missed is done next (%(n_sessions)s); the block ends %(days_days_later)s later, on %(end)s."
    ),
}

DOSE: dict[str, str | Promise] = {
    "dose_under": _("%(n_by)s under the range of %(n_low)s to %(n_high)s sets a week."),
    "dose_far_under": _("Far under: %(n_by)s below the range of %(n_low)s to %(n_high)s sets a week."),
    "dose_in_range": _("In the range of %(n_low)s to %(n_high)s sets a week."),
    "dose_over": _("%(n_by)s over the range of %(n_low)s to %(n_high)s sets a week."),
    "dose_far_over": _("Far over: %(n_by)s above the range of %(n_low)s to %(n_high)s sets a week."),
    "dose_watched": _("Watched only; no range is set."),
    "region_thin": _("The %(region)s: %(sets_counted)s; %(n_wanted)s would be a fair part of the whole."),
    "dose_rise_fine": _("%(sets_now)s after %(n_mean)s a week: a small rise."),
    "dose_rise_warn": _("%(sets_now)s after %(n_mean)s a week: %(n_percent)s %% more."),
    "dose_rise_ask": _("%(sets_now)s after %(n_mean)s a week: %(n_percent)s %% more. Is that meant?"),
    "dose_rise_refuse": _("%(sets_now)s after %(n_mean)s a week is too much at once."),
}

FIRST_LOAD: dict[str, str | Promise] = {
    "load.by_feel": _("No load to reckon: what leaves the asked reps in reserve."),
    "load.find": _("Nothing is known yet: the sheet leads to a first load in up to four tries."),
    "load.bodyweight_first": _("Bodyweight alone first; load is added once the reps are there."),
    "load.too_long_ago": _("Last done %(days_days)s ago: the load is found again."),
    "load.lightest_is_heavier": _("About %(load_wanted)s was wanted; the lightest on offer is heavier."),
    "load.from_before": _(
        "From %(load_load)s × %(n_reps)s with %(n_rir)s in reserve, %(days_days)s before, "
        "rounded down to what is there."
    ),
    "load.after_absence": _("Taken at %(percent_share)s after %(days_days)s away."),
    "load.share_capped": _("Held to %(percent_share)s of the estimated max."),
}

CHANGES: dict[str, str | Promise] = {
    "change.exercise": _("%(session)s, %(slot)s: %(other)s in place of %(exercise)s."),
    "change.sets": _("%(session)s: %(exercise)s goes from %(sets_before)s to %(sets_after)s."),
    "change.left_out": _("%(session)s, %(slot)s: left out (it was %(exercise)s)."),
    "change.filled": _("%(session)s, %(slot)s: filled with %(exercise)s, %(sets)s."),
    "change.pinned": _("%(session)s: %(exercise)s is pinned."),
    "change.released": _("%(session)s: %(exercise)s is released."),
    "change.order": _("%(day)s: another order of slots."),
    "change.day": _("%(session)s moves to %(weekday)s."),
    "change.cycle_day": _("%(session)s moves to day %(on)s of the cycle."),
}

# Limits that cannot hold together, each as it stands.
LIMITS: dict[str, str | Promise] = {
    "limit.minutes": _("at most %(minutes)s a session"),
    "limit.slot": _("“%(slot)s” is to be filled"),
    "limit.pin": _("%(exercise)s is pinned under “%(slot)s”"),
    "limit.ceiling": _("%(group)s: no more sets in one session than advised"),
    "limit.exercise": _("%(exercise)s is to be left out"),
    "limit.station": _("this is not there: %(station)s"),
    "limit.one_station": _("none of these is there: %(stations)s"),
    "limit.skill": _("%(skill)s skill is not allowed"),
    "limit.joint": _("%(joint)s is to be spared"),
}


WEIGHTS: dict[str, str | Promise] = {
    "weights.outside_ranking_too_cheap": _(
        "An exercise outside the ranking would cost %(points)s, less than the last rank (%(steps)s steps of %(step)s, "
        "%(least)s). Write %(least)s or more."
    ),
    "weights.clash_too_cheap": _(
        "A bad superset must cost more than a superset at one station saves (%(merit)s); it costs %(points)s."
    ),
}

SENTENCES: Final = {
    **KEPT_OUT,
    **CHOICE,
    **LIMITS,
    **PICK,
    **EMPTY,
    **WARNINGS,
    **OUTLINE,
    **CALENDAR,
    **DOSE,
    **FIRST_LOAD,
    **CHANGES,
    **WEIGHTS,
}
