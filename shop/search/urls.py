"""Addresses of the search."""

from django.urls import path

from shop.search import views

urlpatterns = [
    path("search/", views.search, name="search"),
    path("jobs/<int:number>/similar/", views.similar, name="similar"),
]
