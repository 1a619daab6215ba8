"""Addresses of calculators and recordings."""

from django.urls import path

from shop.measure import earlier, model_sheets, recordings, substitutes, views

urlpatterns = [
    path("calculators/", views.calculators, name="calculators"),
    path("calculators/<slug:name>/", views.calculator, name="calculator"),
    path("jobs/<int:number>/earlier/", earlier.earlier, name="earlier"),
    path("jobs/<int:number>/recording/", recordings.recording, name="recording"),
    path("parts/<int:number>/values/", substitutes.part_values, name="part-values"),
    path("parts/<int:number>/substitutes/", substitutes.part_substitutes, name="substitutes"),
    path("models/", model_sheets.model_list, name="models"),
    path("models/<int:number>/", model_sheets.model_sheet, name="model-sheet"),
    path("models/<int:number>/figure/", model_sheets.model_figure, name="model-figure"),
]
