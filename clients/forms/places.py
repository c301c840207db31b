"""Forms of places, their stations and what clients bring along."""

from abc import abstractmethod
from decimal import Decimal
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.forms.fields import DayField, RowForm, rows_of
from clients.forms.loads import read_loads, read_plates, text_of, write_loads
from clients.models import Client, ClientItem, Place, Station
from coachdesk.practice.models import Practice
from programs import labels
from programs.engine import vocabulary
from programs.units import read_number

UNITS = [("kg", gettext_lazy("kg")), ("lb", gettext_lazy("lb"))]
FREE_BARS = ("barbell", "trap_bar", "curl_bar", "safety_squat_bar", "neutral_grip_bar")
LISTED = ("dumbbell", "kettlebell", "plate", "sandbag", "medicine_ball")
# These come with a stack in one room and with sleeves for plates in another.
MACHINES = tuple(
    kind for kind in vocabulary.LOADED_STATIONS if kind not in (*FREE_BARS, *LISTED, "smith_machine", "cable", "band")
)
MOST_BANDS = 12
MOST_SETTINGS = 60


def way_of(kind: str, loads: dict[str, Any] | None = None, wanted: str = "") -> str:
    """How a kind's loads are given: "plates", "list", "stack", "bands" or "" for what only has to be there."""
    if kind in MACHINES:
        if wanted in ("plates", "stack"):
            return wanted
        if loads:
            return "plates" if "plates" in loads or "bars" in loads else "stack"
    if kind in vocabulary.PLATE_LOADED:
        return "plates"
    if kind in LISTED:
        return "list"
    if kind == "band":
        return "bands"
    return "stack" if kind in vocabulary.LOADED_STATIONS else ""


