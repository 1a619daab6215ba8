"""Addresses of carrying the shop out."""

from django.urls import path

from shop.transfer import views

urlpatterns = [
    path("carry/", views.carry, name="carry"),
    path("carry/everything/", views.everything, name="carry-out"),
]
