"""Addresses of bills."""

from django.urls import path

from shop.bills import views

urlpatterns = [
    path("bills/", views.bills, name="bills"),
    path("bills/owed/", views.owed, name="owed"),
    path("bills/bills.csv", views.table, {"name": "bills"}, name="bills-table"),
    path("bills/payments.csv", views.table, {"name": "payments"}, name="payments-table"),
    path("jobs/<int:number>/bills/", views.job_bills, name="job-bills"),
    path("jobs/<int:number>/bills/start/", views.start, name="bill-start"),
    path("jobs/<int:number>/bills/change/", views.change, name="bill-change"),
    path("jobs/<int:number>/bills/nothing/", views.nothing, name="bill-nothing"),
    path("jobs/<int:number>/bills/<int:key>/pay/", views.pay, name="bill-pay"),
    path("jobs/<int:number>/bills/<int:key>/send/", views.send, name="bill-send"),
    path("jobs/<int:number>/bills/<int:key>/remind/", views.remind, name="bill-remind"),
    path("jobs/<int:number>/bills/<int:key>/bill.xml", views.bill_xml, name="bill-xml"),
    path("jobs/<int:number>/bills/<int:key>/credit/", views.credit, name="bill-credit"),
    path(
        "jobs/<int:number>/reminders/<int:key>/<slug:size>.pdf",
        views.reminder,
        name="reminder-paper",
    ),
    path("jobs/<int:number>/bills/<int:key>/<slug:size>.pdf", views.bill_paper, name="bill-paper"),
]
