"""Addresses of calculators and recordings."""

from django.urls import path

from shop.measure import recordings, views

urlpatterns = [
    path("calculators/", views.calculators, name="calculators"),
    path("calculators/<slug:name>/", views.calculator, name="calculator"),
    path("jobs/<int:number>/recording/", recordings.recording, name="recording"),
]
