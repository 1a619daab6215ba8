"""Addresses of the desk."""

from django.urls import path

from shop.desk import scanning, views

urlpatterns = [
    path("receive/", views.receive, name="receive"),
    path("scan/", scanning.scan, name="scan"),
]
