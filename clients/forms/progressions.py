"""How an exercise goes on: the policy, the weeks of a wave, a new baseline."""

from collections import defaultdict
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from clients.forms.fields import DayField, RowForm, rows_of
from clients.models import Progression
from clients.reads.progressions import Going
from clients.services.progressions import Waves
from clients.sheets import wording
from programs.engine.progress import working_max
from programs.units import Load, load_of, read_number

MOST_WEEKS, MOST_SETS, MOST_REPS = 12, 10, 30
LEAST_PERCENT, MOST_PERCENT = 30, 100
LEAST_FRACTION = 85
USUAL, TYPED, SHARE = "usual", "typed", "share"
SHARES = gettext_lazy("Shares of the estimate are whole numbers, 85 to 100.")
PREFIX = "sets"

# What each policy does, in a line.
ABOUT: Mapping[str, Any] = {
    "fixed_steps": gettext_lazy("All sets at their reps: one step more the next time."),
    "double_progression": gettext_lazy("Reps rise inside the range; at its top the load takes a step."),
    "effort_led": gettext_lazy("What the first set left in reserve says how much heavier or lighter it gets."),
    "percentage_waves": gettext_lazy("Your weeks of shares and reps on a working max, judged after each round."),
}


def policy_name(policy: str) -> str:
    return str(Progression.Policy(policy).label)


class PolicyForm(forms.Form):
    """The policy, and for waves the working max and the week that comes next."""

    use_required_attribute = False

    policy = forms.ChoiceField(label=gettext_lazy("How it progresses"), widget=forms.RadioSelect)
    source = forms.ChoiceField(
        label=gettext_lazy("Working max"),
        choices=[(TYPED, gettext_lazy("as typed")), (SHARE, gettext_lazy("a share of the estimated maximum"))],
        widget=forms.RadioSelect,
        initial=TYPED,
    )
    working_max = forms.CharField(label=gettext_lazy("Working max, typed"), max_length=12)
    percent = forms.IntegerField(
        label=gettext_lazy("Share of the estimate"),
        error_messages=dict.fromkeys(("invalid", "required"), SHARES),
    )
    week = forms.IntegerField(
        label=gettext_lazy("Week that comes next"),
        error_messages=dict.fromkeys(("invalid", "required"), gettext_lazy("Weeks are whole numbers from 1.")),
    )

    def __init__(self, data: Any = None, *, going: Going) -> None:
        self.going, steer = going, going.steer
        super().__init__(
            data,
            initial={
                "policy": steer.policy or USUAL,
                "source": TYPED,
                "working_max": "" if steer.working_max is None else wording.number(steer.working_max),
                "percent": round(100 * Decimal(str(steer.fraction))),
                "week": steer.week + 1,
            },
        )
        self.unit = steer.working_max_unit or going.unit
        usual = policy_name(going.usual)
        names = [(USUAL, _("As usual here: %(usual)s") % {"usual": usual})]
        names += [
            (code, f"{policy_name(code)[:1].upper()}{policy_name(code)[1:]}. {ABOUT[code]}")
            for code in ABOUT
            if code != "percentage_waves" or going.takes_waves
        ]
        policy: Any = self.fields["policy"]
        policy.choices = names
        if going.estimate is None:
            source: Any = self.fields["source"]
            source.choices = [(TYPED, _("as typed"))]
        for name in ("working_max", "percent", "week"):
            self.fields[name].width = "short"  # type: ignore[attr-defined]
            self.fields[name].widget.attrs.update({"inputmode": "decimal", "autocomplete": "off"})
        self.fields["working_max"].unit = self.unit  # type: ignore[attr-defined]
        self.fields["percent"].unit = "%"  # type: ignore[attr-defined]
        if not going.takes_waves:
            for name in ("source", "working_max", "percent", "week"):
                del self.fields[name]

    @property
    def waves(self) -> bool:
        """Whether waves are asked for."""
        chosen = self.cleaned_data if hasattr(self, "cleaned_data") else {}
        return chosen.get("policy") == Progression.Policy.WAVES

    def clean(self) -> dict[str, Any]:
        data: dict[str, Any] = super().clean() or {}
        data["policy"] = "" if data.get("policy") == USUAL else data.get("policy")
        if data["policy"] != Progression.Policy.WAVES:
            # What belongs to waves alone stands in no other policy's way.
            for name in ("source", "working_max", "percent", "week"):
                self.errors.pop(name, None)
            return data
        if (data.get("source") or TYPED) == TYPED:
            self.errors.pop("percent", None)
            self.errors.pop("working_max", None)
            data["max"] = self._typed(data.get("working_max", ""))
        else:
            self.errors.pop("working_max", None)
            if "percent" not in self.errors:
                data["max"] = self._share(data.get("percent"))
        return data

    def _typed(self, text: str) -> Load | None:
        value = read_number(text)
        if value is None or value <= 0:
            self.add_error("working_max", _("Write the working max as a number such as 100 or 102.5."))
            return None
        return Load(value, self.unit, text.strip())

    def _share(self, percent: int | None) -> Load | None:
        estimate = self.going.estimate
        if percent is None or not LEAST_FRACTION <= percent <= 100 or estimate is None:
            self.add_error("percent", SHARES)
            return None
        self.unit = self.going.unit
        return load_of(round(working_max(estimate, percent / 100), 1), self.going.unit)

    def week_within(self, weeks: int) -> bool:
        """Whether the week that comes next is one of them; says so beside its box where it is not."""
        week = self.cleaned_data.get("week")
        if week is not None and 1 <= week <= weeks:
            return True
        text = ngettext("The wave has %d week: write 1.", "The wave has %d weeks: write 1 to the last.", weeks) % weeks
        self.add_error("week", text)
        return False


