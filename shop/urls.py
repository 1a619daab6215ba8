"""All addresses."""

from allauth.account.decorators import secure_admin_login
from django.contrib import admin
from django.urls import include, path

from shop import health, metrics
from shop.lib import tour

# The administration has no door of its own past the second factor.
admin.site.login = secure_admin_login(admin.site.login)  # type: ignore[method-assign]

urlpatterns = [
    path("", include("shop.watch.urls")),
    path("", include("shop.jobs.urls")),
    path("", include("shop.parts.urls")),
    path("", include("shop.backlog.urls")),
    path("", include("shop.measure.urls")),
    path("", include("shop.photos.urls")),
    path("", include("shop.papers.urls")),
    path("", include("shop.desk.urls")),
    path("", include("shop.estimates.urls")),
    path("", include("shop.search.urls")),
    path("", include("shop.link.urls")),
    path("", include("shop.post.urls")),
    path("", include("shop.carry.urls")),
    path("api/v1/", include("shop.api.urls")),
    path("healthz/live", health.live, name="live"),
    path("healthz/ready", health.ready, name="ready"),
    path("metrics", metrics.metrics, name="metrics"),
    path("", include("shop.accounts.urls")),
    path("tour/", tour.put_away, name="tour"),
    path("admin/", admin.site.urls),
]
