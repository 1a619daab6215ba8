"""Addresses of the webhooks."""

from django.urls import path

from shop.webhooks import views

urlpatterns = [
    path("settings/webhooks/", views.webhooks, name="webhooks"),
    path("settings/webhooks/<int:key>/", views.webhook, name="webhook"),
]
