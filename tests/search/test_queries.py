"""Search: what is found, in which order, through which slips, in which scripts."""

from __future__ import annotations

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from checklists.engine.words import HAND_BACK
from shop.customers.models import Customer, Intake
from shop.intake import services as intake_services
from shop.intake.services import IntakeDetails
from shop.lib.tokens import phrases_of, words_of
from shop.search import backends, indexing
from shop.search import queries as search_queries
from shop.search.models import IndexedJob, IndexedWord
from tests.factories import PartFactory
from tests.helpers import amplifier

pytestmark = pytest.mark.django_db


def search(query):
    indexing.index_changed_jobs(now=None)
    return [job.number for job in search_queries.search_jobs(query).jobs]


class TestWords:
    @pytest.mark.parametrize(
        ("text", "wanted"),
        [
            ("Hums LOUDER, at 100 Hz", ["hums", "louder", "at", "100", "hz"]),
            ("Müller Café", ["muller", "cafe"]),
            ("гудит й", ["гудит", "и"]),
            ("βόμβος", ["βομβοσ"]),
            ("لا يعمل", ["لا", "يعمل"]),
            ("हिन्दी", ["हिन्दी"]),
            ("蜂音", ["蜂", "音"]),
            ("K30-0417", ["k30", "0417"]),
            ("ﬁne", ["fine"]),
            ("", []),
            ("!?--", []),
        ],
    )
    def test_any_script_is_cut_the_same_way(self, text, wanted):
        assert words_of(text) == wanted

    @given(st.text(max_size=200))
    def test_nothing_that_a_database_would_read_as_syntax_gets_through(self, text):
        for word in words_of(text):
            assert word
            assert not set("'\"\\:*&|!()<> \0") & set(word)

    @given(st.text(max_size=80))
    def test_a_text_holds_the_words_it_is_looked_for_by(self, text):
        assert [piece for phrase in phrases_of(text) for piece in phrase] == words_of(text)


@pytest.fixture
def jobs(bench):
    return {
        "hum": bench.receive(make="Corvenby", model="C 4", serial="K30-0417", complaint="Hums"),
        "relay": bench.receive(make="Ravelund", model="R 1", complaint="Left side drops out"),
        "script": bench.receive(make="Müller", model="蜂音機", complaint="左の音が出ない"),
    }


class TestFinding:
    def test_by_make_model_serial_and_complaint(self, jobs):
        assert search("corvenby") == [jobs["hum"]]
        assert search("C 4") == [jobs["hum"]]
        assert search("k30-0417") == [jobs["hum"]]
        assert search("K300417") == [jobs["hum"]]
        assert search("drops") == [jobs["relay"]]

    def test_by_what_the_bench_wrote(self, bench, jobs):
        bench.record(jobs["hum"], "finding_recorded", finding="joint-cracked", note="at pin seven")
        bench.record(jobs["hum"], "note_added", text="smells of varnish")
        bench.record(jobs["hum"], "part_needed", spec="Reservoir 4700 uF 63 V")
        for query in ("joint cracked", "pin seven", "varnish", "4700", "reserv"):
            assert search(query) == [jobs["hum"]], query

    def test_all_words_must_be_there_and_a_beginning_is_enough(self, jobs):
        assert search("corv hum") == [jobs["hum"]]
        assert search("corvenby drops") == []

    def test_the_unit_weighs_more_than_a_note(self, bench, jobs):
        bench.record(jobs["relay"], "note_added", text="like that corvenby of last year")
        assert search("corvenby") == [jobs["hum"], jobs["relay"]]

    def test_accents_and_case_do_not_count(self, jobs):
        assert search("MULLER") == search("müller") == [jobs["script"]]

    def test_unspaced_scripts_are_found_within_a_word(self, jobs):
        assert search("音機") == [jobs["script"]]
        assert search("音が") == [jobs["script"]]
        assert search("機音") == []

    @pytest.mark.parametrize(
        "text", ["не работает гул", "لا يعمل الصوت", "आवाज़ नहीं आती", "ไม่มีเสียง"]
    )
    def test_in_further_scripts(self, bench, jobs, text):
        number = bench.receive(complaint=text)
        for word in text.split():
            assert number in search(word)

    @pytest.mark.parametrize(
        "query",
        ["", " ", "'", '"', "a' OR 1=1 --", "*", "NEAR(", "unit:x", "\\", "&|!", "x" * 5000],
    )
    def test_what_looks_like_syntax_is_only_words(self, jobs, query):
        assert jobs["hum"] not in search(query)


