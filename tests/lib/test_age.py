"""The format is that of age: another program opens what is written, and what it writes is opened."""

from __future__ import annotations

import io
import random

import pytest

from shop.lib import age

CHUNK = 64 * 1024
SIZES = [0, 1, CHUNK - 1, CHUNK, CHUNK + 1, 2 * CHUNK, 3 * CHUNK + 17]
OF_RAGE = (
    "6167652d656e6372797074696f6e2e6f72672f76310a2d3e2073637279707420716245446867384130534c70"
    "71456c695344763170672032300a7071367447336d387332364f6a5565712f627041532b3557413253307776"
    "4d544f77497a6b43496a55326b0a2d2d2d20344f56664f656777564451337131466b4d71446a4e36354a4d37"
    "593066565a53536d685a634d4c6f53626b0aaeb541e6d3fce86d9a0745125444940159d74e846202221dfa25"
    "4f0984d888e8e3f7f9581461e0d6e7df798a31c67bd113cdfd38125c109a14"
)
PASSPHRASE = "пароль with spaces, 嗡"


@pytest.fixture(autouse=True)
def _quick(monkeypatch):
    monkeypatch.setattr(age, "WORK_FACTOR", 4)


def encrypted(plain, passphrase=PASSPHRASE):
    target = io.BytesIO()
    age.encrypt(io.BytesIO(plain), target, passphrase)
    return target.getvalue()


def decrypted(raw, passphrase=PASSPHRASE):
    target = io.BytesIO()
    age.decrypt(io.BytesIO(raw), target, passphrase)
    return target.getvalue()


@pytest.mark.parametrize("size", SIZES)
def test_what_goes_in_comes_out(size):
    plain = random.Random(size).randbytes(size)
    raw = encrypted(plain)
    assert age.is_age(raw)
    # A few bytes stand anywhere by chance.
    assert len(plain) < 16 or plain[:64] not in raw
    assert decrypted(raw) == plain
    assert encrypted(plain) != raw, "salt and key are drawn anew"


@pytest.mark.parametrize("size", SIZES)
def test_another_program_opens_it(size):
    pyrage = pytest.importorskip("pyrage")
    plain = random.Random(size).randbytes(size)
    assert pyrage.passphrase.decrypt(encrypted(plain), PASSPHRASE) == plain


# The other program takes as much work as a second gives it: a gigabyte of memory for each.
@pytest.mark.slow
@pytest.mark.parametrize("size", [0, CHUNK, 3 * CHUNK + 17])
def test_what_another_program_wrote_is_opened(size):
    pyrage = pytest.importorskip("pyrage")
    plain = random.Random(size).randbytes(size)
    assert decrypted(pyrage.passphrase.encrypt(plain, PASSPHRASE)) == plain


@pytest.mark.slow
def test_a_file_that_was_kept_is_opened():
    """Written by rage (pyrage 1.4.0)."""
    assert decrypted(bytes.fromhex(OF_RAGE), "correct horse") == b"Hums at the left output.\n"


def test_the_wrong_passphrase_is_said():
    with pytest.raises(age.AgeError, match="The passphrase is not the one"):
        decrypted(encrypted(b"x"), "another")


@pytest.mark.parametrize("size", [1, CHUNK, CHUNK + 1])
def test_every_cut_is_said(size):
    raw = encrypted(bytes(size))
    head = raw.index(b"\n---")
    for end in [0, 5, 21, 22, 40, head, head + 20, len(raw) - 1, len(raw) - 16, len(raw) - size]:
        with pytest.raises(age.AgeError) as caught:
            decrypted(raw[:end])
        assert str(caught.value).endswith(".")


def test_a_cut_between_two_chunks_is_said():
    raw = encrypted(bytes(2 * CHUNK))
    start = len(raw) - 2 * (CHUNK + 16)
    with pytest.raises(age.AgeError, match="cut or altered"):
        decrypted(raw[: start + CHUNK + 16])
    swapped = raw[:start] + raw[start + CHUNK + 16 :] + raw[start : start + CHUNK + 16]
    with pytest.raises(age.AgeError, match="cut or altered"):
        decrypted(swapped)
    with pytest.raises(age.AgeError, match="cut"):
        decrypted(raw + b"more")


def test_every_flipped_bit_is_said():
    raw = encrypted(b"Hums at the left output.")
    for place in range(len(raw)):
        changed = bytearray(raw)
        changed[place] ^= 1
        with pytest.raises(age.AgeError):
            decrypted(bytes(changed))


@pytest.mark.parametrize(
    ("stanza", "said"),
    [
        (b"-> X25519 " + b"A" * 43, "not by a passphrase"),
        (b"-> scrypt AAAAAAAAAAAAAAAAAAAAAA 30", r"asks for 2\^30 rounds"),
        (b"-> scrypt AAAAAAAAAAAAAAAAAAAAAA 04", "not by a passphrase"),
        (b"-> scrypt AAAAAAAAAAAAAAAAAAAAAB 4", "head is damaged"),
        (b"-> scrypt AAAA 4", "not by a passphrase"),
    ],
)
def test_a_head_that_is_not_for_us_is_said(stanza, said):
    lines = encrypted(b"x").split(b"\n")
    lines[1] = stanza
    with pytest.raises(age.AgeError, match=said):
        decrypted(b"\n".join(lines))


def test_two_thousand_altered_files_are_refused():
    raw = encrypted(bytes(range(256)) * 300)
    chance = random.Random(15)
    for _ in range(2_000):
        changed = bytearray(raw)
        for _ in range(chance.randrange(1, 4)):
            changed[chance.randrange(200, len(changed))] ^= 1 << chance.randrange(8)
        if bytes(changed) == raw:
            continue
        with pytest.raises(age.AgeError):
            decrypted(bytes(changed))
