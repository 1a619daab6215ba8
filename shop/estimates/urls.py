"""Addresses of estimates."""

from django.urls import path

from shop.estimates import views

urlpatterns = [
    path("jobs/<int:number>/estimate/", views.estimate, name="estimate"),
    path("jobs/<int:number>/estimate/start/", views.start, name="estimate-start"),
    path("jobs/<int:number>/estimate/change/", views.change, name="estimate-change"),
    path("jobs/<int:number>/estimate/limit/", views.limit, name="estimate-limit"),
    path("jobs/<int:number>/estimate/answered/", views.answered, name="estimate-answered"),
]
