"""Papers: what they say, when they are refused, and what no font can set."""

from __future__ import annotations

import io
from datetime import date, timedelta
from decimal import Decimal

import pypdf
import pypdfium2
import pytest
import zxingcpp
from django.utils import timezone

from shop.customers.links import keys
from shop.documents import pdf_documents, technical_documents, typesetting
from shop.documents.reading_table import range_words, reading_table
from shop.estimates import services as estimate_services
from shop.intake import services as intake_services
from shop.intake.services import IntakeDetails
from shop.jobs import commands, queries
from shop.jobs.models import HeadSignature, ShopKey
from shop.lib.ed25519 import PublicKey
from shop.lib.refusals import BadInput, Refused
from shop.photos.models import Photo
from shop.photos.services import PhotoSubject
from tests.helpers import amplifier
from tests.photos.pictures import snap

pytestmark = pytest.mark.django_db


def sheet_of(number):
    return queries.Traveller.of(queries.job(number, timezone.now()))


def printed(number, name, size="a4"):
    return pdf_documents.render_pdf(name, sheet_of(number), size)


def text_of(pdf):
    return "\n".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages)


def flat(pdf):
    return " ".join(text_of(pdf).split())


def millimetres(pdf):
    box = pypdf.PdfReader(io.BytesIO(pdf)).pages[0].mediabox
    return round(float(box.width) * 25.4 / 72), round(float(box.height) * 25.4 / 72)


def to_release(bench):
    """A job whose soak has passed, on its way out."""
    number = bench.receive(
        make="Corvenby", model="A-9", serial="K-77", complaint="Hums", facts=amplifier()
    )
    bench.open_up(number)
    bench.record(number, "finding_recorded", finding="joint-cracked", section="left output")
    bench.record(number, "work_done", work="joints-reflowed", minutes=25.0, note="all of the board")
    bench.pass_steps(number, "joint-neighbours")
    bench.to_soak(number)
    began = timezone.now() - timedelta(hours=9)
    commands.record(number, "soak_started", {}, by=bench.by, at=began)
    for celsius in (24.0, 31.0, 36.0):
        bench.record(number, "soak_reading", quantity="sink_celsius", value=celsius, unit="C")
    bench.record(number, "soak_ended")
    return number


@pytest.fixture
def released(bench):
    number = to_release(bench)
    bench.leave_gates(number)
    bench.stage(number, "released")
    return number


def test_the_release_record_says_what_was_found_done_read_and_signed(released):
    sheet = sheet_of(released)
    text = flat(printed(released, "release"))
    for words in (
        "Corvenby A-9 Serial number K-77",
        "Hums",
        "joint cracked; left output",
        "joints reflowed; 25 min; all of the board",
        "Lowest insulation resistance of all touchable parts",
        "at least 1 MΩ",
        "limit 80 °C",
        "9 h 0 min with mains on: passed",
        "over the hours",
        "Touch current",
        "technician",
        sheet.checklist.pack.digest,
        sheet.record.rows[-1].hash,
    ):
        assert words in text, words


def test_the_release_record_says_no_word_of_the_machine(released):
    text = flat(printed(released, "release"))
    told, check = text.split("Rules it was released by")
    for words in ("asked", "residual", "megohms", "ohm ", "(fact", "_", "SHA-256"):
        assert words not in told, words
    assert "Signature, date" in told
    assert "SHA-256" in check


@pytest.mark.parametrize("size", typesetting.SIZES)
def test_papers_are_set_in_the_faces_of_the_pages(bench, size):
    pages = pypdf.PdfReader(io.BytesIO(printed(bench.receive(), "traveller", size))).pages
    faces = {str(font["/BaseFont"]) for page in pages for font in _fonts(page)}
    for face in (
        "AtkinsonHyperlegibleNext-Regular",
        "AtkinsonHyperlegibleNext-Bold",
        "BarlowCondensed",
    ):
        assert any(face in name for name in faces), (face, faces)


def _fonts(page):
    return [font.get_object() for font in page["/Resources"]["/Font"].values()]


