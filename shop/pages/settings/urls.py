"""Addresses of the shop's settings."""

from django.urls import path

from shop.pages.settings import views

urlpatterns = [
    path("settings/", views.settings_page, name="settings"),
    path("settings/country/", views.country_page, name="settings-country"),
]
