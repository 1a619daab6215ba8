"""The Celery application: `celery -A shop.celery worker` and `beat`."""

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")

app = Celery("benchwarden")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks(["shop.watch"])
