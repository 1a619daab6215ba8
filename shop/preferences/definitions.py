"""Every setting of the shop: its name, what it is called, its kind and its default."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from shop.preferences import kinds, languages
from shop.preferences.kinds import Kind, gettext_noop


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """One setting. `name` in capitals is the variable of the environment, after the prefix."""

    name: str
    title: str
    group: str
    kind: Kind
    default: str
    about: str = ""
    # Decides over sign-offs that stand: units with mains are looked at anew when it changes.
    decides_holds: bool = False
    # Set where one variable decides several settings, or Django has a setting of that name.
    variable_name: str = ""
    attribute_name: str = ""

    @property
    def variable(self) -> str:
        """The name in the environment, without the prefix."""
        return self.variable_name or self.name.upper()

    @property
    def attribute(self) -> str:
        """The name in Django's settings, where the environment decides."""
        return self.attribute_name or self.name.upper()

    @property
    def secret(self) -> bool:
        """Whether it is kept sealed and never shown."""
        return self.kind is kinds.SECRET

    def read(self, raw: str) -> Any:
        """Return the value of a text; BadText says what would be right."""
        return self.kind.read(raw)


GROUPS = {
    "shop": gettext_noop("The shop"),
    "money": gettext_noop("Money"),
    "hours": gettext_noop("Hours and hands"),
    "bench": gettext_noop("The bench"),
    "customers": gettext_noop("Customers and papers"),
    "mail": gettext_noop("Mail"),
    "access": gettext_noop("Access"),
}

