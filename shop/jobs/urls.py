"""Addresses of jobs apart from the job's page itself."""

from django.urls import path

from shop.jobs import comparison_views, views

urlpatterns = [
    path("jobs/", views.job_list, name="jobs"),
    path("jobs/<int:number>/ledger/", views.job_ledger, name="ledger"),
    path("jobs/<int:number>/trials/", views.trials, name="trials"),
    path("jobs/<int:number>/soak/", views.soak, name="soak"),
    path("jobs/<int:number>/earlier/", comparison_views.earlier, name="earlier"),
]
