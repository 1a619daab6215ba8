"""All addresses."""

from django.urls import path

urlpatterns: list = []
