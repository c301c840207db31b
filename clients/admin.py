"""Tables for support work. Health tables are left out on purpose: they have their own permission and trail."""

from django.contrib import admin

from clients import models


@admin.register(models.Client)
class ClientAdmin(admin.ModelAdmin):
    list_display = ("name", "practice", "coach", "status", "experience", "intake_step")
    list_filter = ("practice", "status", "experience")
    search_fields = ("name", "public_id")
    list_select_related = ("practice", "coach")
    readonly_fields = ("public_id",)
    raw_id_fields = ("practice", "coach", "place", "outline")


class StationInline(admin.TabularInline):
    model = models.Station
    extra = 0
    fields = ("kind", "name", "count", "unit", "loads", "note")


@admin.register(models.Place)
class PlaceAdmin(admin.ModelAdmin):
    list_display = ("name", "practice", "unit", "opens_on", "closes_on")
    list_filter = ("practice",)
    search_fields = ("name", "public_id")
    list_select_related = ("practice",)
    raw_id_fields = ("practice", "owner")
    inlines = (StationInline,)


@admin.register(models.Block)
class BlockAdmin(admin.ModelAdmin):
    list_display = ("client", "number", "outline", "starts_on", "weeks", "state")
    list_filter = ("state", "client__practice")
    search_fields = ("client__name", "public_id")
    list_select_related = ("client", "outline")
    raw_id_fields = ("client", "outline", "place")


@admin.register(models.TrainingSession)
class TrainingSessionAdmin(admin.ModelAdmin):
    list_display = ("name", "block", "cycle", "position", "planned_on", "state", "trained_on")
    list_filter = ("state", "deload")
    search_fields = ("block__client__name", "public_id")
    list_select_related = ("block",)
    raw_id_fields = ("block",)


@admin.register(models.Draft)
class DraftAdmin(admin.ModelAdmin):
    list_display = ("client", "outline", "starts_on", "weeks", "revision", "state")
    list_filter = ("state",)
    search_fields = ("client__name", "public_id")
    list_select_related = ("client", "outline")
    raw_id_fields = ("client", "outline", "place")


class HandedOut(admin.ModelAdmin):
    """What was handed out, logged or decided is looked at here and changed nowhere but in the application."""

    def has_add_permission(self, request: object) -> bool:
        return False

    def has_change_permission(self, request: object, obj: object = None) -> bool:
        return False

    def has_delete_permission(self, request: object, obj: object = None) -> bool:
        return False


@admin.register(models.SheetVersion)
class SheetVersionAdmin(HandedOut):
    list_display = ("session", "number", "state", "issued_at", "issued_by")
    list_filter = ("state",)
    search_fields = ("session__block__client__name", "public_id")
    list_select_related = ("session", "issued_by")


@admin.register(models.LoggedSet)
class LoggedSetAdmin(HandedOut):
    list_display = ("client", "exercise", "reps", "load_value", "load_unit", "performed_on", "way", "state")
    list_filter = ("way", "state")
    search_fields = ("client__name", "key", "public_id")
    list_select_related = ("client", "exercise")
    date_hierarchy = "performed_on"


@admin.register(models.Original)
class OriginalAdmin(HandedOut):
    list_display = ("client", "way", "received_at", "received_by")
    list_filter = ("way",)
    list_select_related = ("client", "received_by")


@admin.register(models.Proposal)
class ProposalAdmin(HandedOut):
    list_display = ("client", "exercise", "kind", "state", "made_at", "decided_by")
    list_filter = ("state", "kind")
    list_select_related = ("client", "exercise", "decided_by")


@admin.register(models.ClientLink)
class ClientLinkAdmin(HandedOut):
    list_display = ("client", "revision", "expires_at", "revoked_at")
    exclude = ("token_hash",)
    list_select_related = ("client",)
