"""The address of every page of the demo shop, for whatever looks at all of them."""

from __future__ import annotations

import re
from urllib.parse import urlsplit

from django.contrib.auth.models import User
from django.utils import timezone

from shop.customers.announced import queries as announced
from shop.customers.announced import services as announcing
from shop.customers.announced.models import Announcement
from shop.customers.links import keys
from shop.customers.links.models import CustomerLink
from shop.customers.models import Customer
from shop.estimates import services as estimate_services
from shop.jobs.models import Job, JobPart
from shop.manuals.models import Manual
from shop.model_sheets.models import ModelSheet
from shop.parts.models import Order
from shop.photos.models import Photo
from shop.reminders import services as reminder_services
from shop.search import indexing

PAGES = {
    "bench": "/",
    "jobs": "/jobs/",
    "receive": "/receive/",
    "scan": "/scan/",
    "traveller": "/jobs/3/",
    "unknown-unit": "/jobs/6/",
    "step": "/jobs/3/step/fuse-check/",
    "list": "/jobs/3/list/",
    "write": "/jobs/3/write/",
    "write-work": "/jobs/3/write/?what=work_done",
    "unit": "/jobs/3/unit/",
    "parts-of-job": "/jobs/3/parts/",
    "causes": "/jobs/1/causes/",
    "look-up": "/jobs/3/look-up/",
    "ledger": "/jobs/1/ledger/",
    "withdraw-entry": "/jobs/1/entries/2/withdraw/",
    "correct-intake": "/jobs/1/intake/",
    "keys": "/keys/",
    "rules": "/rules/",
    "rule": "/rules/touch-current/",
    "house": "/house-rules/",
    "backlog": "/backlog/",
    "order": "/backlog/order/",
    "parcel": "/orders/{order}/",
    "need": "/backlog/needs/{job}/{need}/",
    "trials": "/jobs/3/trials/",
    "soak": "/jobs/4/soak/",
    "search": "/search/?q=ravelnd",
    "similar": "/jobs/1/similar/",
    "account": "/account/",
    "second-factor": "/account/second-factor/",
    "sessions": "/account/sessions/",
    "papers": "/jobs/3/papers/",
    "estimate": "/jobs/3/estimate/",
    "estimate-draft": "/jobs/5/estimate/",
    "photos": "/jobs/1/photos/",
    "photo-marks": "/photos/{photo}/marks/",
    "manuals": "/jobs/3/manuals/",
    "manual": "/manuals/{manual}/",
    "manual-page": "/manuals/{manual}/page/2/",
    "customer-side": "/jobs/3/customer/",
    "customers": "/customers/",
    "customer": "/customers/{customer}/",
    "announced": "/announced/",
    "announcement": "/announced/{coming}/",
    "receive-announced": "/receive/?announced={coming}",
    "announce": "{announce}",
    "outbox": "/messages/",
    "wording": "/wordings/received/",
    "your-unit": "{link}",
    "recording": "/jobs/3/recording/",
    "sound": "/sound/",
    "calculators": "/calculators/",
    "calculator": "/calculators/heating-curve/?minutes=0+10+20+30+60+90&celsius=22+35+44+50+58+60",
    "models": "/models/",
    "model": "/models/{sheet}/",
    "parts": "/parts/",
    "part": "/parts/{part}/",
    "suppliers": "/suppliers/",
    "supplier": "/suppliers/{supplier}/",
    "flow": "/flow/",
    "finish": "/jobs/2/finish/",
    "reminders": "/reminders/",
    "why": "/jobs/6/why/?step=discharge-reservoirs",
    "why-not": "/jobs/4/why/?step=insulator-isolation",
}


def _places(coming: Announcement) -> dict[str, object]:
    order = Order.objects.get(closed_at=None)
    need = JobPart.objects.filter(outstanding=True, ordered=False, required=True).first()
    return {
        "order": order.pk,
        "supplier": order.supplier_id,
        "part": order.lines.get().part_id,
        "job": need.job_id,
        "need": need.need,
        "photo": Photo.objects.earliest("pk").pk,
        "customer": Customer.objects.get(name="Tobias Ferreira").pk,
        "link": urlsplit(keys.address(CustomerLink.objects.get())).path,
        "coming": coming.pk,
        "manual": Manual.objects.get().pk,
        "sheet": ModelSheet.objects.get().pk,
        "announce": urlsplit(announced.address(coming)).path,
    }


def addresses(by: User) -> dict[str, str]:
    """Bring the demo shop up to date as its worker does; return the addresses by name."""
    now = timezone.now()
    first = Job.objects.filter(closed_at=None).earliest("number").number
    reminder_services.remind(now=now)
    estimate_services.get_or_create_draft(first + 4, by=by, at=now)
    indexing.index_changed_jobs(now=now)
    said = {"make": "Corvenby", "model": "C 4", "name": "Mirela Dobson", "tracking": "NP 12"}
    known = _places(announcing.announce(said, by=by, at=now))
    return {name: _shifted(path, first).format(**known) for name, path in PAGES.items()}


def _shifted(path: str, first: int) -> str:
    """Count the jobs of an address from the first open one, which is not job 1."""
    return re.sub(r"/jobs/(\d+)", lambda found: f"/jobs/{int(found[1]) + first - 1}", path)
