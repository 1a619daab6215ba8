"""Addresses of the API."""

from django.urls import path, re_path

from shop.api import backlog, desk, jobs, ledger, moving, steps
from shop.api.faces import api
from shop.api.middleware import nothing_here

for module in (jobs, steps, moving, ledger, backlog, desk):
    api.add_router("", module.router)

urlpatterns = [path("", api.urls), re_path("^.*$", nothing_here)]
