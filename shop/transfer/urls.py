"""Addresses of the export."""

from django.urls import path
from django.views.generic import RedirectView

from shop.transfer import views

# The addresses of before, without names: nothing links to them.
_to_export = RedirectView.as_view(pattern_name="export")

urlpatterns = [
    path("export/", views.export_page, name="export"),
    path("export/download/", views.download, name="export-download"),
    path("carry/", _to_export),
    path("carry/everything/", _to_export),
]
