from __future__ import annotations

from django.test import RequestFactory

from shop.lib.web.confirming import Question, unless_sure

QUESTION = Question(title="Close 7?", follows=["It is closed."], button="Yes", back="/jobs/7/")


def asked(**sent):
    request = RequestFactory().post("/jobs/7/stage/?from=list", sent)
    request.htmx = False
    return unless_sure(request, QUESTION)


def test_it_names_the_thing_and_what_follows_and_sends_all_again():
    text = asked(to="released", many=["a", '"<b>']).content.decode()
    assert "Close 7?" in text
    assert "It is closed." in text
    assert 'action="/jobs/7/stage/?from=list"' in text
    for name, value in (("to", "released"), ("many", "a"), ("many", "&quot;&lt;b&gt;")):
        assert f'name="{name}" value="{value}"' in text
    assert '<button class="bad" name="sure" value="yes">Yes</button>' in text
    assert 'href="/jobs/7/"' in text


def test_once_answered_it_asks_no_more():
    assert asked(to="released", sure="yes") is None


def test_a_former_answer_of_another_word_is_none():
    text = asked(to="released", sure="no").content.decode()
    assert 'name="sure" value="no"' not in text
