"""Addresses of the API."""

from django.urls import path, re_path

from shop.api import (
    announced,
    bills,
    earlier,
    estimates,
    instruments,
    jobs,
    ledger,
    manuals,
    marks,
    messages,
    people,
    photos,
    planning,
    search,
    settings,
    steps,
    transitions,
)
from shop.api.app import api
from shop.api.middleware import nothing_here

for module in (
    jobs,
    steps,
    transitions,
    ledger,
    planning,
    search,
    estimates,
    photos,
    settings,
    instruments,
    messages,
    earlier,
    announced,
    bills,
    people,
    manuals,
    marks,
):
    api.add_router("", module.router)

urlpatterns = [path("", api.urls), re_path("^.*$", nothing_here)]