class PlaceForm(forms.ModelForm):
    """A place: for everybody, for one client, for good or for a while."""

    opens_on = DayField(label=gettext_lazy("From"), required=False)
    closes_on = DayField(
        label=gettext_lazy("Until"), required=False, help_text=gettext_lazy("For a holiday flat or a hotel.")
    )

    class Meta:
        model = Place
        fields = ("name", "unit", "owner", "opens_on", "closes_on")
        labels: ClassVar = {
            "name": gettext_lazy("Name"),
            "unit": gettext_lazy("Loads are marked in"),
            "owner": gettext_lazy("Only for"),
        }

    def __init__(self, *args: Any, practice: Practice, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.practice = practice
        owner: Any = self.fields["owner"]
        owner.queryset = Client.objects.for_practice(practice).exclude(status=Client.Status.LEFT)
        owner.empty_label = _("everybody")

    def clean_name(self) -> str:
        name = " ".join(self.cleaned_data["name"].split())
        others = Place.objects.for_practice(self.practice).filter(name__iexact=name).exclude(pk=self.instance.pk)
        if others.exists():
            raise ValidationError(_("There is a place of this name already."))
        return name

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        opens, closes = data.get("opens_on"), data.get("closes_on")
        if opens and closes and closes < opens:
            self.add_error("closes_on", _("It ends before it starts."))
        return data


class StationForm(forms.Form):
    """What a station is called there, and how many there are."""

    name = forms.CharField(
        label=gettext_lazy("Name there"),
        required=False,
        max_length=60,
        help_text=gettext_lazy("What the sheet calls it, such as “left cable” or “old leg press”."),
    )
    count = forms.IntegerField(
        label=gettext_lazy("How many"), initial=1, validators=[MinValueValidator(1), MaxValueValidator(50)]
    )
    note = forms.CharField(label=gettext_lazy("Note"), required=False, max_length=120)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["count"].width = "short"  # type: ignore[attr-defined]


class LoadsForm(forms.Form):
    """The part of a station's form that fits its loads. ``loads`` gives them as stored, ``unit`` what they are in."""

    unit = forms.ChoiceField(label=gettext_lazy("Marked in"), choices=UNITS)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["unit"].width = "short"  # type: ignore[attr-defined]

    @staticmethod
    @abstractmethod
    def initial_of(loads: dict[str, Any]) -> dict[str, Any]:
        """What the fields show for loads as they are stored."""

    @property
    @abstractmethod
    def loads(self) -> dict[str, Any]:
        """What the fields hold, as loads are stored."""


class ListForm(LoadsForm):
    """Dumbbells, kettlebells, loose plates: exactly these."""

    weights = forms.CharField(
        label=gettext_lazy("Which there are"),
        max_length=600,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=gettext_lazy("One of a pair: 2–20 by 2, 22.5, 25"),
    )

    field_order = ("weights", "unit")

    @staticmethod
    def initial_of(loads: dict[str, Any]) -> dict[str, Any]:
        return {"weights": write_loads(loads.get("list", []))}

    def clean_weights(self) -> list[Decimal]:
        return read_loads(self.cleaned_data["weights"])

    @property
    def loads(self) -> dict[str, Any]:
        return {"list": [text_of(weight) for weight in self.cleaned_data["weights"]]}


class StackForm(LoadsForm):
    """A pin stack: weights in its holes and small add-ons, or holes that are only numbered."""

    marked = forms.ChoiceField(
        label=gettext_lazy("The plates of the stack show"),
        choices=[("weights", gettext_lazy("weights")), ("numbers", gettext_lazy("numbers without a unit"))],
        initial="weights",
        widget=forms.RadioSelect,
    )
    holes = forms.CharField(
        label=gettext_lazy("Weights, hole by hole"),
        required=False,
        max_length=600,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=gettext_lazy("As they are written on it: 5, 12, 19 or 5–75 by 5"),
    )
    add_ons = forms.CharField(
        label=gettext_lazy("Small weights to put on top"),
        required=False,
        max_length=60,
        help_text=gettext_lazy("Each counts once: 2.3, 4.5"),
    )
    settings = forms.IntegerField(
        label=gettext_lazy("How many numbers"),
        required=False,
        validators=[MinValueValidator(2), MaxValueValidator(MOST_SETTINGS)],
    )

    field_order = ("marked", "holes", "add_ons", "unit", "settings")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["settings"].width = "short"  # type: ignore[attr-defined]

    @staticmethod
    def initial_of(loads: dict[str, Any]) -> dict[str, Any]:
        if "settings" in loads:
            return {"marked": "numbers", "settings": loads["settings"]}
        return {
            "marked": "weights",
            "holes": write_loads(loads.get("holes", [])),
            "add_ons": write_loads(loads.get("add_ons", [])),
        }

    def clean_holes(self) -> list[Decimal]:
        return read_loads(self.cleaned_data["holes"])

    def clean_add_ons(self) -> list[Decimal]:
        add_ons = read_loads(self.cleaned_data["add_ons"])
        if len(add_ons) > 4:
            raise ValidationError(_("At most four."))
        return add_ons

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if data.get("marked") == "numbers":
            if not data.get("settings") and "settings" not in self.errors:
                self.add_error("settings", _("Write how many numbers the stack has."))
        elif not data.get("holes") and "holes" not in self.errors:
            self.add_error("holes", _("Write the weights that stand on the stack."))
        return data

    @property
    def loads(self) -> dict[str, Any]:
        if self.cleaned_data["marked"] == "numbers":
            return {"settings": self.cleaned_data["settings"]}
        loads = {"holes": [text_of(weight) for weight in self.cleaned_data["holes"]]}
        if self.cleaned_data["add_ons"]:
            loads["add_ons"] = [text_of(weight) for weight in self.cleaned_data["add_ons"]]
        return loads


class BandsForm(forms.Form):
    """Bands by name, from the lightest to the strongest."""

    bands = forms.CharField(
        label=gettext_lazy("Bands, lightest first"),
        max_length=600,
        widget=forms.Textarea(attrs={"rows": 5}),
        help_text=gettext_lazy("One a line. Colours differ between makers, so the order is what counts."),
    )

    @staticmethod
    def initial_of(loads: dict[str, Any]) -> dict[str, Any]:
        return {"bands": "\n".join(loads.get("bands", []))}

    def clean_bands(self) -> list[str]:
        names = [" ".join(line.split()) for line in self.cleaned_data["bands"].splitlines() if line.strip()]
        if len(names) != len(set(names)):
            raise ValidationError(_("Two bands have the same name."))
        if len(names) > MOST_BANDS:
            raise ValidationError(_("At most %d bands.") % MOST_BANDS)
        return names

    @property
    def loads(self) -> dict[str, Any]:
        return {"bands": self.cleaned_data["bands"]}


class PlatesForm(forms.Form):
    """What goes with bars and plates: collars, and on how many sleeves plates go."""

    collars = forms.CharField(
        label=gettext_lazy("Collars, both together"),
        required=False,
        max_length=8,
        help_text=gettext_lazy("In the unit of the first bar; empty when they are left off or weigh next to nothing."),
    )
    sides = forms.TypedChoiceField(
        label=gettext_lazy("Plates go on"),
        coerce=int,
        choices=[("2", gettext_lazy("two sleeves, alike")), ("1", gettext_lazy("one sleeve"))],
        initial="2",
        widget=forms.RadioSelect,
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["collars"].width = "short"  # type: ignore[attr-defined]

    @staticmethod
    def initial_of(loads: dict[str, Any]) -> dict[str, Any]:
        collars = str(loads.get("collars") or "")
        return {"collars": "" if collars == "0" else collars, "sides": str(loads.get("sides") or 2)}

    def clean_collars(self) -> str:
        typed = self.cleaned_data["collars"].strip()
        if not typed:
            return "0"
        number = read_number(typed)
        if number is None or not 0 <= number <= 20:
            raise ValidationError(_("Write a weight between 0 and 20."))
        return text_of(number)

    @property
    def loads(self) -> dict[str, Any]:
        sides = {"sides": 1} if self.cleaned_data["sides"] == 1 else {}
        return {"collars": self.cleaned_data["collars"], **sides}


class WeightRow(RowForm):
    """A weight with its unit."""

    weight = forms.CharField(
        label=gettext_lazy("weight"),
        max_length=8,
        widget=forms.TextInput({"inputmode": "decimal", "autocomplete": "off"}),
    )
    unit = forms.ChoiceField(label=gettext_lazy("unit"), choices=UNITS)

    def __init__(self, *args: Any, unit: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["unit"].initial = unit
        self.usual_unit = unit

    def read_weight(self) -> str | None:
        typed = self.cleaned_data.get("weight", "").strip()
        if typed in ("", "?"):
            return None
        number = read_number(typed)
        if number is None or not 0 < number <= 500:
            raise ValidationError(_("Write a weight between 0 and 500, or leave it empty when nobody knows."))
        return text_of(number)


class BarRow(WeightRow):
    """A bar, or the sled of a machine. Without a weight plates alone are counted, and the sheet says so."""

    tells = ("name", "weight")

    name = forms.CharField(label=gettext_lazy("bar or sled"), max_length=40)

    field_order = ("name", "weight", "unit")

    def clean_weight(self) -> str | None:
        return self.read_weight()

    @property
    def bar(self) -> dict[str, Any]:
        data = self.cleaned_data
        return {
            "name": data["name"] or _("bar"),
            "weight": data["weight"],
            "unit": data["unit"] or self.usual_unit,
        }


class PlateRow(WeightRow):
    """One size of plate: how many single plates there are."""

    tells = ("weight", "count")
    needs = ("weight", "count")

    count = forms.IntegerField(
        label=gettext_lazy("single plates"), validators=[MinValueValidator(1), MaxValueValidator(200)]
    )

    def clean_weight(self) -> str | None:
        return self.read_weight()

    @property
    def plate(self) -> dict[str, Any]:
        data = self.cleaned_data
        return {"weight": data["weight"], "unit": data["unit"] or self.usual_unit, "count": data["count"]}


class ApparatusForm(forms.Form):
    """What only has to be there, as one list of ticks."""

    here = forms.MultipleChoiceField(
        label=gettext_lazy("Just there"),
        required=False,
        choices=labels.choices(vocabulary.APPARATUS),
        widget=forms.CheckboxSelectMultiple,
    )


class AwayForm(forms.Form):
    """Not here on a day: the whole station, or some of its plates."""

    day = DayField(label=gettext_lazy("Day"))
    plates = forms.CharField(
        label=gettext_lazy("Only these plates"),
        required=False,
        max_length=120,
        help_text=gettext_lazy("Weight and number: 1.25 × 2. Empty means the whole station."),
    )

    def __init__(self, *args: Any, station: Station, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.station = station
        if "plates" not in station.loads:
            del self.fields["plates"]

    def clean_plates(self) -> list[dict[str, object]]:
        rows = read_plates(self.cleaned_data["plates"], self.station.unit)
        there = {(Decimal(row["weight"]), row["unit"]) for row in self.station.loads["plates"]}
        for row in rows:
            if (Decimal(str(row["weight"])), row["unit"]) not in there:
                raise ValidationError(_("There is no plate of %(weight)s %(unit)s here.") % row)
        return rows


class ItemForm(forms.Form):
    """Something a client brings along."""

    KINDS: ClassVar = ("plate", *(kind for kind in LISTED if kind != "plate"), "band", *vocabulary.APPARATUS)

    kind = forms.ChoiceField(label=gettext_lazy("What"), choices=[])
    loads = forms.CharField(
        label=gettext_lazy("Which"),
        required=False,
        max_length=200,
        help_text=gettext_lazy("Plates: 0.5 × 2. Dumbbells: 2–10 by 2. Bands, lightest first: yellow, green."),
    )

    def __init__(self, *args: Any, unit: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.unit = unit
        choice: Any = self.fields["kind"]
        choice.choices = labels.choices(self.KINDS)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        kind, typed = str(data.get("kind", "")), str(data.get("loads", ""))
        try:
            data["stored"] = self._stored(kind, typed)
        except ValidationError as error:
            self.add_error("loads", error)
        return data

    def _stored(self, kind: str, typed: str) -> dict[str, Any]:
        if kind not in (*LISTED, "band"):
            return {}
        if not typed.strip():
            raise ValidationError(_("Say which ones."))
        if kind == "plate":
            plates = read_plates(typed, self.unit)
            return {"plates": plates, "list": [row["weight"] for row in plates]}
        if kind == "band":
            return {"bands": [" ".join(name.split()) for name in typed.replace(";", ",").split(",") if name.strip()]}
        return {"list": [text_of(weight) for weight in read_loads(typed)], "unit": self.unit}

    def item(self, client: Client) -> ClientItem:
        return ClientItem(client=client, kind=self.cleaned_data["kind"], loads=self.cleaned_data["stored"])


BarRows = rows_of(BarRow, spare=2)
PlateRows = rows_of(PlateRow, spare=3)
LOADS_FORMS: dict[str, type[Any]] = {"list": ListForm, "stack": StackForm, "bands": BandsForm, "plates": PlatesForm}
