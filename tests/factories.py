from __future__ import annotations

import factory
from django.contrib.auth.models import Group, User
from django.utils import timezone

from shop.jobs import moves
from shop.jobs.models import Job


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
        return moves.receive(**kwargs)
