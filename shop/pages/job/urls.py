"""Addresses of the job's page."""

from django.urls import path

from shop.pages.job import (
    came_back_views,
    earlier_views,
    free_meter_views,
    meter_views,
    proof_views,
    soak_log_views,
    undo_views,
    views,
    writing_views,
)

urlpatterns = [
    path("jobs/<int:number>/trials/", proof_views.trials, name="trials"),
    path("jobs/<int:number>/soak/", proof_views.soak, name="soak"),
    path("jobs/<int:number>/soak/log/", soak_log_views.soak_log, name="soak-log"),
    path("jobs/<int:number>/soak/start/", soak_log_views.start, name="soak-start"),
    path("jobs/<int:number>/soak/over/", soak_log_views.ran_well, name="soak-over"),
    path("jobs/<int:number>/meter/", free_meter_views.job_meter, name="job-meter"),
    path("jobs/<int:number>/earlier/", earlier_views.earlier, name="earlier"),
    path("jobs/<int:number>/earlier-facts/", came_back_views.take_over, name="earlier-facts"),
    path("jobs/open/", views.open_jobs, name="open-jobs"),
    path("jobs/<int:number>/", views.show, name="job"),
    path("jobs/<int:number>/step/<slug:key>/", views.step, name="step"),
    path("jobs/<int:number>/list/", writing_views.checklist, name="job-list"),
    path("jobs/<int:number>/look-up/", writing_views.beside, name="job-look-up"),
    path("jobs/<int:number>/write/", writing_views.write, name="job-write"),
    path("jobs/<int:number>/unit/", writing_views.unit, name="job-unit"),
    path("jobs/<int:number>/parts/", writing_views.parts, name="job-parts"),
    path("jobs/<int:number>/causes/", writing_views.causes, name="causes"),
    path("jobs/<int:number>/step/<slug:key>/meter/", meter_views.read_meter, name="read-meter"),
    path(
        "jobs/<int:number>/step/<slug:key>/meter/here/", meter_views.meter_here, name="meter-here"
    ),
    path(
        "jobs/<int:number>/step/<slug:key>/meter/<slug:quantity>/<int:asked>/",
        meter_views.meter_asked,
        name="meter-asked",
    ),
    path("jobs/<int:number>/sign/<slug:key>/", views.sign, name="sign"),
    path("jobs/<int:number>/undo/<int:row>/", undo_views.undo, name="undo"),
    path("jobs/<int:number>/waive/<slug:key>/", views.waive, name="waive"),
    path("jobs/<int:number>/power/", views.power, name="power"),
    path("jobs/<int:number>/plug/", views.plug, name="plug"),
    path("jobs/<int:number>/cover/", views.cover, name="cover"),
    path("jobs/<int:number>/stage/", views.stage, name="stage"),
    path("jobs/<int:number>/join/", views.join, name="join"),
    path("jobs/<int:number>/record/<slug:event_type>/", writing_views.record, name="record"),
    path("jobs/<int:number>/facts/", writing_views.facts, name="facts"),
]
