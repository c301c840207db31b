"""How the sets run over a block, and when it is easier."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.cycles import is_rolling
from clients.forms.compose import RevisionForm, WeeksField
from clients.models import Draft
from clients.reads.course import plan_of
from programs.engine.compose.course import SetsPlan

STEPS = (1, 2, 3)
DELOADS = [
    ("planned", gettext_lazy("planned")),
    ("on_call", gettext_lazy("on call: offered when the logs ask for it")),
]


class RisesForm(RevisionForm):
    """Why a steep rise over the weeks before is meant."""

    reason = forms.CharField(
        label=gettext_lazy("Why it is meant"),
        max_length=200,
        help_text=gettext_lazy("Kept with the block, such as “back from a camp with twice the sets”."),
    )


class CourseForm(RevisionForm):
    """The plan of a draft's sets; steps and easier weeks are cycles where the draft goes by cycles."""

    climb = forms.TypedChoiceField(label=gettext_lazy("Sets"), coerce=int, widget=forms.RadioSelect)
    start = forms.ChoiceField(
        label=gettext_lazy("A ramp starts"),
        choices=[
            ("composed", gettext_lazy("with the composed sets")),
            ("below", gettext_lazy("with one set less")),
        ],
        widget=forms.RadioSelect,
    )
    last_harder = forms.BooleanField(label=gettext_lazy("One less in reserve at the end"), required=False)
    deload = forms.ChoiceField(label=gettext_lazy("Deload"), choices=DELOADS, widget=forms.RadioSelect)
    deload_weeks = WeeksField(required=False)

    def __init__(self, *args: Any, draft: Draft, rounds: int, cycle_days: int, **kwargs: Any) -> None:
        plan = plan_of(draft.document)
        kwargs.setdefault(
            "initial",
            {
                "climb": plan.every if plan.kind == "ramp" else 0,
                "start": "below" if plan.below else "composed",
                "last_harder": plan.last_harder,
                "deload": "planned" if draft.deload_weeks else "on_call",
                "deload_weeks": ", ".join(map(str, draft.deload_weeks)),
                "revision": draft.revision,
            },
        )
        super().__init__(*args, **kwargs)
        self.rounds, self.rolling = rounds, is_rolling(cycle_days)
        self.fields["revision"].widget = forms.HiddenInput()
        field: Any = self.fields["climb"]
        field.choices = [(0, _("flat: the same all through")), *((step, _step(step, self.rolling)) for step in STEPS)]
        field.help_text = _("One more set up to the slot’s most, as far as minutes, ranges and a steady rise allow.")
        harder = self.fields["last_harder"]
        harder.help_text = (
            _("In the last cycle that is not an easier one; never below one.")
            if self.rolling
            else _("In the last week that is not an easier one; never below one.")
        )
        weeks = self.fields["deload_weeks"]
        weeks.label = _("In the cycles") if self.rolling else _("In the weeks")
        weeks.help_text = _("Half of the sets, two more in reserve. Numbers such as 4 or 4, 8.")

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if "climb" in data:
            ramp = bool(data["climb"])
            data["plan"] = SetsPlan(
                "ramp" if ramp else "flat",
                data["climb"] or 1,
                below=ramp and data.get("start") == "below",
                last_harder=bool(data.get("last_harder")),
            )
        if data.get("deload") == "on_call":
            data["deload_weeks"] = []
        elif "deload_weeks" in data and "deload" in data:
            self._check(data["deload_weeks"])
        return data

    def _check(self, numbers: list[int]) -> None:
        if not numbers:
            said = _("Name a cycle, or choose on call.") if self.rolling else _("Name a week, or choose on call.")
        elif not all(1 <= number <= self.rounds for number in numbers):
            said = _("Easier cycles lie between 1 and %(last)d.") if self.rolling else ""
            said = (said or _("Easier weeks lie between 1 and %(last)d.")) % {"last": self.rounds}
        elif len(numbers) == self.rounds:
            said = _("Not all of them can be easier.")
        else:
            return
        self.add_error("deload_weeks", said)


def _step(every: int, rolling: bool) -> str:
    if rolling:
        return {
            1: _("a set more every cycle"),
            2: _("a set more every second cycle"),
            3: _("a set more every third cycle"),
        }[every]
    return {
        1: _("a set more every week"),
        2: _("a set more every second week"),
        3: _("a set more every third week"),
    }[every]
