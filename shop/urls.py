"""All addresses."""

from django.contrib import admin
from django.contrib.auth import views as auth
from django.urls import include, path

from shop import health, metrics

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
    path("sign-in/", auth.LoginView.as_view(template_name="people/sign_in.html"), name="sign-in"),
    path("sign-out/", auth.LogoutView.as_view(), name="sign-out"),
    path("admin/", admin.site.urls),
]
