"""The words a client reads for the codes of pain, effort and care. One place for the page and for paper."""

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

Word = str | Promise

ALARMS: dict[str, Word] = {
    "sharp": _("It is sharp or stabbing."),
    "radiating": _("It runs down an arm or a leg."),
    "swelling": _("Something is swollen."),
    "locking": _("A joint locks or gives way."),
    "weakness": _("Something is weak or numb."),
    "at_night": _("It wakes me at night."),
}
PAIN: dict[int, Word] = {
    0: _("none"),
    1: _("hardly there"),
    2: _("mild"),
    3: _("there, and I notice it"),
    4: _("it bothers me"),
    5: _("it changes how I move"),
    6: _("strong"),
    7: _("very strong"),
    8: _("hard to bear"),
    9: _("hardly to be borne"),
    10: _("the worst I can think of"),
}
SLEEP: dict[int, Word] = {1: _("poor"), 2: _("as usual"), 3: _("good")}
ENERGY: dict[int, Word] = {1: _("low"), 2: _("as usual"), 3: _("high")}
EFFORTS: dict[int, Word] = {
    0: _("no work at all"),
    1: _("very easy"),
    2: _("easy"),
    3: _("moderate"),
    4: _("somewhat hard"),
    5: _("hard"),
    6: _("harder"),
    7: _("very hard"),
    8: _("very hard indeed"),
    9: _("nearly all I had"),
    10: _("all I had"),
}
# What a report of pain means for the rest of the session: a title and what to do now.
ACTIONS: dict[str, tuple[Word, Word]] = {
    "go_on": (
        _("You can go on"),
        _("Go on as long as it stays at 2 or less and does not grow. Your coach sees what you wrote."),
    ),
    "return": (
        _("You can start again, lightly"),
        _("Take 80 % of what you used before it hurt, and stop at the first sign that it comes back."),
    ),
    "freeze": (
        _("Leave it or go lighter"),
        _(
            "What loads this place is paused until your coach answers. If your coach has told you to go on lightly, "
            "take off at least a tenth and keep three reps in reserve. Do the other exercises as they stand."
        ),
    ),
    "stop": (
        _("Stop what loads this place"),
        _(
            "Leave out the exercises marked as paused; do not test whether it still hurts. Your coach sees this first "
            "and will answer. If it is strong, gets worse, or is still there tomorrow, see a doctor or a "
            "physiotherapist."
        ),
    ),
}
WHOLE_STOP: Word = _("Stop the session here, since this may concern every exercise.")
ADVICE: dict[str, Word] = {
    "breathe_out_on_effort": _("Breathe out while you push or pull."),
    "no_breath_holding": _("Don’t hold your breath under the load."),
    "no_max_test": _("No tests of your maximum, and no set to the very last rep."),
    "supervised": _("Train only with a grown-up coach beside you."),
    "guardian_consent": _("Your guardian has agreed to this training."),
    "technique_first": _("Clean movement comes before more weight."),
    "balance_safe": _("Keep something to hold on to within reach."),
    "no_long_lying_on_the_back": _("Don’t lie flat on your back for long."),
    "no_fall_or_blow": _("Nothing from which you could fall or be hit."),
    "carer_agrees": _("Your midwife or doctor knows and agrees."),
    "no_progression_targets": _("Comfort leads; nothing has to go up."),
    "start_as_after_long_layoff": _("Start as after a long break."),
}
BEFORE_YOU_START: tuple[Word, ...] = (
    _("Five minutes of easy movement."),
    _("Warm-ups don’t count as sets."),
)
CAUTIONS: tuple[Word, ...] = (
    _("Collars on, safeties set."),
    _("Stop when form goes."),
)
STOP_AT_ONCE: Word = _(
    "Chest pain or pressure, faintness, odd breathlessness, sudden weakness or numbness: stop, get help."
)
STOP_EXERCISE: Word = _("Joint pain of 3 or 4: go lighter. 5 or more, or sharp: leave the exercise out.")
NO_DIAGNOSIS: Word = _("A doctor’s or physiotherapist’s word comes before this sheet.")
EMERGENCY: tuple[Word, Word] = (
    _("Stop now and get help"),
    _(
        "What you wrote can be a sign of something serious. Stop training, don’t stay alone, and call the emergency "
        "number of your country (112 in Europe)."
    ),
)
SAME_DAY: tuple[Word, Word] = (
    _("Have this looked at today"),
    _("Stop training for today. What you wrote should be seen by a doctor or an urgent-care line today."),
)