@given(st.text(max_size=60))
def test_no_query_makes_the_search_fall_over(db, query):
    search_queries.search_jobs(query)


class TestSlips:
    @pytest.mark.parametrize("slip", ["corvneby", "korvenby", "corveenby", "covenby"])
    def test_a_wrong_letter_is_forgiven_and_said(self, jobs, slip):
        assert search(slip) == [jobs["hum"]]
        assert search_queries.search_jobs(slip).corrections == {slip: ["corvenby"]}

    def test_a_word_that_stands_is_never_taken_for_another(self, bench, jobs):
        bench.record(jobs["relay"], "note_added", text="corvenbo")
        assert search("corvenbo") == [jobs["relay"]]

    def test_short_words_and_strange_ones_are_not_guessed(self, jobs):
        assert search("zz") == []
        assert search("quarterdeck") == []


class TestIndexing:
    def test_what_is_written_next_is_found_next(self, bench, jobs):
        assert search("varnish") == []
        bench.record(jobs["hum"], "note_added", text="varnish")
        assert search("varnish") == [jobs["hum"]]
        assert indexing.index_changed_jobs(now=None) == 0

    def test_it_can_be_thrown_away_and_made_anew(self, jobs):
        search("hums")
        IndexedJob.objects.all().delete()
        IndexedWord.objects.all().delete()
        assert indexing.index_changed_jobs(now=None) == len(jobs)
        assert search("hums") == [jobs["hum"]]

    def test_the_person_is_not_in_it(self, people, now):
        intake_services.receive(
            by=people.desk, at=now, details=IntakeDetails(name="Zebulon"), make="Corvenby"
        )
        indexing.index_changed_jobs(now=None)
        assert not IndexedWord.objects.filter(word__startswith="zebulon").exists()

    def test_a_very_long_note_is_taken_as_far_as_it_goes(self, bench, jobs):
        bench.record(
            jobs["hum"], "note_added", text=" ".join(f"w{n}" for n in range(4000))[:19_000]
        )
        assert search("w12") == [jobs["hum"]]

    def test_a_number_that_is_no_job_any_more_is_left_out(self, jobs):
        backends.replace_entries([backends.JobWords(10**9, 1, ["phantom"], [], [])])
        assert search("phantom") == []


class TestSimilar:
    def closed(self, bench, **unit):
        number = bench.receive(**unit)
        bench.record(number, "suspect_changed", suspect="output relay", change="confirmed")
        bench.record(number, "part_needed", spec="Relay 24 V")
        bench.record_late(number, "part_fitted")
        bench.clear(number, HAND_BACK)
        bench.stage(number, "withdrawn")
        return number

    def test_same_model_first_then_same_kind_with_what_cured_them(self, bench):
        facts = amplifier()
        kind = self.closed(bench, make="Other", model="X", complaint="Drops out", facts=facts)
        model = self.closed(bench, make="Corvenby", model="C 4", complaint="Dark", facts=facts)
        self.closed(bench, make="Foreign", model="Y", complaint="Skips discs")
        job = bench.job(
            bench.receive(make="Corvenby", model="C 4", complaint="drops out", facts=facts)
        )
        indexing.index_changed_jobs(now=None)
        similar = search_queries.similar_jobs(job, ["one-channel"])
        assert [match.job.number for match in similar] == [model, kind]
        assert (similar[0].causes, similar[0].parts) == (["output relay"], ["Relay 24 V"])

    def test_open_jobs_and_itself_are_not_like(self, bench, job):
        bench.receive(make="Test Works", model=bench.job(job).unit.model, complaint="hums")
        indexing.index_changed_jobs(now=None)
        assert search_queries.similar_jobs(bench.job(job), []) == []

    def test_nothing_known_is_like_nothing(self, bench):
        indexing.index_changed_jobs(now=None)
        assert (
            search_queries.similar_jobs(bench.job(bench.receive(model="", complaint="")), []) == []
        )


