"""Addresses of the API."""

from django.urls import path

from shop.api import backlog, jobs, ledger, moving, steps
from shop.api.faces import api

for module in (jobs, steps, moving, ledger, backlog):
    api.add_router("", module.router)

urlpatterns = [path("", api.urls)]
