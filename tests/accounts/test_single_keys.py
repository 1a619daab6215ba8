from __future__ import annotations

from django.urls import reverse

from shop.accounts.single_keys import KEYS

SCRIPT = "shop/keys.js"


def test_the_list_is_a_page_without_javascript_and_names_every_key(client, people):
    client.force_login(people.viewer)
    text = client.get(reverse("keys")).content.decode()
    for key, _ in KEYS:
        assert f"<kbd>{key}</kbd>" in text
    assert f'href="{reverse("keys")}"' in client.get(reverse("home")).content.decode()


def test_htmx_gets_the_list_alone(client, people):
    client.force_login(people.viewer)
    text = client.get(reverse("keys"), headers={"HX-Request": "true"}).content.decode()
    assert text.startswith('<h1 id="keys-title">')


def test_they_are_turned_off_and_on_again_on_this_device(client, people):
    client.force_login(people.technician)
    home, keys = reverse("home"), reverse("keys")
    assert SCRIPT in client.get(home).content.decode()
    assert client.post(keys, {"keys": "off"})["Location"] == keys
    assert SCRIPT not in client.get(home).content.decode()
    assert "Keys are off on this device." in client.get(keys).content.decode()
    client.post(keys, {"keys": "on"})
    assert SCRIPT in client.get(home).content.decode()
