"""Addresses of the service worker and of what is kept."""

from django.urls import path

from shop.pages.offline import views

urlpatterns = [
    path("offline/", views.offline, name="offline"),
    # At the root: a worker looks after the addresses below its own.
    path("service-worker.js", views.service_worker, name="service-worker"),
]
