"""Address of the first page of an empty shop."""

from django.urls import path

from shop.pages.first_run import views

urlpatterns = [path("first-run/<str:token>/", views.first_run, name="first-run")]
