"""Addresses of taking a unit in."""

from django.urls import path

from shop.intake import announced_views, correcting_views, views

urlpatterns = [
    path("receive/", views.receive, name="receive"),
    path("receive/hints/", views.hints, name="receive-hints"),
    path("receive/models/", views.models, name="receive-models"),
    path("receive/pictures/<int:key>/", views.draft, name="picture-draft"),
    path("announced/", announced_views.announced, name="announced"),
    path("announced/<int:key>/", announced_views.announcement, name="announcement"),
    path("announced/<int:key>/change/", announced_views.change, name="announcement-change"),
    path("announced/<int:key>/drop/", announced_views.drop, name="announcement-drop"),
    path("jobs/<int:number>/intake/", correcting_views.correct, name="correct-intake"),
]