class WaveSetForm(RowForm):
    """Sets of one week: how many, at which share of the working max, for how many reps."""

    tells: ClassVar = ("week", "percent", "reps")
    needs: ClassVar = ("week", "percent", "reps")

    week = forms.IntegerField(
        label=gettext_lazy("Week"), error_messages={"invalid": gettext_lazy("Weeks are whole numbers, 1 to 12.")}
    )
    count = forms.IntegerField(
        label=gettext_lazy("Sets"), error_messages={"invalid": gettext_lazy("Sets are whole numbers, 1 to 10.")}
    )
    percent = forms.DecimalField(
        label=gettext_lazy("% of max"),
        max_digits=5,
        decimal_places=1,
        localize=True,
        error_messages={"invalid": gettext_lazy("Shares are numbers, 30 to 100.")},
    )
    reps = forms.IntegerField(
        label=gettext_lazy("Reps"), error_messages={"invalid": gettext_lazy("Reps are whole numbers, 1 to 30.")}
    )
    open_ended = forms.BooleanField(label=gettext_lazy("Last open"))

    def clean_week(self) -> int | None:
        return self._within("week", 1, MOST_WEEKS, _("Weeks are whole numbers, 1 to 12."))

    def clean_count(self) -> int:
        return self._within("count", 1, MOST_SETS, _("Sets are whole numbers, 1 to 10.")) or 1

    def clean_percent(self) -> Decimal | None:
        return self._within("percent", LEAST_PERCENT, MOST_PERCENT, _("Shares are numbers, 30 to 100."))

    def clean_reps(self) -> int | None:
        return self._within("reps", 1, MOST_REPS, _("Reps are whole numbers, 1 to 30."))

    def _within(self, name: str, low: int, high: int, text: str) -> Any:
        value = self.cleaned_data[name]
        if value is not None and not low <= value <= high:
            raise ValidationError(text)
        return value


WaveRows = rows_of(WaveSetForm, spare=3)


def wave_rows(going: Going, data: Any = None) -> Any:
    return WaveRows(data, prefix=PREFIX, initial=None if data is not None else stored_rows(going.steer.weeks))


def stored_rows(weeks: list[list[Mapping[str, Any]]]) -> list[dict[str, Any]]:
    """The stored weeks as rows: like sets that follow each other in one, an open last one among them."""
    found: list[dict[str, Any]] = []
    for number, sets in enumerate(weeks, start=1):
        for index, one in enumerate(sets):
            last = found[-1] if index else None
            percent = round(100 * Decimal(str(one["share"])), 1).normalize() + Decimal(0)
            same = last is not None and (last["percent"], last["reps"], last["open_ended"]) == (
                percent,
                one["reps"],
                False,
            )
            if same and last is not None:
                last["count"] += 1
                last["open_ended"] = bool(one.get("open_ended"))
            else:
                found.append(
                    {
                        "week": number,
                        "count": 1,
                        "percent": percent,
                        "reps": one["reps"],
                        "open_ended": bool(one.get("open_ended")),
                    }
                )
    return found


def weeks_in(rows: Any) -> list[list[dict[str, Any]]] | None:
    """The weeks that valid rows say, from the first; None and an error on the table where one is left out."""
    found: dict[int, list[dict[str, Any]]] = defaultdict(list)
    for row in rows.filled:
        data = row.cleaned_data
        count = data["count"] or 1
        share = float(data["percent"]) / 100
        for index in range(count):
            open_ended = bool(data["open_ended"]) and index == count - 1
            found[data["week"]].append({"share": round(share, 4), "reps": data["reps"], "open_ended": open_ended})
    missing = [number for number in range(1, max(found, default=1) + 1) if number not in found]
    if missing:
        text = _("Write at least one row for week %(week)d.") % {"week": missing[0]}
        rows._non_form_errors.append(text)
        return None
    if any(len(sets) > MOST_SETS for sets in found.values()):
        rows._non_form_errors.append(_("A week has ten sets at most."))
        return None
    return [found[number] for number in sorted(found)]


def waves_of(form: PolicyForm, rows: Any) -> Waves | None:
    """What valid forms say of the waves; None where something is still wrong, which then stands beside its box."""
    weeks = weeks_in(rows)
    if weeks is None or not form.week_within(len(weeks)):
        return None
    percent = form.cleaned_data.get("percent") or round(100 * Decimal(str(form.going.steer.fraction)))
    fraction = Decimal(min(100, max(LEAST_FRACTION, int(percent)))) / 100
    return Waves(weeks, form.cleaned_data["max"], fraction, form.cleaned_data["week"] - 1)


class BaselineForm(forms.Form):
    """From which day on the history counts, and why."""

    baseline_on = DayField(label=gettext_lazy("From"))
    baseline_reason = forms.ChoiceField(
        label=gettext_lazy("Why"), choices=Progression.Baseline.choices, widget=forms.RadioSelect
    )

    def __init__(self, data: Any = None, *, going: Going) -> None:
        steer = going.steer
        super().__init__(
            data,
            initial={
                "baseline_on": steer.baseline_on or going.today,
                "baseline_reason": steer.baseline_reason or Progression.Baseline.TECHNIQUE,
            },
        )
        self.today: date = going.today
        self.fields["baseline_on"].latest = going.today  # type: ignore[attr-defined]
