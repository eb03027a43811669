"""API addresses of the schedule and the days worked."""

from django.urls import path
from rest_framework.routers import SimpleRouter

from pricing.calendar.api.calendar_links import CalendarLinks
from pricing.calendar.api.schedule import Promises, Schedule
from pricing.calendar.api.working_days import DaysOff, WorkingDays

router = SimpleRouter(use_regex_path=False)
router.register("commissions", Promises, "api-commissions")
router.register("calendar-links", CalendarLinks, "api-calendar-links")
router.register("days-off", DaysOff, "api-days-off")

urlpatterns = [
    path(
        "schedule/",
        Schedule.as_view({"get": "read"}, basename="api-schedule"),
        name="api-schedule",
    ),
    path(
        "working-days/",
        WorkingDays.as_view(
            {"get": "retrieve", "patch": "partial_update"}, basename="api-working-days"
        ),
        name="api-working-days",
    ),
    *router.urls,
]
