"""The ledger and what hangs on it in Django's admin: to read, never to edit."""

from django.contrib import admin
from django.db.models import Model, QuerySet
from django.http import HttpRequest

from inventory.models import (
    AlertMail,
    AlertNotice,
    Batch,
    Bottle,
    CostingChange,
    DayUse,
    Delivery,
    Entry,
    Hold,
    Material,
    Movement,
    PurchaseOrder,
    ReplacementCost,
    ShelfCount,
    ShelfCountLine,
)


class ReadOnly:
    """Stock is moved and reversed through the services, which keep the books in agreement."""

    def has_add_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        return False


class ReadOnlyAdmin(ReadOnly, admin.ModelAdmin):
    list_filter = ["studio"]
    list_per_page = 50
    show_full_result_count = False


class MovementInline(ReadOnly, admin.TabularInline):
    model = Movement
    extra = 0
    fields = ["kind", "bottle", "quantity", "value"]

    def get_queryset(self, request: HttpRequest) -> QuerySet[Movement]:
        return super().get_queryset(request).select_related("bottle__material", "material")


@admin.register(Entry)
class EntryAdmin(ReadOnlyAdmin):
    list_display = [
        "id",
        "studio",
        "happened_at",
        "booked_on",
        "recorded_at",
        "by",
        "purpose",
        "why",
        "reverses",
    ]
    list_select_related = ["studio", "by", "reverses"]
    search_fields = ["purpose", "why"]
    inlines = [MovementInline]


@admin.register(Movement)
class MovementAdmin(ReadOnlyAdmin):
    list_display = ["id", "studio", "kind", "bottle", "quantity", "value", "entry"]
    list_select_related = ["studio", "bottle__material", "entry"]
    list_filter = ["kind", "studio"]
    search_fields = ["bottle__code", "material__name"]


@admin.register(Bottle)
class BottleAdmin(ReadOnlyAdmin):
    list_display = ["code", "studio", "material", "remaining", "value", "expires_on", "place"]
    list_select_related = ["studio", "material"]
    search_fields = ["code", "material__name"]


@admin.register(Batch)
class BatchAdmin(ReadOnlyAdmin):
    list_display = ["made_at", "studio", "recipe", "volume_ml", "bottle", "entry"]
    list_select_related = ["studio", "recipe", "bottle__material", "entry"]
    search_fields = ["recipe__name"]


@admin.register(Material)
class MaterialAdmin(ReadOnlyAdmin):
    list_display = ["name", "studio", "kind", "on_hand", "unit", "value"]
    list_select_related = ["studio"]
    search_fields = ["name"]


@admin.register(DayUse)
class DayUseAdmin(ReadOnlyAdmin):
    list_display = ["day", "studio", "material", "quantity"]
    list_select_related = ["studio", "material"]
    search_fields = ["material__name"]


@admin.register(ReplacementCost)
class ReplacementCostAdmin(ReadOnlyAdmin):
    list_display = ["material", "studio", "unit_cost", "source", "made_on"]
    list_select_related = ["studio", "material"]
    search_fields = ["material__name"]


@admin.register(Hold)
class HoldAdmin(ReadOnlyAdmin):
    list_display = ["label", "studio", "material", "quantity", "used", "needed_by", "released_at"]
    list_select_related = ["studio", "material"]
    search_fields = ["label"]


@admin.register(Delivery)
class DeliveryAdmin(ReadOnlyAdmin):
    list_display = ["received_on", "studio", "supplier", "order", "reference", "entry"]
    list_select_related = ["studio", "supplier", "order", "entry"]
    search_fields = ["reference"]


@admin.register(PurchaseOrder)
class PurchaseOrderAdmin(ReadOnlyAdmin):
    list_display = ["number", "studio", "supplier", "status", "sent_on", "expected_on"]
    list_select_related = ["studio", "supplier"]


@admin.register(CostingChange)
class CostingChangeAdmin(ReadOnlyAdmin):
    list_display = [
        "from_day",
        "studio",
        "before",
        "method",
        "by",
        "took_effect_at",
        "withdrawn_at",
    ]
    list_select_related = ["studio", "by"]


@admin.register(ShelfCount)
class ShelfCountAdmin(ReadOnlyAdmin):
    list_display = ["number", "studio", "place", "status", "started_at", "started_by", "ended_at"]
    list_select_related = ["studio", "started_by"]
    list_filter = ["status", "studio"]


@admin.register(ShelfCountLine)
class ShelfCountLineAdmin(ReadOnlyAdmin):
    list_display = ["count", "position", "bottle", "expected", "counted", "entry", "left_out", "at"]
    list_select_related = ["count", "bottle__material", "entry"]
    list_filter = ["count__studio"]
    search_fields = ["bottle__code", "bottle__material__name"]


class AlertNoticeInline(ReadOnly, admin.TabularInline):
    model = AlertNotice
    extra = 0
    fields = ["title", "severity", "told_at", "resolved_at"]


@admin.register(AlertMail)
class AlertMailAdmin(ReadOnly, admin.ModelAdmin):
    list_display = ["membership", "wanted"]
    list_select_related = ["membership__user", "membership__studio"]
    list_per_page = 50
    show_full_result_count = False
    inlines = [AlertNoticeInline]