SETTINGS = (
    Setting(name="shop_name", title=gettext_noop("Name of the shop"), group="shop", kind=kinds.TEXT, default="Repair bench", about=gettext_noop("Stands on papers, messages and pages.")),
    Setting(name="postal_address", title=gettext_noop("Street of the shop"), group="shop", kind=kinds.LINES, default="", about=gettext_noop("And what else stands above the town. At the head of papers and of the customer's page.")),
    Setting(name="post_code", title=gettext_noop("Post code"), group="shop", kind=kinds.TEXT, default=""),
    Setting(name="city", title=gettext_noop("Town"), group="shop", kind=kinds.TEXT, default=""),
    Setting(name="telephone", title=gettext_noop("Telephone of the shop"), group="shop", kind=kinds.TEXT, default="", about=gettext_noop("The same; customers can ring it from their page.")),
    Setting(name="country", title=gettext_noop("Country of the shop"), group="shop", kind=kinds.COUNTRY, default="", about=gettext_noop("Stands on bills. What is usual there is asked once it is kept.")),
    Setting(name="email", title=gettext_noop("E-mail of the shop"), group="shop", kind=kinds.EMAIL, default="", about=gettext_noop("Stands on bills, for questions about them.")),
    Setting(name="logo", title=gettext_noop("Logo of the shop"), group="shop", kind=kinds.PICTURE, default="", about=gettext_noop("Stands on papers and on the customer's page.")),
    Setting(name="address", title=gettext_noop("Address of the pages"), group="shop", kind=kinds.ADDRESS, default="http://127.0.0.1:8000", about=gettext_noop("Where the pages are reached: links in messages and labels lead there.")),
    Setting(name="pages_language", title=gettext_noop("Language of the shop's pages"), group="shop", kind=kinds.one_of(*languages.NAMES), default="en", about=gettext_noop("What nobody has translated stays English, and so does what the record keeps.")),
    Setting(name="time_zone", title=gettext_noop("Time zone"), group="hours", kind=kinds.TIME_ZONE, default="Europe/London", about=gettext_noop("A name of the zone database: Europe/Berlin. A change counts as a night: what was proved dead is proved anew."), decides_holds=True, attribute_name="SHOP_TIME_ZONE"),
    Setting(name="workdays", title=gettext_noop("Working days"), group="hours", kind=kinds.WEEKDAYS_OPEN, default="mon tue wed thu fri"),
    Setting(name="workday_start_hour", title=gettext_noop("Opens at (hour)"), group="hours", kind=kinds.whole(0, 23), default="9"),
    Setting(name="workday_end_hour", title=gettext_noop("Closes at (hour)"), group="hours", kind=kinds.whole(1, 24), default="18"),
    Setting(name="holidays", title=gettext_noop("Public holidays of"), group="hours", kind=kinds.HOLIDAYS, default="", about=gettext_noop("A country, with its part if need be: DE, DE-BY, GB-SCT.")),
    Setting(name="closed_days", title=gettext_noop("Other days the shop is shut"), group="hours", kind=kinds.DAYS, default="", about="2026-12-24..2027-01-03 2027-05-14"),
    Setting(name="hands", title=gettext_noop("People at the bench"), group="hours", kind=kinds.whole(1, 50), default="1", about=gettext_noop("For the forecasts.")),
    Setting(name="bench_places", title=gettext_noop("Places at the bench"), group="hours", kind=kinds.PLACES, default="", about=gettext_noop("For the forecasts: more people than places do not work at once. Empty: as many as people.")),
    Setting(name="digest_hour", title=gettext_noop("Hour of the daily e-mail"), group="hours", kind=kinds.whole(0, 23), default="8"),
    Setting(name="practice", title=gettext_noop("Limits of the release tests"), group="bench", kind=kinds.one_of("after-repair", "iec", "us-service"), default="after-repair", about=gettext_noop("after-repair: DIN VDE 0701-0702, EN 50678. iec: the product standard, stricter. us-service: adds the cold check."), decides_holds=True),
    Setting(name="mains_volts", title=gettext_noop("Volts of the sockets"), group="bench", kind=kinds.SOCKETS, default="", about=gettext_noop("What a unit is set for is judged by it, a tenth up or down. Without it only units for 207 to 264 V pass."), decides_holds=True),
    Setting(name="second_person", title=gettext_noop("A second signature where a step wants one"), group="bench", kind=kinds.FLAG, default="no", decides_holds=True),
    Setting(name="decimal_sign", title=gettext_noop("Decimal sign"), group="bench", kind=kinds.one_of(".", ","), default=".", about=gettext_noop("1,200 and 1.200 read two ways: with the other sign they are asked back.")),
    Setting(name="outlets", title=gettext_noop("Outlets and power meters on the network"), group="bench", kind=kinds.FLAG, default="no", about=gettext_noop("Shows the pages on which they are set up. Read docs/outlets.md first: none of it is a safety function.")),
    Setting(name="currency", title=gettext_noop("Currency"), group="money", kind=kinds.CURRENCY, default="EUR", about=gettext_noop("By its ISO 4217 code.")),
    Setting(name="hourly_rate", title=gettext_noop("Hour of work, without tax"), group="money", kind=kinds.amount(), default="60"),
    Setting(name="parts_markup", title=gettext_noop("Added to the price of a part, in per cent"), group="money", kind=kinds.amount(1000), default="0"),
    Setting(name="tax_name", title=gettext_noop("Name of the tax"), group="money", kind=kinds.TEXT, default="VAT"),
    Setting(name="tax_rate", title=gettext_noop("Rate of the tax, in per cent"), group="money", kind=kinds.amount(100), default="0"),
    Setting(name="untaxed_because", title=gettext_noop("Why no tax is charged"), group="money", kind=kinds.TEXT, default="", about=gettext_noop("Where a law exempts the shop: the sentence that has to stand on bills. For lines at 0 per cent.")),
    Setting(name="untaxed_code", title=gettext_noop("Code of that reason"), group="money", kind=kinds.VATEX, default="", about=gettext_noop("For electronic invoices, where there is one (list VATEX): VATEX-FR-FRANCHISE.")),
    Setting(name="inspection_fee", title=gettext_noop("Inspection fee, without tax"), group="money", kind=kinds.amount(), default="0", about=gettext_noop("Billed when the customer declines, or when nothing was estimated.")),
    Setting(name="return_freight", title=gettext_noop("Sending a unit back, without tax"), group="money", kind=kinds.amount(), default="0", about=gettext_noop("Drafted on the bill of a unit that leaves by parcel.")),
    Setting(name="tax_number", title=gettext_noop("Tax number of the shop"), group="money", kind=kinds.TEXT, default="", about=gettext_noop("For value added tax with the letters of the country in front: DE123456789.")),
    Setting(name="iban", title=gettext_noop("Account of the shop (IBAN)"), group="money", kind=kinds.IBAN, default="", about=gettext_noop("Stands on bills, in euros with a code that a bank's app reads.")),
    Setting(name="bic", title=gettext_noop("Bank of that account (BIC)"), group="money", kind=kinds.BIC, default="", about=gettext_noop("For transfers from outside the single euro payments area. Stands on bills beside the IBAN.")),
    Setting(name="payment_days", title=gettext_noop("Days to pay a bill"), group="money", kind=kinds.whole(0, 365), default="14"),
    Setting(name="reminder_days", title=gettext_noop("Days after which a payment is reminded of"), group="money", kind=kinds.whole(0, 365), default="0", about=gettext_noop("Once, by a message. 0: only when somebody asks for it.")),
    Setting(name="waiting_costs", title=gettext_noop("What a day of waiting is worth"), group="money", kind=kinds.whole(0, 1000), default="2", about=gettext_noop("Where a basket of parts starts from.")),
    Setting(name="warranty_days", title=gettext_noop("Days of warranty"), group="customers", kind=kinds.whole(0, 3650), default="180"),
    Setting(name="link_days", title=gettext_noop("Days a customer's link works"), group="customers", kind=kinds.whole(1, 3650), default="90"),
    Setting(name="customers_language", title=gettext_noop("Language of customers"), group="customers", kind=kinds.one_of(*languages.NAMES), default="en", about=gettext_noop("Of messages, papers and their page, for customers without a language of their own. Words of the rules stay English until a technician has read a translation.")),
    Setting(name="carriers", title=gettext_noop("Carriers of parcels"), group="customers", kind=kinds.CARRIERS, default="", about=gettext_noop("One a line: the name, then the address that follows a parcel, with {number} where its number stands.")),
    Setting(name="terms", title=gettext_noop("Terms of the shop"), group="customers", kind=kinds.LINES, default="", about=gettext_noop("Stands on receipts, in small print on estimates and bills, and where a customer announces a unit. Your own adviser comes first.")),
    Setting(name="paper_size", title=gettext_noop("Paper"), group="customers", kind=kinds.one_of("a4", "us-letter"), default="a4", about=gettext_noop("Offered first for every paper.")),
    Setting(name="mail_host", title=gettext_noop("Mail server"), group="mail", kind=kinds.HOST, default="", about=gettext_noop("Its name, such as mail.example.org. Without one nobody is written to."), variable_name="EMAIL_URL"),
    Setting(name="mail_port", title=gettext_noop("Port of the mail server"), group="mail", kind=kinds.whole(1, 65535), default="587", variable_name="EMAIL_URL"),
    Setting(name="mail_security", title=gettext_noop("Encryption of the connection"), group="mail", kind=kinds.one_of("starttls", "tls", "none"), default="starttls", about=gettext_noop("starttls: usual at port 587. tls: usual at port 465. none: only within your own network."), variable_name="EMAIL_URL"),
    Setting(name="mail_user", title=gettext_noop("User at the mail server"), group="mail", kind=kinds.TEXT, default="", variable_name="EMAIL_URL"),
    Setting(name="mail_password", title=gettext_noop("Password at the mail server"), group="mail", kind=kinds.SECRET, default="", about=gettext_noop("Kept sealed and never shown. Another server or user wants it anew."), variable_name="EMAIL_URL"),
    Setting(name="email_from", title=gettext_noop("Sender of e-mails"), group="mail", kind=kinds.SENDER, default="Benchtag <benchtag@localhost>", about=gettext_noop("A name with its address: Tin Lane <bench@example.org>.")),
    Setting(name="trusted_proxies", title=gettext_noop("Proxies in front of the shop"), group="access", kind=kinds.NETWORKS, default="", about=gettext_noop("Their addresses or networks. Only they are believed about where a request comes from.")),
)  # fmt: skip

BY_NAME = {setting.name: setting for setting in SETTINGS}
