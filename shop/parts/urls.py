"""Addresses of parts and suppliers."""

from django.urls import path

from shop.parts import substitute_views, views

urlpatterns = [
    path("parts/", views.part_list, name="parts"),
    path("parts/<int:number>/", views.part_page, name="part"),
    path("parts/<int:number>/offer/", views.part_offer, name="part-offer"),
    path("parts/<int:number>/stock/", views.part_stock, name="part-stock"),
    path("suppliers/", views.supplier_list, name="suppliers"),
    path("suppliers/<int:number>/", views.supplier_page, name="supplier"),
    path("parts/<int:number>/values/", substitute_views.part_values, name="part-values"),
    path("parts/<int:number>/substitutes/", substitute_views.part_substitutes, name="substitutes"),
]
