"""Addresses of the job's page."""

from django.urls import path

from shop.pages.job import earlier_views, proof_views, views

urlpatterns = [
    path("jobs/<int:number>/trials/", proof_views.trials, name="trials"),
    path("jobs/<int:number>/soak/", proof_views.soak, name="soak"),
    path("jobs/<int:number>/earlier/", earlier_views.earlier, name="earlier"),
    path("jobs/<int:number>/", views.show, name="job"),
    path("jobs/<int:number>/sign/<slug:key>/", views.sign, name="sign"),
    path("jobs/<int:number>/waive/<slug:key>/", views.waive, name="waive"),
    path("jobs/<int:number>/power/", views.power, name="power"),
    path("jobs/<int:number>/cover/", views.cover, name="cover"),
    path("jobs/<int:number>/stage/", views.stage, name="stage"),
    path("jobs/<int:number>/join/", views.join, name="join"),
    path("jobs/<int:number>/record/<slug:event_type>/", views.record, name="record"),
    path("jobs/<int:number>/facts/", views.facts, name="facts"),
]
