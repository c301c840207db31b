from typing import ClassVar

from django.db import models
from django.utils.translation import gettext_lazy as _

from clients.models.people import Client
from coachdesk.practice.models import Practice
from coachdesk.practice.owned import Owned, PublicId
from programs import labels
from programs.engine import vocabulary


class PlaceQuerySet(models.QuerySet["Place"]):
    def for_practice(self, practice: Practice) -> "PlaceQuerySet":
        return self.filter(practice=practice)


class Place(PublicId, Owned):
    """Where clients train: a room of the practice's, a hotel for a fortnight, somebody's kitchen."""

    practice = models.ForeignKey(Practice, on_delete=models.CASCADE, related_name="places")
    name = models.CharField(_("name"), max_length=60)
    unit = models.CharField(_("loads are marked in"), max_length=2, choices=Practice.Unit, default="kg")
    # A place of one client's own; empty for places that many use.
    owner = models.ForeignKey(Client, on_delete=models.CASCADE, null=True, blank=True, related_name="own_places")
    opens_on = models.DateField(_("from"), null=True, blank=True)
    closes_on = models.DateField(_("until"), null=True, blank=True)
    is_demo = models.BooleanField(default=False)

    objects = PlaceQuerySet.as_manager()

    class Meta:
        verbose_name = _("place")
        verbose_name_plural = _("places")
        ordering: ClassVar = ["name"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["practice", "name"], name="place_name_once_a_practice"),
        ]

    def __str__(self) -> str:
        return self.name


class Station(PublicId, Owned):
    """One piece of equipment and the loads it really offers.

    ``loads`` by kind (numbers as strings, so that nothing is rounded):
    plates on a bar or sled: {"bars": [{"name", "weight" or null, "unit"}], "plates": [{"weight", "unit", "count"}],
    "collars": "0", "sides": 2 (1 for a machine with one sleeve)}; dumbbells, kettlebells and loose plates:
    {"list": ["2", "4", ...]}; a stack: {"holes": ["5", "12", ...], "add_ons": ["2.3"]}; a pin without a unit:
    {"settings": 15}; bands, lightest first: {"bands": ["yellow", "green"]}. Stations that only have to be there
    have none.
    """

    practice_path = "place__practice"

    place = models.ForeignKey(Place, on_delete=models.CASCADE, related_name="stations")
    kind = models.CharField(_("kind"), max_length=40, choices=labels.choices(vocabulary.STATION_KINDS))
    name = models.CharField(_("name there"), max_length=60, blank=True)
    count = models.PositiveSmallIntegerField(_("how many"), default=1)
    unit = models.CharField(_("marked in"), max_length=8, default="kg")
    loads = models.JSONField(_("loads"), default=dict, blank=True)
    note = models.CharField(_("note"), max_length=120, blank=True)

    class Meta:
        verbose_name = _("station")
        verbose_name_plural = _("stations")
        ordering: ClassVar = ["pk"]

    def __str__(self) -> str:
        return self.name or self.get_kind_display()


class ClientItem(PublicId, Owned):
    """Something a client brings along: a pair of small plates, a band, a belt."""

    practice_path = "client__practice"

    client = models.ForeignKey(Client, on_delete=models.CASCADE, related_name="items")
    kind = models.CharField(_("kind"), max_length=40, choices=labels.choices(vocabulary.STATION_KINDS))
    loads = models.JSONField(_("loads"), default=dict, blank=True)

    def __str__(self) -> str:
        return self.get_kind_display()


class StationAbsence(Owned):
    """Not here today: a station, or some of its plates, that can't be counted on for a day."""

    practice_path = "station__place__practice"

    station = models.ForeignKey(Station, on_delete=models.CASCADE, related_name="absences")
    day = models.DateField()
    plates = models.JSONField(default=list, blank=True)  # empty: the whole station

    class Meta:
        constraints: ClassVar = [models.UniqueConstraint(fields=["station", "day"], name="station_absence_once")]

    def __str__(self) -> str:
        return f"{self.station_id} {self.day}"
