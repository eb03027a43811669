"""Every address: pages, the API, and Django's own admin."""

from django.contrib import admin
from django.urls import include, path

from studio.views import account, background, health, people, preferences, searching, tokens

urlpatterns = [
    path("health/live", health.live, name="health-live"),
    path("health/ready", health.ready, name="health-ready"),
    path("sign-in/", account.sign_in, name="sign-in"),
    path("sign-out/", account.sign_out, name="sign-out"),
    path("password/", account.password, name="password"),
    path("password/forgotten/", account.forgotten, name="forgotten-password"),
    path("password/new/<uidb64>/<token>/", account.new_password, name="new-password"),
    path("start/", account.start, name="start"),
    path("no-studio/", account.no_studio, name="no-studio"),
    path("studios/", account.studios, name="studios"),
    path("studios/<int:pk>/enter/", account.switch_studio, name="switch-studio"),
    path("search/", searching.search_page, name="search"),
    path("more/", account.more, name="more"),
    path("safety/", account.safety, name="safety"),
    path("background/", background.background, name="background"),
    path("background/<int:pk>/", background.task_page, name="background-task"),
    path("background/<int:pk>/file/", background.task_file, name="background-file"),
    path("background/mails/<int:pk>/again/", background.try_mail_again, name="mail-again"),
    path("background/mails/<int:pk>/give-up/", background.throw_mail_away, name="mail-give-up"),
    path("background/jobs/<uuid:key>/again/", background.try_job_again, name="job-again"),
    path("settings/", preferences.studio_settings, name="studio-settings"),
    path("people/", people.people_page, name="people"),
    path("people/invite/", people.invite, name="invite"),
    path("people/<int:pk>/role/", people.change_role, name="change-role"),
    path("people/<int:pk>/remove/", people.remove_member, name="remove-member"),
    path(
        "people/invitations/<int:pk>/withdraw/",
        people.withdraw_invitation,
        name="withdraw-invitation",
    ),
    path("join/<str:secret>/", people.join, name="join"),
    path("tokens/", tokens.tokens_page, name="tokens"),
    path("tokens/revoke/", tokens.revoke_token, name="revoke-token"),
    path("api/v1/", include("studio.api.urls")),
    path("api/v1/", include("inventory.api.urls")),
    path("api/v1/", include("pricing.api.urls")),
    path("admin/", admin.site.urls),
    path("", include("inventory.urls")),
    path("", include("pricing.urls")),
]

handler500 = "studio.views.faults.server_error"
