"""Addresses of outlets."""

from django.urls import path

from shop.outlets import commissioning_views, job_views, views

urlpatterns = [
    path("outlets/", views.outlet_list, name="outlets"),
    path("outlets/<int:number>/", views.outlet, name="outlet"),
    path("outlets/<int:number>/change/", views.outlet_change, name="outlet-change"),
    path("outlets/<int:number>/claim/", views.outlet_claim, name="outlet-claim"),
    path("outlets/<int:number>/leave/", views.outlet_leave, name="outlet-leave"),
    path("outlets/<int:number>/label/", views.outlet_label, name="outlet-label"),
    path(
        "outlets/<int:number>/commissioning/",
        commissioning_views.outlet_commissioning,
        name="outlet-commissioning",
    ),
    path("jobs/<int:number>/outlet/", job_views.job_outlet, name="job-outlet"),
    path("jobs/<int:number>/outlet/claim/", job_views.job_outlet_claim, name="job-outlet-claim"),
    path(
        "jobs/<int:number>/outlet/reading/",
        job_views.job_outlet_reading,
        name="job-outlet-reading",
    ),
]
