"""The label in ZPL II, read by its structure. No library that draws ZPL is here: what a printer makes
of it was not looked at; the code is drawn by its figures and read by zxing-cpp."""

from __future__ import annotations

import re

import pytest
import segno
import zxingcpp
from PIL import Image

from shop.documents import pdf_documents, typesetting, zpl
from shop.jobs import queries
from shop.lib.refusals import BadInput

pytestmark = pytest.mark.django_db

FIELD = re.compile(
    r"\^FO(\d+),(\d+)(\^(?:A0|BQ)N,[0-9,]+)(?:\^FB(\d+),(\d+),0,L)?\^FH_\^FD([^^~]*)\^FS"
)


def fields(text):
    """Return the size of a label in dots, and each of its fields; every line must be one of these."""
    lines = text.splitlines()
    assert lines[:2] == ["^XA", "^CI28"]
    assert lines[-1] == "^XZ"
    wide, high = (
        int(re.fullmatch(rf"\^{name}(\d+)", line)[1])
        for name, line in zip(("PW", "LL"), lines[2:4], strict=True)
    )
    found = [FIELD.fullmatch(line) for line in lines[4:-1]]
    assert all(found), text
    return wide, high, [match.groups() for match in found]


def plain(data):
    return re.sub(r"_([0-9A-F]{2})", lambda m: chr(int(m[1], 16)), data)


def label(bench, number, size="62x29", density="203"):
    return zpl.label(queries.Traveller.of(bench.job(number)), size, density)


@pytest.mark.parametrize("density", zpl.DENSITIES)
@pytest.mark.parametrize("size", typesetting.LABELS)
def test_everything_lies_on_the_label_and_nothing_on_another(bench, size, density):
    number = bench.receive(serial="S 1", customer_name="Ada Lovelock")
    wide, high, found = fields(label(bench, number, size, density))
    mm = typesetting.LABELS[size]
    assert (wide, high) == tuple(side * zpl.DENSITIES[density] for side in mm)
    (x, y, code, *_, data), *texts = found
    module = int(code.rsplit(",", 1)[1])
    assert 1 <= module <= 10
    side = (
        module
        * segno.make(plain(data).removeprefix("MA,"), error="m", micro=False).symbol_size(border=0)[
            0
        ]
    )
    assert int(x) + side <= int(texts[0][0])
    assert int(y) + side <= high
    bottom = 0
    for left, top, font, width, lines, _ in texts:
        assert int(top) >= bottom
        bottom = int(top) + int(font.split(",")[1]) * int(lines)
        assert int(left) + int(width) <= wide
    assert bottom <= high
    assert len(texts) == 5


def test_the_code_opens_the_job(bench):
    number = bench.receive()
    _, _, [(_, _, code, _, _, data), *_] = fields(label(bench, number))
    level, mode, address = plain(data)[0], plain(data)[1:3], plain(data)[3:]
    assert (level, mode) == ("M", "A,")
    module = int(code.rsplit(",", 1)[1])
    # Drawn as the printer is told to: that many dots a module.
    rows = list(
        segno.make(address, error=level.lower(), micro=False).matrix_iter(scale=module, border=4)
    )
    picture = Image.new("L", (len(rows[0]), len(rows)))
    picture.putdata([255 * (not dot) for row in rows for dot in row])
    [read] = zxingcpp.read_barcodes(picture)
    assert read.text == address == pdf_documents.address(queries.Traveller.of(bench.job(number)))


@pytest.mark.parametrize("words", ["^XZ^XA", "~JR", "a_41", "back\\&slash", "two\nlines"])
def test_no_words_are_commands(bench, words):
    number = bench.receive(make=words, model="X")
    text = label(bench, number)
    assert text.count("^XZ") == 1
    assert "~" not in text
    _, _, found = fields(text)
    assert " ".join(f"{words} X".split()) in [plain(data) for *_, data in found]


@pytest.mark.parametrize(
    "words", ["Größe", "Кузнецов", "Παπαδόπουλος", "山田電機", "김민수", "سارة"]
)
def test_six_scripts_go_as_utf8(bench, words):
    number = bench.receive(make=words, model="X")
    assert f"{words} X".encode() in label(bench, number).encode()


def test_what_is_not_known_is_named(bench):
    number = bench.receive()
    with pytest.raises(BadInput, match="size is '9x9'"):
        label(bench, number, size="9x9")
    with pytest.raises(BadInput, match="it must be one of 203, 300, 600"):
        label(bench, number, density="1")


def test_the_page_gives_it_as_a_file(client, people, bench):
    number = bench.receive()
    client.force_login(people.viewer)
    answer = client.get(f"/jobs/{number}/papers/label/62x29/300.zpl")
    assert answer["Content-Disposition"] == f'attachment; filename="label-{number}.zpl"'
    assert answer.content.startswith(b"^XA\n")
    assert client.get(f"/jobs/{number}/papers/label/62x29/9.zpl").status_code == 422
    assert (
        f"/jobs/{number}/papers/label/62x29/300.zpl"
        in client.get(f"/jobs/{number}/papers/").content.decode()
    )
