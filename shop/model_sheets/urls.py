"""Addresses of model sheets."""

from django.urls import path

from shop.model_sheets import views

urlpatterns = [
    path("models/", views.model_list, name="models"),
    path("models/<int:number>/", views.model_sheet, name="model-sheet"),
    path("models/<int:number>/figure/", views.model_figure, name="model-figure"),
]
