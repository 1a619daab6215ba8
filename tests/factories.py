from __future__ import annotations

from decimal import Decimal

import factory
from django.contrib.auth.models import Group, User
from django.utils import timezone

from shop.intake import services as intake_services
from shop.jobs.models import Job
from shop.parts.models import Offer, Part, PriceBreak, Supplier


class PersonFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = User
        django_get_or_create = ("username",)
        skip_postgeneration_save = True

    username = factory.Sequence(lambda n: f"person{n}")

    @factory.post_generation
    def role(self, create, role, **kwargs):
        if role:
            self.groups.set([Group.objects.get_or_create(name=role)[0]])


class JobFactory(factory.Factory):
    """Jobs come in through the one door, as in the shop."""

    class Meta:
        model = Job

    by = factory.SubFactory(PersonFactory, role="technician")
    at = factory.LazyFunction(timezone.now)
    make = "Test Works"
    model = factory.Sequence(lambda n: f"Model {n}")
    serial = factory.Sequence(lambda n: f"S{n:05}")
    complaint = "hums"

    @classmethod
    def _create(cls, model_class, *args, **kwargs):
        return intake_services.receive(**kwargs)


class PartFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Part

    spec = factory.Sequence(lambda n: f"Relay 24 V, two changeover, {n}")


class SupplierFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Supplier

    name = factory.Sequence(lambda n: f"Supplier {n}")
    postage = Decimal("4.90")
    usual_days = 4


class OfferFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Offer
        skip_postgeneration_save = True

    part = factory.SubFactory(PartFactory)
    supplier = factory.SubFactory(SupplierFactory)

    @factory.post_generation
    def breaks(self, create, breaks, **kwargs):
        for quantity, price in (breaks or {1: "2.50"}).items():
            PriceBreak.objects.create(offer=self, quantity=quantity, price=Decimal(price))