def test_the_letterhead_has_what_is_set_and_leaves_out_what_is_not(bench, settings):
    number = bench.receive()
    assert "·" not in flat(printed(number, "traveller"))
    settings.SHOP_NAME, settings.TELEPHONE = "Tin Lane Audio", "0555 0142"
    text = flat(printed(number, "traveller"))
    assert text.startswith("Tin Lane Audio 0555 0142 Traveller")
    settings.POSTAL_ADDRESS = "4 Tin Lane"
    assert "4 Tin Lane · 0555 0142" in flat(printed(number, "traveller"))


def test_the_soak_is_drawn_into_it(released):
    captions, files = pdf_documents._soak_charts(sheet_of(released))
    assert [caption["file"] for caption in captions] == list(files) == ["soak0.svg"]
    assert files["soak0.svg"].lstrip().startswith('<svg xmlns="http://www.w3.org/2000/svg"')
    assert files["soak0.svg"].count("<circle") == 3
    without = technical_documents.release_record(sheet_of(released)) | {"paper": "a4"}
    pictures = {"qr.svg": pdf_documents._qr_code(pdf_documents.address(sheet_of(released)))}
    bare = typesetting.compile_pdf("release", without, at=timezone.now(), pictures=pictures)
    assert "The soak\n" not in text_of(bare)
    assert "over the hours" in flat(printed(released, "release"))


def test_it_names_the_rules_it_was_released_by_not_those_of_today(released, monkeypatch):
    sheet = sheet_of(released)
    then = sheet.checklist.pack.digest
    monkeypatch.setattr(type(sheet.checklist.pack), "digest", "a later edition")
    assert technical_documents.release_record(sheet)["pack"].endswith(then)


def test_the_same_record_gives_the_same_bytes(released):
    assert printed(released, "release") == printed(released, "release")


def test_the_signed_head_is_read_off_the_print_and_checked(released):
    """Drawn, read by a reader of its own (ZXing), and held against the key by its public half."""
    pages = pypdfium2.PdfDocument(printed(released, "release"))
    codes = [
        code.text
        for page in pages
        for code in zxingcpp.read_barcodes(page.render(scale=300 / 72).to_pil())
    ]
    [code] = [text for text in codes if text.startswith("benchtag head")]
    message, key, signature = code.split("\n")
    row = sheet_of(released).record.of_type("released")[-1]
    assert message == f"benchtag head: job {released}, row {row.sequence}, sha256 {row.hash}"
    public = PublicKey.read(ShopKey.objects.get().public_key)
    assert key == f"key {public.fingerprint}"
    assert public.signed(message.encode(), signature)
    assert message in flat(printed(released, "release"))


def test_an_unsigned_record_says_so(released):
    HeadSignature.objects.all().delete()
    text = flat(printed(released, "release"))
    assert "The head of this record is not signed." in text


@pytest.mark.parametrize("name", ["release", "handback"])
def test_what_is_not_so_far_is_refused(bench, name):
    number = bench.receive()
    with pytest.raises(Refused, match=f"Job {number} is received; its .* once it is"):
        printed(number, name)


def test_a_unit_that_goes_back_carries_the_warning_and_what_is_open(bench):
    number = bench.receive(complaint="No sound", facts=amplifier())
    bench.pass_gate(number, "hand-back")
    bench.stage(number, "withdrawn")
    text = flat(printed(number, "handback"))
    assert "Do not plug it in" in text
    assert "Local codes and licensed practice come first" in text
    assert sheet_of(number).record.rows[-1].hash in text


def test_what_may_not_be_in_the_unit_is_not_said_to_be_untested(bench):
    """What the shop asks because it does not know is no word about the unit of a customer."""
    number = bench.receive(facts={"unit.kind": "cassette-deck"})
    sheet = sheet_of(number)
    unsure = {one.step.title for one in sheet.checklist.steps if one.undetermined}
    said = set(technical_documents.not_tested(sheet))
    assert said
    assert any("hantom" in title for title in unsure)
    assert not said & unsure


