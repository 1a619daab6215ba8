"""Addresses of the desk."""

from django.urls import path

from shop.desk import views

urlpatterns = [path("receive/", views.receive, name="receive")]
