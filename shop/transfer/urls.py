"""Addresses of the export."""

from django.urls import path
from django.views.generic import RedirectView

from shop.transfer import import_views, views

# The addresses of before, without names: nothing links to them.
_to_export = RedirectView.as_view(pattern_name="export")

urlpatterns = [
    path("export/", views.export_page, name="export"),
    path("export/download/", views.download, name="export-download"),
    path("import/", import_views.import_page, name="import"),
    path("import/<int:key>/", import_views.import_columns, name="import-columns"),
    path("import/<int:key>/rows/", import_views.import_rows, name="import-rows"),
    path("carry/", _to_export),
    path("carry/everything/", _to_export),
]
