"""What is logged: never the key of a customer's page."""

from __future__ import annotations

import logging

import pytest

from shop.lib.web.request_log import HideKeys


@pytest.mark.parametrize(
    ("logger", "message", "given"),
    [
        ("django.request", "%s: %s", ("Conflict", "/your-unit/7-SeCrEt/answer/")),
        ("django.security.csrf", "Forbidden (%s): %s", ("no token", "/your-unit/7-SeCrEt/")),
        ("a.library", 'GET "https://bench.example/your-unit/7-SeCrEt/?x=1"', ()),
    ],
)
def test_no_logger_writes_the_key_of_a_customers_page(logger, message, given):
    record = logging.getLogger(logger).makeRecord(
        logger, logging.WARNING, __file__, 1, message, given, None
    )
    assert HideKeys().filter(record)
    assert "SeCrEt" not in record.getMessage()
    assert "/your-unit/..." in record.getMessage()


def test_the_handler_of_the_shop_hides_keys(settings):
    assert "keys" in settings.LOGGING["handlers"]["console"]["filters"]


def test_a_message_that_does_not_fit_its_arguments_stops_nobody():
    record = logging.makeLogRecord({"msg": "%d units", "args": ("many",)})
    assert HideKeys().filter(record)
