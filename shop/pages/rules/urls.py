"""Addresses of the rules and of the shop's own."""

from django.urls import path

from shop.pages.rules import house_views, views

urlpatterns = [
    path("jobs/<int:number>/why/", views.why_page, name="why"),
    path("rules/", views.pack_page, name="rules"),
    path("rules/<slug:key>/", views.step_page, name="rule-step"),
    path("house-rules/", house_views.overview, name="house"),
    path("house-rules/write/", house_views.write, name="house-write"),
    path("house-rules/check/", house_views.check, name="house-check"),
    path("house-rules/drop/", house_views.drop, name="house-drop"),
    path("house-rules/publish/", house_views.publish, name="house-publish"),
]
