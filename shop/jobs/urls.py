"""Addresses of the list of jobs and of ledgers."""

from django.urls import path

from shop.jobs import views, withdrawing_views

urlpatterns = [
    path("live-units/", views.live_line, name="live-units"),
    path("jobs/", views.job_list, name="jobs"),
    path("jobs/<int:number>/ledger/", views.job_ledger, name="ledger"),
    path(
        "jobs/<int:number>/entries/<int:row>/withdraw/",
        withdrawing_views.withdraw_entry,
        name="withdraw-entry",
    ),
]
