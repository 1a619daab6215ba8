"""Addresses of customers."""

from django.urls import path

from shop.customers import views

urlpatterns = [
    path("owners/", views.owners, name="owners"),
    path("owners/<int:key>/", views.owner, name="owner"),
    path("owners/<int:key>/change/", views.change, name="owner-change"),
    path("owners/<int:key>/data/", views.data, name="owner-data"),
    path("owners/<int:key>/erase/", views.erase, name="owner-erase"),
]
