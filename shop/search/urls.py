"""Addresses of the search."""

from django.urls import path

from shop.search import scan_views, views

urlpatterns = [
    path("search/", views.search, name="search"),
    path("jobs/<int:number>/similar/", views.similar, name="similar"),
    path("scan/", scan_views.scan, name="scan"),
    path("scan/picture/", scan_views.scan_picture, name="scan-picture"),
]
