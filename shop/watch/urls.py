"""Addresses of the watch."""

from django.urls import path

from shop.watch import views

urlpatterns = [path("", views.bench_now, name="bench")]
