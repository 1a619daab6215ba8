"""A passkey in a real browser: made, and used to sign in without a password."""

from __future__ import annotations

from allauth.mfa.models import Authenticator
from playwright.sync_api import expect

from shop.accounts.models import SignIn


def with_key(page):
    """Give the browser a key that says yes to everything, as a telephone with a fingerprint does."""
    devtools = page.context.new_cdp_session(page)
    devtools.send("WebAuthn.enable")
    options = {
        "protocol": "ctap2",
        "transport": "internal",
        "hasResidentKey": True,
        "hasUserVerification": True,
        "isUserVerified": True,
        "automaticPresenceSimulation": True,
    }
    devtools.send("WebAuthn.addVirtualAuthenticator", {"options": options})


def test_a_passkey_is_made_and_signs_in(signed_in, live_server, crew):
    page = signed_in
    with_key(page)
    page.goto(f"{live_server.url}/account/")
    page.get_by_role("link", name="Second factor").click()
    page.get_by_role("link", name="Add").first.click()
    page.fill("[name=password]", "bench-in-test")
    page.get_by_role("button", name="Confirm").click()
    page.fill("[name=name]", "The fob")
    page.get_by_label("Passwordless").check()
    page.get_by_role("button", name="Add").click()
    expect(page.locator("main")).to_contain_text("recovery codes", ignore_case=True)
    assert Authenticator.objects.filter(type="webauthn", user=crew.technician).count() == 1

    page.goto(f"{live_server.url}/")
    page.get_by_role("button", name="Sign out").click()
    page.get_by_role("button", name="Sign in with a passkey").click()
    page.wait_for_url(f"{live_server.url}/")
    expect(page.locator(".who")).to_contain_text("technician")
    assert SignIn.objects.filter(what="in").first().how == "webauthn"
