"""Addresses of the papers."""

from django.urls import path

from shop.documents import views

urlpatterns = [
    path("jobs/<int:number>/papers/", views.papers, name="papers"),
    path(
        "jobs/<int:number>/papers/label/<slug:size>/<slug:density>.zpl",
        views.label_zpl,
        name="label-zpl",
    ),
    path("jobs/<int:number>/papers/<slug:name>/<slug:size>/", views.paper, name="paper"),
    path(
        "jobs/<int:number>/papers/<slug:name>/<slug:size>/preview/",
        views.preview,
        name="paper-preview",
    ),
]
