"""Addresses of taking a unit in."""

from django.urls import path

from shop.intake import correcting_views, views

urlpatterns = [
    path("receive/", views.receive, name="receive"),
    path("receive/hints/", views.hints, name="receive-hints"),
    path("receive/models/", views.models, name="receive-models"),
    path("receive/pictures/<int:key>/", views.draft, name="picture-draft"),
    path("jobs/<int:number>/intake/", correcting_views.correct, name="correct-intake"),
]
