"""Addresses of calculators and recordings."""

from django.urls import path

from shop.pages.calculators import recording_views, views

urlpatterns = [
    path("calculators/", views.calculators, name="calculators"),
    path("calculators/<slug:name>/", views.calculator, name="calculator"),
    path("jobs/<int:number>/recording/", recording_views.recording, name="recording"),
]
