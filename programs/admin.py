"""Tables for support work on libraries and templates."""

from typing import Any, ClassVar

from django.contrib import admin
from django.db.models import URLField

from programs import models


class RegionInline(admin.TabularInline):
    model = models.ExerciseRegion
    extra = 0


class JointInline(admin.TabularInline):
    model = models.ExerciseJoint
    extra = 0


class TextInline(admin.StackedInline):
    model = models.ExerciseText
    extra = 0


@admin.register(models.Exercise)
class ExerciseAdmin(admin.ModelAdmin):
    list_display = ("name", "practice", "pattern", "implement", "load_entry", "seed_key", "hidden_at")
    list_filter = ("practice", "pattern", "implement", "load_entry")
    search_fields = ("name", "seed_key", "public_id")
    list_select_related = ("practice",)
    readonly_fields = ("public_id",)
    raw_id_fields = ("practice", "photo", "merged_into")
    formfield_overrides: ClassVar[dict[type, dict[str, Any]]] = {URLField: {"assume_scheme": "https"}}
    inlines = (RegionInline, JointInline, TextInline)


class DayInline(admin.TabularInline):
    model = models.OutlineDay
    extra = 0


@admin.register(models.Outline)
class OutlineAdmin(admin.ModelAdmin):
    list_display = ("name", "practice", "version", "seed_key", "archived_at")
    list_filter = ("practice",)
    search_fields = ("name", "seed_key", "public_id")
    list_select_related = ("practice",)
    raw_id_fields = ("practice", "replaced_by")
    inlines = (DayInline,)


class CandidateInline(admin.TabularInline):
    model = models.SlotCandidate
    extra = 0
    raw_id_fields = ("exercise",)


@admin.register(models.OutlineSlot)
class OutlineSlotAdmin(admin.ModelAdmin):
    list_display = ("title", "day", "position", "region", "role")
    search_fields = ("title", "key", "day__outline__name")
    list_select_related = ("day__outline",)
    raw_id_fields = ("day",)
    inlines = (CandidateInline,)