def test_the_traveller_has_limits_state_and_room_for_a_pen(bench):
    number = bench.receive(facts=amplifier())
    bench.open_up(number)
    text = flat(printed(number, "traveller"))
    for words in (
        "Look, smell, shake",
        "Isolate, lock, discharge by the plan",
        "Highest earth resistance: at most 0.3 Ω",
        "10\u00a0000\u00a0µF",
        "Answered with no: offset adjustable",
        "BY HAND",
    ):
        assert words in text.replace("10 000 µF", "10\u00a0000\u00a0µF"), words
    steps = [
        one
        for gate in technical_documents.traveller_document(sheet_of(number))["gates"]
        for one in gate["steps"]
    ]
    assert {(one["by"], bool(one["day"])) for one in steps} == {("", False), ("technician", True)}


def test_limits_are_written_out_with_three_digits():
    assert range_words(None, 0.163043, "A") == "at most 0.163\u00a0A"
    assert range_words(207.0, 264.0, "V") == "207 to 264\u00a0V"
    assert range_words(2000.0, None, "ohm") == "at least 2\u00a0000\u00a0Ω"
    assert range_words(None, None, "V") == ""


@pytest.mark.parametrize(
    ("name", "size", "wanted"),
    [
        ("traveller", "a4", (210, 297)),
        ("traveller", "us-letter", (216, 279)),
        ("label", "62x29", (62, 29)),
        ("label", "89x36", (89, 36)),
        ("label", "102x51", (102, 51)),
    ],
)
def test_each_size_is_that_size_and_a_label_is_one_page(bench, name, size, wanted):
    long = "Грундлагенверке " * 7
    job = intake_services.receive(
        by=bench.by,
        at=timezone.now(),
        make=long.strip(),
        serial="S" * 100,
        customer_name="Ω. Długi-Ñandú",
    )
    number = job.number
    pdf = printed(number, name, size)
    assert millimetres(pdf) == wanted
    if name == "label":
        assert len(pypdf.PdfReader(io.BytesIO(pdf)).pages) == 1
        assert str(number) in text_of(pdf)


def test_a_size_that_is_not_one_is_named(bench):
    with pytest.raises(BadInput, match="size is 'a5'; it must be one of a4, us-letter"):
        printed(bench.receive(), "traveller", "a5")


def test_markup_is_printed_as_it_was_written(bench):
    evil = '#read("/etc/passwd") *bold* $x$ <tag> @ref \\ // `raw`'
    text = flat(printed(bench.receive(complaint=evil), "traveller"))
    assert '#read("/etc/passwd") *bold* $x$ <tag> @ref' in text


@pytest.mark.parametrize(
    "words", ["Ελληνικά", "Українська", "Türkçe ğ", "עברית", "العربية", "ქართული"]
)
def test_six_scripts_are_set(bench, words):
    assert printed(bench.receive(complaint=words), "traveller").startswith(b"%PDF")


def test_what_no_font_can_set_is_an_error_that_names_it(bench):
    number = bench.receive(complaint="It says 嗡嗡")
    with pytest.raises(BadInput, match="cannot set '嗡'; put a font that can"):
        printed(number, "traveller")


def test_the_page_says_what_no_font_can_set(bench, client, people):
    client.force_login(people.viewer)
    number = bench.receive(complaint="It says 嗡嗡")
    answer = client.get(f"/jobs/{number}/papers/traveller/a4/")
    assert answer.status_code == 422
    assert "BENCHTAG_FONTS" in answer.content.decode()
    assert client.get(f"/jobs/{number}/papers/release/a4/").status_code == 409
    assert client.get(f"/jobs/{number}/papers/invoice/a4/").status_code == 404


def test_the_code_holds_the_address_of_the_job(bench, settings):
    settings.ADDRESS = "https://bench.example"
    number = bench.receive()
    assert pdf_documents.address(sheet_of(number)) == f"https://bench.example/jobs/{number}/"


def test_readings_are_compared_first_to_last(bench):
    number = bench.receive()
    for value in (48.0, 30.0, 12.0):
        bench.record(number, "reading_taken", quantity="offset_millivolts", value=value, unit="mV")
    bench.record(
        number, "reading_taken", quantity="level_volts", value=2.0, unit="V", source="meter"
    )
    table = reading_table(sheet_of(number))
    said = [[one["title"], one["first"], one["last"]] for one in table["readings"]]
    assert said[0][1:] == ["48\u00a0mV", "12\u00a0mV"]
    assert said[1] == ["Level", "", "2\u00a0V"]
    assert table["sources"] == ["meter"]
    assert not any(one["outside"] for one in table["readings"])