class TestPages:
    def test_search_finds_jobs_parts_and_customers(self, client, people, now):
        PartFactory(spec="Belt 214 mm")
        job = intake_services.receive(
            by=people.desk, at=now, details=IntakeDetails(name="Beltrane"), complaint="belt"
        )
        client.force_login(people.desk)
        page = client.get(reverse("search"), {"q": "belt"}).content.decode()
        for words in (f"Job {job.number}", "Belt 214 mm", "Beltrane"):
            assert words in page
        client.force_login(people.viewer)
        assert "Beltrane" not in client.get(reverse("search"), {"q": "belt"}).content.decode()

    def test_a_scanned_label_or_number_is_found(self, client, people, job):
        client.force_login(people.viewer)
        for code in (str(job), f"http://127.0.0.1:8000/jobs/{job}/"):
            page = client.get(reverse("search"), {"q": code}).content.decode()
            assert "By its number" in page

    def test_the_slip_is_told(self, client, people, jobs):
        client.force_login(people.viewer)
        page = client.get(reverse("search"), {"q": "corvneby"}).content.decode()
        assert "No entry has “corvneby”" in page
        assert "Corvenby" in page

    def test_nothing_found_says_what_to_do(self, client, people, jobs):
        client.force_login(people.viewer)
        page = client.get(reverse("search"), {"q": "quarterdeck\0"}).content.decode()
        assert "Take a word away" in page

    def test_htmx_gets_the_rows_alone(self, client, people, jobs):
        client.force_login(people.viewer)
        answer = client.get(reverse("search"), {"q": "hums"}, headers={"HX-Request": "true"})
        assert "<html" not in answer.content.decode()


@pytest.mark.parametrize("query", ["hum", "louder hums", "müll", "蜂音", "no such word", "S-1"])
def test_what_is_not_in_the_index_yet_is_found_all_the_same(bench, query):
    bench.receive(make="Müller", serial="S-1", complaint="hums louder 蜂音")
    bench.receive(make="Other", complaint="crackles")
    before = [job.number for job in search_queries.search_jobs(query).jobs]
    indexing.index_changed_jobs(now=None)
    assert sorted(before) == sorted(job.number for job in search_queries.search_jobs(query).jobs)


def test_what_the_index_knows_no_longer_counts_once_it_was_written_over(bench):
    number = bench.receive(complaint="hums")
    indexing.index_changed_jobs(now=None)
    bench.record(number, "note_added", text="zebra")
    assert [job.number for job in search_queries.search_jobs("zebra").jobs] == [number]


def test_a_search_writes_nothing(client, people, bench, django_assert_max_num_queries):
    bench.receive(complaint="hums")
    client.force_login(people.viewer)
    client.get("/search/", {"q": "hums"})
    with django_assert_max_num_queries(40) as seen:
        assert "hums" in client.get("/search/", {"q": "hums"}).content.decode()
    sent = [query["sql"].split()[0].upper() for query in seen.captured_queries]
    assert set(sent) == {"SELECT"}


def test_the_name_of_a_customer_leads_to_their_jobs(client, people, bench):
    customer = Customer.objects.create(name="Mirela Dobson")
    mine, other = bench.receive(complaint="hums"), bench.receive(complaint="crackles")
    Intake.objects.update_or_create(job_id=mine, defaults={"customer": customer})
    client.force_login(people.technician)
    page = client.get("/search/", {"q": "dobson"}).content.decode()
    assert reverse("job", args=[mine]) in page
    assert reverse("job", args=[other]) not in page
    client.force_login(people.viewer)
    assert "Dobson" not in client.get("/search/", {"q": "dobson"}).content.decode()
