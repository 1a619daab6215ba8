"""All addresses."""

from allauth.account.decorators import secure_admin_login
from django.contrib import admin
from django.urls import include, path, re_path

from shop.api import docs_views, token_views
from shop.api.middleware import nothing_here
from shop.site import health, metrics

# The administration has no door of its own past the second factor.
admin.site.login = secure_admin_login(admin.site.login)  # type: ignore[method-assign]

urlpatterns = [
    path("", include("shop.pages.home.urls")),
    path("", include("shop.pages.job.urls")),
    path("", include("shop.jobs.urls")),
    path("", include("shop.pages.rules.urls")),
    path("", include("shop.pages.settings.urls")),
    path("", include("shop.pages.first_run.urls")),
    path("", include("shop.pages.offline.urls")),
    path("", include("shop.pages.trust.urls")),
    path("", include("shop.parts.urls")),
    path("", include("shop.instruments.urls")),
    path("", include("shop.manuals.urls")),
    path("", include("shop.model_sheets.urls")),
    path("", include("shop.planning.urls")),
    path("", include("shop.pages.calculators.urls")),
    path("", include("shop.photos.urls")),
    path("", include("shop.timers.urls")),
    path("", include("shop.outlets.urls")),
    path("", include("shop.sound.urls")),
    path("", include("shop.documents.urls")),
    path("", include("shop.intake.urls")),
    path("", include("shop.customers.urls")),
    path("", include("shop.estimates.urls")),
    path("", include("shop.bills.urls")),
    path("", include("shop.calendars.urls")),
    path("", include("shop.search.urls")),
    path("", include("shop.pages.customer.urls")),
    path("", include("shop.messages.urls")),
    path("", include("shop.push.urls")),
    path("", include("shop.reminders.urls")),
    path("", include("shop.transfer.urls")),
    path("", include("shop.webhooks.urls")),
    path("account/tokens/", token_views.tokens, name="tokens"),
    path("account/tokens/make/", token_views.make_token, name="make-token"),
    path("account/tokens/<int:number>/revoke/", token_views.revoke_token, name="revoke-token"),
    path("api-docs/", docs_views.api_docs, name="api-docs"),
    path("api/v1/", include("shop.api.urls")),
    re_path("^api(?:/.*)?$", nothing_here),
    path("healthz/live", health.live, name="live"),
    path("healthz/ready", health.ready, name="ready"),
    path("metrics", metrics.metrics, name="metrics"),
    path("", include("shop.accounts.urls")),
    path("admin/", admin.site.urls),
]