class TestInstrumentsOnPaper:
    """The release record names the instrument, what it may be off by, and its calibration."""

    def sign(self, bench, number, value, one):
        bench.sign(
            number,
            "earth-continuity",
            readings=[("earth_ohms", value)],
            instruments={"earth-resistance": one.pk},
        )

    def test_each_reading_has_what_its_instrument_may_be_off_by(self, bench, job, clamp):
        clamp.calibrated_on, clamp.due_on = date(2020, 3, 1), date(2021, 3, 1)
        clamp.save()
        self.sign(bench, job, 0.06, clamp)
        table = reading_table(sheet_of(job))
        [row] = table["readings"]
        assert (row["off"], row["with"], row["doubt"]) == ("±\u00a00.021\u00a0Ω", "a", False)
        assert table["instruments"] == [
            [
                "a",
                "Earth clamp, Orrery EC 2, serial 0042; calibrated 1 March 2020, "
                "next due 1 March 2021, past due when it was read",
            ]
        ]

    def test_the_paper_prints_it(self, bench, clamp):
        number = to_release(bench)
        bench.ready_for(number, bench.step(number, "earth-continuity").step)
        self.sign(bench, number, 0.06, clamp)
        bench.leave_gates(number)
        bench.stage(number, "released")
        text = flat(printed(number, "release"))
        assert "0.06 Ωa ± 0.021 Ω" in text.replace("\u00a0", " ")
        assert "Earth clamp, Orrery EC 2, serial 0042" in text

    def test_without_instruments_it_says_nothing_of_them(self, released):
        assert "may be off by" not in flat(printed(released, "release"))

    def test_what_was_changed_since_does_not_change_the_record(self, bench, job, clamp):
        self.sign(bench, job, 0.06, clamp)
        clamp.name, clamp.serial = "Renamed", "9"
        clamp.save()
        [[_, words]] = reading_table(sheet_of(job))["instruments"]
        assert words.startswith("Earth clamp, Orrery EC 2, serial 0042; calibration not written")


@pytest.mark.parametrize("size", typesetting.LABELS)
@pytest.mark.parametrize("dots_per_inch", [203, 300], ids="{} dpi".format)
def test_the_code_of_a_label_is_read_off_the_print(job, settings, size, dots_per_inch):
    """Drawn with the dots that printers of labels have, and read by a reader of its own (ZXing)."""
    settings.ADDRESS = "https://bench.example.org"
    page = pypdfium2.PdfDocument(printed(job, "label", size))[0]
    drawn = page.render(scale=dots_per_inch / 72).to_pil()
    [code] = zxingcpp.read_barcodes(drawn)
    assert code.format == zxingcpp.BarcodeFormat.QRCode
    assert code.text == f"https://bench.example.org/jobs/{job}/"


