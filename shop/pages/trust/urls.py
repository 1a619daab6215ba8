"""Addresses of the page for a phone; nobody has to be signed in to see it."""

from django.urls import path

from shop.pages.trust import views

urlpatterns = [
    path("trust/", views.trust, name="trust"),
    path("trust/benchtag.crt", views.authority, name="trust-authority"),
]
