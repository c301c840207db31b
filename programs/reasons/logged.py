"""Sentences for what follows from logs: the next step, pain, finding a load, estimates."""

from typing import Final

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

# Where a parameter may be missing, the sentence without it stands under the code with BARE behind it.
BARE: Final = "/bare"

NEXT_STEP: dict[str, str | Promise] = {
    "sets_used": _("%(day)s: %(done)s%(efforts)s."),
    "all_sets_at_top": _("All sets reached %(n_high)s, the top of the range."),
    "met_once": _("Met once; %(n_needed)s sessions running are asked for before the load rises."),
    "effort_unknown": _("The effort was not said, so the reps alone have to show it twice."),
    "pressing_twice": _("Presses rise after two sessions running at the top."),
    "advanced_twice": _("At this level the load rises after two sessions running at the top."),
    "below_top": _("Not yet %(n_high)s in all sets: aim for %(aim)s."),
    "last_set_short": _("The last set ended below %(n_low)s: the same again."),
    "too_few_sets": _("Fewer sets than planned were done: the same again."),
    "effort_short": _("The reps were there, but fewer than %(n_rir)s were left in reserve: the same again."),
    "effort_short/bare": _("The reps were there, but less was left in reserve than planned: the same again."),
    "missed_repeat_once": _("Below the range once: the same again before anything changes."),
    "missed_twice": _("Below the range twice running: the load changes by %(n_percent)s %%."),
    "missed_twice/bare": _("Below the range twice running: one step easier."),
    "missed_often": _("Below the range %(n_times)s times of the last %(n_of)s: time to look for the cause."),
    "no_step_down_fits": _("No lighter load lies within %(n_percent)s %%."),
    "load_step": _(
        "The next load is %(load_new)s, %(n_percent)s %% more than %(load_old)s; about %(n_expected_reps)s reps are "
        "to be expected."
    ),
    "over_usual_cap": _("The step is over the usual %(n_percent)s %%, but the next load on offer."),
    "week_cap": _("The rise within seven days would pass %(n_percent)s %%."),
    "step_too_big_add_reps": _("The step is too big for now: %(n_reps)s reps first."),
    "step_too_big": _("The next load is %(n_percent)s %% more, too much at once."),
    "pause_longer_than_usual": _("%(days_days)s since the last time, longer than usual: the same load again."),
    "load_ceiling": _("%(load_load)s is the heaviest on offer."),
    "no_load_to_raise": _("There is no load to raise."),
    "next_setting": _("The next setting is %(n_new)s, after %(n_old)s; what it weighs is not known."),
    "bodyweight_unknown": _("%(load_new)s comes after %(load_old)s; without a bodyweight the rise can’t be weighed."),
    "time_met": _("All sets lasted %(time)s or more."),
    "time_not_met": _("Not all sets lasted %(time)s: the same again."),
    "load_step_time": _("%(load_new)s after %(load_old)s, starting again at %(time)s."),
    "top_of_range": _("The top of the range is reached, and no heavier load fits."),
    "no_progression_for_now": _("No progression for now: the same again."),
    "share_of_max": _("Held to %(n_percent)s %% of the estimated max."),
    "rir_floor": _("At least %(n_rir)s stay in reserve for this client."),
    "rest_floor": _("Rests of at least %(n_rest_s)s s for this client."),
    "no_history_find_load": _("Nothing is known yet: find the load, stopping at %(n_rir)s in reserve."),
    "no_history_load_planned": _("Nothing is logged yet: the load stays as planned."),
    "no_history_no_load_needed": _("Nothing is logged yet, and no load is needed."),
    "first_session_fewer_sets": _("A first session: about %(n_percent)s %% of the planned sets."),
    "from_like_exercise": _("From %(source)s (max about %(load_e1rm)s), taken at %(n_percent)s %%."),
    "deload": _("An easier week: %(sets)s, %(n_percent)s %% less load, %(n_rir)s more in reserve."),
    "after_deload": _("After the easier week: back to %(load_load)s, the last load that went well."),
    "after_deload/bare": _("After the easier week: back to what went well before."),
    "easier_week_too": _("It is an easier week besides: %(sets)s."),
    "absence": _(
        "Away for %(days_days)s: %(n_percent)s %% of the load, %(n_sets_percent)s %% of the sets. "
        "Weeks until it is whole again: %(n_weeks)s."
    ),
    "absence_find_load": _("Away too long to reckon: find the load again, not above %(load_most)s."),
    "nothing_lighter_on_offer": _("%(load_load)s is the lightest on offer."),
    "returning": _("On the way back to %(load_goal)s: %(load_new)s after %(load_old)s."),
}
EFFORT_LED: dict[str, str | Promise] = {
    "effort_as_planned": _("The effort was as planned: the same again."),
    "effort_easier": _(
        "Easier than planned (%(n_shown)s reps and reserve together for %(n_planned)s): %(n_percent)s %% more fits."
    ),
    "effort_harder": _(
        "Harder than planned (%(n_shown)s reps and reserve together for %(n_planned)s): it asks for %(n_percent)s %%."
    ),
    "first_sets_at_top": _("The effort was not said; the first set reached %(n_high)s."),
    "next_setting_costs": _("Setting %(n_new)s cost %(n_reps)s reps the last time, more than there is room for."),
    "more_reps_instead": _("Instead the range makes room, up to %(n_reps)s reps at this load."),
    "from_check_set": _("The check set tells more than the ratings."),
    "next_load_out_of_reach": _("The next load, %(load_load)s, is further than that."),
    "later_in_session": _("Done as number %(n_position)s of the session, usually %(n_usual)s: no step back."),
    "bodyweight_stale": _("The bodyweight is %(days_days)s old."),
    "check_set": _("The last set is a check: as many reps as come, %(n_rir)s left in reserve."),
    "check_set_barred": _("No check set: this client’s effort is bounded."),
    "check_set_not_on_mains": _("No check set here: it belongs on a machine or a single-joint exercise."),
    "test_day": _("A test: %(n_reps)s reps or more, from a max of about %(load_e1rm)s."),
    "test_barred": _("No test of strength for this client."),
    "test_not_now": _("No test in a session like this."),
    "test_without_estimate": _("No test without an estimate to start from."),
    "ratings_read_low": _("The check set showed %(n_by)s reps more than was said."),
    "ratings_read_high": _("The check set showed %(n_by)s reps fewer than was said; the ratings don’t count for now."),
}
WAVES: dict[str, str | Promise] = {
    "wave_beyond_shown": _(
        "%(load_load)s for %(n_reps)s reps is more than the sets so far show to be possible: look at the working max."
    ),
    "wave_week": _("Week %(n_week)s of %(n_of)s, on a working max of %(load_max)s."),
    "wave_raise": _("The last heavy set was easier than asked: working max %(load_new)s after %(load_old)s."),
    "wave_hold": _("The working max of %(load_max)s stays."),
    "wave_lower": _("The last heavy set was harder than asked: working max %(load_new)s after %(load_old)s."),
}
BEGINNINGS: dict[str, str | Promise] = {
    "from_other_day": _("From another day (%(day)s, max about %(load_e1rm)s), taken at %(n_percent)s %%."),
    "new_machine": _("Another machine: its figures say nothing here."),
    "new_baseline": _("A new baseline since %(day)s: what was before is left out."),
}
# Every coach reads these: they tell what follows. What it follows from stands on the health page alone.
ILLNESS: dict[str, str | Promise] = {
    "ill_rest": _("No training for now."),
    "ill_professional": _("No training before a professional has said that it may go on."),
    "ill_easy": _("For now at most %(n_sets_percent)s %% of the sets, %(n_rir)s left in reserve."),
    "after_illness": _(
        "Eased session %(n_session)s of %(n_of)s: %(n_percent)s %% of the load, %(n_sets_percent)s %% of the sets."
    ),
}
HABITS: dict[str, str | Promise] = {
    "check_set_suggested": _("%(n_signs)s sets in %(days_days)s contradict their ratings: a check set would tell."),
    "ratings_contradicted": _("%(n_signs)s sets in %(days_days)s contradict their ratings."),
    "ratings_never_vary": _("%(n_sessions)s sessions running with the same figures."),
    "all_as_planned": _("All sets of %(days_days)s were ticked as planned, none typed."),
}
FATIGUE: dict[str, str | Promise] = {
    "fatigue_lifts_falling": _("%(n_count)s lifts are falling (%(day)s)."),
    "fatigue_sessions_harder": _("Sessions feel harder by %(n_count)s at like work (%(day)s)."),
    "fatigue_first_sets_harder": _("The first set was clearly too hard on %(n_count)s exercises (%(day)s)."),
    "fatigue_sore": _("Sore for %(n_count)s days running (%(day)s)."),
    "fatigue_rest_poor": _("Sleep or energy poor on %(n_count)s days of seven (%(day)s)."),
    "deload_planned": _("%(n_weeks)s weeks since the last easier one."),
}
PAIN: dict[str, str | Promise] = {
    "stopped_for_pain": _("A set was stopped for pain: nothing rises."),
    "pain_stop": _("Paused for pain until you decide."),
    "pain_freeze": _("Held back for pain: at least %(n_rir)s stay in reserve, nothing rises."),
    "pain_lighter": _("For now %(load_new)s instead of %(load_old)s."),
    "pain_return": _("The pain has settled: back to it, carefully."),
    "pain_return_load": _("The pain has settled: back at %(n_percent)s %% of %(load_old)s, then in small steps."),
    "pain_score": _("Pain %(n_score)s of 10 on %(day)s."),
    "pain_band_freeze": _("Between %(n_low)s and %(n_high)s: what loads it stays as it is or gets lighter."),
    "pain_band_stop": _("%(n_from)s or more: nothing that loads it."),
    "pain_repeated": _("Reported %(n_sessions)s sessions running."),
    "pain_settled": _("Calm for %(n_sessions)s sessions running."),
    "pain_settling": _("Calm for %(n_sessions)s of the %(n_needed)s sessions that are asked for."),
    "pain_alarm": _("Said of it: %(alarm)s."),
    "pain_rising": _("Rising for %(n_sessions)s sessions running."),
    "pain_lasting": _("It has lasted for %(days_days)s."),
    "stopped_until_coach_decides": _("Stopped before, and so it stays until you decide."),
}
FINDING: dict[str, str | Promise] = {
    "load_not_known_yet": _("No load is known yet."),
    "finding_starts_light": _("Start with the lightest."),
    "finding_effort_unknown": _("How many were left in reserve was not said."),
    "finding_found": _("%(n_rir)s left in reserve: this is the load."),
    "finding_tries_done": _("%(n_tries)s tries are done; with %(n_rir)s left this load stands for now."),
    "finding_load_ceiling": _("%(load_load)s is the heaviest on offer."),
    "finding_step_too_big": _("The next load, %(load_load)s, could not be done in full."),
    "finding_goes_on": _("%(n_rir)s left in reserve: one step more."),
    "finding_too_heavy": _("%(load_load)s left only %(n_rir)s in reserve: lighter."),
}
ESTIMATE: dict[str, str | Promise] = {
    "not_estimated_kind": _("No estimate from this kind of set: %(kind)s."),
    "not_estimated_pain": _("No estimate: the set was stopped for pain."),
    "not_estimated_no_weight": _("No estimate: what the load weighs is not known (%(load_entry)s)."),
    "not_estimated_no_reps": _("No estimate without reps."),
    "not_estimated_no_load": _("No estimate without a load."),
    "not_estimated_no_bodyweight": _("No estimate without a bodyweight of the last %(days_days)s."),
    "not_estimated_effort_unknown": _("No estimate: how many were left in reserve is not known."),
    "not_estimated_too_easy": _("No estimate with more than %(n_most)s in reserve."),
    "not_estimated_many_reps": _("No estimate beyond %(n_most)s reps and reserve together."),
}
TREND: dict[str, str | Promise] = {
    "slope": _("%(n_percent)s %% a week, likely between %(n_low)s and %(n_high)s %%."),
    "few_sessions": _("Sessions that tell something: %(n_sessions)s of the %(n_needed)s it takes."),
    "short_span": _("They span %(n_days)s of the %(n_needed)s days it takes."),
    "low_adherence": _("%(n_percent)s %% of what was planned was done; %(n_needed)s %% are needed."),
    "recent_deload": _("The easier week around %(day)s is too near."),
    "recent_layoff": _("The return on %(day)s is too near."),
    "no_recent_session": _("The last session was %(days_days)s ago."),
    "no_record": _("No better set in %(n_sessions)s sessions over %(days_days)s."),
    "not_told_from_flat": _("A change this small can’t be told from none."),
    "recent_mean_lower": _(
        "The last three sessions differ by %(n_percent)s %% from the three before; "
        "from %(n_detectable)s %% on it counts."
    ),
    "recent_mean_higher": _(
        "The last two sessions lie %(n_percent)s %% above the best before; from %(n_detectable)s %% on it counts."
    ),
    "record": _("Best so far on %(day)s: %(load_load)s × %(n_reps)s."),
    "big_record": _("A big step on %(day)s: %(load_load)s × %(n_reps)s."),
}
ATTENTION: dict[str, str | Promise] = {
    "red_flag_written": _("Something in the note of %(day)s wants to be read now."),
    "pain_reported": _("Pain %(n_score)s of 10 was reported on %(day)s."),
    "clearance_missing": _("Not cleared; no sheet goes out."),
    "proposals_waiting": _("Proposals wait since %(day)s: %(n_count)s, of which plain %(n_plain)s."),
    "sheet_due": _("The session of %(day)s has no sheet yet."),
    "logs_doubtful": _("Doubtful entries since %(day)s: %(n_count)s."),
    "away_for_long": _("The last session was on %(day)s, %(days_days)s ago."),
    "sessions_missed": _("Sessions missed: %(n_count)s, the last on %(day)s."),
    "block_ends": _("The block ends on %(day)s."),
    "clearance_ends": _("The clearance ends on %(day)s."),
}

DECIDED: dict[str, str | Promise] = {
    "cut_for_time": _("Left out for time: there were %(n_minutes)s minutes."),
    "declined_repeat": _("Your coach keeps what went well last time."),
    "set_by_coach": _("Your coach has set these numbers."),
}

SENTENCES: Final = {
    **NEXT_STEP,
    **EFFORT_LED,
    **WAVES,
    **BEGINNINGS,
    **ILLNESS,
    **HABITS,
    **FATIGUE,
    **DECIDED,
    **PAIN,
    **FINDING,
    **ESTIMATE,
    **TREND,
    **ATTENTION,
}
