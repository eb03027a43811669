"""Pages of the schedule and the days worked."""

from django.urls import path

from pricing.calendar.views import schedule, working_days

urlpatterns = [
    path(
        "commissions/<int:number>/promise/", schedule.commission_promise, name="commission-promise"
    ),
    path(
        "commissions/<int:number>/promise/keep/",
        schedule.commission_promise_keep,
        name="commission-promise-keep",
    ),
    path("schedule/", schedule.schedule, name="schedule"),
    path("schedule/calendar/", schedule.calendar_link_new, name="calendar-link"),
    path(
        "schedule/calendar/<int:pk>/revoke/",
        schedule.calendar_link_revoke,
        name="calendar-link-revoke",
    ),
    path("calendar/<str:secret>.ics", schedule.calendar_feed_page, name="calendar-feed"),
    path("working-days/", working_days.working_days, name="working-days"),
    path("working-days/off/", working_days.days_off_new, name="days-off-new"),
    path("working-days/off/<int:pk>/remove/", working_days.day_off_remove, name="day-off-remove"),
]
