"""In a cellar: the last job pages open, nothing on them acts, and what was typed is sent once, by hand."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.contrib.staticfiles import finders
from django.templatetags.static import static
from playwright.sync_api import expect

from shop.jobs.models import Job
from shop.pages.offline import views
from tests.helpers import Bench, amplifier

pytestmark = pytest.mark.browser_context_args(service_workers="allow")

COPIES = "async () => (await (await caches.open('copies-1')).keys()).map((one) => new URL(one.url).pathname)"
LIVE = "Whether mains is on is not known: treat every unit as live."


def sign_in(page, live_server, name):
    page.goto(f"{live_server.url}/sign-in/")
    page.fill("[name=username]", name)
    page.fill("[name=password]", "bench-in-test")
    page.click("button.go")
    page.wait_for_url(f"{live_server.url}/")


@pytest.fixture
def phone(page, live_server, crew):
    """The technician, with a worker that looks after the page."""
    sign_in(page, live_server, "technician")
    page.evaluate("() => navigator.serviceWorker.ready.then(() => true)")
    page.wait_for_function("() => navigator.serviceWorker.controller !== null")
    return page


@pytest.fixture
def number(crew):
    return Bench(crew.technician).receive(make="Corvenby", facts=amplifier())


def look_at(page, live_server, path):
    """Open a page, and wait until it is kept, with the page that opens without a connection."""
    page.goto(f"{live_server.url}{path}")
    page.wait_for_function(
        f"async () => {{ const kept = await ({COPIES})();"
        f" return kept.includes('{path}') && kept.includes('/offline/'); }}"
    )


def offline(page):
    page.wait_for_function(f"async () => (await ({COPIES})()).includes('/offline/')")
    page.context.set_offline(True)
    # Pages and worker lose the line one after the other.
    page.wait_for_function(
        "() => fetch('/static/shop/nothing.css?' + Date.now()).then(() => false, () => true)"
    )


def online(page):
    page.context.set_offline(False)


def notes_of(number):
    return [
        row.data["text"]
        for row in Job.objects.get(pk=number).ledger.filter(event_type="note_added")
    ]


def test_a_job_page_opens_as_a_copy_that_says_its_age_and_acts_on_nothing(
    phone, live_server, number
):
    look_at(phone, live_server, f"/jobs/{number}/")
    offline(phone)
    phone.goto(f"{live_server.url}/jobs/{number}/")
    expect(phone.get_by_role("heading", level=1)).to_contain_text("Corvenby")
    expect(phone.locator(".copy-line")).to_contain_text(
        f"This copy is less than a minute old. {LIVE}"
    )
    expect(phone.locator(".lamp")).to_have_text("not known: treat as live")
    assert phone.locator("form, button, input, select, textarea").count() == 0
    assert "hx-" not in phone.content().replace("htmx-", "")
    assert (
        phone.evaluate("getComputedStyle(document.querySelector('.copy-line')).borderTopStyle")
        == "dashed"
    )
    online(phone)
    phone.get_by_role("link", name="Try again").click()
    expect(phone.locator(".copy-line")).to_have_count(0)
    assert phone.get_by_role("button").count() > 0


def test_the_copy_grows_old_in_sight(phone, live_server, number):
    look_at(phone, live_server, f"/jobs/{number}/")
    said = phone.evaluate(
        "() => [0, 61e3, 12 * 60e3, 61 * 60e3, 50 * 3600e3].map((ms) => Kept.ageInWords(Date.now() - ms))"
    )
    assert said == ["less than a minute", "1 minute", "12 minutes", "1 hour", "2 days"]


def test_a_copy_follows_what_was_swapped_into_the_page(phone, live_server, number, crew):
    look_at(phone, live_server, f"/jobs/{number}/")
    before = phone.evaluate(
        f"async () => (await Kept.jobsWithCopies()).find((one) => one.number === '{number}').seen"
    )
    phone.locator("#traveller button.go:visible").first.click()
    phone.wait_for_function(
        f"async () => (await Kept.jobsWithCopies()).find((one) => one.number === '{number}').seen > {before}"
    )


def test_pages_that_are_no_jobs_are_never_kept(phone, live_server, number):
    look_at(phone, live_server, f"/jobs/{number}/")
    for path in (
        "/",
        "/jobs/",
        "/customers/",
        "/account/",
        f"/jobs/{number}/papers/",
        f"/jobs/{number}/?x=1",
        "/scan/",
    ):
        phone.goto(f"{live_server.url}{path}")
    phone.goto(f"{live_server.url}/jobs/{number}/list/")
    phone.wait_for_function(f"async () => (await ({COPIES})()).length === 3")
    assert set(phone.evaluate(COPIES)) == {"/offline/", f"/jobs/{number}/", f"/jobs/{number}/list/"}
    offline(phone)
    phone.goto(f"{live_server.url}/customers/")
    expect(phone.get_by_role("heading", level=1)).to_have_text("Kept on this phone")


def test_so_many_copies_are_kept_and_the_oldest_goes(phone, live_server, number):
    look_at(phone, live_server, f"/jobs/{number}/")
    phone.evaluate("""async () => {
      for (let n = 1000; n < 1025; n += 1) await Kept.keepCopy(`/jobs/${n}/`, document.documentElement.outerHTML, Date.now());
    }""")
    kept = [path for path in phone.evaluate(COPIES) if path != "/offline/"]
    assert kept == [f"/jobs/{n}/" for n in range(1005, 1025)]


def test_a_note_that_could_not_be_sent_is_kept_and_sent_once_by_hand(
    phone, live_server, number, crew
):
    look_at(phone, live_server, f"/jobs/{number}/")
    phone.goto(f"{live_server.url}/jobs/{number}/write/?what=note_added")
    phone.get_by_role("textbox", name="Note").fill("The fuse is 3.15 A slow")
    offline(phone)
    phone.get_by_role("button", name="Record a note").click()
    expect(phone.locator("#said")).to_contain_text("What you typed is kept on this phone")
    expect(phone.locator("#entries")).to_contain_text("The fuse is 3.15 A slow")
    phone.get_by_role("button", name="Send it").click()
    expect(phone.locator("#said")).to_contain_text("There is no connection yet. It is kept.")
    assert notes_of(number) == []

    online(phone)
    phone.goto(f"{live_server.url}/")
    phone.get_by_role("link", name="1 entry typed offline is not sent yet").click()
    assert notes_of(number) == []
    phone.get_by_role("button", name="Send it").click()
    expect(phone.locator("#said")).to_have_text(f"Written to job {number}.")
    expect(phone.locator("#no-entries")).to_be_visible()
    [note] = notes_of(number)
    assert note.startswith("The fuse is 3.15 A slow (typed offline, ")


def test_the_answer_that_was_lost_writes_nothing_twice(phone, live_server, number):
    look_at(phone, live_server, f"/jobs/{number}/")
    send = """async ([number, key]) => {
      const fresh = new DOMParser().parseFromString(await (await fetch('/offline/')).text(), 'text/html');
      const headers = { 'Content-Type': 'application/json', 'Idempotency-Key': key,
        'X-CSRFToken': JSON.parse(fresh.body.getAttribute('hx-headers'))['X-CSRFToken'] };
      const body = JSON.stringify({ kind: 'note_added', data: { text: 'Twice' }, seen: Number(document.querySelector('[data-seen]').dataset.seen) });
      return (await fetch(`/api/v1/jobs/${number}/ledger/`, { method: 'POST', headers, body })).status;
    }"""
    assert [phone.evaluate(send, [number, "one"]) for _ in range(2)] == [201, 201]
    assert notes_of(number) == ["Twice"]


def test_what_others_wrote_meanwhile_is_looked_at_first(phone, live_server, number, crew):
    look_at(phone, live_server, f"/jobs/{number}/")
    offline(phone)
    phone.goto(f"{live_server.url}/offline/?job={number}")
    phone.get_by_label("What", exact=True).select_option("A finding")
    phone.get_by_label("Finding", exact=True).select_option(index=3)
    phone.get_by_label("Section").last.fill("supply")
    phone.get_by_role("button", name="Keep it").click()
    expect(phone.locator("#entries")).to_contain_text("supply")
    Bench(crew.owner).record(number, "note_added", text="Meanwhile")
    online(phone)
    phone.get_by_role("button", name="Send it").click()
    refused = f"Since this was typed, 1 row came into the record of job {number}."
    expect(phone.locator("#entries")).to_contain_text(refused)
    assert not Job.objects.get(pk=number).ledger.filter(event_type="finding_recorded").exists()
    expect(phone.get_by_role("link", name="Look at the job")).to_be_visible()
    phone.get_by_role("button", name="I have looked: send it").click()
    expect(phone.locator("#said")).to_have_text(f"Written to job {number}.")
    assert Job.objects.get(pk=number).ledger.filter(event_type="finding_recorded").count() == 1


def test_what_is_refused_is_kept_with_the_sentence(phone, live_server, number):
    look_at(phone, live_server, f"/jobs/{number}/")
    phone.goto(f"{live_server.url}/offline/?job={number}")
    phone.get_by_label("What", exact=True).select_option("A reading")
    phone.get_by_label("What was read").fill("rail")
    phone.get_by_label("Value").fill("63.5")
    phone.get_by_role("button", name="Keep it").click()
    expect(phone.locator("#entries")).to_contain_text("rail 63.5")
    phone.evaluate("""async () => {
      const [entry] = await Kept.entriesOf(document.body.dataset.person);
      await Kept.saveEntry({ ...entry, data: { ...entry.data, quantity: '' } });
      location.reload();
    }""")
    phone.get_by_role("button", name="Send it").click()
    expect(phone.locator("#entries .refused")).to_contain_text("quantity")
    phone.get_by_role("button", name="Drop it").click()
    expect(phone.locator("#no-entries")).to_be_visible()


def test_mains_off_without_a_connection_says_that_the_plug_counts(phone, live_server, number, crew):
    Bench(crew.technician).limited(number)
    look_at(phone, live_server, f"/jobs/{number}/")
    offline(phone)
    phone.get_by_role("button", name=f"Record: plug of {number} is out, I see it").first.click()
    expect(phone.locator("#said")).to_contain_text(
        "that mains is off could not be recorded. What counts is the plug"
    )
    expect(phone.locator("#no-entries")).to_be_visible()
    online(phone)
    assert Job.objects.get(pk=number).energised


def test_a_signature_is_never_kept(phone, live_server, number):
    look_at(phone, live_server, f"/jobs/{number}/")
    phone.goto(f"{live_server.url}/jobs/{number}/step/visual-intake/")
    offline(phone)
    phone.locator("button[form=sign-form]").first.click()
    expect(phone.locator("#said")).to_contain_text(
        "nothing was recorded. Signatures, mains, cover and moves"
    )
    expect(phone.locator("#no-entries")).to_be_visible()


def test_sign_out_takes_the_copies_and_the_next_person_finds_none(phone, live_server, number):
    look_at(phone, live_server, f"/jobs/{number}/")
    phone.goto(f"{live_server.url}/offline/?job={number}")
    phone.get_by_label("Note").first.fill("Of the technician")
    phone.get_by_role("button", name="Keep it").click()
    expect(phone.locator("#entries")).to_contain_text("Of the technician")
    phone.goto(f"{live_server.url}/account/")
    phone.locator("form[action='/sign-out/'] button").first.click()
    phone.wait_for_url("**/sign-in/**")
    phone.wait_for_function(f"async () => (await ({COPIES})()).length === 0")
    sign_in(phone, live_server, "desk")
    phone.goto(f"{live_server.url}/offline/")
    expect(phone.locator("#no-entries")).to_be_visible()
    expect(phone.locator("#no-copies")).to_be_visible()
    offline(phone)
    phone.goto(f"{live_server.url}/jobs/{number}/")
    expect(phone.locator("body")).to_contain_text("treat every unit as live")
    expect(phone.locator("body")).not_to_contain_text("Corvenby")


def test_another_person_finds_no_copy_even_if_nobody_signed_out(phone, live_server, number):
    look_at(phone, live_server, f"/jobs/{number}/")
    phone.wait_for_load_state("networkidle")
    phone.context.clear_cookies()
    sign_in(phone, live_server, "viewer")
    phone.wait_for_function(f"async () => !(await ({COPIES})()).includes('/jobs/{number}/')")


def test_a_new_worker_takes_over_at_once(phone, live_server, monkeypatch, tmp_path):
    known = finders.find("shop/service-worker.js")
    newer = tmp_path / "worker.js"
    newer.write_text(
        Path(known).read_text()
        + "\nself.addEventListener('message', (event) => event.source.postMessage('newer'));"
    )
    monkeypatch.setattr(views.finders, "find", lambda path: str(newer))
    answer = phone.evaluate("""async () => {
      const heard = new Promise((resolve) => navigator.serviceWorker.addEventListener('message', (event) => resolve(event.data)));
      const taken = new Promise((resolve) => navigator.serviceWorker.addEventListener('controllerchange', resolve));
      await (await navigator.serviceWorker.ready).update();
      await taken;
      navigator.serviceWorker.controller.postMessage('who');
      return heard;
    }""")
    assert answer == "newer"


@pytest.mark.browser_context_args(java_script_enabled=False)
def test_without_scripts_pages_work_and_the_page_of_what_is_kept_says_so(
    page, live_server, crew, number
):
    sign_in(page, live_server, "technician")
    page.goto(f"{live_server.url}/jobs/{number}/")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Corvenby")
    page.goto(f"{live_server.url}/offline/")
    expect(page.locator("main")).to_contain_text("This page needs JavaScript")
    expect(page.locator("#with-script")).to_be_hidden()


OLD = "/static/0123456789abcdef/shop/tokens.css"


def test_a_copy_from_before_an_update_has_a_style(phone, live_server, number):
    look_at(phone, live_server, f"/jobs/{number}/")
    before = phone.evaluate(
        "async (old) => (await Kept.assetOf(location.origin + old))?.url", arg=OLD
    )
    assert before == f"{live_server.url}{static('shop/tokens.css')}"


def test_what_an_update_left_behind_goes(phone, live_server, number):
    look_at(phone, live_server, f"/jobs/{number}/")
    left = phone.evaluate(
        """async (old) => {
          const assets = await caches.open('assets-1');
          await assets.put(old, new Response('a {}'));
          await Kept.dropOldAssets();
          return (await assets.keys()).map((one) => new URL(one.url).pathname);
        }""",
        arg=OLD,
    )
    assert OLD not in left
    assert static("shop/tokens.css") in left
