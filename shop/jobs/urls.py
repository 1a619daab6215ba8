"""Addresses of jobs."""

from django.urls import path

from shop.jobs import house, proofs, rules, views

urlpatterns = [
    path("jobs/", views.job_list, name="jobs"),
    path("jobs/<int:number>/", views.traveller, name="traveller"),
    path("jobs/<int:number>/ledger/", views.job_ledger, name="ledger"),
    path("jobs/<int:number>/sign/<slug:key>/", views.sign, name="sign"),
    path("jobs/<int:number>/waive/<slug:key>/", views.waive, name="waive"),
    path("jobs/<int:number>/power/", views.power, name="power"),
    path("jobs/<int:number>/cover/", views.cover, name="cover"),
    path("jobs/<int:number>/stage/", views.stage, name="stage"),
    path("jobs/<int:number>/record/<slug:kind>/", views.record, name="record"),
    path("jobs/<int:number>/facts/", views.facts, name="facts"),
    path("jobs/<int:number>/why/", rules.why_page, name="why"),
    path("jobs/<int:number>/trials/", proofs.trials, name="trials"),
    path("jobs/<int:number>/soak/", proofs.soak, name="soak"),
    path("rules/", rules.pack_page, name="rules"),
    path("house-rules/", house.overview, name="house"),
    path("house-rules/write/", house.write, name="house-write"),
    path("house-rules/check/", house.check, name="house-check"),
    path("house-rules/drop/", house.drop, name="house-drop"),
    path("house-rules/publish/", house.publish, name="house-publish"),
    path("rules/<slug:key>/", rules.step_page, name="rule-step"),
]
