"""Addresses of instruments."""

from django.urls import path

from shop.instruments import connection_views, views

urlpatterns = [
    path("instruments/", views.instrument_list, name="instruments"),
    path("instruments/<int:number>/", views.instrument_page, name="instrument"),
    path("instruments/<int:number>/range/", views.instrument_range, name="instrument-range"),
    path("instruments/<int:number>/retire/", views.instrument_retire, name="instrument-retire"),
    path(
        "instruments/<int:number>/connection/",
        connection_views.connection,
        name="instrument-connection",
    ),
    path(
        "instruments/<int:number>/connection/asked/",
        connection_views.connection_asked,
        name="instrument-connection-asked",
    ),
]
