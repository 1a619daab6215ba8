"""Addresses of customers."""

from django.urls import path
from django.views.generic import RedirectView

from shop.customers import views

urlpatterns = [
    path("customers/", views.customers, name="customers"),
    path("customers/<int:key>/", views.customer, name="customer"),
    path("customers/<int:key>/change/", views.change, name="customer-change"),
    path("customers/<int:key>/data/", views.data, name="customer-data"),
    path("customers/<int:key>/erase/", views.erase, name="customer-erase"),
    # Where they were before.
    path("owners/", RedirectView.as_view(pattern_name="customers", query_string=True)),
    path("owners/<int:key>/", RedirectView.as_view(pattern_name="customer")),
]
