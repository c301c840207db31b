"""The sentences for what a template must have, or may not, while it is being written."""

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

SENTENCES: dict[str, str | Promise] = {
    "authoring.no_session": _("No session yet. Put at least one day type into the week."),
    "authoring.serves_nobody": _("Say whom it serves: choose at least one level of experience."),
    "authoring.day_unused": _("%(name)s stands in no session. Put it into the week, or remove it."),
    "authoring.day_empty": _("%(name)s has no slots yet. Add one, or remove the day type."),
    "authoring.week_full": _("In %(days_days)s there is room for %(n_days)s, one session a day."),
    "authoring.days_full": _("A template holds %(n_most)s day types at most."),
    "authoring.slots_full": _("A day type holds %(n_most)s slots at most."),
    "authoring.lines_full": _("A day type holds %(n_most)s lines at most."),
    "authoring.list_full": _("A list holds %(n_most)s candidates at most. Remove one first."),
    "authoring.nothing_after": _("Nothing stands after %(name)s to take turns with."),
    "authoring.already_paired": _("%(name)s and %(other)s take turns already."),
    "authoring.pair_clash": _("Not in turns: %(name)s and %(other)s tire the same part, so neither would rest."),
    "authoring.region_elsewhere": _("%(name)s does not aim where this slot does."),
    "authoring.candidate_twice": _("%(name)s is in this list already."),
}
