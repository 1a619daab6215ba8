"""Bills."""

from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _

from shop.lib.web.navigation import job_tabs, menu


class BillsConfig(AppConfig):
    """Settings of the app."""

    name = "shop.bills"
    label = "bills"

    def ready(self) -> None:
        """Offer its pages and acts, guard its tables, and follow customers."""
        from shop.bills import (  # noqa: PLC0415
            afterwards,
            bill_triggers,
            mailing,
            proving,
            receivers,  # noqa: F401
        )
        from shop.jobs import database_guards, proofs  # noqa: PLC0415
        from shop.jobs.next_act import afterwards as left  # noqa: PLC0415
        from shop.messages import attachments, letters  # noqa: PLC0415

        database_guards.add(bill_triggers)
        proofs.add("bills_bill", proving.faults)
        attachments.add(mailing.BILL, mailing.attached)
        attachments.add(mailing.PAYMENT, mailing.attached)
        letters.add(mailing.PAYMENT, mailing.letter_address)
        left.add("bill", afterwards.bill, order=30, title=afterwards.BILL, jobs=afterwards.to_bill)
        left.add(
            "payment",
            afterwards.payment,
            order=40,
            title=afterwards.PAYMENT,
            jobs=afterwards.to_collect,
        )
        menu.add(_("Bills"), "bills", order=105, more=True)
        job_tabs.add(_("Bill"), "job-bills", order=31)