class TestCommercialDocuments:
    """Estimate and packing list."""

    LINE = {
        "sort": "labour",
        "words": "Ремонт",
        "quantity": Decimal("1.5"),
        "price": Decimal("60"),
        "tax_rate": Decimal("19"),
        "need": None,
        "work": "",
    }

    def estimate(self, bench, number, now):
        estimate_services.get_or_create_draft(number, by=bench.by, at=now)
        estimate_services.save_draft(number, "Plain words.", [self.LINE], by=bench.by)
        estimate_services.send_draft(number, by=bench.by, at=now)

    def test_the_estimate(self, bench, job, now, settings):
        with pytest.raises(Refused, match="No estimate"):
            printed(job, "estimate")
        self.estimate(bench, job, now)
        settings.TERMS = "Old parts are kept for a month."
        text = flat(printed(job, "estimate"))
        assert "Old parts are kept for a month." in text
        for words in ("version 1", "Plain words.", "Ремонт", "1.5 h", "90.00 EUR", "107.10 EUR"):
            assert words in text, words
        assert "VAT 19 % on 90.00 EUR" in text
        assert "Yes, do it for 107.10 EUR." in text
        assert "rounded half up" in text

    def test_the_release_says_what_was_agreed(self, bench, now):
        number = bench.receive(facts=amplifier())
        self.estimate(bench, number, now)
        bench.record(number, "estimate_answered", answer="yes", way="link")
        bench.soak(number)
        bench.leave_gates(number)
        bench.stage(number, "released")
        assert "version 1, 107.10 EUR: yes" in flat(printed(number, "release"))

    def test_pictures_before_and_after_stand_side_by_side(self, released, bench, people):
        first = snap(released, by=bench.by, of=PhotoSubject(caption="The joint"))
        snap(released, by=bench.by, of=PhotoSubject(caption="The joint", before=first))
        hidden = snap(released, by=bench.by, of=PhotoSubject(Photo.PARCEL, caption="A label"))
        snap(released, by=bench.by, of=PhotoSubject(Photo.PARCEL, caption="A label", before=hidden))
        text = flat(printed(released, "release"))
        assert "BEFORE AND AFTER" in text
        assert "The joint" in text
        assert "A label" not in text

    def test_the_packing_list(self, people, bench, now):
        details = IntakeDetails(name="Ada", address="1 Row\nTown", accessories="mains lead\nremote")
        job = intake_services.receive(
            by=people.desk, at=now, details=details, make="C", facts=amplifier()
        )
        with pytest.raises(Refused, match="on the bench"):
            printed(job.number, "packing")
        bench.pass_gate(job.number, "hand-back")
        bench.stage(job.number, "withdrawn")
        bench.record(job.number, "shipped", carrier="North Post")
        text = flat(printed(job.number, "packing"))
        for words in ("1 Row Town", "mains lead", "remote", "North Post", "Do not plug it in"):
            assert words in text, words

    def test_the_receipt(self, people, bench, now, settings):
        settings.TERMS, settings.INSPECTION_FEE = "Kept for a year.", Decimal(35)
        details = IntakeDetails(
            name="Ada", address="1 Row\nTown", phone="0555 0199", accessories="remote",
            came_by="parcel", parcel="damp", ring_above="250",
        )  # fmt: skip
        job = intake_services.receive(
            by=people.desk,
            at=now,
            details=details,
            make="Corvenby",
            complaint="Hums",
            arrived_open=True,
            facts=amplifier(intake__damage=["dented", "burnt-smell"]),
        )
        text = flat(printed(job.number, "receipt", "us-letter"))
        for words in (
            "Receipt", "Ada", "1 Row Town", "0555 0199", "Corvenby", "remote", "Hums",
            "The parcel was damp.", "It came without its cover.",
            "Damage seen: dented, burnt smell.", "more than 250.00 EUR, tax included",
            "the inspection costs 35.00 EUR without tax", "Kept for a year.",
            "Handed in by, date", "Received by, date",
        ):  # fmt: skip
            assert words in text, words
        assert "your page" not in text
        keys.link_for(job, now=now)
        assert "opens your page" in flat(printed(job.number, "receipt"))

    def test_a_receipt_of_which_little_is_known(self, bench, settings):
        text = flat(printed(bench.receive(facts=amplifier()), "receipt"))
        assert "No damage was seen." in text
        assert "before you agree to it" in text
        assert "Name, address, telephone" in text
        assert "TERMS OF THE SHOP" not in text
        assert "Damage was not looked for yet." in flat(printed(bench.receive(facts={}), "receipt"))

    def test_its_code_is_the_customers_page_while_there_is_one(self, bench, job, now):
        sheet = sheet_of(job)
        assert pdf_documents._address_for(sheet, "estimate") == pdf_documents.address(sheet)
        link = keys.link_for(bench.job(job), now=now)
        for paper in ("estimate", "receipt"):
            assert pdf_documents._address_for(sheet, paper) == keys.address(link)
        assert pdf_documents._address_for(sheet, "traveller") == pdf_documents.address(sheet)


def test_the_page_shows_the_first_page_of_a_paper_as_a_picture(job, client, people):
    client.force_login(people.technician)
    page = client.get(f"/jobs/{job}/papers/?show=label").content.decode()
    assert f"/jobs/{job}/papers/label/62x29/preview/" in page
    answer = client.get(f"/jobs/{job}/papers/traveller/a4/preview/")
    assert answer["Content-Type"] == "image/png"
    assert answer.content.startswith(b"\x89PNG")
    assert client.get(f"/jobs/{job}/papers/nothing/a4/preview/").status_code == 404
