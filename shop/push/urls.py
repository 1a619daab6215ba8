"""Addresses of the messages to browsers."""

from django.urls import path

from shop.push import views

urlpatterns = [
    path("account/push/", views.push, name="push"),
    path("account/push/add/", views.add, name="push-add"),
    path("account/push/remove/", views.remove, name="push-remove"),
]
