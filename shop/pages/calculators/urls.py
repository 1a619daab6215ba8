"""Addresses of calculators."""

from django.urls import path

from shop.pages.calculators import views

urlpatterns = [
    path("calculators/", views.calculators, name="calculators"),
    path("calculators/<slug:name>/", views.calculator, name="calculator"),
]
