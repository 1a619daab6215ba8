"""Addresses of the desk."""

from django.urls import path

from shop.desk import persons, scanning, views

urlpatterns = [
    path("receive/", views.receive, name="receive"),
    path("receive/hints/", views.hints, name="receive-hints"),
    path("owners/", persons.owners, name="owners"),
    path("owners/<int:key>/", persons.owner, name="owner"),
    path("owners/<int:key>/change/", persons.change, name="owner-change"),
    path("owners/<int:key>/data/", persons.data, name="owner-data"),
    path("scan/", scanning.scan, name="scan"),
]
